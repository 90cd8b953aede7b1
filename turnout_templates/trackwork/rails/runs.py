"""Follow every rail from where it begins to where it ends, past the tips where routes part.

Each gauge face is cut into stretches where a point begins on it. At a tip the stock rail of a group is one with the
parent's rail before it, whichever route it goes on along; each other rail of the group begins there as a point. Rails
are the chains that hang together so, whichever way the routes run.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct, field

from turnout_templates.alignment.model import Layout, Way
from turnout_templates.trackwork.points.onward import Onward
from turnout_templates.trackwork.points.tips import Group, Tip
from turnout_templates.trackwork.rails.rail_parts import PointRail, Rail, RouteFace, Stretch


def follow_rails(
    layout: Layout, tips: tuple[Tip, ...], points: Mapping[RouteFace, Sequence[PointRail]]
) -> tuple[Rail, ...]:
    """Return all rails, those of free routes first, then each as it begins at a tip.

    `points` lists the moving points on each face.
    """
    net = _Net(layout, tips, points)
    rails: list[Rail] = []
    for length, end in net.ends_in_order():
        if not length.taken:
            rails.append(_follow(f"R{len(rails) + 1}", length, end))
    return tuple(rails)


_ENDS: tuple[Way, Way] = (-1, 1)
_NEAR = 1e-6
"""Stations that differ by less than this (mm) are one."""


def _near_end(way: Way) -> Way:
    """Return the end at which a length begins that is run along one `way`; from one end it leads to the other."""
    return -1 if way > 0 else 1


class _Length(Struct, eq=False):
    """A length of gauge face between two places where it may end; `at` holds what is at either, -1 low and +1 high."""

    owner: RouteFace
    low: float
    high: float
    points: dict[Way, PointRail] = field(default_factory=dict)
    linked: dict[Way, tuple[_Length, Way]] = field(default_factory=dict)
    taken: bool = False

    def set_end(self, end: Way, station: float) -> None:
        """Move one end to a station, not beyond the other."""
        if end > 0:
            self.high = max(station, self.low)
        else:
            self.low = min(station, self.high)


def _follow(name: str, length: _Length, end: Way) -> Rail:
    """Return the rail that begins at one `end` of a length (-1 its low, +1 its high) and goes on as long as it can."""
    first = length.points.get(end)
    stretches: list[Stretch] = []
    while True:
        length.taken = True
        far = _near_end(end)
        stretches.append(Stretch(length.owner, length.low, length.high, far))
        onward = length.linked.get(far)
        if onward is None or onward[0].taken:
            return Rail(name, tuple(stretches), first, length.points.get(far))
        length, end = onward


class _Net:
    """All lengths of face, cut and linked at the tips."""

    def __init__(self, layout: Layout, tips: tuple[Tip, ...], points: Mapping[RouteFace, Sequence[PointRail]]) -> None:
        self.layout = layout
        self.points = points
        self.lengths = {
            RouteFace(route.name, face): [
                _Length(RouteFace(route.name, face), route.begin_of(face), route.end_of(face))
            ]
            for route in layout
            for face in route.faces
        }
        self.begun: list[tuple[_Length, Way]] = []
        for tip in tips:
            for group in tip.groups:
                if group.onward:
                    self._link(tip, group)

    def _link(self, tip: Tip, group: Group) -> None:
        """Cut and join the lengths of a group: the stock rail goes on from the rail before, the others begin anew.

        At a stub all begin anew at the toe, and the rail before goes on to there as it lies for the route that leads.
        """
        kept = group.onward[(tip.swings and group.on(tip.lead.name)) or 0]
        for rail in group.onward:
            if rail is kept and not tip.swings:
                continue
            point = self._point_of(rail)
            begins_within = rail is kept or rail.owner == group.before
            self._begin_at(self._cut(rail, point) if begins_within else self._first(rail), point)
        if kept.owner == group.before:
            return
        way, near = tip.parent.way, _near_end(kept.view.way)
        before, onward = self._before(tip, group, kept), self._first(kept)
        onward.set_end(near, kept.view.station(kept.origin))
        before.linked[way] = (onward, near)
        onward.linked[near] = (before, way)

    def _point_of(self, rail: Onward) -> PointRail:
        """Return the point that a rail begins as: the first on its face from where it leaves the group."""
        way, origin = rail.view.way, rail.view.station(rail.origin)
        beyond = [p for p in self.points[rail.owner] if p.way == way and (p.tip - origin) * way >= -_NEAR]
        return min(beyond, key=lambda p: (p.tip - origin) * way)

    def _first(self, rail: Onward) -> _Length:
        """Return the length of a branch's face that begins at the tip."""
        return self.lengths[rail.owner][0 if rail.view.way > 0 else -1]

    def _cut(self, rail: Onward, point: PointRail) -> _Length:
        """Cut the face of the parent, which goes on as a point, and return the part that goes on."""
        lengths = self.lengths[rail.owner]
        index = next(i for i, length in enumerate(lengths) if length.low - _NEAR <= point.tip <= length.high + _NEAR)
        before, way = lengths[index], rail.view.way
        begun = _Length(rail.owner, before.low, before.high)
        lengths.insert(index + (1 if way > 0 else 0), begun)
        if (beyond := before.points.pop(way, None)) is not None:
            begun.points[way] = beyond
        if (onward := before.linked.pop(way, None)) is not None:
            begun.linked[way] = onward
            onward[0].linked[onward[1]] = (begun, way)
        before.set_end(way, point.tip)
        return begun

    def _begin_at(self, length: _Length, point: PointRail) -> None:
        near = _near_end(point.way)
        length.set_end(near, point.tip)
        length.points[near] = point
        self.begun.append((length, near))

    def _before(self, tip: Tip, group: Group, kept: Onward) -> _Length:
        """Return the length of the parent's face that ends where the rail `kept` goes on, cut off there."""
        way = tip.parent.way
        place = kept.view.path.point_at(kept.origin, kept.face.offset)
        station = tip.parent.station(min(tip.parent.path.foot_near(place, tip.u)[0], tip.u))
        open_ended = (length for length in self.lengths[group.before] if way not in length.linked)
        before = min(open_ended, key=lambda length: max(length.low - station, station - length.high, 0.0))
        before.set_end(way, station)
        return before

    def ends_in_order(self) -> Iterator[tuple[_Length, Way]]:
        """Yield the ends that rails may begin at: of free routes, then points, then any, last closed rings."""
        for route in self.layout:
            if route.departure is None:
                firsts = (self.lengths[RouteFace(route.name, face)][0] for face in route.faces)
                yield from ((length, -1) for length in firsts if -1 not in length.linked)
        yield from ((length, end) for length, end in self.begun if end in length.points)
        for lengths in self.lengths.values():
            for length in lengths:
                yield from ((length, end) for end in _ENDS if end not in length.linked)
        yield from ((length, -1) for lengths in self.lengths.values() for length in lengths)
