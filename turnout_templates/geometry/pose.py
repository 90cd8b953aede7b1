"""Points, poses and the rigid moves between them.

Angles are radians, counter-clockwise from +x; y points up; lengths are millimetres.
"""

from __future__ import annotations

import math

from msgspec import Struct

Point = tuple[float, float]


class Pose(Struct, frozen=True):
    """A place with a direction: `x` and `y` in mm, `heading` in radians (not reduced to one turn)."""

    x: float
    y: float
    heading: float

    @property
    def point(self) -> Point:
        """The place without its direction."""
        return (self.x, self.y)

    def beside(self, offset: float) -> Point:
        """Return the point `offset` mm to the left (right when negative)."""
        return (self.x - offset * math.sin(self.heading), self.y + offset * math.cos(self.heading))

    def ahead(self, distance: float) -> Pose:
        """Return the pose `distance` mm straight on (back when negative)."""
        return Pose(
            self.x + distance * math.cos(self.heading), self.y + distance * math.sin(self.heading), self.heading
        )

    def shifted(self, offset: float) -> Pose:
        """Return the parallel pose `offset` mm to the left (right when negative)."""
        x, y = self.beside(offset)
        return Pose(x, y, self.heading)

    def turned(self, angle: float) -> Pose:
        """Return the pose turned on the spot by `angle` radians, left positive."""
        return Pose(self.x, self.y, self.heading + angle)

    def local(self, point: Point) -> Point:
        """Return `point` as (ahead, left) in mm as seen from here."""
        dx, dy = point[0] - self.x, point[1] - self.y
        cosine, sine = math.cos(self.heading), math.sin(self.heading)
        return (dx * cosine + dy * sine, dy * cosine - dx * sine)


class Placement(Struct, frozen=True):
    """A rigid move: turn about the origin by `turn` radians (left positive), then shift by (`dx`, `dy`) mm."""

    turn: float = 0.0
    dx: float = 0.0
    dy: float = 0.0

    def apply(self, point: Point) -> Point:
        """Return `point` moved."""
        cosine, sine = math.cos(self.turn), math.sin(self.turn)
        return (
            point[0] * cosine - point[1] * sine + self.dx,
            point[0] * sine + point[1] * cosine + self.dy,
        )

    def inverse(self) -> Placement:
        """Return the move that undoes this one."""
        cosine, sine = math.cos(self.turn), math.sin(self.turn)
        return Placement(-self.turn, -self.dx * cosine - self.dy * sine, self.dx * sine - self.dy * cosine)


def wrapped(angle: float) -> float:
    """Return `angle` (radians) reduced to the half-open turn (-pi, pi]."""
    reduced = math.remainder(angle, math.tau)
    return math.pi if reduced == -math.pi else reduced
