"""Cut what is longer than rail can be had into pieces: where the joints lie.

Bars that are bent into each other round an elbow, and the wing rails that go on from their knuckles, are one bent bar:
a `Chain`. A joint lies over the middle of a tie, which is notched for the joiner: a joiner is longer than the space
between two ties, so that over one tie it takes one notch and holds both ends down, between two it takes two.

Of the ties allowed it takes the one that makes the pieces most alike and keeps furthest from where the curve changes,
where a joint shows as a kink: in a long curve that is near its middle.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.guides.guide_edges import wing_edge
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import BarRun
from turnout_templates.trackwork.pieces.cut_zones import CutZones
from turnout_templates.trackwork.pieces.gaps import LEAST_SPACES
from turnout_templates.trackwork.pieces.joints import Cut, TooLong
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace

STAGGER_SPACES = 6.0
"""Joints in two rails of one track lie so many tie spaces apart at least: common practice, no source."""
PROTOTYPE_RAIL = 39 * 304.8
"""Length of a prototype rail, 39 ft, in mm: from memory. Large scales take it where a yard reaches over few ties."""
_FEW_SPACES = 20
_CHANGE_SHARE = 0.25
"""A joint further than this part of the longest rail from where the curve changes is as good as any."""
_MORE_PIECES = 4
"""So many more pieces than need be are tried where ties do not allow a joint."""
_ROUNDING = 1e-6


_FILED_ENDS = frozenset({"point of switch", "point", "spliced", "nose", "mitre"})
"""Ends that are filed to a shape; all others are sawn square."""
_HEADS_LEFT = 1.0
"""What is left on at an end to be filed, in widths of the rail's head: common practice, no source."""


def filed_end_of(spec: Spec) -> float:
    """Return how much longer (mm) a rail is cut for each end that is filed."""
    return _HEADS_LEFT * spec.rail.head


def left_on(ends: Iterable[str], spec: Spec) -> float:
    """Return what is left on (mm) for filing a rail whose `ends` are of these kinds."""
    return sum(end in _FILED_ENDS for end in ends) * filed_end_of(spec)


def longest_of(spec: Spec) -> float:
    """Return the longest piece of rail (mm) that can be had; unsaid, large scales take it from the prototype."""
    if spec.longest_rail < _FEW_SPACES * spec.ties.spacing:
        return max(spec.longest_rail, PROTOTYPE_RAIL / spec.scale.ratio)
    return spec.longest_rail


class Part(Struct, frozen=True):
    """A bar in a chain: it begins `begin` mm along it and runs with the chain, or against it (`way`)."""

    run: BarRun
    way: int
    begin: float

    def along(self, distance: float) -> float:
        """Return how far along the chain a place on the bar lies."""
        return self.begin + (distance if self.way > 0 else self.run.length - distance)

    def back(self, along: float) -> float:
        """Return how far along the bar a place on the chain lies."""
        return along - self.begin if self.way > 0 else self.begin + self.run.length - along

    @property
    def end(self) -> float:
        """Where it ends along the chain."""
        return self.begin + self.run.length


class Chain(Struct, frozen=True):
    """Bars that are one bent bar, in order, with the wings before the first and after the last: ids, lengths in mm."""

    parts: tuple[Part, ...]
    wings: tuple[tuple[str, float] | None, tuple[str, float] | None]

    @property
    def length(self) -> float:
        """The length of its bars in mm, without wings."""
        return self.parts[-1].end


def chains_of(work: Trackwork, zones: CutZones) -> tuple[Chain, ...]:
    """Return all bars in chains, each with the wings that it is bent into."""
    bent: dict[tuple[str, int], tuple[str, int]] = {}
    open_ends: dict[str, tuple[str, int]] = {}
    knuckles: dict[tuple[str, RouteFace], tuple[str, int]] = {}
    for name, ends in zones.ends.items():
        for i, end in enumerate(ends):
            if end.fit is not None and end.prepared == "elbow":
                other = open_ends.pop(end.fit.frog, None)
                if other is None:
                    open_ends[end.fit.frog] = (name, i)
                elif other[0] != name:
                    bent[name, i], bent[other] = other, (name, i)
            elif end.fit is not None and end.prepared == "knuckle":
                knuckles[end.fit.frog, end.fit.owner] = (name, i)
    wings: dict[tuple[str, int], tuple[str, float]] = {}
    for wing in work.wings:
        at = knuckles.get((wing.frog, wing.continues))
        if at is not None:
            wings[at] = (wing.id, wing_edge(work.layout, wing, 0.0).length)
    taken: set[str] = set()
    return tuple(_chain(name, zones, bent, wings, taken) for name in _firsts(zones, bent) if name not in taken)


def _firsts(zones: CutZones, bent: Mapping[tuple[str, int], tuple[str, int]]) -> Iterator[str]:
    """Yield bars that a chain may begin at: those with an end that is not bent into another, then any."""
    yield from (name for name in zones.runs if (name, 0) not in bent or (name, 1) not in bent)
    yield from zones.runs


def _chain(
    name: str,
    zones: CutZones,
    bent: Mapping[tuple[str, int], tuple[str, int]],
    wings: Mapping[tuple[str, int], tuple[str, float]],
    taken: set[str],
) -> Chain:
    end = 1 if (name, 0) in bent and (name, 1) not in bent else 0
    first, begin = wings.get((name, end)), 0.0
    parts: list[Part] = []
    while True:
        taken.add(name)
        part = Part(zones.runs[name], 1 if end == 0 else -1, begin)
        parts.append(part)
        begin = part.end
        onward = bent.get((name, 1 - end))
        if onward is None or onward[0] in taken:
            return Chain(tuple(parts), (first, wings.get((name, 1 - end))))
        name, end = onward


class Joiner(Struct):
    """Places joints, chain after chain, and keeps them apart from those in the other rails of the same track."""

    work: Trackwork
    zones: CutZones
    longest: float
    too_long: list[TooLong] = field(default_factory=list)
    placed: dict[str, list[tuple[float, RouteFace]]] = field(default_factory=dict)

    def join(self, chains: Sequence[Chain], cuts: dict[str, list[Cut]]) -> None:
        """Add joints to the `cuts` of bars, so that no piece of a chain is longer than rail can be had."""
        for chain in sorted(chains, key=lambda chain: -round(chain.length, 3)):
            marks = sorted(
                (part.along(cut.distance), cut.width / 2)
                for part in chain.parts
                for cut in cuts.get(part.run.bar.id, ())
            )
            before = [0.0, *(at + half for at, half in marks)]
            after = [*(at - half for at, half in marks), chain.length]
            extra = self._beyond(chain)
            for k, (low, high) in enumerate(zip(before, after, strict=True)):
                wings = (extra[0] if k == 0 else 0.0, extra[1] if k == len(marks) else 0.0)
                if high - low + sum(wings) > self.longest + _ROUNDING:
                    self._cut(chain, (low, high), wings, cuts)

    def _beyond(self, chain: Chain) -> list[float]:
        """Return how much more has to be cut beyond either end of a chain (mm): a wing, or what is left for filing."""
        outer = [(part, part.way if k == 0 else -part.way) for k, part in enumerate((chain.parts[0], chain.parts[-1]))]
        ends = [self.zones.ends[part.run.bar.id][0 if way > 0 else 1].prepared for part, way in outer]
        return [
            (0.0 if wing is None else wing[1]) + left_on((end,), self.work.spec)
            for wing, end in zip(chain.wings, ends, strict=True)
        ]

    def _cut(self, chain: Chain, span: Interval, wings: tuple[float, float], cuts: dict[str, list[Cut]]) -> None:
        """Cut what lies between two gaps or ends into as few pieces as can be."""
        places = list(self._places(chain, span))
        outer = span[0] - wings[0], span[1] + wings[1]
        count = math.ceil((outer[1] - outer[0]) / self.longest - _ROUNDING)
        for more in range(_MORE_PIECES):
            chosen = self._choose(places, span, outer, count + more)
            if chosen is not None:
                for place in chosen:
                    self._put(place, cuts)
                return
        part = chain.parts[0]
        at = part.run.pose(part.back(min(span[0], part.end))).point
        self.too_long.append(TooLong(part.run.bar.id, outer[1] - outer[0], self.longest, at))

    def _choose(self, places: Sequence[_Place], span: Interval, outer: Interval, count: int) -> list[_Place] | None:
        """Return `count` - 1 joints, from the first on; None where a window for one of them has no place."""
        least = LEAST_SPACES * self.work.spec.ties.spacing
        chosen: list[_Place] = []
        for k in range(1, count):
            begin = chosen[-1].along if chosen else outer[0]
            low = max((chosen[-1].along if chosen else span[0]) + least, outer[1] - (count - k) * self.longest)
            high = min(begin + self.longest, span[1] - least)
            even = begin + (outer[1] - begin) / (count - k + 1)
            window = [p for p in places if low - _ROUNDING <= p.along <= high + _ROUNDING and self._apart(p)]
            if not window:
                return None
            chosen.append(min(window, key=lambda p: round(p.cost(even, self.longest), 6)))
        return chosen

    def _apart(self, place: _Place) -> bool:
        """Tell whether a place is far enough from the joints in the other rails of its track."""
        least = STAGGER_SPACES * self.work.spec.ties.spacing
        near = self.placed.get(place.owner.route, ())
        return all(owner == place.owner or abs(at - place.station) >= least for at, owner in near)

    def _put(self, place: _Place, cuts: dict[str, list[Cut]]) -> None:
        cuts.setdefault(place.part.run.bar.id, []).append(Cut(place.part.back(place.along), "joint"))
        self.placed.setdefault(place.owner.route, []).append((place.station, place.owner))

    def _places(self, chain: Chain, span: Interval) -> Iterator[_Place]:
        """Yield the ties over which a joint may lie, in order."""
        for part in chain.parts:
            run = part.run
            ends = sorted(part.back(min(max(at, part.begin), part.end)) for at in span)
            holes = sorted(self.zones.for_joints(run.bar.id))
            changes = _changes(run)
            found = []
            for tie in self.zones.ties.under(run, *ends) if ends[1] > ends[0] else ():
                if not any(low < tie.middle < high for low, high in holes):
                    owner, station = run.place(tie.middle)
                    away = min((abs(tie.middle - at) for at in changes), default=math.inf)
                    found.append(_Place(part, part.along(tie.middle), owner, station, away))
            yield from sorted(found, key=lambda place: place.along)


class _Place(Struct, frozen=True):
    """A tie over which a joint may lie: how far along its chain, its face and station, and how far from a change."""

    part: Part
    along: float
    owner: RouteFace
    station: float
    from_change: float

    def cost(self, even: float, longest: float) -> float:
        """Return how bad a place is: by how far from `even` pieces, and how near to where the curve changes."""
        reach = _CHANGE_SHARE * longest
        return abs(self.along - even) / longest + 1.0 - min(self.from_change, reach) / reach


def _changes(run: BarRun) -> list[float]:
    """Return where along a bar its curvature changes: at the ends of curves and of easements."""
    bendings = run.bendings(0.0, run.length)
    return [bending.low for bending in bendings[1:]]
