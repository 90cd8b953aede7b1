"""Find the rails that cross a line square to the track, such as a throw bar, without asking every rail of a yard."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from msgspec import Struct
from shapely.geometry import LineString

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Pose
from turnout_templates.trackwork.rails.rail_parts import Bar, RouteFace, Stretch

_STEPS = 20
_CLOSE = 1e-10


class Across(Struct, frozen=True):
    """A rail that crosses the line: the bar and its stretch, the station there, and how far to the left it does (mm).

    `outward` is +1 where the head lies to the left of the gauge face, as seen along the line's pose. `way` is +1 where
    the rail's stations run as the pose heads.
    """

    rail: str
    stretch: Stretch
    station: float
    left: float
    outward: int
    way: int

    @property
    def owner(self) -> RouteFace:
        """The gauge face."""
        return self.stretch.owner

    def base(self, head: float, base: float) -> tuple[float, float]:
        """Return from where to where its base lies, mm to the left of the pose."""
        middle = self.left + self.outward * head / 2
        return middle - base / 2, middle + base / 2


class RailsByPlace:
    """The gauge faces of all bars, found by place."""

    def __init__(self, layout: Layout, bars: tuple[Bar, ...]) -> None:
        self.layout = layout
        self.found = [(bar.id, stretch) for bar in bars for stretch in bar.stretches if stretch.high > stretch.low]
        self.lines = [self._line(stretch) for _, stretch in self.found]
        self.tree = shapely.STRtree(self.lines)

    def _line(self, stretch: Stretch) -> LineString:
        path = self.layout.route(stretch.owner.route).path
        return LineString(flatten(Parallel(path, stretch.owner.face.offset, stretch.low, stretch.high)))

    def near(self, line: LineString, reach: float) -> Iterator[tuple[str, Stretch]]:
        """Yield the bars and stretches whose gauge face comes within `reach` mm of a line."""
        for index in sorted(self.tree.query(line, predicate="dwithin", distance=reach).tolist()):
            yield self.found[index]

    def across(self, pose: Pose, right: float, left: float) -> Iterator[Across]:
        """Yield the rails that cross the line square to `pose`, from `right` to `left` mm beside it, from its right."""
        line = LineString([pose.beside(right), pose.beside(left)])
        crossing = []
        for index in self.tree.query(line, predicate="intersects").tolist():
            name, stretch = self.found[index]
            path = self.layout.route(stretch.owner.route).path
            place = shapely.get_coordinates(self.lines[index].intersection(line)).tolist()[0]
            station = station_at(path, stretch.owner.face.offset, pose, 0.0, nearest_station(path, tuple(place))[0])
            way = 1 if math.cos(path.heading_at(station) - pose.heading) > 0 else -1
            beside = pose.local(path.point_at(station, stretch.owner.face.offset))[1]
            crossing.append(Across(name, stretch, station, beside, stretch.owner.face.outward * way, way))
        yield from sorted(crossing, key=lambda rail: rail.left)


def station_at(path: Path, offset: float, pose: Pose, ahead: float, near: float) -> float:
    """Return the station `near` which the parallel of `path` lies `ahead` mm in front of `pose` (Newton's method)."""
    station = near
    for _ in range(_STEPS):
        missing = ahead - pose.local(path.point_at(station, offset))[0]
        station += missing / math.cos(path.heading_at(station) - pose.heading)
        if abs(missing) < _CLOSE:
            break
    return station
