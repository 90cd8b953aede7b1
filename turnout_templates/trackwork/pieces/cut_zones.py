"""Tell where along each bar no joint and no gap may lie.

Never within a frog, from knuckle or nose to heel; never where rail moves, at points, over throw bars and in stubs; for
joints besides nowhere that a base is filed off, since a joiner holds rails by their bases.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.frogs.contacts import BarEnd, bar_ends
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.frogs.knuckles import FrogEnd, heel_of, toe_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import BarRun
from turnout_templates.trackwork.points.switch_parts import PointWork
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.ties.joiners import JOINER_LENGTH
from turnout_templates.trackwork.ties.tie_places import TiePlace, TiesByPlace


class CutZones:
    """The runs of all bars, how they end, and the zones along them in which they may not be cut."""

    def __init__(self, work: Trackwork) -> None:
        self.work = work
        self.head = work.spec.rail.head
        self.runs = {bar.id: BarRun(work.layout, bar, self.head) for bar in work.bars}
        self.ends: Mapping[str, tuple[BarEnd, BarEnd]] = bar_ends(work.rails, work.switches, work.bars, work.fits)
        self.ties = TiesByPlace(work.ties)
        self.frogs = {frog.id: frog for frog in work.frogs}
        self._winged = {(wing.frog, wing.continues) for wing in work.wings}
        self._on: dict[RouteFace, list[BarRun]] = {}
        for run in self.runs.values():
            for owner in dict.fromkeys(stretch.owner for stretch in run.bar.stretches):
                self._on.setdefault(owner, []).append(run)
        self._frog_ends: dict[tuple[str, bool], FrogEnd | None] = {}
        self._still: dict[str, list[Interval]] = {}
        self._bases: dict[str, list[Interval]] = {}
        self.moving: dict[str, list[tuple[PointWork, Interval]]] = {}
        for switch, made in work.works():
            for point in made.points:
                self._note_moving(point)
            for notch in () if made.bar is None else made.bar.notches:
                self._note(self._still, notch.owner, *notch.stations, only=notch.rail)
            if switch.swinging:
                self._note_swinging(switch.tip.point)
        for cut in work.base_cuts:
            if cut.part in self.runs:
                self._note(self._bases, cut.beside, cut.low, cut.high, only=cut.part)
        for relief in work.reliefs:
            self._note(self._bases, relief.beside, relief.low, relief.high, only=relief.bar)

    def _note(
        self, zones: dict[str, list[Interval]], owner: RouteFace, low: float, high: float, *, only: str = ""
    ) -> None:
        for run, interval in self.on_face(owner, low, high):
            if only in ("", run.bar.id):
                zones.setdefault(run.bar.id, []).append(interval)

    def runs_on(self, owner: RouteFace) -> Sequence[BarRun]:
        """Return the runs of the bars that lie on a face."""
        return self._on.get(owner, ())

    def on_face(self, owner: RouteFace, low: float, high: float) -> Iterator[tuple[BarRun, Interval]]:
        """Yield each run on a face between two stations, with from where to where along it that is."""
        for run in self._on.get(owner, ()):
            yield from ((run, interval) for interval in run.distances(owner, low, high))

    def _note_moving(self, made: PointWork) -> None:
        point = made.point
        ends = sorted((point.tip, point.tip + point.way * made.fix))
        for run, interval in self.on_face(point.owner, ends[0], ends[1]):
            self.moving.setdefault(run.bar.id, []).append((made, interval))

    def _note_swinging(self, fixed: tuple[float, float]) -> None:
        """Note what swings of the bars that end at a stub's toe: from beside the `fixed` place to their end."""
        for name, ends in self.ends.items():
            run = self.runs[name]
            if run.bar.role != "swinging rail":
                continue
            for i, end in enumerate(ends):
                if end.prepared == "butt":
                    stretches = run.bar.stretches if i == 0 else tuple(reversed(run.bar.stretches))
                    for stretch in stretches:
                        index = run.bar.stretches.index(stretch)
                        path = self.work.layout.route(stretch.owner.route).path
                        station, away = nearest_station(path, fixed)
                        if stretch.low <= station <= stretch.high and away < self._near:
                            at = run.distance(index, station)
                            self._still.setdefault(name, []).append((0.0, at) if i == 0 else (at, run.length))
                            break

    @property
    def _near(self) -> float:
        return max(gauge.width for gauge in self.work.spec.gauges.values())

    def frog_zone(self, name: str, end: int, *, joint: bool = False) -> Interval | None:
        """Return what a frog takes of a bar at its first (0) or last (1) end, None where that lies at no frog.

        For a joint it reaches to the toe as well.
        """
        fit = self.ends[name][end].fit
        if fit is None:
            return None
        run, reach = self.runs[name], 0.0
        for station in self._reaches(fit, self.frogs[fit.frog], joint=joint):
            if station is None:
                return 0.0, run.length
            for interval in run.distances(fit.owner, *sorted((fit.end, station))):
                reach = max(reach, interval[1] if end == 0 else run.length - interval[0])
        return (0.0, reach) if end == 0 else (run.length - reach, run.length)

    def _reaches(self, fit: Fit, frog: Frog, *, joint: bool) -> Iterator[float | None]:
        """Yield the stations up to which a frog reaches into a bar; None where that is beyond the route's end."""
        which = 0 if fit.owner == frog.first else 1
        if fit.what in ("knuckle", "groove"):
            toe = self._end_of(toe_of, frog) if joint else None
            yield fit.end if toe is None else toe.stations[which]
            return
        yield fit.whole
        if frog.kind == "V":
            heel = self._end_of(heel_of, frog)
            yield None if heel is None else heel.stations[which]

    def _end_of(self, which: Callable[[Layout, Frog, float], FrogEnd | None], frog: Frog) -> FrogEnd | None:
        """Return the toe or the heel of a frog, of which two bars ask more than once."""
        key = (frog.id, which is heel_of)
        if key not in self._frog_ends:
            self._frog_ends[key] = which(self.work.layout, frog, self.head)
        return self._frog_ends[key]

    def ties_about(self, run: BarRun, low: float, high: float) -> list[TiePlace]:
        """Return the ties under a bar between two distances along it, and where it ends in a wing the next one's.

        What is beyond its ends has distances before nothing and beyond its length: a wing is taken as straight there.
        """
        found = self.ties.under(run, max(low, 0.0), min(high, run.length))
        if low < 0.0 and self._goes_on(run, 0):
            back = self.ties.beyond(run.pose(0.0).turned(math.pi), -low)
            found = [TiePlace(tie, -at, -2 * at + near, -near) for near, at, tie in back[:1]] + found
        if high > run.length and self._goes_on(run, 1):
            onward = self.ties.beyond(run.pose(run.length), high - run.length)
            found += [
                TiePlace(t, run.length + at, run.length + near, run.length + 2 * at - near)
                for near, at, t in onward[:1]
            ]
        return found

    def _goes_on(self, run: BarRun, end: int) -> bool:
        """Tell whether a bar goes on in a wing beyond its knuckle at one end."""
        fit = self.ends[run.bar.id][end].fit
        return fit is not None and fit.what == "knuckle" and (fit.frog, fit.owner) in self._winged

    def for_gaps(self, name: str) -> list[Interval]:
        """Return where a bar may have no gap, but for its moving points."""
        zones = [self.frog_zone(name, end) for end in (0, 1)]
        return [*(zone for zone in zones if zone is not None), *self._still.get(name, ())]

    def for_joints(self, name: str) -> list[Interval]:
        """Return where no joiner may lie on a bar, half its length added on either side."""
        half = JOINER_LENGTH * self.work.spec.rail.base / 2
        frogs = [self.frog_zone(name, end, joint=True) for end in (0, 1)]
        zones = [zone for zone in frogs if zone is not None]
        zones += [*self._still.get(name, ()), *self._bases.get(name, ())]
        zones += [self.fast(name, made, interval) for made, interval in self.moving.get(name, ())]
        return [(low - half, high + half) for low, high in zones]

    def fast(self, name: str, made: PointWork, interval: Interval) -> Interval:
        """Return what moves of a bar with the tie that it is first soldered to."""
        run, (low, high) = self.runs[name], interval
        reach = _TIES_ON * self.work.spec.ties.switch_spacing
        at_low = tip_at_low(run, made)
        span = (high, min(high + reach, run.length)) if at_low else (max(low - reach, 0.0), low)
        for place in self.ties.under(run, *span):
            if place.tie.id == made.first_tie:
                return (low, place.high) if at_low else (place.low, high)
        return interval


_TIES_ON = 5.0
"""A point's first soldered tie is looked for as far as so many spaces beyond its fix."""


def tip_at_low(run: BarRun, made: PointWork) -> bool:
    """Tell whether a bar begins with the tip of its moving point, seen from there."""
    return next(s.way for s in run.bar.stretches if s.owner == made.point.owner) * made.point.way > 0
