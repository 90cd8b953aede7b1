"""Tell which rails a moving point lies behind, and how far it goes before a flangeway has opened between them.

Those of its own switch are known. Where the next switch begins before a point is clear, the rail outside it becomes a
point itself, and both lie behind whatever is outermost there.
"""

from __future__ import annotations

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
    for point in points:
        for pair in _further_on(layout, point, points, head):
            found.setdefault((pair.point, pair.outside), pair)
    return tuple(found.values())


def _further_on(layout: Layout, point: PointRail, points: Sequence[PointRail], head: float) -> Iterator[Behind]:
    """Yield the rails outside those that `point` lies behind, where they begin before it is clear."""
    for next_point in points:
        if next_point.owner not in point.outside:
            continue
        for outside in next_point.outside:
            if outside.route == point.owner.route or outside in point.outside:
                continue
            clear = _clear_of(layout, point, outside, head)
            if clear is not None:
                yield Behind(point.owner, outside, clear)


def _clear_of(layout: Layout, point: PointRail, outside: RouteFace, head: float) -> float | None:
    """Return the station from which `point` is clear of a rail that begins beside it, None where it begins later."""
    route, other = layout.route(point.owner.route), layout.route(outside.route)
    begin = other.begin_of(outside.face)
    place = other.path.point_at(begin, outside.face.offset)
    beside = max(nearest_station(route.path, place)[0], point.tip)
    if beside >= point.clear:
        return None
    room = head + max(point.owner.face.flangeway, outside.face.flangeway)
    clear = Onward(point.owner, route, beside).station_apart(Onward(outside, other, begin), room)
    return route.path.length if clear is None else clear
