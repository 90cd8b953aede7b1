"""Tell which rails a moving point lies behind, and how far it goes before a flangeway has opened between them.

Those of its own switch are known. Where the next switch begins before a point is clear, the rail outside it becomes a
point itself, and both lie behind whatever is outermost there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.model import PointRail, RouteFace
from turnout_templates.trackwork.tips import Onward


@dataclass(frozen=True, slots=True)
class Behind:
    """The point on the face `point` lies behind the rail `outside` up to station `clear` of its own route (mm)."""

    point: RouteFace
    outside: RouteFace
    clear: float


def rails_in_front(layout: Layout, points: Sequence[PointRail], head: float) -> tuple[Behind, ...]:
    """Return every pair of a point and a rail it lies behind; `head` is the width of a rail's head."""
    own = [Behind(point.owner, outside, point.clear) for point in points for outside in point.outside]
    found = {(pair.point, pair.outside): pair for pair in own}
    on_face: dict[RouteFace, list[PointRail]] = {}
    for point in points:
        on_face.setdefault(point.owner, []).append(point)
    for point in points:
        for near in (other for owner in point.outside for other in on_face.get(owner, [])):
            if _may_meet(layout, point, near):
                for pair in _behind_both(layout, point, near, head):
                    found.setdefault((pair.point, pair.outside), pair)
    return tuple(found.values())


def _may_meet(layout: Layout, point: PointRail, other: PointRail) -> bool:
    """Tell whether two points are near enough to each other to lie side by side."""
    tips = [layout.route(p.owner.route).path.point_at(p.tip, p.owner.face.offset) for p in (point, other)]
    return math.dist(*tips) < (point.clear - point.tip) + (other.clear - other.tip)


def _behind_both(layout: Layout, point: PointRail, near: PointRail, head: float) -> Iterator[Behind]:
    """Yield the rails outside the point `near`, itself outside `point`, that `point` is not clear of where both run."""
    route = layout.route(point.owner.route)
    for outside in near.outside:
        if outside.route == point.owner.route or outside in point.outside:
            continue
        other = layout.route(outside.route)
        begin = other.begin_of(outside.face)
        place = other.path.point_at(begin, outside.face.offset)
        beside = max(nearest_station(route.path, place)[0], point.tip)
        room = head + max(point.owner.face.flangeway, outside.face.flangeway)
        rail = Onward(point.owner, route, beside)
        front = Onward(outside, other, nearest_station(other.path, route.path.point_at(beside))[0])
        if beside < point.clear and -head < rail.apart_from(front, beside) < room:
            clear = rail.station_apart(front, room)
            yield Behind(point.owner, outside, route.path.length if clear is None else clear)
