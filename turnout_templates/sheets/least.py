"""Turn points of a drawing into a number of sheets that it surely needs, long before any sheet is placed."""

from __future__ import annotations

import math
from collections.abc import Iterable

from turnout_templates.geometry.pose import Point


def least_sheets(points: Iterable[Point], reach: float) -> int:
    """Return how many sheets at least are needed to hold `points` (mm) when no sheet holds two more than `reach` apart.

    Of the points, in their order, each is counted that lies further than `reach` from all counted before: no two of
    them can share a sheet. The least possible number of sheets may be greater, never smaller.
    """
    counted: dict[tuple[int, int], list[Point]] = {}
    total = 0
    for point in points:
        column, row = (math.floor(value / reach) for value in point)
        near = (
            other
            for i in (column - 1, column, column + 1)
            for j in (row - 1, row, row + 1)
            for other in counted.get((i, j), ())
        )
        if all(math.dist(point, other) > reach for other in near):
            counted.setdefault((column, row), []).append(point)
            total += 1
    return total
