"""Turn curves into the few exact primitives that a writer can draw.

A writer knows three things: a line, a circular arc and a cubic Bezier. Lines and arcs stay what they are all the
way to the file; every other curve has become cubics, once, within a stated bound, before it gets here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.geometry.pose import Placement, Point


class LineSegment(Struct, frozen=True):
    """The straight line from `start` to `end`, both in mm."""

    start: Point
    end: Point

    def placed(self, placement: Placement) -> LineSegment:
        """Return the segment moved by `placement`."""
        return LineSegment(placement.apply(self.start), placement.apply(self.end))

    def scaled(self, factor: float) -> LineSegment:
        """Return the segment made `factor` times as large about the origin."""
        return LineSegment(_times(self.start, factor), _times(self.end, factor))


class ArcSegment(Struct, frozen=True):
    """A circular arc: `centre` and `radius` in mm, `start_angle` and signed `sweep` in radians, left (ccw) positive."""

    centre: Point
    radius: float
    start_angle: float
    sweep: float

    def point_at(self, angle: float) -> Point:
        """Return the point of the circle at `angle` (radians, ccw from +x)."""
        return (
            self.centre[0] + self.radius * math.cos(angle),
            self.centre[1] + self.radius * math.sin(angle),
        )

    @property
    def start(self) -> Point:
        """The first point of the arc."""
        return self.point_at(self.start_angle)

    @property
    def end(self) -> Point:
        """The last point of the arc."""
        return self.point_at(self.start_angle + self.sweep)

    def placed(self, placement: Placement) -> ArcSegment:
        """Return the segment moved by `placement`."""
        return ArcSegment(placement.apply(self.centre), self.radius, self.start_angle + placement.turn, self.sweep)

    def scaled(self, factor: float) -> ArcSegment:
        """Return the segment made `factor` times as large about the origin."""
        return ArcSegment(_times(self.centre, factor), self.radius * factor, self.start_angle, self.sweep)


class CubicSegment(Struct, frozen=True):
    """A cubic Bezier curve by its two end points and two control points, in mm."""

    start: Point
    control_1: Point
    control_2: Point
    end: Point

    def placed(self, placement: Placement) -> CubicSegment:
        """Return the segment moved by `placement`."""
        return CubicSegment(
            placement.apply(self.start),
            placement.apply(self.control_1),
            placement.apply(self.control_2),
            placement.apply(self.end),
        )

    def scaled(self, factor: float) -> CubicSegment:
        """Return the segment made `factor` times as large about the origin."""
        return CubicSegment(
            _times(self.start, factor),
            _times(self.control_1, factor),
            _times(self.control_2, factor),
            _times(self.end, factor),
        )


def _times(point: Point, factor: float) -> Point:
    return (point[0] * factor, point[1] * factor)


Segment = LineSegment | ArcSegment | CubicSegment


def polyline(points: Sequence[Point], *, closed: bool = False) -> tuple[LineSegment, ...]:
    """Return the line segments that join `points` in order, and the last to the first when `closed`."""
    following = [*points[1:], points[0]] if closed else points[1:]
    return tuple(LineSegment(p, q) for p, q in zip(points, following, strict=False))
