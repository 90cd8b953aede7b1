"""Find the heads of rails, as filed, that stand in a place: what wheel backs meet opposite a guard that is no guide."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import FiledHead, Interval, PointRail, RouteFace
from turnout_templates.trackwork.rails.regions import overlap, strip, without


class HeadsByPlace:
    """The heads of some trackwork, but for those of points between tip and heel, which a wheel passes when open."""

    def __init__(self, work: Trackwork) -> None:
        self._work = work
        self._moving: dict[RouteFace, list[PointRail]] = {}
        for switch in work.switches:
            for point in switch.moving_points:
                self._moving.setdefault(point.owner, []).append(point)
        found = [(head.stretch.owner, region) for head in work.heads for region in self._regions(head)]
        self._owners = [owner for owner, _ in found]
        self._tree = shapely.STRtree([region for _, region in found])

    def within(self, zone: Polygon) -> Iterator[tuple[RouteFace, BaseGeometry]]:
        """Yield what of each head lies in a zone, with the face that it belongs to."""
        for index in sorted(self._tree.query(zone, predicate="intersects").tolist()):
            yield self._owners[index], self._tree.geometries[index].intersection(zone)

    def _regions(self, head: FiledHead) -> Iterator[BaseGeometry]:
        owner = head.stretch.owner
        moves = [_between(point.tip, point.heel) for point in self._moving.get(owner, ())]
        path = self._work.layout.route(owner.route).path
        first, last = owner.face.offset, owner.face.offset + owner.face.outward * self._work.spec.rail.head
        for edge in head.edges:
            yield from (strip(path, first, last, *part) for part in without(edge, moves))
        for part in head.parts:
            if not any(overlap(part.zone, move) for move in moves):
                outline, *holes = part.rings
                yield Polygon(outline, holes).buffer(0)


def _between(a: float, b: float) -> Interval:
    return min(a, b), max(a, b)
