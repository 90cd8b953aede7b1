"""Keep convex outlines apart: tell whether one would lie on any that is already placed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.geometry.pose import Point, Pose

Outline = tuple[Point, ...]
_Box = tuple[float, float, float, float]


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
        self.cells: dict[tuple[int, int], list[tuple[_Box, Outline]]] = {}

    def is_free(self, outline: Outline) -> bool:
        """Tell whether the convex `outline` overlaps none of those taken so far; touching is no overlap."""
        return next(self._overlapped(outline), None) is None

    def overlapped(self, outline: Outline) -> list[Outline]:
        """Return those taken so far that the convex `outline` overlaps, each once, in the order they were taken."""
        return list(dict.fromkeys(self._overlapped(outline)))

    def _overlapped(self, outline: Outline) -> Iterator[Outline]:
        box = _box(outline)
        left, bottom, right, top = box
        for key in self._keys(box):
            for (other_left, other_bottom, other_right, other_top), other in self.cells.get(key, ()):
                apart = other_left >= right or other_right <= left or other_bottom >= top or other_top <= bottom
                if not apart and _overlap(outline, other):
                    yield other

    def take(self, outline: Outline) -> None:
        """Remember `outline`."""
        box = _box(outline)
        for key in self._keys(box):
            self.cells.setdefault(key, []).append((box, outline))

    def give_up(self, outline: Outline) -> None:
        """Forget `outline`, which was taken before."""
        box = _box(outline)
        for key in self._keys(box):
            self.cells[key].remove((box, outline))

    def _keys(self, box: _Box) -> Iterator[tuple[int, int]]:
        left, bottom, right, top = (math.floor(value / self.cell) for value in box)
        for i in range(left, right + 1):
            for j in range(bottom, top + 1):
                yield i, j


def _box(outline: Outline) -> _Box:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return min(xs), min(ys), max(xs), max(ys)


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
