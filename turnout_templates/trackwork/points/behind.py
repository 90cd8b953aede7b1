"""Tell which rails a moving point lies behind, and how far it goes before a flangeway has opened between them.

Those of its own switch are known. Where the next switch begins before a point is clear, the rail outside it becomes a
point itself, and both lie behind whatever is outermost there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute, Layout, View, Way
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.points.onward import Onward
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace


class Behind(Struct, frozen=True):
    """The point on the face `point` lies behind the rail `outside` from its tip to station `clear` of its route (mm).

    `way` is the direction of that on the point's route.
    """

    point: RouteFace
    outside: RouteFace
    clear: float
    way: Way


def rails_in_front(layout: Layout, points: Sequence[PointRail], head: float) -> tuple[Behind, ...]:
    """Return every pair of a point and a rail it lies behind; `head` is the width of a rail's head."""
    own = [Behind(point.owner, outside, point.clear, point.way) for point in points for outside in point.outside]
    found = {(pair.point, pair.outside, pair.way): pair for pair in own}
    on_face: dict[RouteFace, list[PointRail]] = {}
    for point in points:
        on_face.setdefault(point.owner, []).append(point)
    for point in points:
        for near in (other for owner in point.outside for other in on_face.get(owner, [])):
            if _may_meet(layout, point, near):
                for pair in _behind_both(layout, point, near, head):
                    found.setdefault((pair.point, pair.outside, pair.way), pair)
    return tuple(found.values())


def _may_meet(layout: Layout, point: PointRail, other: PointRail) -> bool:
    """Tell whether two points are near enough to each other to lie side by side."""
    tips = [layout.route(p.owner.route).path.point_at(p.tip, p.owner.face.offset) for p in (point, other)]
    return math.dist(*tips) < point.beyond_tip(point.clear) + other.beyond_tip(other.clear)


def _behind_both(layout: Layout, point: PointRail, near: PointRail, head: float) -> Iterator[Behind]:
    """Yield the rails outside the point `near`, itself outside `point`, that `point` is not clear of where both run."""
    own = View(layout.route(point.owner.route), point.way)
    tip, end = own.station(point.tip), own.station(point.clear)
    for outside in near.outside:
        if outside.route == point.owner.route or outside in point.outside:
            continue
        other = layout.route(outside.route)
        view = View(other, near.way if outside.route == near.owner.route else _way_along(own, other, point))
        begin = view.begin_of(other.faces.index(outside.face))
        face = view.faces[other.faces.index(outside.face)]
        place = view.path.point_at(begin, face.offset)
        beside = max(nearest_station(own.path, place)[0], tip)
        room = head + max(point.owner.face.flangeway, outside.face.flangeway)
        rail = Onward(point.owner, own, beside)
        front = Onward(outside, view, nearest_station(view.path, own.path.point_at(beside))[0])
        if beside < end and -head < rail.apart_from(front, beside) < room:
            clear = rail.distance_apart(front, room)
            yield Behind(point.owner, outside, own.station(own.path.length if clear is None else clear), point.way)


def _way_along(own: View, other: LaidRoute, point: PointRail) -> Way:
    """Return the direction of another route that is nearer to the way in which a point runs."""
    pose = own.path.pose_at(own.station(point.tip))
    there = other.path.heading_at(nearest_station(other.path, pose.point)[0])
    return 1 if math.cos(there - pose.heading) > 0 else -1
