"""One piece of track-like curve: curvature that changes evenly with length.

A line (both curvatures zero), a circular arc (both equal) and a clothoid are the same thing here, so that nothing above
needs to ask which one it has. Curvature is signed, left positive, in 1/mm; stations run from 0 to `length` in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from turnout_templates.geometry.pose import Point, Pose, wrapped

# Gauss-Legendre nodes and weights of order 12 on [-1, 1] (Abramowitz and Stegun, table 25.4), positive half.
_NODES = (
    (0.1252334085114689154724, 0.2491470458134027850006),
    (0.3678314989981801937527, 0.2334925365383548087608),
    (0.5873179542866174472967, 0.2031674267230659217491),
    (0.7699026741943046870369, 0.1600783285433462263347),
    (0.9041172563704748566785, 0.1069393259953184309603),
    (0.9815606342467192506906, 0.0471753363865118271946),
)
_BLOCK_TURN = 0.5
"""Turning over one block of quadrature, in radians; order 12 is then exact to the last digit of a double."""


class Piece(Struct, frozen=True):
    """A curve from `start` over `length` mm whose curvature goes evenly from `from_curvature` to `to_curvature`."""

    start: Pose
    length: float
    from_curvature: float
    to_curvature: float

    @property
    def kind(self) -> str:
        """Return "straight", "arc" or "easement"."""
        if self.from_curvature != self.to_curvature:
            return "easement"
        return "arc" if self.from_curvature else "straight"

    @property
    def sharpness(self) -> float:
        """The change of curvature per mm, in 1/mm^2."""
        return (self.to_curvature - self.from_curvature) / self.length if self.length else 0.0

    @property
    def end(self) -> Pose:
        """The pose at the far end."""
        return self.pose_at(self.length)

    def curvature_at(self, s: float) -> float:
        """Return the curvature at station `s` (mm)."""
        return self.from_curvature + self.sharpness * s

    def heading_at(self, s: float) -> float:
        """Return the heading in radians at station `s` (mm); turns are not taken off."""
        return self.start.heading + s * (self.from_curvature + 0.5 * self.sharpness * s)

    def pose_at(self, s: float) -> Pose:
        """Return the pose at station `s` (mm); stations beyond the ends lie on the curve carried on."""
        if self.from_curvature == self.to_curvature:
            return _along_circle(self.start, self.from_curvature, s)
        x, y = self._integrate(s)
        return Pose(self.start.x + x, self.start.y + y, self.heading_at(s))

    def points_beside(self, stations: Sequence[float], left: float) -> list[Point]:
        """Return the points `left` mm to the left of stations, all at once (see `pose_at`)."""
        if self.from_curvature != self.to_curvature:
            return self._points_of_clothoid(stations, left)
        x, y, heading, curvature = self.start.x, self.start.y, self.start.heading, self.from_curvature
        points = []
        for s in stations:
            half_turn = 0.5 * curvature * s
            chord = s * (math.sin(half_turn) / half_turn if half_turn else 1.0)
            direction, there = heading + half_turn, heading + 2 * half_turn
            points.append(
                (
                    x + chord * math.cos(direction) - left * math.sin(there),
                    y + chord * math.sin(direction) + left * math.cos(there),
                )
            )
        return points

    def _points_of_clothoid(self, stations: Sequence[float], left: float) -> list[Point]:
        """Return the same for a clothoid: the sum of `_integrate`, over all stations together."""
        import numpy as np

        at = np.array(stations)
        blocks = 1 + int(
            max(abs(s) * max(abs(self.from_curvature), abs(self.curvature_at(s))) for s in stations) / _BLOCK_TURN
        )
        half = 0.5 * at / blocks
        x = y = np.zeros(len(at))
        for block in range(blocks):
            middle = (2 * block + 1) * half
            for node, weight in _NODES:
                for where in (middle - node * half, middle + node * half):
                    heading = self.start.heading + where * (self.from_curvature + 0.5 * self.sharpness * where)
                    x = x + weight * np.cos(heading)
                    y = y + weight * np.sin(heading)
        there = self.start.heading + at * (self.from_curvature + 0.5 * self.sharpness * at)
        xs = self.start.x + x * half - left * np.sin(there)
        ys = self.start.y + y * half + left * np.cos(there)
        return list(zip(xs.tolist(), ys.tolist(), strict=True))

    def _integrate(self, s: float) -> Point:
        """Return the displacement from the start to station `s` by quadrature of the unit tangent."""
        turn = abs(s) * max(abs(self.from_curvature), abs(self.curvature_at(s)))
        blocks = 1 + int(turn / _BLOCK_TURN)
        half = 0.5 * s / blocks
        x = y = 0.0
        for block in range(blocks):
            middle = (2 * block + 1) * half
            for node, weight in _NODES:
                for at in (middle - node * half, middle + node * half):
                    heading = self.heading_at(at)
                    x += weight * math.cos(heading)
                    y += weight * math.sin(heading)
        return (x * half, y * half)

    def turning(self, low: float, high: float) -> float:
        """Return the total of |turning| in radians between stations `low` and `high`."""
        first, last = self.curvature_at(low), self.curvature_at(high)
        if first * last >= 0:
            return 0.5 * abs(first + last) * (high - low)
        return 0.5 * (first * first + last * last) / abs(last - first) * (high - low)

    def foot(self, point: Point, near: float | None = None) -> tuple[float, float]:
        """Return (station, distance to the left) of the perpendicular from `point` (mm), the curve carried on.

        Exact for lines and arcs; for a clothoid by Newton's method from the station `near` (by default the middle).
        Meant for points nearer than the radius of curvature.
        """
        if self.from_curvature == self.to_curvature:
            return self._circle_foot(point)
        return self._clothoid_foot(point, 0.5 * self.length if near is None else near)

    def _circle_foot(self, point: Point) -> tuple[float, float]:
        ahead, left = self.start.local(point)
        curvature = self.from_curvature
        if curvature == 0.0:
            return ahead, left
        # Seen from the centre at (0, 1/curvature): the radial distance and the angle from the start.
        across, along = 1.0 - curvature * left, curvature * ahead
        radial = math.hypot(across, along)
        angle = math.atan2(along, across)
        middle = 0.5 * self.length * curvature
        angle = middle + wrapped(angle - middle)
        # (1 - radial)/curvature without cancellation: 1 - radial^2 = curvature (2 left - curvature (ahead^2+left^2)).
        return angle / curvature, (2.0 * left - curvature * (ahead * ahead + left * left)) / (1.0 + radial)

    def _clothoid_foot(self, point: Point, s: float) -> tuple[float, float]:
        for _ in range(50):
            ahead, left = self.pose_at(s).local(point)
            slope = 1.0 - self.curvature_at(s) * left
            step = ahead / (slope if abs(slope) > 0.2 else math.copysign(0.2, slope))
            step = min(max(step, -self.length), self.length)
            s += step
            if abs(step) < 1e-12 * (1.0 + abs(s)):
                break
        return s, self.pose_at(s).local(point)[1]

    def part(self, low: float, high: float) -> Piece:
        """Return the stretch between stations `low` and `high` as a piece of its own."""
        return Piece(self.pose_at(low), high - low, self.curvature_at(low), self.curvature_at(high))

    def reversed(self) -> Piece:
        """Return the piece run through from its end to its start."""
        end = self.end
        return Piece(Pose(end.x, end.y, end.heading + math.pi), self.length, -self.to_curvature, -self.from_curvature)

    def mirrored(self) -> Piece:
        """Return the piece mirrored in the x axis."""
        start = Pose(self.start.x, -self.start.y, -self.start.heading)
        return Piece(start, self.length, -self.from_curvature, -self.to_curvature)


def _along_circle(start: Pose, curvature: float, s: float) -> Pose:
    """Return the pose `s` mm along the circle (or line) of `curvature` from `start`."""
    half_turn = 0.5 * curvature * s
    chord = s * (math.sin(half_turn) / half_turn if half_turn else 1.0)
    direction = start.heading + half_turn
    return Pose(
        start.x + chord * math.cos(direction), start.y + chord * math.sin(direction), start.heading + 2 * half_turn
    )


def quadrature(value: Callable[[float], float], low: float, high: float) -> float:
    """Return the integral of a smooth `value` over one stretch, by the nodes of order 12."""
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    return half * sum(w * (value(middle - n * half) + value(middle + n * half)) for n, w in _NODES)
