"""Turn tips into switches: moving points, filed tip, throw bar, throw and the opening beside the open points."""

from __future__ import annotations

import math
from dataclasses import dataclass

from turnout_templates.alignment.faces import Face, outermost, side
from turnout_templates.alignment.model import Layout, View
from turnout_templates.alignment.solving import practical_toe
from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.spec.model import Hand, Spec, StraightPoints, other
from turnout_templates.trackwork.model import PointRail, RouteFace, Switch
from turnout_templates.trackwork.nearby import Nearby
from turnout_templates.trackwork.stubs import butts_of, throws_of
from turnout_templates.trackwork.tips import Onward, Tip, least_opening, moved_share, points_of, throw_to_hold

_OPENING_STEPS = 200
_BAR_SHARE = 0.25
"""The throw bar lies within this part of a point's free length (common practice, no source)."""


def build_switches(spec: Spec, layout: Layout, tips: tuple[Tip, ...]) -> tuple[Switch, ...]:
    """Return a switch for every tip at which rails begin, numbered S1, S2 ... in the order of the tips."""
    switches: list[Switch] = []
    widest = max(gauge.width for gauge in spec.gauges.values())
    nearby = Nearby(layout, widest + 2 * spec.ties.overhang + spec.ties.headblock_overhang)
    for tip in tips:
        points = butts_of(tip, spec) if tip.swings else points_of(tip, spec)
        if points:
            switches.append(_switch(spec, layout, tip, points, nearby, f"S{len(switches) + 1}"))
    return tuple(switches)


def _hand(tip: Tip, along: str, branch: str, points: tuple[PointRail, ...]) -> Hand | None:
    """Return the side to which `branch` leaves the route `along`, as their points tell; None where they say nothing."""
    for point in points:
        hand = _onward(tip, point.owner).face.hand
        if point.owner.route == branch and any(o.route == along for o in point.outside):
            return other(hand)
        if point.owner.route == along and any(o.route == branch for o in point.outside):
            return hand
    return None


def _outer_point(branch: View, hand: Hand, points: tuple[PointRail, ...]) -> PointRail:
    """Return the point on the face that opens from the stock rail, or the first point where that face is stock."""
    index = branch.faces.index(outermost(branch.faces, other(hand)))
    owner = RouteFace(branch.name, branch.route.faces[index])
    return next((p for p in points if p.owner == owner), points[0])


def _switch(spec: Spec, layout: Layout, tip: Tip, points: tuple[PointRail, ...], nearby: Nearby, name: str) -> Switch:
    names = tuple(branch.name for branch in tip.branches)
    onward = names if tip.ends else (tip.parent.name, *names)
    branch = tip.view(onward[1])
    departure = tip.meeting[names.index(branch.name)]
    hand = _hand(tip, onward[0], branch.name, points) or departure.hand or "left"
    moving = tuple(point for point in points if point.begins == "point")
    outer = _outer_point(branch, hand, moving or points)
    path = layout.route(outer.owner.route).path
    place = path.point_at(outer.tip, outer.owner.face.offset)
    filed = tip.parent.path.foot_near(place, tip.u)[0]
    throws = throws_of(tip) if tip.swings else ()
    thrown = _Thrown(-spec.ties.switch_spacing / 2, max(throws)) if throws else _Thrown()
    if moving:
        thrown = _thrown(spec, layout, tip, onward, outer)
    return Switch(
        id=name,
        parent=tip.parent.name,
        onward=onward,
        hand=hand if departure.parting else departure.hand or hand,
        way=tip.parent.way,
        parting=departure.parting,
        station=departure.station,
        tip=departure.tip,
        filed_station=tip.parent.station(filed),
        filed_tip=tip.parent.path.pose_at(filed),
        points=points,
        outer=outer,
        bar_station=None if thrown.to_bar is None else tip.parent.station(filed + thrown.to_bar),
        bar_side=_bar_side(nearby, tip, onward, hand),
        throw=thrown.throw,
        throw_to_hold=thrown.throw_to_hold,
        least_opening=thrown.least,
        least_station=thrown.least_station,
        throws=throws,
    )


def _bar_side(nearby: Nearby, tip: Tip, onward: tuple[str, ...], hand: Hand) -> int:
    """Return the side to which the throw bar reaches: away from the branch, but not across another track if it can."""
    pose = tip.parent.path.pose_at(tip.u)
    taken = set()
    for route, station in nearby.stations(pose.point):
        ahead, left = pose.local(route.path.point_at(station))
        if route.name not in (tip.parent.name, *onward) and math.hypot(ahead, left) < nearby.reach:
            taken.add(1 if left > 0.0 else -1)
    away = -side(hand)
    return -away if taken == {away} else away


@dataclass(frozen=True, slots=True)
class _Thrown:
    """How a switch is thrown: see `Switch`; `to_bar` is how far (mm) the throw bar lies beyond the filed tip.

    That of a stub lies half a tie space before the toe, so that the butts rest on the further headblock.
    """

    to_bar: float | None = None
    throw: float | None = None
    throw_to_hold: float | None = None
    least: float | None = None
    least_station: float | None = None


def _thrown(spec: Spec, layout: Layout, tip: Tip, onward: tuple[str, ...], outer: PointRail) -> _Thrown:
    """Return how moving points are thrown, judged by the `outer` one."""
    held = _held_at(spec, layout, tip, onward, outer)
    to_bar = min(spec.ties.switch_spacing / 2, _BAR_SHARE * max(held[0], 0.0))
    open_point = _open_point(tip, outer, to_bar, held)
    wanted = wanted_opening(outer)
    throw = spec.throw if spec.throw is not None else wanted / open_point.share_at_tip
    least, at = open_point.least(throw, spec.rail.head)
    to_hold = open_point.throw_to_hold(wanted, spec.rail.head)
    return _Thrown(to_bar, throw, to_hold, least, outer.tip + outer.way * at)


def _held_at(spec: Spec, layout: Layout, tip: Tip, onward: tuple[str, ...], outer: PointRail) -> tuple[float, bool]:
    """Return (how far behind its tip the outer point is held, whether it bends from there).

    A point that is one bar with its closure rail is held at the toe of the first V frog on it and bends; a planed one
    is hinged at its heel. Where no frog follows, the bar is held where a full flangeway has opened.
    """
    route = layout.route(outer.owner.route)
    planed = zip(tip.branches, tip.meeting, strict=True)
    if any(branch.name == route.name and isinstance(d.points, StraightPoints) for branch, d in planed):
        return outer.moving, False
    toes = [
        outer.beyond_tip(crossing.s) - practical_toe(spec.rail.head, crossing.folded)
        for name in onward
        if name != route.name
        for face in layout.route(name).faces
        if _makes_v(tip, outer, name, face)
        for crossing in find_crossings(route.parallel(outer.owner.face), layout.route(name).parallel(face))
    ]
    return min((toe for toe in toes if toe > outer.moving), default=outer.moving), True


def _makes_v(tip: Tip, outer: PointRail, name: str, face: Face) -> bool:
    """Tell whether a face of another route of the switch crosses the outer point's to make a V: of the other hand."""
    turned = tip.view(name).way != outer.way
    return (face.hand != outer.owner.face.hand) != turned


def wanted_opening(outer: PointRail) -> float:
    """Return the opening in mm that keeps wheel backs off a point: gauge less point spread, of its widest gauge."""
    gauge = max(outer.owner.face.gauges, key=lambda g: g.width)
    return gauge.width - gauge.point_spread


@dataclass(frozen=True, slots=True)
class _OpenPoint:
    """A point that stands open: how far its face is `apart` from the stock rail's, and how it is held.

    `stations`, the throw `bar` and where it is held (`fix`) are mm from the filed tip.
    """

    stations: list[float]
    apart: list[float]
    bar: float
    fix: float
    bent: bool

    @property
    def share_at_tip(self) -> float:
        """The part of the throw by which the filed tip moves: a little more than all, for the bar lies beyond it."""
        return moved_share(self.stations[0], bar=self.bar, fix=self.fix, bent=self.bent)

    def least(self, throw: float, head: float) -> tuple[float, float]:
        """Return (the least opening in mm, how far behind the filed tip)."""
        return least_opening(
            self.stations, self.apart, bar=self.bar, fix=self.fix, throw=throw, head=head, bent=self.bent
        )

    def throw_to_hold(self, opening: float, head: float) -> float | None:
        """Return the throw in mm that holds `opening` all along, None where none does."""
        return throw_to_hold(opening, self.stations, self.apart, bar=self.bar, fix=self.fix, head=head, bent=self.bent)


def _open_point(tip: Tip, outer: PointRail, to_bar: float, held: tuple[float, bool]) -> _OpenPoint:
    """Return `outer` as it stands open, looked at from its filed tip to where a flangeway has opened behind it."""
    fix, bent = held
    rail, against = (_onward(tip, owner) for owner in (outer.owner, outer.outside[0]))
    begin = rail.view.station(outer.tip)
    step = max(outer.moving, outer.beyond_tip(outer.clear)) / _OPENING_STEPS
    stations = [i * step for i in range(_OPENING_STEPS + 1)]
    apart = [rail.apart_from(against, begin + s) for s in stations]
    return _OpenPoint(stations, apart, to_bar, fix, bent)


def _onward(tip: Tip, owner: RouteFace) -> Onward:
    """Return the rail on the face `owner` as it goes on from a tip."""
    return next(rail for group in tip.groups for rail in group.onward if rail.owner == owner)
