"""Turn a drawing into what placing sheets needs of it: points along the ink, boxes to keep whole, discs to spare.

Points lie at most `STEP` mm apart along every line, so that a box that holds two in a row holds the line between
them but for a bulge of `BULGE` mm. Most of them lie inside the drawing and cannot be the outermost in any direction:
`outline` leaves those out, so that the search over many turns stays quick. A plan is worked out with all of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from msgspec import Struct

from turnout_templates.drawing.bounds import cubic_point, item_bounds, item_chains, text_corners
from turnout_templates.drawing.hatching import hatch_lines
from turnout_templates.drawing.items import Drawing, Item, KeepClear, MarkItem, RegionItem, TextItem
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment

STEP = 6.0
"""Greatest distance between neighbouring points of a line, mm."""
BULGE = 0.25
"""Room kept round the points, mm: 6 mm of an arc of 18 mm radius rise 0.25 mm over their chord, and sharper arcs are
sampled more closely, by their angle."""
_CELL = 12.0
"""Side of the cells in which the outline is thinned out, mm."""
_INNER_STEP = 40.0
"""Distance of the points inside a filled area, mm: less than any sheet."""

Corners = tuple[Point, Point, Point, Point]


class Ink(Struct, frozen=True):
    """Where the drawing lies: all `points`, the `outline` among them, `wholes` not to be cut, and `discs` to spare."""

    points: tuple[Point, ...]
    outline: tuple[Point, ...]
    wholes: tuple[Corners, ...]
    discs: tuple[KeepClear, ...]


def sample_ink(drawing: Drawing) -> Ink:
    """Return the points, boxes and discs of `drawing`."""
    points: list[Point] = []
    wholes: list[Corners] = []
    for item in drawing.items:
        _sample_item(item, points, wholes)
    thinned = _outermost(points)
    return Ink(tuple(points), tuple(thinned), tuple(wholes), drawing.keep_clear)


def _sample_item(item: Item, points: list[Point], wholes: list[Corners]) -> None:
    """Add the points of one item, and its box when it must not be cut."""
    if isinstance(item, TextItem):
        corners = text_corners(item)
        points += corners
        wholes.append(corners)
        return
    for chain in item_chains(item):
        for segment in chain:
            sample_segment(segment, points)
    if isinstance(item, RegionItem):
        points += _inner_points(item)
    elif isinstance(item, MarkItem):
        wholes.append(item_bounds(item).corners)


def _inner_points(item: RegionItem) -> Iterator[Point]:
    """Yield points inside an area too large to be held by its edge."""
    box = item_bounds(item)
    if (item.fill.grey is None and item.fill.hatch is None) or min(box.width, box.height) < _INNER_STEP:
        return
    for start, end in hatch_lines(item.rings, _INNER_STEP, 0.0):
        yield from ((x, start[1]) for x in _steps(start[0], end[0], _INNER_STEP))


def _steps(start: float, end: float, step: float) -> Iterator[float]:
    count = max(1, math.ceil(abs(end - start) / step))
    return (start + (end - start) * k / count for k in range(count + 1))


def sample_segment(segment: Segment, points: list[Point]) -> None:
    """Add points of `segment`, its two ends among them, at most `STEP` mm apart."""
    if isinstance(segment, LineSegment):
        _sample_line(segment, points)
    elif isinstance(segment, ArcSegment):
        _sample_arc(segment, points)
    else:
        _sample_cubic(segment, points)


def _sample_line(line: LineSegment, points: list[Point]) -> None:
    (x, y), (to_x, to_y) = line.start, line.end
    count = math.ceil(math.hypot(to_x - x, to_y - y) / STEP)
    if not points or points[-1] != line.start:
        points.append(line.start)
    if count > 1:
        dx, dy = (to_x - x) / count, (to_y - y) / count
        points += [(x + dx * k, y + dy * k) for k in range(1, count)]
    points.append(line.end)


def _sample_arc(arc: ArcSegment, points: list[Point]) -> None:
    count = max(1, math.ceil(abs(arc.sweep) * arc.radius / STEP), math.ceil(abs(arc.sweep) * 4))
    step, (x, y), radius = arc.sweep / count, arc.centre, arc.radius
    angles = [arc.start_angle + step * k for k in range(count + 1)]
    points += [(x + radius * math.cos(angle), y + radius * math.sin(angle)) for angle in angles]


def _sample_cubic(cubic: CubicSegment, points: list[Point]) -> None:
    around = (cubic.start, cubic.control_1, cubic.control_2, cubic.end)
    # The speed of a cubic is at most three times its longest control leg.
    longest = max(math.dist(p, q) for p, q in pairwise(around))
    count = max(1, math.ceil(3 * longest / STEP))
    points += [cubic_point(cubic, k / count) for k in range(count + 1)]


def _outermost(points: list[Point]) -> list[Point]:
    """Return the outermost points, in eight directions, of each cell that is not walled in by eight others."""
    cells: dict[tuple[int, int], list[Point]] = {}
    for point in points:
        key = (int(point[0] // _CELL), int(point[1] // _CELL))
        if key in cells:
            cells[key].append(point)
        else:
            cells[key] = [point]
    kept: dict[Point, None] = {}
    for (column, row), held in cells.items():
        if not all((column + i, row + j) in cells for i, j in _AROUND):
            kept.update(dict.fromkeys(_extremes(held)))
    return list(kept)


def _extremes(points: list[Point]) -> list[Point]:
    """Return the points furthest along both axes and both diagonals."""
    if len(points) < 3:
        return points
    slants = [x + y for x, y in points]
    falls = [x - y for x, y in points]
    by_y = [y for _, y in points]
    return [
        min(points),
        max(points),
        *(points[values.index(end(values))] for values in (slants, falls, by_y) for end in (min, max)),
    ]


_AROUND = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1))


def convex_hull(points: list[Point]) -> list[Point]:
    """Return the corners of the least convex polygon round `points`, counter-clockwise (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered
    lower, upper = _half_hull(ordered), _half_hull(ordered[::-1])
    return lower[:-1] + upper[:-1]


def _half_hull(points: list[Point]) -> list[Point]:
    half: list[Point] = []
    for x, y in points:
        while len(half) > 1 and (half[-1][0] - half[-2][0]) * (y - half[-2][1]) <= (half[-1][1] - half[-2][1]) * (
            x - half[-2][0]
        ):
            half.pop()
        half.append((x, y))
    return half
