"""Pieces joined end to end into a path with one run of stations.

Stations are mm from the start of the path, along the pieces themselves (not along any parallel).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from msgspec import Struct

from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Point, Pose, wrapped
from turnout_templates.geometry.tolerances import JOINT


@dataclass(frozen=True, slots=True)
class Path:
    """A path of one or more `pieces`; `starts` holds the station at which each begins."""

    pieces: tuple[Piece, ...]
    starts: tuple[float, ...] = field(init=False, repr=False)
    length: float = field(init=False)

    def __post_init__(self) -> None:
        """Add up the stations and make sure that the pieces join, in place and in direction."""
        if not self.pieces:
            raise ValueError("a path needs at least one piece")
        starts, station = [], 0.0
        for piece in self.pieces:
            starts.append(station)
            station += piece.length
        for before, after in pairwise(self.pieces):
            end = before.end
            gap = math.hypot(end.x - after.start.x, end.y - after.start.y)
            turn = abs(wrapped(end.heading - after.start.heading))
            if gap > JOINT or turn > JOINT:
                raise ValueError(f"pieces do not join: {gap:.3g} mm apart, {turn:.3g} rad off")
        object.__setattr__(self, "starts", tuple(starts))
        object.__setattr__(self, "length", station)

    def __hash__(self) -> int:
        """Return the hash of a few figures that hardly two paths share: paths key what is worked out of them."""
        return hash((self.pieces[0], self.length))

    @property
    def start(self) -> Pose:
        """The pose at station 0."""
        return self.pieces[0].start

    @property
    def end(self) -> Pose:
        """The pose at the far end."""
        return self.pieces[-1].end

    @property
    def greatest_curvature(self) -> float:
        """The greatest curvature anywhere on the path, without its sign, in 1/mm; 0 where all is straight."""
        return max(max(abs(piece.from_curvature), abs(piece.to_curvature)) for piece in self.pieces)

    def index_at(self, s: float) -> int:
        """Return the index of the piece that holds station `s` (at a joint, the later one)."""
        return min(max(bisect_right(self.starts, s) - 1, 0), len(self.pieces) - 1)

    def pose_at(self, s: float) -> Pose:
        """Return the pose at station `s`; beyond the ends the first and last piece are carried on."""
        index = self.index_at(s)
        return self.pieces[index].pose_at(s - self.starts[index])

    def heading_at(self, s: float) -> float:
        """Return the heading in radians at station `s`."""
        index = self.index_at(s)
        return self.pieces[index].heading_at(s - self.starts[index])

    def curvature_at(self, s: float) -> float:
        """Return the signed curvature in 1/mm at station `s` (at a joint, that of the later piece)."""
        index = self.index_at(s)
        return self.pieces[index].curvature_at(s - self.starts[index])

    def point_at(self, s: float, offset: float = 0.0) -> Point:
        """Return the point `offset` mm to the left of station `s`."""
        return self.pose_at(s).beside(offset)

    def foot_near(self, point: Point, s: float) -> tuple[float, float]:
        """Return (station, distance to the left) of the perpendicular from `point` whose foot is nearest to `s`.

        Walks from the piece that holds `s` to its neighbours until the foot lies on the piece that is asked; beyond
        the ends the path is carried on.
        """
        index = self.index_at(s)
        last = len(self.pieces) - 1
        visited = set()
        while True:
            visited.add(index)
            local, left = self.pieces[index].foot(point, s - self.starts[index])
            if local < 0 and index > 0 and index - 1 not in visited:
                index -= 1
            elif local > self.pieces[index].length and index < last and index + 1 not in visited:
                index += 1
            else:
                return self.starts[index] + local, left

    def split(self, *stations: float) -> tuple[Path, ...]:
        """Return the parts of the path between its ends and the given `stations`, in order."""
        marks = [0.0, *sorted({s for s in stations if 0.0 < s < self.length}), self.length]
        return tuple(self.part(low, high) for low, high in pairwise(marks))

    def part(self, low: float, high: float) -> Path:
        """Return the stretch between stations `low` and `high`, which must lie on the path, `low` first."""
        pieces = []
        for begin, piece in zip(self.starts, self.pieces, strict=True):
            first, last = max(low - begin, 0.0), min(high - begin, piece.length)
            if last - first > 0.0:
                whole = first == 0.0 and last == piece.length
                pieces.append(piece if whole else piece.part(first, last))
        return Path(tuple(pieces))

    def reversed(self) -> Path:
        """Return the path run through from its end."""
        return Path(tuple(piece.reversed() for piece in reversed(self.pieces)))

    def mirrored(self) -> Path:
        """Return the path mirrored in the x axis."""
        return Path(tuple(piece.mirrored() for piece in self.pieces))


class Shape(Struct, frozen=True):
    """A piece without its place: `length` in mm and the signed curvatures at its ends in 1/mm."""

    length: float
    from_curvature: float = 0.0
    to_curvature: float = 0.0


def join(start: Pose, shapes: Iterable[Shape]) -> Path:
    """Return the path that begins at `start` and follows `shapes`, each tangent to the one before it.

    Shapes of zero length are left out; ValueError when nothing remains.
    """
    pieces = []
    pose = start
    for shape in shapes:
        if shape.length > 0.0:
            pieces.append(Piece(pose, shape.length, shape.from_curvature, shape.to_curvature))
            pose = pieces[-1].end
    return Path(tuple(pieces))
