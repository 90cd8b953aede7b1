"""The exact parallel of a path: everything is computed on the path and moved sideways.

A parallel of a clothoid is no clothoid, so a parallel is kept as its path and its offset. Its parameter is the station
on the path; its own length follows from the turning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from turnout_templates.geometry.path import Path
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.tolerances import CHUNK_TURN

Box = tuple[float, float, float, float]
"""Left, bottom, right and top in mm."""


@dataclass(frozen=True, slots=True)
class Parallel:
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
        for begin, piece in zip(self.path.starts, self.path.pieces, strict=True):
            low, high = max(self.low - begin, 0.0), min(self.high - begin, piece.length)
            if high > low:
                # Equal steps turn most where the curve is sharpest.
                sharpest = max(abs(piece.curvature_at(low)), abs(piece.curvature_at(high)))
                count = 1 + int(sharpest * (high - low) / turn)
                step = (high - low) / count
                for i in range(count):
                    last = high if i == count - 1 else low + (i + 1) * step
                    yield Chunk(piece, begin, self.offset, low + i * step, last)


def boxes_meet(p: Box, q: Box) -> bool:
    """Tell whether two boxes share a point."""
    return p[0] <= q[2] and q[0] <= p[2] and p[1] <= q[3] and q[1] <= p[3]


@dataclass(frozen=True, slots=True)
class Chunk:
    """A stretch of a parallel on one `piece`, between `low` and `high` on it; `begin` is the piece's station."""

    piece: Piece
    begin: float
    offset: float
    low: float
    high: float

    def point_at(self, s: float) -> Point:
        """Return the point beside station `s` of the piece."""
        return self.piece.pose_at(s).beside(self.offset)

    def box(self) -> Box:
        """Return a box that surely holds the stretch."""
        (x0, y0), (x1, y1) = self.point_at(self.low), self.point_at(self.high)
        bulge = 0.3 * math.hypot(x1 - x0, y1 - y0) * self.piece.turning(self.low, self.high) + 1e-6
        return (min(x0, x1) - bulge, min(y0, y1) - bulge, max(x0, x1) + bulge, max(y0, y1) + bulge)
