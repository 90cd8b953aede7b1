"""Keep ties apart: tell whether a tie would lie on one that is already laid."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.model import Ring, Tie


class TieRoom:
    """The ties laid so far, kept in square cells of `cell` mm so that only neighbours are compared."""

    def __init__(self, cell: float) -> None:
        self.cell = cell
        self.cells: dict[tuple[int, int], list[Ring]] = {}

    def is_free(self, tie: Tie) -> bool:
        """Tell whether `tie` overlaps none of the ties taken so far."""
        corners = tie.corners()
        return not any(_overlap(corners, other) for key in self._keys(corners) for other in self.cells.get(key, []))

    def take(self, tie: Tie) -> None:
        """Remember `tie`."""
        corners = tie.corners()
        for key in self._keys(corners):
            self.cells.setdefault(key, []).append(corners)

    def _keys(self, corners: Ring) -> Iterator[tuple[int, int]]:
        xs = [math.floor(x / self.cell) for x, _ in corners]
        ys = [math.floor(y / self.cell) for _, y in corners]
        for i in range(min(xs), max(xs) + 1):
            for j in range(min(ys), max(ys) + 1):
                yield i, j


def _overlap(a: Ring, b: Ring) -> bool:
    """Tell whether two convex outlines overlap: no side of either separates them (separating axis theorem)."""
    return not any(_separates(p, q, a, b) for p, q in (*_sides(a), *_sides(b)))


def _sides(ring: Ring) -> Iterator[tuple[Point, Point]]:
    return zip(ring, ring[1:] + ring[:1], strict=True)


def _separates(p: Point, q: Point, a: Ring, b: Ring) -> bool:
    nx, ny = q[1] - p[1], p[0] - q[0]
    along_a = [x * nx + y * ny for x, y in a]
    along_b = [x * nx + y * ny for x, y in b]
    return max(along_a) <= min(along_b) or max(along_b) <= min(along_a)
