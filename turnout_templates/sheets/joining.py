"""Turn chains of sheets into sheets that know their neighbours, which edges are cut, and where their marks lie.

All in strip coordinates (see `strips`): of two neighbours the later one is cut, along its low edge, and lies on top.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.sheets.ground import CLEARANCE, Band, Ground
from turnout_templates.sheets.stacking import Chain
from turnout_templates.sheets.strips import Cell

MARK_SIZE = 4.0
"""Length of the lines of a registration mark, mm."""
MARK_DEPTH = 2.6
"""Distance of a mark's middle from the cut edge, mm: half its size and a little."""
SHORTEST_EDGE = 20.0
"""Shortest common edge that is called a join, mm."""
_REACH = MARK_SIZE / 2 + CLEARANCE
_STRAY, _STRAYS = 0.1, 12
"""How far from its quarter a mark may move to a clear place, in parts of the common edge, and steps to either side."""
_MARK_DEEPER, _MARK_DEEPEST = 0.8, 5.0
"""Steps in which a mark may move away from the cut edge, and how far it may, mm."""
_ASTRAY, _DEEP = 0.02, 0.2
"""What a millimetre from the quarter costs, and one away from the edge, in chords of lines hit."""

StripPoint = tuple[float, float]


class Laid(Struct, frozen=True):
    """A sheet in strip coordinates: its low corner (`u`, `v`), its `strip` and `link` in the chain, from 0."""

    u: float
    v: float
    strip: int
    link: int


class Edge(Struct, frozen=True):
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
    def start(self) -> float:
        """Where the common edge begins, on the axis along it, mm."""
        return self.low[1] if self.across else self.low[0]

    @property
    def depth(self) -> float:
        """How much the sheets overlap, mm (negative where they lie apart)."""
        return self.high[0] - self.low[0] if self.across else self.high[1] - self.low[1]

    def point(self, depth: float, along: float) -> StripPoint:
        """Return the point `depth` mm behind the cut edge, `along` mm from its low end."""
        u, v = (depth, along) if self.across else (along, depth)
        return (self.low[0] + u, self.low[1] + v)


class Seam(Struct, frozen=True):
    """Two joined sheets by their index from 0, their common `edge` and its two marks. The `later` sheet is cut."""

    earlier: int
    later: int
    edge: Edge
    marks: tuple[StripPoint, ...] = ()


def laid_sheets(chains: list[Chain]) -> list[Laid]:
    """Return all sheets in the order of numbering."""
    return [
        Laid(chain.u, start, strip, link)
        for strip, chain in enumerate(chains)
        for link, start in enumerate(chain.starts)
    ]


def find_seams(sheets: list[Laid], cell: Cell) -> list[Seam]:
    """Return every join between two sheets of one chain or of neighbouring strips, not yet marked."""
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
            seams.append(Seam(first, second, edge))
    return seams


def _shared_edge(here: Laid, there: Laid, cell: Cell, *, across: bool) -> Edge:
    """Return what two sheets share."""
    low = (max(here.u, there.u), max(here.v, there.v))
    high = (min(here.u, there.u) + cell.across, min(here.v, there.v) + cell.along)
    return Edge(low, high, across)


def marked(seam: Seam, ground: Ground, cell: Cell) -> Seam:
    """Return `seam` with its two marks, at the places near the quarters of the common edge where least is drawn."""
    edge = seam.edge
    bare = cell.across_end if edge.across else cell.along_end
    room = min(edge.depth - bare - MARK_SIZE / 2, _MARK_DEEPEST) - MARK_DEPTH
    depths = [MARK_DEPTH + _MARK_DEEPER * k for k in range(1 + max(0, int(room / _MARK_DEEPER)))]
    near = ground.near(edge.point(0.0, 0.0), edge.point(depths[-1] + _REACH, edge.length))
    bands = [(depth, Band(near, edge.point(depth, 0.0), _REACH, along_v=edge.across)) for depth in depths]
    return replace(seam, marks=tuple(_place_for_mark(edge, bands, part * edge.length) for part in (0.25, 0.75)))


def _place_for_mark(edge: Edge, bands: Sequence[tuple[float, Band]], quarter: float) -> StripPoint:
    """Return the best place for a mark within reach of `quarter` mm along a common edge, in a band at some depth."""
    step = _STRAY * edge.length / _STRAYS
    tried = [quarter, *(quarter + sign * step * k for k in range(1, _STRAYS + 1) for sign in (1, -1))]

    def cost(depth: float, band: Band, along: float) -> float:
        middle = edge.start + along
        hit = band.hit(middle - _REACH, middle + _REACH)
        return hit + _ASTRAY * abs(along - quarter) + _DEEP * (depth - MARK_DEPTH)

    return min(
        ((cost(depth, band, along), edge.point(depth, along)) for depth, band in bands for along in tried),
        key=lambda found: found[0],
    )[1]


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
