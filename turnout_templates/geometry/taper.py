"""Turn a path and two offsets into the curve that runs evenly from one to the other.

A taper is drawn, measured and tied, and is no parallel: nothing that looks for crossings takes one.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.geometry.parallel import Chunk, Parallel, stretches
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.tolerances import CHUNK_TURN


class Taper(Struct, frozen=True):
    """The curve beside `path` from `from_offset` (mm to its left) at station `low` evenly to `to_offset` at `high`."""

    path: Path
    from_offset: float
    to_offset: float
    low: float
    high: float

    @property
    def slope(self) -> float:
        """How much the offset grows for each mm of station."""
        return (self.to_offset - self.from_offset) / (self.high - self.low)

    def offset_at(self, s: float) -> float:
        """Return how far (mm) the curve lies to the left of the path at station `s`."""
        return self.from_offset + self.slope * (s - self.low)

    def point_at(self, s: float) -> Point:
        """Return the point beside station `s` of the path."""
        return self.path.pose_at(s).beside(self.offset_at(s))

    def chunks(self, turn: float = CHUNK_TURN) -> Iterator[Chunk]:
        """Yield stretches that lie on one piece each and turn by no more than `turn` radians with it."""
        for piece, begin, low, high in stretches(self.path, self.low, self.high, turn):
            yield Chunk(piece, begin, self.offset_at(begin + low), low, high, self.slope)


Curve = Parallel | Taper
"""A curve beside a path, parallel to it or tapering."""


def length_of(curve: Curve) -> float:
    """Return the length in mm of a curve (a parallel's exact, a taper's to the last digits of a double)."""
    return sum(chunk.length_between(chunk.low, chunk.high) for chunk in curve.chunks())
