"""Turn chains of sheets into sheets that know their neighbours, which edges are cut, and where their marks lie.

All in strip coordinates (see `strips`): of two neighbours the later one is cut, along its low edge, and lies on top.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from turnout_templates.sheets.stacking import Chain
from turnout_templates.sheets.strips import Cell, Field

MARK_SIZE = 4.0
"""Length of the lines of a registration mark, mm."""
MARK_DEPTH = 2.6
"""Distance of a mark's middle from the cut edge, mm: half its size and a little."""
SHORTEST_EDGE = 20.0
"""Shortest common edge that is called a join, mm."""
CLEAR = 4.0
"""Distance from the middle of a mark within which its place counts as drawn over, mm."""
_STRAYS = (0.0, 0.02, -0.02, 0.04, -0.04, 0.06, -0.06, 0.08, -0.08, 0.1, -0.1)
"""How far from its quarter a mark may move to a clear place, in parts of the common edge."""

StripPoint = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Laid:
    """A sheet in strip coordinates: its low corner (`u`, `v`), its `strip` and `link` in the chain, from 0."""

    u: float
    v: float
    strip: int
    link: int


@dataclass(frozen=True, slots=True)
class Edge:
    """A rectangle that two sheets share, `low` to `high` corner, seen from its cut edge.

    `across` says that the sheets lie in neighbouring strips; otherwise in one chain.
    """

    low: StripPoint
    high: StripPoint
    across: bool

    @property
    def length(self) -> float:
        """The length of the common edge in mm (negative where the sheets lie apart)."""
        return self.high[1] - self.low[1] if self.across else self.high[0] - self.low[0]

    @property
    def depth(self) -> float:
        """How much the sheets overlap, mm (negative where they lie apart)."""
        return self.high[0] - self.low[0] if self.across else self.high[1] - self.low[1]

    def point(self, depth: float, along: float) -> StripPoint:
        """Return the point `depth` mm behind the cut edge, `along` mm from its low end."""
        u, v = (depth, along) if self.across else (along, depth)
        return (self.low[0] + u, self.low[1] + v)


@dataclass(frozen=True, slots=True)
class Seam:
    """Two joined sheets by their index from 0, their common `edge` and its two marks. The `later` sheet is cut."""

    earlier: int
    later: int
    edge: Edge
    marks: tuple[StripPoint, ...]


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
    seams = []
    for first, second, across in pairs:
        edge = _shared_edge(sheets[first], sheets[second], cell, across=across)
        if edge.depth >= cell.overlap - 1e-6 and edge.length >= SHORTEST_EDGE:
            seams.append(Seam(first, second, edge, _marks(edge, turned)))
    return seams


def _shared_edge(here: Laid, there: Laid, cell: Cell, *, across: bool) -> Edge:
    """Return what two sheets share."""
    low = (max(here.u, there.u), max(here.v, there.v))
    high = (min(here.u, there.u) + cell.across, min(here.v, there.v) + cell.along)
    return Edge(low, high, across)


def _marks(edge: Edge, turned: Field) -> tuple[StripPoint, ...]:
    """Return the clearest places for marks near the quarters of a common edge."""
    ink = ink_between(turned, edge.point(0.0, 0.0), edge.point(2 * MARK_DEPTH, edge.length))
    return tuple(
        min(
            (edge.point(MARK_DEPTH, (quarter + stray) * edge.length) for stray in _STRAYS),
            key=lambda place: sum(math.dist(point, place) < CLEAR for point in ink),
        )
        for quarter in (0.25, 0.75)
    )


def ink_between(turned: Field, low: StripPoint, high: StripPoint) -> list[StripPoint]:
    """Return the points of ink in a rectangle and `CLEAR` mm round it."""
    return turned.near((low[0] - CLEAR, low[1] - CLEAR), (high[0] + CLEAR, high[1] + CLEAR))


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
