"""Find the routes near a place without asking every route of a layout.

Routes are cut into short chunks, and each square cell of the plane remembers the chunks that come within reach of it:
a question costs the same in a yard as beside a single turnout.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.parallel import Chunk, Parallel
from turnout_templates.geometry.pose import Point, Pose


class Nearby:
    """The reference lines of a layout, found by place; `reach` is how far (mm) from a line a question may be asked."""

    def __init__(self, layout: Layout, reach: float) -> None:
        self.reach = reach
        self._cells: dict[tuple[int, int], list[tuple[LaidRoute, Chunk]]] = {}
        self._headings: dict[tuple[int, int], set[tuple[float, float]]] = {}
        for route in layout:
            for chunk in _short_chunks(route, reach):
                headings = _headings(chunk)
                for cell in self._around(chunk):
                    self._cells.setdefault(cell, []).append((route, chunk))
                    self._headings.setdefault(cell, set()).add(headings)

    def _around(self, chunk: Chunk) -> Iterator[tuple[int, int]]:
        """Yield the cells that lie within reach of a chunk."""
        left, bottom, right, top = chunk.box()
        columns = range(self._cell(left - self.reach), self._cell(right + self.reach) + 1)
        rows = range(self._cell(bottom - self.reach), self._cell(top + self.reach) + 1)
        return ((i, j) for i in columns for j in rows)

    def _key(self, point: Point) -> tuple[int, int]:
        return self._cell(point[0]), self._cell(point[1])

    def _cell(self, value: float) -> int:
        return math.floor(value / self.reach)

    def leaning(self, pose: Pose, angle: float) -> Iterator[tuple[LaidRoute, float]]:
        """Yield each route within reach of `pose`, with its nearest station, if any may lean on it by `angle`."""
        headings = self._headings.get(self._key(pose.point), ())
        if any(abs(math.remainder(middle - pose.heading, math.pi)) + spread > angle for middle, spread in headings):
            yield from self.stations(pose.point)

    def stations(self, point: Point) -> Iterator[tuple[LaidRoute, float]]:
        """Yield each route that comes within reach of `point`, with its nearest station."""
        best: dict[str, tuple[float, LaidRoute, float]] = {}
        for route, chunk in self._cells.get(self._key(point), []):
            foot = chunk.piece.foot(point, 0.5 * (chunk.low + chunk.high))[0]
            local = min(max(foot, chunk.low), chunk.high)
            distance = math.dist(chunk.piece.pose_at(local).point, point)
            if route.name not in best or distance < best[route.name][0]:
                best[route.name] = (distance, route, chunk.begin + local)
        yield from ((route, station) for _, route, station in best.values())


def _headings(chunk: Chunk) -> tuple[float, float]:
    """Return the heading in the middle of a chunk, and how far (radians) any other in it may lie to either side."""
    middle = (chunk.low + chunk.high) / 2
    spread = max(chunk.piece.turning(chunk.low, middle), chunk.piece.turning(middle, chunk.high))
    return chunk.piece.heading_at(middle), spread


def _short_chunks(route: LaidRoute, longest: float) -> Iterator[Chunk]:
    """Yield the chunks of a reference line, none longer than `longest` mm."""
    for chunk in Parallel(route.path, 0.0, 0.0, route.path.length).chunks():
        count = math.ceil((chunk.high - chunk.low) / longest)
        step = (chunk.high - chunk.low) / count
        for i in range(count):
            low = chunk.low + i * step
            yield Chunk(chunk.piece, chunk.begin, 0.0, low, min(low + step, chunk.high))
