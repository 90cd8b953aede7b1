"""Turn joins into places for the words on each edge: on its own sheet, off the ink, off the marks, off other words.

The words stand inside the frame, because a band for them all round would cost paper. On the lower sheet they stand in
what the neighbour will cover; on the upper one close along the cut. So do the name of the line where the neighbour's
edge will lie, beside that line, and the words in the bar up the page. Strip coordinates throughout (see `strips`).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field

from turnout_templates.sheets.joining import MARK_DEPTH, MARK_SIZE, Edge, Laid, Seam, StripPoint, ink_between
from turnout_templates.sheets.plan import BAR_INSET
from turnout_templates.sheets.strips import Cell, Field

NOTE_ENDS = 3.0
"""Distance of the words from the corners of a sheet, mm."""
NOTE_DEPTH, GLUED_NOTE_DEPTH, NOTE_EDGE = 1.8, 4.1, 1.35
"""Distance of the words' middle from the cut edge, and from the far edge past the bar up the page and without, mm."""
_CUT_DEPTHS = (NOTE_DEPTH, 2 * MARK_DEPTH + NOTE_DEPTH)
_PLACES = 33
"""Places tried along a side: about one in every 6 to 8 mm."""
_MARK_HIT, _WORDS_HIT = 200.0, 5000.0
"""What lying on a mark, or on other words, counts, in points of ink."""
_OUTSIDE, _CROWDED, _NAMELESS = 0.1, 2.0, 50.0
"""What a millimetre past the common edge counts where the side has no other join, where it has, and for a name."""
_ASIDE = 0.01
"""What a millimetre from the middle of the common edge counts."""


@dataclass(frozen=True, slots=True)
class Room:
    """Room for words, mm: their `length`, half their `height`, and the same with the distance in which `ink` counts.

    Points of a line lie up to 6 mm apart: words lower than that look as far aside as a line that crosses them has one.
    """

    length: float
    height: float
    ink: float


NOTE, NAME, BAR_WORDS = Room(36.0, 1.3, 2.4), Room(17.0, 0.8, 3.1), Room(24.0, 1.0, 3.1)
"""Room for the note on an edge, for the name of the neighbour's edge and for the words in the bar up the page."""
NAME_DEPTH = 1.0
"""Distance of the name's middle from the line that it names, mm."""
Obstacle = tuple[float, float, float, float, float]
"""A rectangle as low u, low v, high u, high v, and what it costs to lie on it."""


@dataclass(frozen=True, slots=True)
class _Stand:
    """Where words of one sheet may stand along an edge: room, sheet, edge, depths to try, cost per mm outside it."""

    room: Room
    sheet: Laid
    edge: Edge
    depths: tuple[float, ...]
    outside: float


@dataclass(slots=True)
class PlacedWords:
    """Where words stand: `notes` and `names` by (sheet index, neighbour's index), `bars` by sheet index: middles."""

    notes: dict[tuple[int, int], StripPoint] = field(default_factory=dict)
    names: dict[tuple[int, int], StripPoint] = field(default_factory=dict)
    bars: dict[int, StripPoint] = field(default_factory=dict)


def place_words(sheets: list[Laid], seams: list[Seam], turned: Field, cell: Cell) -> PlacedWords:
    """Return the places of all words inside the frames: notes first, then names of edges, then those in the bars."""
    placed = PlacedWords()
    for index, sheet in enumerate(sheets):
        own = [seam for seam in seams if index in (seam.earlier, seam.later)]
        taken = [_around(mark, MARK_SIZE / 2, MARK_SIZE / 2, _MARK_HIT) for seam in own for mark in seam.marks]

        def put(stand: _Stand, taken: list[Obstacle] = taken) -> StripPoint:
            place = _best_place(stand, turned, cell, taken)
            taken.append(_around(place, *_reach(stand.room, stand.edge), _WORDS_HIT))
            return place

        for seam in own:
            cut = index == seam.later
            rivals = [
                s for s in own if s is not seam and s.edge.across == seam.edge.across and (index == s.later) == cut
            ]
            depths = _CUT_DEPTHS if cut else tuple(seam.edge.depth - far for far in _far_depths(seam.edge, cell))
            stand = _Stand(NOTE, sheet, seam.edge, depths, _CROWDED if rivals else _OUTSIDE)
            placed.notes[index, seam.earlier if cut else seam.later] = put(stand)
        for seam in own:
            if index == seam.earlier:
                stand = _Stand(NAME, sheet, seam.edge, (NAME_DEPTH, -NAME_DEPTH), _NAMELESS)
                placed.names[index, seam.later] = put(stand)
        placed.bars[index] = put(_Stand(BAR_WORDS, sheet, _right_side(sheet, cell), (0.0,), _CROWDED))
    return placed


def _right_side(sheet: Laid, cell: Cell) -> Edge:
    """Return the line of the bar up the page, along the side of a sheet that is kept bare for it, as an edge."""
    high = (sheet.u + cell.across, sheet.v + cell.along)
    if cell.across_end:
        return Edge((high[0] - BAR_INSET, sheet.v), high, across=True)
    return Edge((sheet.u, high[1] - BAR_INSET), high, across=False)


def _far_depths(edge: Edge, cell: Cell) -> tuple[float, ...]:
    """Return the distances from the far edge where words may stand; at the right of a page they clear the bar."""
    bare = cell.across_end if edge.across else cell.along_end
    return (GLUED_NOTE_DEPTH, GLUED_NOTE_DEPTH + 2.1 * NOTE.height) if bare else (GLUED_NOTE_DEPTH, NOTE_EDGE)


def _reach(room: Room, edge: Edge) -> tuple[float, float]:
    """Return half the extent of words along an edge, in u and v."""
    return (room.height, room.length / 2) if edge.across else (room.length / 2, room.height)


def _around(point: StripPoint, reach_u: float, reach_v: float, cost: float) -> Obstacle:
    return (point[0] - reach_u, point[1] - reach_v, point[0] + reach_u, point[1] + reach_v, cost)


def _places_along(edge: Edge, depth: float, ink: list[StripPoint], clear: float) -> list[float]:
    """Return how far along an edge those points of ink lie that words at this depth would touch."""
    u, v = edge.point(depth, 0.0)
    if edge.across:
        return [point[1] - v for point in ink if abs(point[0] - u) < clear]
    return [point[0] - u for point in ink if abs(point[1] - v) < clear]


def _best_place(stand: _Stand, turned: Field, cell: Cell, taken: list[Obstacle]) -> StripPoint:
    """Return the place for words that costs least; the first depth and the middle of the edge are preferred."""
    edge, sheet, room = stand.edge, stand.sheet, stand.room
    start = sheet.v - edge.low[1] if edge.across else sheet.u - edge.low[0]
    side = cell.along if edge.across else cell.across
    first, last = start + NOTE_ENDS + room.length / 2, start + side - NOTE_ENDS - room.length / 2
    spread = [first + (last - first) * k / (_PLACES - 1) for k in range(_PLACES)]
    middle = min(max(edge.length / 2, first), last)
    reach = _reach(room, edge)

    def best_at(depth: float) -> tuple[float, StripPoint]:
        corners = edge.point(depth - room.ink, start), edge.point(depth + room.ink, start + side)
        ink = sorted(_places_along(edge, depth, ink_between(turned, *corners), room.ink))

        def cost(along: float) -> float:
            box = _around(edge.point(depth, along), *reach, 0.0)
            out = max(0.0, room.length / 2 - along, along + room.length / 2 - edge.length)
            drawn = bisect_left(ink, along + room.length / 2) - bisect_right(ink, along - room.length / 2)
            hits = sum(o[4] for o in taken if box[0] < o[2] and o[0] < box[2] and box[1] < o[3] and o[1] < box[3])
            return drawn + hits + stand.outside * out + _ASIDE * abs(along - edge.length / 2)

        along = min([middle, *spread], key=cost)
        return cost(along), edge.point(depth, along)

    return min((best_at(depth) for depth in stand.depths), key=lambda found: found[0])[1]
