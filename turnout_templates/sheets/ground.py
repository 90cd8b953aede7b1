"""Turn a drawing into what words and marks on a sheet keep off: its lines in short chords, and the boxes of its texts.

Words stand in a band along an edge. Each shape is clipped to the band, exactly, and leaves the span that it takes along
the edge; what words cost at some place is then read off the sorted ends of all spans. Strip coordinates (see `strips`).
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate, islice, pairwise
from typing import NamedTuple

from turnout_templates.drawing.bounds import item_chains, text_corners
from turnout_templates.drawing.hatching import hatch_lines
from turnout_templates.drawing.items import Drawing, Fill, RegionItem, TextItem
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import LineSegment, Segment
from turnout_templates.sheets.plan import Arrangement
from turnout_templates.sheets.sampling import sample_segment
from turnout_templates.sheets.strips import Span, in_strips

ON_LINE, ON_TEXT = 1.0, 60.0
"""What lying on a chord of a line costs (one is at most 6 mm long), and on a text: neither can then be read (ours)."""
CLEARANCE = 0.4
"""White kept round words and marks, mm: a curve lies at most 0.25 mm beside its chords."""

_CELL = 50.0
"""The side of a cell in mm: many chords, and still a small part of a sheet."""
Corners = tuple[Point, ...]


class Shape(NamedTuple):
    """A convex outline (a chord has two corners), the box from `low` to `high` round it, and what lying on it costs.

    A tuple, because a drawing has many thousands and a tuple is made in a third of the time.
    """

    corners: Corners
    low: Point
    high: Point
    cost: float


def shape_of(corners: Corners, cost: float) -> Shape:
    """Return a convex outline with the box round it."""
    us, vs = [u for u, _ in corners], [v for _, v in corners]
    return Shape(corners, (min(us), min(vs)), (max(us), max(vs)), cost)


class Ground:
    """Shapes found by place: each square cell remembers those whose boxes come into it, so that a sheet of a long
    drawing asks for no more than one of a short drawing.
    """

    def __init__(self, shapes: Iterable[Shape]) -> None:
        """Enter `shapes` into all cells that their boxes come into."""
        self._cells: defaultdict[tuple[int, int], list[tuple[int, Shape]]] = defaultdict(list)
        for entry in enumerate(shapes):
            (u, v), (to_u, to_v) = entry[1].low, entry[1].high
            first, last = (int(u // _CELL), int(v // _CELL)), (int(to_u // _CELL), int(to_v // _CELL))
            for cell in (first,) if first == last else _cells(entry[1].low, entry[1].high):
                self._cells[cell].append(entry)

    def near(self, low: Point, high: Point) -> list[Shape]:
        """Return the shapes whose boxes reach into the rectangle from `low` to `high`, in their order."""
        (u, v), (to_u, to_v) = low, high
        found = {
            index: s
            for cell in _cells(low, high)
            for index, s in self._cells.get(cell, ())
            if s.high[0] > u and s.low[0] < to_u and s.high[1] > v and s.low[1] < to_v
        }
        return [found[index] for index in sorted(found)]


def _cells(low: Point, high: Point) -> Iterator[tuple[int, int]]:
    """Yield the cells that a box comes into."""
    columns = range(math.floor(low[0] / _CELL), math.floor(high[0] / _CELL) + 1)
    rows = range(math.floor(low[1] / _CELL), math.floor(high[1] / _CELL) + 1)
    return ((i, j) for i in columns for j in rows)


def ground_of(drawing: Drawing, turn: float, arrangement: Arrangement) -> Ground:
    """Return all lines and texts of `drawing`, turned by `turn` radians and seen in strips as `arrangement` says.

    All corners are turned in one go, which takes a third of the time of turning each outline.
    """
    outlines = list(_outlines(drawing))
    corners = [corner for outline, _ in outlines for corner in outline]
    turned = iter(in_strips(corners, math.cos(turn), math.sin(turn), arrangement))
    return Ground(shape_of(tuple(islice(turned, len(outline))), cost) for outline, cost in outlines)


def _outlines(drawing: Drawing) -> Iterator[tuple[Corners, float]]:
    """Yield the chords of all lines and the rectangles of all texts, with what lying on them costs."""
    for item in drawing.items:
        if isinstance(item, TextItem):
            yield text_corners(item), ON_TEXT
            continue
        if isinstance(item, RegionItem) and item.fill.hatch is not None:
            yield from ((corners, ON_LINE) for corners in _hatched(item.rings, item.fill))
        for chain in item_chains(item):
            for segment in chain:
                points: list[Point] = []
                sample_segment(segment, points)
                yield from ((chord, ON_LINE) for chord in pairwise(points))


def _hatched(rings: Sequence[Sequence[Segment]], fill: Fill) -> Iterator[Corners]:
    """Yield what covers a hatched region: itself where it has four straight sides, as a tie has, else its lines."""
    ring = rings[0]
    if len(rings) == 1 and len(ring) == 4 and all(isinstance(side, LineSegment) for side in ring):
        yield tuple(side.start for side in ring)
    elif fill.hatch is not None:
        yield from hatch_lines(rings, fill.hatch, fill.hatch_angle)


class Band:
    """What lies in a band along u (or along v): how much is hit by something that takes a span of its length."""

    def __init__(self, shapes: Iterable[Shape], middle: Point, half: float, *, along_v: bool) -> None:
        """Take what `shapes` have within `half` mm of the line through `middle` along the band."""
        axis = 0 if along_v else 1
        low, high = middle[axis] - half, middle[axis] + half
        near = [shape for shape in shapes if shape.high[axis] >= low and shape.low[axis] <= high]
        clipped = ((_clipped(shape.corners, low, high, axis), shape.cost) for shape in near)
        spans = [(span, cost) for span, cost in clipped if span is not None]
        self.starts, self.begun = _summed((span[0], cost) for span, cost in spans)
        self.ends, self.ended = _summed((span[1], cost) for span, cost in spans)

    def hit(self, low: float, high: float) -> float:
        """Return the cost of all that lies between `low` and `high`."""
        return self.begun[bisect_left(self.starts, high)] - self.ended[bisect_right(self.ends, low)]


def _summed(weighed: Iterable[tuple[float, float]]) -> tuple[list[float], list[float]]:
    """Return places in order, and the sum of the weights before each and after the last."""
    ordered = sorted(weighed)
    return [place for place, _ in ordered], list(accumulate((weight for _, weight in ordered), initial=0.0))


def _clipped(corners: Sequence[Point], low: float, high: float, axis: int) -> Span | None:
    """Return from where to where a convex outline lies in a band across `axis` (0: u, 1: v), or None where it does not.

    `axis` is the one that `low` and `high` are measured on; the span is measured on the other.
    """
    held = [corner[1 - axis] for corner in corners if low <= corner[axis] <= high]
    for p, q in pairwise((*corners, corners[0])):
        a, b = p[axis], q[axis]
        for line in (low, high):
            if (a < line) != (b < line):
                held.append(p[1 - axis] + (q[1 - axis] - p[1 - axis]) * (line - a) / (b - a))
    return (min(held), max(held)) if held else None
