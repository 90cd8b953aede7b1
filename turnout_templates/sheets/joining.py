"""Turn chains of sheets into sheets that know their neighbours, which edges are cut, and where their marks lie.

All in strip coordinates (see `strips`): of two neighbours the later one is cut, along its low edge, and lies on top.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
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
SHORTEST_EDGE = 20.0
"""Shortest common edge that is called a join, mm."""
_STRAYS = (0.0, 0.02, -0.02, 0.04, -0.04, 0.06, -0.06, 0.08, -0.08, 0.1, -0.1)
"""How far from its quarter a mark may move to a clear place, in parts of the common edge."""
_CLEAR = 4.0
"""Distance from the middle of a mark within which its place counts as drawn over, mm."""

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
    seams = []
    for strip, members in strips.items():
        pairs = [(first, second, False) for first, second in pairwise(members)]
        pairs += [(first, second, True) for first in members for second in strips.get(strip + 1, ())]
        seams += [seam for pair in pairs if (seam := _seam(sheets, turned, cell, *pair)) is not None]
    return seams


def _seam(sheets: list[Laid], turned: Field, cell: Cell, first: int, second: int, across: bool) -> Seam | None:
    """Return the join of two sheets, or None where they share too little."""
    here, there = sheets[first], sheets[second]
    low = (max(here.u, there.u), max(here.v, there.v))
    high = (min(here.u, there.u) + cell.across, min(here.v, there.v) + cell.along)
    depth, edge = (high[0] - low[0], high[1] - low[1]) if across else (high[1] - low[1], high[0] - low[0])
    if depth < cell.overlap - 1e-6 or edge < SHORTEST_EDGE:
        return None
    marks = tuple(_mark(turned, low, high, quarter, across=across) for quarter in (0.25, 0.75))
    edge_of = _Edge(low, high, across)
    return Seam(
        first,
        second,
        across,
        low,
        high,
        marks,
        _note(turned, edge_of, [NOTE_DEPTH, 2 * MARK_DEPTH + NOTE_DEPTH], marks),
        _note(turned, edge_of, [depth - GLUED_NOTE_DEPTH, depth - NOTE_DEPTH], marks),
    )


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

    def point(self, depth: float, along: float) -> StripPoint:
        """Return the point `depth` mm behind the cut edge, `along` mm from its low end."""
        u, v = (depth, along) if self.across else (along, depth)
        return (self.low[0] + u, self.low[1] + v)


def _note(turned: Field, edge: _Edge, depths: list[float], marks: tuple[StripPoint, ...]) -> StripPoint:
    """Return the clearest place for words along an edge, the middle of the edge and the first depth preferred."""
    half = NOTE_LENGTH / 2
    room = max(0.0, edge.length / 2 - half)
    strays = [0.0] + [sign * room * k / 8 for k in range(1, 9) for sign in (1, -1)] if room else [0.0]
    places = [edge.point(depth, edge.length / 2 + stray) for depth in depths for stray in strays]
    reach = (NOTE_HEIGHT, half) if edge.across else (half, NOTE_HEIGHT)

    def clutter(point: StripPoint) -> int:
        u, v = point
        around = [
            mark
            for mark in marks
            if abs(mark[0] - u) < reach[0] + MARK_SIZE / 2 and abs(mark[1] - v) < reach[1] + MARK_SIZE / 2
        ]
        first, last = bisect_left(turned.us, u - reach[0]), bisect_right(turned.us, u + reach[0])
        return 1000 * len(around) + sum(abs(other - v) < reach[1] for other in turned.vs[first:last])

    return min(places, key=clutter)


def _mark(turned: Field, low: StripPoint, high: StripPoint, quarter: float, *, across: bool) -> StripPoint:
    """Return the clearest place for a mark near `quarter` of the common edge."""
    edge = high[1] - low[1] if across else high[0] - low[0]

    def place(stray: float) -> StripPoint:
        along = (quarter + stray) * edge
        return (low[0] + MARK_DEPTH, low[1] + along) if across else (low[0] + along, low[1] + MARK_DEPTH)

    return min((place(stray) for stray in _STRAYS), key=lambda point: _ink_near(turned, point))


def _ink_near(turned: Field, point: StripPoint) -> int:
    """Return how many points of ink lie where a mark would stand."""
    u, v = point
    first, last = bisect_left(turned.us, u - _CLEAR), bisect_right(turned.us, u + _CLEAR)
    near = zip(turned.us[first:last], turned.vs[first:last], strict=True)
    return sum(1 for other_u, other_v in near if math.hypot(other_u - u, other_v - v) < _CLEAR)


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
