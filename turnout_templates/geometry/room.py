"""Keep convex outlines apart: tell whether one would lie on any that is already placed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.geometry.pose import Point, Pose

Outline = tuple[Point, ...]


def rectangle(pose: Pose, back: float, ahead: float, right: float, left: float) -> Outline:
    """Return the corners of a rectangle set square to `pose`, by its reaches in mm, counter-clockwise."""
    return tuple(
        pose.ahead(along).beside(across)
        for along, across in ((-back, -right), (ahead, -right), (ahead, left), (-back, left))
    )


class Room:
    """The outlines placed so far, kept in square cells of `cell` mm so that only neighbours are compared."""

    def __init__(self, cell: float) -> None:
        self.cell = cell
        self.cells: dict[tuple[int, int], list[Outline]] = {}

    def is_free(self, outline: Outline) -> bool:
        """Tell whether the convex `outline` overlaps none of those taken so far; touching is no overlap."""
        return not any(_overlap(outline, other) for key in self._keys(outline) for other in self.cells.get(key, []))

    def take(self, outline: Outline) -> None:
        """Remember `outline`."""
        for key in self._keys(outline):
            self.cells.setdefault(key, []).append(outline)

    def _keys(self, outline: Outline) -> Iterator[tuple[int, int]]:
        xs = [math.floor(x / self.cell) for x, _ in outline]
        ys = [math.floor(y / self.cell) for _, y in outline]
        for i in range(min(xs), max(xs) + 1):
            for j in range(min(ys), max(ys) + 1):
                yield i, j


def _overlap(a: Outline, b: Outline) -> bool:
    """Tell whether two convex outlines overlap: no side of either separates them (separating axis theorem)."""
    return not any(_separates(p, q, a, b) for p, q in (*_sides(a), *_sides(b)))


def _sides(outline: Outline) -> Iterator[tuple[Point, Point]]:
    return zip(outline, outline[1:] + outline[:1], strict=True)


def _separates(p: Point, q: Point, a: Outline, b: Outline) -> bool:
    nx, ny = q[1] - p[1], p[0] - q[0]
    along_a = [x * nx + y * ny for x, y in a]
    along_b = [x * nx + y * ny for x, y in b]
    return max(along_a) <= min(along_b) or max(along_b) <= min(along_a)
