"""The exact parallel of a path: everything is computed on the path and moved sideways.

A parallel of a clothoid is no clothoid, so a parallel is kept as its path and its offset. Its parameter is the station
on the path; its own length follows from the turning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from turnout_templates.geometry.path import Path
from turnout_templates.geometry.piece import Piece, quadrature
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.tolerances import CHUNK_TURN

Box = tuple[float, float, float, float]
"""Left, bottom, right and top in mm."""


class Parallel(Struct, frozen=True):
    """The curve `offset` mm to the left of `path` between its stations `low` and `high`."""

    path: Path
    offset: float
    low: float
    high: float

    def point_at(self, s: float) -> Point:
        """Return the point beside station `s` of the path."""
        return self.path.pose_at(s).beside(self.offset)

    def pose_at(self, s: float) -> Pose:
        """Return the pose beside station `s` of the path; its heading is the path's."""
        return self.path.pose_at(s).shifted(self.offset)

    def length_between(self, low: float, high: float) -> float:
        """Return the parallel's own length in mm between two stations of the path (exact)."""
        return (high - low) - self.offset * (self.path.heading_at(high) - self.path.heading_at(low))

    def station_after(self, s: float, distance: float) -> float:
        """Return the station of the path that lies `distance` mm on from `s`, measured along the parallel."""
        station = s + distance
        for _ in range(30):
            missing = distance - self.length_between(s, station)
            station += missing / (1.0 - self.offset * self.path.curvature_at(station))
            if abs(missing) < 1e-12 * (1.0 + abs(distance)):
                break
        return station

    def chunks(self, turn: float = CHUNK_TURN) -> Iterator[Chunk]:
        """Yield stretches that lie on one piece each and turn by no more than `turn` radians."""
        for piece, begin, low, high in stretches(self.path, self.low, self.high, turn):
            yield Chunk(piece, begin, self.offset, low, high)


def stretches(path: Path, low: float, high: float, turn: float) -> Iterator[tuple[Piece, float, float, float]]:
    """Yield (piece, its station, low, high on it): what lies between two stations, turning by no more than `turn`."""
    for begin, piece in zip(path.starts, path.pieces, strict=True):
        first, last = max(low - begin, 0.0), min(high - begin, piece.length)
        if last > first:
            # Equal steps turn most where the curve is sharpest.
            sharpest = max(abs(piece.curvature_at(first)), abs(piece.curvature_at(last)))
            count = 1 + int(sharpest * (last - first) / turn)
            step = (last - first) / count
            for i in range(count):
                yield piece, begin, first + i * step, last if i == count - 1 else first + (i + 1) * step


def boxes_meet(p: Box, q: Box) -> bool:
    """Tell whether two boxes share a point."""
    return p[0] <= q[2] and q[0] <= p[2] and p[1] <= q[3] and q[1] <= p[3]


class Chunk(Struct, frozen=True):
    """A stretch of a curve beside one `piece`, between `low` and `high` on it; `begin` is the piece's station.

    Its `offset` is that at `low` and grows by `slope` for each mm of station: nothing, of a parallel.
    """

    piece: Piece
    begin: float
    offset: float
    low: float
    high: float
    slope: float = 0.0

    def offset_at(self, s: float) -> float:
        """Return how far (mm) the curve lies to the left of station `s` of the piece."""
        return self.offset + self.slope * (s - self.low)

    def point_at(self, s: float) -> Point:
        """Return the point beside station `s` of the piece."""
        return self.piece.pose_at(s).beside(self.offset_at(s))

    def points_at(self, stations: Sequence[float]) -> list[Point]:
        """Return the points beside stations of the piece, all at once: the same as `point_at` of each, and faster."""
        if self.slope:
            return [self.point_at(s) for s in stations]
        return self.piece.points_beside(stations, self.offset)

    def pose_at(self, s: float) -> Pose:
        """Return the pose on the curve itself beside station `s` of the piece."""
        pose = self.piece.pose_at(s).shifted(self.offset_at(s))
        return pose.turned(math.atan(self.slope / self.speed_at(s))) if self.slope else pose

    def speed_at(self, s: float) -> float:
        """Return how far (mm) the curve runs along with each mm of the piece: 1 - offset x curvature."""
        return 1.0 - self.offset_at(s) * self.piece.curvature_at(s)

    def bend_at(self, s: float) -> float:
        """Return the curvature of the curve itself beside station `s` of the piece; zero at its own centre.

        With the speed u, the slope m and the curvature k with its change k': the curve's tangent is turned from the
        piece's by atan(m/u), so that it turns by k + (m^2 k + m d k')/(u^2 + m^2) on the length sqrt(u^2 + m^2).
        """
        speed, slope = self.speed_at(s), self.slope
        if abs(speed) < 1e-9:
            return 0.0
        curvature, run = self.piece.curvature_at(s), speed * speed + slope * slope
        leaning = slope * (slope * curvature + self.offset_at(s) * self.piece.sharpness) / run
        return (curvature + leaning) / math.copysign(math.sqrt(run), speed)

    def length_between(self, low: float, high: float) -> float:
        """Return the curve's own length in mm between two stations of the piece, to the last digits of a double.

        A parallel's is exact, (high - low) - offset x turning; a slope m adds m^2/(sqrt(u^2 + m^2) + u) a mm.
        """
        turn = self.piece.heading_at(high) - self.piece.heading_at(low)
        length = (high - low) - self.offset_at(low) * turn
        return length + quadrature(lambda s: self._sloping(s, low), low, high) if self.slope else length

    def _sloping(self, s: float, low: float) -> float:
        """Return by how much the curve is longer at `s` than the parallel at `low` of it, a mm of station."""
        speed, slope = self.speed_at(s), self.slope
        return slope * slope / (math.hypot(speed, slope) + speed) - slope * (s - low) * self.piece.curvature_at(s)

    def box(self) -> Box:
        """Return a box that surely holds the stretch."""
        (x0, y0), (x1, y1) = self.point_at(self.low), self.point_at(self.high)
        bulge = 0.3 * math.hypot(x1 - x0, y1 - y0) * self.piece.turning(self.low, self.high) + 1e-6
        return (min(x0, x1) - bulge, min(y0, y1) - bulge, max(x0, x1) + bulge, max(y0, y1) + bulge)
