"""Find where isolating gaps are cut: round every frog that joins left and right, and where left comes to meet right.

A gap lies between two ties and clear of both, as near to the frog as it can: behind the first tie that a moving point
is soldered to on one side of it, beyond its heel on the other. At a knuckle the tie behind the gap may hold the wing.
Where a guard stands beside the rail the gap goes on to the guard's end, if that is near: else the guard would stand
beside two sections, of which it can share copper with one alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import BarRun
from turnout_templates.trackwork.pieces.cut_zones import CutZones
from turnout_templates.trackwork.pieces.gap_size import gap_clear, gap_width
from turnout_templates.trackwork.pieces.joints import Cut, MissingGap, SharedSection
from turnout_templates.trackwork.polarity.feeds import frog_joins
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.rails.regions import without
from turnout_templates.trackwork.ties.tie_places import TiePlace

LEAST_SPACES = 3.0
"""A piece of rail reaches over so many tie spaces at least where there is a choice: common practice, no source."""
WORKABLE_SPACES = 1.0
"""What reaches over less than so many tie spaces can't be held: the rule for bars between frogs, common practice, no
source."""
_PAST_GUARDS = 5.0
"""A gap goes no further than so many tie spaces from the first place for it, to lie beside less of a guard, so that the
section of a frog stays short: common practice, no source."""
_LOOKS = 12.0
"""A place for a gap is looked for within so many tie spaces at first."""
_FURTHER = 4.0
_ROUNDING = 1e-6


class GapPlan(Struct):
    """The gaps of all bars, and what became of the needs that no gap meets."""

    cuts: dict[str, list[Cut]]
    isolating_ends: dict[tuple[str, int], tuple[str, ...]]
    shared: list[SharedSection]
    missing: list[MissingGap]


def plan_gaps(work: Trackwork, zones: CutZones) -> GapPlan:
    """Return where gaps are cut in which bars."""
    planner = _Planner(work, zones)
    planner.cut_both_rails()
    isolated = {frog.id for frog in work.frogs if frog_joins(work, frog) == "left and right"}
    for bar in work.bars:
        ends = zones.ends[bar.id]
        needs = [i for i in (0, 1) if (fit := ends[i].fit) is not None and fit.frog in isolated]
        if needs:
            planner.isolate(bar.id, needs)
    return planner.plan


class _Place(Struct, frozen=True):
    """A place for a gap, so far (mm) along a bar, at a station of the route there."""

    run: BarRun
    distance: float
    station: float


class _Planner:
    def __init__(self, work: Trackwork, zones: CutZones) -> None:
        self.work, self.zones = work, zones
        head = work.spec.rail.head
        self.width, self.clear = gap_width(head), gap_clear(head)
        self.spacing = min(work.spec.ties.spacing, work.spec.ties.switch_spacing)
        self.least = LEAST_SPACES * work.spec.ties.spacing
        self.plan = GapPlan({}, {}, [], [])
        self.guarded: dict[str, list[Interval]] = {}
        for guard in work.guards:
            for run, interval in zones.on_face(guard.beside, *guard.ends):
                self.guarded.setdefault(run.bar.id, []).append(interval)

    def cut_both_rails(self) -> None:
        """Cut all rails of a route where left comes to meet right, behind the frogs of the switch there.

        And again as far on as the track is plain, so that what lies between can be reversed.
        """
        circuit = self.work.circuit
        for (name, way), at in circuit.reach.items():
            for begin, onward, needed in ((at, way, True), (circuit.far[name, way], -way, False)):
                self._cut_opposite(name, begin, onward, other=None if needed else at)

    def _cut_opposite(self, name: str, at: float, way: int, *, other: float | None) -> None:
        """Cut all rails of a route beyond a station, opposite each other if they can be.

        Those of the `other` pair of a section lie nearer to that station; without room between the two there are none.
        """
        owners = self._owners(name)
        places = [self._double_at(owner, at, way) for owner in owners]
        furthest = max((place.station * way for place in places if place is not None), default=at * way) * way
        behind = furthest - way * self.spacing / 2
        if (behind - at) * way > 0.0:
            places = [self._double_at(owner, behind, way) for owner in owners]
        found = [place for place in places if place is not None]
        short = len(found) < len(places) or any((place.station - (other or 0.0)) * way > -self.least for place in found)
        if other is not None and short:
            return
        for owner, place in zip(owners, places, strict=True):
            if place is not None:
                self._add(place.run, Cut(place.distance, "gap", self.width, double=True))
            elif (near := self._run_at(owner, at, way)) is not None:
                self._miss(near[0], (), near[1])

    def _owners(self, name: str) -> list[RouteFace]:
        return [RouteFace(name, face) for face in self.work.layout.route(name).faces]

    def _run_at(self, owner: RouteFace, at: float, way: int) -> tuple[BarRun, float, bool] | None:
        """Return the bar on a face at a station or beyond it, how far along that is, and whether it runs that way."""
        beyond = [
            (max((s.low - at) * way if way > 0 else at - s.high, 0.0), run.bar.id, i)
            for run in self.zones.runs_on(owner)
            for i, s in enumerate(run.bar.stretches)
            if s.owner == owner and ((s.high - at) if way > 0 else (at - s.low)) > _ROUNDING
        ]
        if not beyond:
            return None
        _, bar, i = min(beyond)
        run = self.zones.runs[bar]
        stretch = run.bar.stretches[i]
        return run, run.distance(i, min(max(at, stretch.low), stretch.high)), way * stretch.way > 0

    def _double_at(self, owner: RouteFace, at: float, way: int) -> _Place | None:
        """Return the first place for a gap in a face beyond a station, else the nearest before it."""
        near = self._run_at(owner, at, way)
        if near is None:
            return None
        run, begin, onward = near
        spans = [(begin, run.length), (0.0, begin)] if onward else [(0.0, begin), (begin, run.length)]
        for k, span in enumerate(spans):
            found = self._place(run, span, from_low=onward == (k == 0), least=self.least)
            if found is not None:
                return _Place(run, found, run.place(found)[1])
        return None

    def isolate(self, name: str, needs: Sequence[int]) -> None:
        """Cut a bar to set the frogs at its ends `needs` (0 its first, 1 its last) apart from what it meets."""
        run = self.zones.runs[name]
        found = {end: self._nearest(run, end) for end in needs}
        placed = {end: place for end, place in found.items() if place is not None}
        if len(needs) == 2 and len(placed) == 2 and placed[1] - placed[0] < self.least:
            both = tuple(self._frog(run, end).id for end in needs)
            middle = min(placed.values(), key=lambda place: abs(place - run.length / 2))
            self._cut(run, middle, both)
            return
        for end in needs:
            frog = self._frog(run, end)
            if end in placed:
                self._cut(run, placed[end], (frog.id,))
            elif not (len(needs) == 2 and placed):
                self._without_gap(run, end, needs)

    def _frog(self, run: BarRun, end: int) -> Frog:
        fit = self.zones.ends[run.bar.id][end].fit
        if fit is None:
            raise TypeError("only an end at a frog is set apart from it")
        return self.zones.frogs[fit.frog]

    def _cut(self, run: BarRun, distance: float, frogs: tuple[str, ...]) -> None:
        """Cut a gap, or let one that is cut already serve where two would leave too short a piece between."""
        cuts = self.plan.cuts.get(run.bar.id, [])
        for i, cut in enumerate(cuts):
            if abs(cut.distance - distance) < self.least:
                cuts[i] = replace(cut, frogs=(*cut.frogs, *frogs))
                return
        self._add(run, Cut(distance, "gap", self.width, frogs=frogs))

    def _add(self, run: BarRun, cut: Cut) -> None:
        self.plan.cuts.setdefault(run.bar.id, []).append(cut)

    def _nearest(self, run: BarRun, end: int) -> float | None:
        """Return the place nearest to a frog, None without one."""
        fit = self.zones.ends[run.bar.id][end].fit
        least = 0.0 if fit is not None and fit.what in ("knuckle", "elbow") else self.least
        return self._place(run, (0.0, run.length), from_low=end == 0, least=least)

    def _place(self, run: BarRun, span: Interval, *, from_low: bool, least: float = 0.0) -> float | None:
        """Return the first allowed place within a span, from one end of it.

        It leaves `least` mm of the bar before it where there is a choice.
        """
        free = self._free(run)
        reach = _LOOKS * self.spacing
        clipped = [(max(low, span[0]), min(high, span[1])) for low, high in free]
        edges = [edge for low, high in clipped if low < high for edge in (low, high)]
        if not edges:
            return None
        begin = min(edges) if from_low else max(edges)
        while True:
            low, high = (begin, begin + reach) if from_low else (begin - reach, begin)
            ties = self.zones.ties_about(run, low - 2 * self.spacing, high + 2 * self.spacing)
            room = self._rooms(free, ties, (max(span[0], low), min(span[1], high)))
            found = [(first + last) / 2 for first, last in room]
            found = found if from_low else found[::-1]
            far = [place for place in found if abs(place - (0.0 if from_low else run.length)) >= least]
            if far:
                return self._least_guarded(run, far)
            if high >= span[1] if from_low else low <= span[0]:
                return max(found, key=lambda place: round(min(place, run.length - place), 6), default=None)
            reach *= _FURTHER

    def _least_guarded(self, run: BarRun, places: Sequence[float]) -> float:
        """Return the place from which the least of a guard reaches on, of the first of some and those near to it."""
        near = [place for place in places if abs(place - places[0]) <= _PAST_GUARDS * self.spacing]
        guards = self.guarded.get(run.bar.id, ())

        def reach(place: float) -> float:
            return max((min(place - low, high - place) for low, high in guards if low < place < high), default=0.0)

        return min(near, key=lambda place: round(reach(place), 6))

    def _rooms(self, free: Iterable[Interval], ties: Sequence[TiePlace], span: Interval) -> list[Interval]:
        """Return where between two ties the middle of a gap may lie, in order."""
        aside = self.width / 2 + self.clear
        rooms = []
        for before, after in pairwise(ties):
            for part in free:
                low = max(before.high + aside, part[0], span[0])
                high = min(after.low - aside, part[1], span[1])
                if high - low > _ROUNDING:
                    rooms.append((low, high))
        return rooms

    def _free(self, run: BarRun) -> list[Interval]:
        """Return where the middle of a gap may lie but for ties."""
        name = run.bar.id
        zones = list(self.zones.for_gaps(name))
        zones += [self.zones.fast(name, made, interval) for made, interval in self.zones.moving.get(name, ())]
        aside = self.width / 2 + self.clear
        holes = sorted((low - aside, high + aside) for low, high in zones)
        return without((aside, run.length - aside), holes) if run.length > 2 * aside else []

    def _without_gap(self, run: BarRun, end: int, needs: Sequence[int]) -> None:
        """Say what becomes of a frog beside which no gap fits."""
        frog, far = self._frog(run, end), self.zones.ends[run.bar.id][1 - end]
        if far.fit is None and far.prepared == "square":
            self.plan.isolating_ends[run.bar.id, 1 - end] = (frog.id,)
        elif far.fit is None and far.prepared == "cut off":
            return  # nothing feeds it but the frog
        elif len(needs) == 2:
            if end == needs[0]:
                other = self._frog(run, needs[1])
                if alike(self.work, frog, other):
                    self.plan.shared.append(SharedSection(run.bar.id, (frog.id, other.id)))
                else:
                    self._miss(run, (frog.id, other.id), run.length / 2)
        else:
            self._miss(run, (frog.id,), 0.0 if end == 0 else run.length)

    def _miss(self, run: BarRun, frogs: tuple[str, ...], at: float) -> None:
        """Note a gap that finds no room, with the longest place free of ties and of what may not be cut."""
        aside = self.width / 2
        free = [(low - aside - self.clear, high + aside + self.clear) for low, high in self._free(run)]
        room = 0.0
        for low, high in free:
            ties = self.zones.ties.under(run, max(0.0, low), min(run.length, high))
            parts = without((low, high), [(tie.low, tie.high) for tie in ties])
            room = max([room, *(b - a for a, b in parts)])
        self.plan.missing.append(MissingGap(run.bar.id, frogs, room, self.width + 2 * self.clear, run.pose(at).point))


def alike(work: Trackwork, one: Frog, other: Frog) -> bool:
    """Tell whether two frogs of the same routes take the same polarity whichever way wheels go."""
    return _feeds(work, one) == _feeds(work, other)


def _feeds(work: Trackwork, frog: Frog) -> dict[str, str]:
    owners = ((frog.first, frog.s), (frog.second, frog.t))
    return {o.route: work.circuit.polarity_at(o.route, o.face.hand, at) for o, at in owners}
