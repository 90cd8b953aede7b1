"""Turn tips into switches: what begins where routes part, the filed tip, and how far a stub is thrown.

How far points are thrown follows in `throwing`, once the frogs are known in which their bars are fast. A stub's throw
bar lies half a tie space before the toe, so that the butts rest on the further headblock.
"""

from __future__ import annotations

import math

from turnout_templates.alignment.faces import outermost, side
from turnout_templates.alignment.model import Layout, View
from turnout_templates.spec.model import Gauge, Hand, Spec, other
from turnout_templates.trackwork.points.movements import Movement, movements_of
from turnout_templates.trackwork.points.onward import Onward
from turnout_templates.trackwork.points.stubs import butts_of, throws_of, toe_of
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.tips import Tip, points_of
from turnout_templates.trackwork.rails.nearby import Nearby
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace


def build_switches(spec: Spec, layout: Layout, tips: tuple[Tip, ...]) -> tuple[Switch, ...]:
    """Return a switch for all that moves together at every tip, numbered S1, S2 ... in the order of the tips."""
    switches: list[Switch] = []
    widest = max(gauge.width for gauge in spec.gauges.values())
    nearby = Nearby(layout, widest + 2 * spec.ties.overhang + spec.ties.headblock_overhang)
    for tip in tips:
        toe = toe_of(tip) if tip.swings else None
        points = points_of(tip, spec) if toe is None else butts_of(tip, toe, spec)
        throws = () if toe is None else throws_of(tip, toe)
        for moved in movements_of(tip, points):
            switches.append(_switch(spec, layout, tip, moved, throws, nearby, f"S{len(switches) + 1}"))
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


def _switch(
    spec: Spec,
    layout: Layout,
    tip: Tip,
    moved: Movement,
    throws: tuple[float, ...],
    nearby: Nearby,
    name: str,
) -> Switch:
    points, onward = moved.points, (tip.lead.name, *moved.branches)
    branch = tip.view(onward[1])
    departure = next(end for view, end in zip(tip.branches, tip.meeting, strict=True) if view.name == branch.name)
    hand = _hand(tip, onward[0], branch.name, points) or departure.hand or "left"
    moving = tuple(point for point in points if point.begins == "point")
    outer = _outer_point(branch, hand, moving or points)
    path = layout.route(outer.owner.route).path
    place = path.point_at(outer.tip, outer.owner.face.offset)
    filed = tip.parent.path.foot_near(place, tip.u)[0]
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
        bar_station=tip.parent.station(filed - spec.ties.switch_spacing / 2) if throws else None,
        bar_side=_bar_side(nearby, tip, onward, hand),
        throw=max(throws, default=None),
        least_opening=None,
        least_station=None,
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


LEAST_SHARE = 0.25
"""An open point that leaves less than this part of the opening wanted stops a wheel (common practice, no source)."""


def passing_gauge(point: PointRail) -> Gauge:
    """Return the gauge whose wheels pass an open point nearest to it: of those on the rails that it lies behind.

    Where one of two gauges leaves, they are not those on the point itself.
    """
    passing = (gauge for owner in point.outside for gauge in owner.face.gauges)
    return max(passing, key=lambda g: (g.width - g.point_spread, g.width))


def wanted_opening(point: PointRail) -> float:
    """Return the opening in mm that keeps the backs of passing wheels off a point: gauge less point spread."""
    gauge = passing_gauge(point)
    return gauge.width - gauge.point_spread


def _onward(tip: Tip, owner: RouteFace) -> Onward:
    """Return the rail on the face `owner` as it goes on from a tip."""
    return next(rail for group in tip.groups for rail in group.onward if rail.owner == owner)
