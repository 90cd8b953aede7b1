"""Turn chains of sheets into sheets that know their neighbours, which edges are cut, and where their marks lie.

All in strip coordinates (see `strips`): of two neighbours the later one is cut, along its low edge, and lies on top.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

from turnout_templates.sheets.stacking import Chain
from turnout_templates.sheets.strips import Cell, Field

MARK_SIZE = 4.0
"""Length of the lines of a registration mark, mm."""
MARK_DEPTH = 2.6
"""Distance of a mark's middle from the cut edge, mm: half its size and a little."""
NOTE_LENGTH, NOTE_HEIGHT = 38.0, 2.4
"""Room for the words on an edge, mm: their length, and half their height with the distance kept to ink."""
NOTE_DEPTH, GLUED_NOTE_DEPTH = 1.8, 4.6
"""Distance of the words' middle from the cut edge, and from the far edge (past the bar up the page), mm."""
NOTE_ENDS = 3.0
"""Distance of the words from the corners of a sheet, mm."""
SHORTEST_EDGE = 20.0
"""Shortest common edge that is called a join, mm."""
_STRAYS = (0.0, 0.02, -0.02, 0.04, -0.04, 0.06, -0.06, 0.08, -0.08, 0.1, -0.1)
"""How far from its quarter a mark may move to a clear place, in parts of the common edge."""
_CLEAR = 4.0
"""Distance from the middle of a mark within which its place counts as drawn over, mm."""

_BEYOND = 400.0
"""How far past the ends of a common edge ink is looked at, mm: a sheet's side and more."""
_MARK_HIT = 20
"""What it counts, in points of ink, when words would lie on a mark."""

StripPoint = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Laid:
    """A sheet in strip coordinates: its low corner (`u`, `v`), its `strip` and `link` in the chain, from 0."""

    u: float
    v: float
    strip: int
    link: int


@dataclass(frozen=True, slots=True)
class Seam:
    """Two sheets by their index from 0, the rectangle they share (low and high corner), and their two marks.

    `across` says that they lie in neighbouring strips; otherwise in one chain. The `later` one is cut. The notes are
    the middles of the clearest places for the words on the later and on the earlier sheet.
    """

    earlier: int
    later: int
    across: bool
    low: StripPoint
    high: StripPoint
    marks: tuple[StripPoint, ...]
    cut_note: StripPoint
    glued_note: StripPoint


def laid_sheets(chains: list[Chain]) -> list[Laid]:
    """Return all sheets in the order of numbering."""
    return [
        Laid(chain.u, start, strip, link)
        for strip, chain in enumerate(chains)
        for link, start in enumerate(chain.starts)
    ]


def find_seams(sheets: list[Laid], turned: Field, cell: Cell) -> list[Seam]:
    """Return every join between two sheets of one chain or of neighbouring strips."""
    strips: dict[int, list[int]] = {}
    for index, sheet in enumerate(sheets):
        strips.setdefault(sheet.strip, []).append(index)
    pairs: list[tuple[int, int, bool]] = []
    for strip, members in strips.items():
        pairs += [(first, second, False) for first, second in pairwise(members)]
        pairs += [(first, second, True) for first in members for second in strips.get(strip + 1, ())]
    edges = {pair: _shared_edge(sheets[pair[0]], sheets[pair[1]], cell, across=pair[2]) for pair in pairs}
    joins = {
        pair: edge for pair, edge in edges.items() if edge.depth >= cell.overlap - 1e-6 and edge.length >= SHORTEST_EDGE
    }
    before = Counter((second, across) for _, second, across in joins)
    after = Counter((first, across) for first, _, across in joins)
    return [
        _seam(sheets, pair, edge, turned, cell, (after[pair[0], pair[2]] == 1, before[pair[1], pair[2]] == 1))
        for pair, edge in joins.items()
    ]


def _shared_edge(here: Laid, there: Laid, cell: Cell, *, across: bool) -> _Edge:
    """Return what two sheets share (of negative depth or length where they lie apart)."""
    low = (max(here.u, there.u), max(here.v, there.v))
    high = (min(here.u, there.u) + cell.across, min(here.v, there.v) + cell.along)
    return _Edge(low, high, across)


def _seam(
    sheets: list[Laid], pair: tuple[int, int, bool], edge: _Edge, turned: Field, cell: Cell, alone: tuple[bool, bool]
) -> Seam:
    """Return the join of a pair of sheets; `alone` says for each whether it has no other join on that side."""
    first, second, across = pair
    near_cut = _ink_within(turned, edge, 0.0, min(edge.depth, 2 * MARK_DEPTH + 2 * NOTE_DEPTH))
    near_end = _ink_within(turned, edge, max(0.0, edge.depth - 2 * GLUED_NOTE_DEPTH), edge.depth)
    marks = tuple(_mark(near_cut, edge, quarter) for quarter in (0.25, 0.75))
    glued_span, cut_span = (
        _side_span(sheets[index], edge, cell) if only else (0.0, edge.length)
        for index, only in zip((first, second), alone, strict=True)
    )
    return Seam(
        first,
        second,
        across,
        edge.low,
        edge.high,
        marks,
        _note(near_cut, edge, (NOTE_DEPTH, 2 * MARK_DEPTH + NOTE_DEPTH), cut_span, marks),
        _note(near_end, edge, (edge.depth - GLUED_NOTE_DEPTH, edge.depth - NOTE_DEPTH), glued_span, marks),
    )


def _side_span(sheet: Laid, edge: _Edge, cell: Cell) -> tuple[float, float]:
    """Return the whole side of a sheet along an edge, as distances from the low end of the edge."""
    start = sheet.v - edge.low[1] if edge.across else sheet.u - edge.low[0]
    return (start, start + (cell.along if edge.across else cell.across))


@dataclass(frozen=True, slots=True)
class _Edge:
    """A shared rectangle seen from its cut edge: points by their depth behind it and their place along it."""

    low: StripPoint
    high: StripPoint
    across: bool

    @property
    def length(self) -> float:
        """The length of the common edge in mm."""
        return self.high[1] - self.low[1] if self.across else self.high[0] - self.low[0]

    @property
    def depth(self) -> float:
        """How much the sheets overlap, mm."""
        return self.high[0] - self.low[0] if self.across else self.high[1] - self.low[1]

    def point(self, depth: float, along: float) -> StripPoint:
        """Return the point `depth` mm behind the cut edge, `along` mm from its low end."""
        u, v = (depth, along) if self.across else (along, depth)
        return (self.low[0] + u, self.low[1] + v)


def _ink_within(turned: Field, edge: _Edge, depth: float, to_depth: float) -> list[StripPoint]:
    """Return the points of ink between two depths behind a cut edge, all along it and its two sheets' sides."""
    low, high = edge.point(depth, -_BEYOND), edge.point(to_depth, edge.length + _BEYOND)
    first, last = bisect_left(turned.us, low[0] - _CLEAR), bisect_right(turned.us, high[0] + _CLEAR)
    least, most = low[1] - _CLEAR, high[1] + _CLEAR
    pairs = zip(turned.us[first:last], turned.vs[first:last], strict=True)
    return [pair for pair in pairs if least < pair[1] < most]


def _mark(ink: list[StripPoint], edge: _Edge, quarter: float) -> StripPoint:
    """Return the clearest place for a mark near `quarter` of the common edge."""
    places = [edge.point(MARK_DEPTH, (quarter + stray) * edge.length) for stray in _STRAYS]
    return min(places, key=lambda place: sum(math.dist(point, place) < _CLEAR for point in ink))


def _note(
    ink: list[StripPoint],
    edge: _Edge,
    depths: tuple[float, ...],
    span: tuple[float, float],
    marks: tuple[StripPoint, ...],
) -> StripPoint:
    """Return the clearest place for words within `span` of an edge; the middle and the first depth are preferred."""
    half = NOTE_LENGTH / 2
    middle, room = (span[0] + span[1]) / 2, max(0.0, (span[1] - span[0]) / 2 - half - NOTE_ENDS)
    strays = [sign * room * k / 12 for k in range(13) for sign in (1, -1)] if room else [0.0]
    places = [edge.point(depth, middle + stray) for depth in depths for stray in strays]
    u_reach, v_reach = (NOTE_HEIGHT, half) if edge.across else (half, NOTE_HEIGHT)
    more = MARK_SIZE / 2

    def clutter(place: StripPoint) -> int:
        u, v = place
        hit = sum(abs(mark[0] - u) < u_reach + more and abs(mark[1] - v) < v_reach + more for mark in marks)
        return _MARK_HIT * hit + sum(abs(point[0] - u) < u_reach and abs(point[1] - v) < v_reach for point in ink)

    return min(places, key=clutter)


def hangs_together(count: int, seams: list[Seam]) -> bool:
    """Tell whether `count` sheets are all joined, directly or through others."""
    joined: dict[int, list[int]] = {}
    for seam in seams:
        joined.setdefault(seam.earlier, []).append(seam.later)
        joined.setdefault(seam.later, []).append(seam.earlier)
    reached, waiting = {0}, [0]
    while waiting:
        for other in joined.get(waiting.pop(), ()):
            if other not in reached:
                reached.add(other)
                waiting.append(other)
    return len(reached) == count
