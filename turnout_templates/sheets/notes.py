"""Turn joins into places for the words on each edge: on its own sheet, off the ink, off the marks, off other words.

The words stand inside the frame, because a band for them all round would cost paper. On the lower sheet they stand in
what the neighbour will cover; on the upper one along the cut, as near to it as the drawing allows, or square to it
where there is no room along it. So do the name of the line where the neighbour's edge will lie, beside that line, and
the words in the bar up the page. Where no place is bare the one that hits least is taken, and the words are given a
white ground. Strip coordinates (see `strips`).
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.sheets.bars import room_for_words
from turnout_templates.sheets.ground import CLEARANCE, Band, Ground, Shape, shape_of
from turnout_templates.sheets.joining import MARK_SIZE, Edge, Laid, Seam, StripPoint
from turnout_templates.sheets.plan import BAR_INSET
from turnout_templates.sheets.strips import Cell, Span

NOTE_SIZE, NAME_SIZE = 2.2, 1.5
"""Size of the note on an edge and of the name of the neighbour's edge, mm."""
NOTE_ENDS = 3.0
"""Distance of the words from the corners of a sheet, mm."""
NOTE_DEPTH, GLUED_NOTE_DEPTH, NOTE_EDGE = 1.8, 4.1, 1.35
"""Least distance of the words' middle from the cut edge, and from the far edge past the bar up the page and without."""
NAME_DEPTH = 1.4
"""Distance of the name's middle from the line that it names, mm."""
_DEEPER, _DEEPEST = 1.3, 14.0
"""Steps in which words move away from their edge, and how far they may, mm."""
_STEP = 1.0
"""Distance of the places tried along a side, mm."""
_ON_MARK, _ON_WORDS, _ON_EDGE = 200.0, 5000.0, 20.0
"""What lying on a mark, on other words and on the line of a neighbour's edge costs, in chords of lines."""
_OUTSIDE, _CROWDED, _NAMELESS = 0.1, 0.3, 50.0
"""What a millimetre past the common edge costs where the side has no other join, where it has, and for a name."""
_ASTRAY = 3.0
"""What a millimetre costs that words reach into what the side shares with another sheet."""
_ASIDE, _AWAY, _SQUARE = 0.01, 0.3, 4.0
"""What a millimetre from the middle of the common edge costs, one further away from it than need be, and running away
from it."""


class Room(Struct, frozen=True):
    """Room for words, mm: their `length` and half their `height`."""

    length: float
    height: float


_NOTE_HEIGHT, _NAME_HEIGHT = 1.3, 0.9


class Spot(Struct, frozen=True):
    """The middle of a place for words, whether it is `bare`, and whether they stand `square` to the edge."""

    at: StripPoint
    bare: bool
    square: bool = False


class _Stand(Struct, frozen=True):
    """Where words of one sheet may stand along an edge: room, sheet, edge, depths to try, cost per mm outside it.

    `rivals` are the spans along the edge that the same side shares with other sheets; `may_square` says that the words
    may also begin beside the edge and run away from it.
    """

    room: Room
    sheet: Laid
    edge: Edge
    depths: tuple[float, ...]
    outside: float
    rivals: tuple[Span, ...] = ()
    may_square: bool = False


class PlacedWords(Struct):
    """Where words stand: `notes` and `names` by (sheet index, neighbour's index), `bars` by sheet index."""

    notes: dict[tuple[int, int], Spot] = field(default_factory=dict)
    names: dict[tuple[int, int], Spot] = field(default_factory=dict)
    bars: dict[int, Spot] = field(default_factory=dict)


def note_words(neighbour: int, *, cut: bool) -> str:
    """Return what the edge to sheet number `neighbour` says on the sheet that is `cut`, or on the other."""
    return f"cut here, lay on sheet {neighbour}" if cut else f"glue under sheet {neighbour}"


def name_words(neighbour: int) -> str:
    """Return the name of the line where the edge of sheet number `neighbour` comes to lie."""
    return f"edge of sheet {neighbour}"


def place_words(
    sheets: list[Laid],
    seams: list[Seam],
    ground: Ground,
    cell: Cell,
    taken: Sequence[Sequence[Shape]] = (),
) -> PlacedWords:
    """Return the places of all words inside the frames: notes first, then names of edges, then those in the bars.

    `taken` are, for each sheet, the places of marks on it besides those of its seams.
    """
    placed = PlacedWords()
    bar_words = Room(room_for_words(cell.along if cell.across_end else cell.across), 1.0)
    for index, sheet in enumerate(sheets):
        own = [seam for seam in seams if index in (seam.earlier, seam.later)]
        near = ground.near((sheet.u, sheet.v), (sheet.u + cell.across, sheet.v + cell.along))
        near += _own_lines(own, index)
        near += taken[index] if taken else ()

        def put(stand: _Stand, near: list[Shape] = near) -> Spot:
            spot = _best_spot(stand, near, cell)
            room = _set_square(stand.room) if spot.square else stand.room
            near.append(_around(spot.at, *_reach(room, stand.edge), _ON_WORDS))
            return spot

        for seam in own:
            neighbour = seam.earlier if index == seam.later else seam.later
            placed.notes[index, neighbour] = put(_note_stand(index, sheet, seam, own, cell))
        for seam in own:
            if index == seam.earlier:
                room = Room(text_width(name_words(seam.later + 1), NAME_SIZE), _NAME_HEIGHT)
                stand = _Stand(room, sheet, seam.edge, (NAME_DEPTH, -NAME_DEPTH), _NAMELESS)
                placed.names[index, seam.later] = put(stand)
        placed.bars[index] = put(_Stand(bar_words, sheet, _right_side(sheet, cell), (0.0,), _CROWDED))
    return placed


def _own_lines(own: list[Seam], index: int) -> list[Shape]:
    """Return the marks on a sheet and the lines where its neighbours' edges come to lie."""
    reach = MARK_SIZE / 2
    marks = [_around(mark, reach, reach, _ON_MARK) for seam in own for mark in seam.marks]
    edges = [seam.edge for seam in own if index == seam.earlier]
    return [*marks, *(shape_of((edge.point(0.0, 0.0), edge.point(0.0, edge.length)), _ON_EDGE) for edge in edges)]


def _note_stand(index: int, sheet: Laid, seam: Seam, own: list[Seam], cell: Cell) -> _Stand:
    """Return where the note on one edge of a sheet may stand."""
    cut = index == seam.later
    neighbour = seam.earlier if cut else seam.later
    rivals = tuple(
        (other.edge.start - seam.edge.start, other.edge.start - seam.edge.start + other.edge.length)
        for other in own
        if other is not seam and other.edge.across == seam.edge.across and (index == other.later) == cut
    )
    room = Room(text_width(note_words(neighbour + 1, cut=cut), NOTE_SIZE), _NOTE_HEIGHT)
    depths = _steps(NOTE_DEPTH, _DEEPEST) if cut else _glued_depths(seam.edge, cell)
    return _Stand(room, sheet, seam.edge, depths, _CROWDED if rivals else _OUTSIDE, rivals, may_square=cut)


def _glued_depths(edge: Edge, cell: Cell) -> tuple[float, ...]:
    """Return the depths at which words on the lower sheet are covered; at the right of a page they clear the bar."""
    bare = cell.across_end if edge.across else cell.along_end
    first = GLUED_NOTE_DEPTH if bare else NOTE_EDGE
    last = max(first, min(edge.depth - NOTE_DEPTH, _DEEPEST))
    return tuple(edge.depth - far for far in _steps(first, last))


def _steps(first: float, last: float) -> tuple[float, ...]:
    """Return distances from `first` on, none beyond `last`."""
    return tuple(first + _DEEPER * k for k in range(1 + int((last - first) / _DEEPER + 1e-9)))


def _right_side(sheet: Laid, cell: Cell) -> Edge:
    """Return the line of the bar up the page, along the side of a sheet that is kept bare for it, as an edge."""
    high = (sheet.u + cell.across, sheet.v + cell.along)
    if cell.across_end:
        return Edge((high[0] - BAR_INSET, sheet.v), high, across=True)
    return Edge((sheet.u, high[1] - BAR_INSET), high, across=False)


def _reach(room: Room, edge: Edge) -> tuple[float, float]:
    """Return half the extent of words along an edge, in u and v."""
    return (room.height, room.length / 2) if edge.across else (room.length / 2, room.height)


def _around(point: StripPoint, reach_u: float, reach_v: float, cost: float) -> Shape:
    (u, v), (a, b) = point, (reach_u, reach_v)
    return shape_of(((u - a, v - b), (u + a, v - b), (u + a, v + b), (u - a, v + b)), cost)


def _best_spot(stand: _Stand, near: Sequence[Shape], cell: Cell) -> Spot:
    """Return the place for words that costs least; along the edge, the first depth and its middle are preferred."""
    best, least = _best_of(stand, stand.depths, near, cell)
    if stand.may_square and least > _SQUARE:
        square = replace(stand, room=_set_square(stand.room))
        depths = tuple(begin + stand.room.length / 2 for begin in _steps(NOTE_EDGE, _DEEPEST))
        spot, cost = _best_of(square, depths, near, cell)
        if cost + _SQUARE < least:
            return replace(spot, square=True)
    return best


def _best_of(stand: _Stand, depths: Sequence[float], near: Sequence[Shape], cell: Cell) -> tuple[Spot, float]:
    """Return the best place at any of `depths`, the first preferred, and what it costs."""
    best, least = Spot(stand.edge.point(depths[0], 0.0), bare=False), float("inf")
    for depth in depths:
        away = _AWAY * abs(depth - depths[0])
        if away >= least:
            break
        spot, cost = _best_at(stand, depth, near, cell)
        if cost + away < least:
            best, least = spot, cost + away
    return best, least


def _set_square(room: Room) -> Room:
    """Return the room of words that run away from an edge, as it is measured along that edge."""
    return Room(2 * room.height, room.length / 2)


def _best_at(stand: _Stand, depth: float, near: Sequence[Shape], cell: Cell) -> tuple[Spot, float]:
    """Return the best place at one depth and what it costs."""
    edge, room = stand.edge, stand.room
    half = room.length / 2
    start = (stand.sheet.v if edge.across else stand.sheet.u) - edge.start
    side = cell.along if edge.across else cell.across
    first, last = start + NOTE_ENDS + half, start + side - NOTE_ENDS - half
    count = max(1, int((last - first) / _STEP))
    middle = edge.length / 2
    places = [min(max(middle, first), last), *(first + (last - first) * k / count for k in range(count + 1))]
    band = Band(near, edge.point(depth, 0.0), room.height + CLEARANCE, along_v=edge.across)
    reach = half + CLEARANCE

    def hit(along: float) -> float:
        return band.hit(edge.start + along - reach, edge.start + along + reach)

    def cost(along: float) -> float:
        outside = max(0.0, half - along, along + half - edge.length)
        astray = sum(max(0.0, min(along + half, high) - max(along - half, low)) for low, high in stand.rivals)
        return hit(along) + stand.outside * outside + _ASTRAY * astray + _ASIDE * abs(along - middle)

    along = min(places, key=cost)
    return Spot(edge.point(depth, along), bare=hit(along) == 0.0), cost(along)
