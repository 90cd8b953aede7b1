"""Turn sheets into their control marks: up to four named marks a sheet, as near its corners as bare paper allows.

They are measured between when the sheets are joined, and drilled through where something is fixed under the board. Far
apart and aside of what is drawn they tell a turn of a sheet that nothing on the drawing would. None lies where a
neighbour comes to lie on top. Strip coordinates (see `strips`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec import Struct

from turnout_templates.sheets.ground import Ground, Shape, shape_of
from turnout_templates.sheets.joining import MARK_SIZE, Laid, Seam, StripPoint
from turnout_templates.sheets.plan import Arrangement
from turnout_templates.sheets.strips import Cell

CONTROL_SIZE = 4.0
"""Length of the lines of a control mark, mm."""
NAME_SIZE = 2.4
"""Size of its name, mm."""
NAME_GAP = 0.8
"""White between a mark and its name, mm."""
_NAME_ROOM = 6.0
"""Room for the name, mm: M and three figures."""
_WHITE = 0.8
"""White kept round a mark with its name, mm: a drill of 1 mm then clears ties and rails."""
_BORDER, _HEADING = 3.6, 7.6
"""What is kept free of marks along the sides and the foot of a sheet, and at its head, mm: an underside has a border of
3.5 mm there and its heading of 7.5, and the bar up the page stands in the last 3.5 at the right."""
_STEP = 4.0
"""Distance of the places tried, mm."""
_FURTHEST = 0.92
"""How far from its corner a mark may lie, in parts of the sheet's sides: a neighbour may cover nearly all of it."""
_ON_CONTROL = 400.0
"""What lying on a control mark costs words, in chords of lines."""

_HALF = CONTROL_SIZE / 2 + _WHITE

Box = tuple[StripPoint, StripPoint]
"""The low and the high corner of a rectangle."""


class PlacedControl(Struct, frozen=True):
    """The control marks of one sheet (`points`), and the `shapes` that words must keep off."""

    points: tuple[StripPoint, ...]
    shapes: tuple[Shape, ...]


def place_control(
    sheets: Sequence[Laid], seams: Sequence[Seam], ground: Ground, cell: Cell, arrangement: Arrangement
) -> list[PlacedControl]:
    """Return the control marks of each sheet; a corner without bare paper has none."""
    covered: dict[int, list[Box]] = {}
    for seam in seams:
        covered.setdefault(seam.earlier, []).append((seam.edge.low, seam.edge.high))
        for mark in seam.marks:
            box = _grown((mark, mark), MARK_SIZE / 2)
            for index in (seam.earlier, seam.later):
                covered.setdefault(index, []).append(box)
    return [_control(sheet, covered.get(index, []), ground, cell, arrangement) for index, sheet in enumerate(sheets)]


def _control(sheet: Laid, taken: list[Box], ground: Ground, cell: Cell, arrangement: Arrangement) -> PlacedControl:
    """Return the marks of one sheet, clear of what is `taken`."""
    boxes: list[Box] = []
    for at_high_u in (False, True):
        for at_high_v in (False, True):
            for box in _places(sheet, cell, arrangement, at_high_u=at_high_u, at_high_v=at_high_v):
                if not any(_overlap(box, other) for other in (*taken, *boxes)) and not ground.near(*box):
                    boxes.append(box)
                    break
    # The mark stands in the low corner of its place: to the left on the page, its name to the right of it.
    points = tuple((u + _HALF, v + _HALF) for (u, v), _ in boxes)
    return PlacedControl(points, tuple(_shape(box) for box in boxes))


def _places(sheet: Laid, cell: Cell, arrangement: Arrangement, *, at_high_u: bool, at_high_v: bool) -> Iterator[Box]:
    """Yield the boxes that the mark of one corner may take up with its name, the nearest to the corner first."""
    columns = arrangement == "columns"
    long, short = 2 * _HALF + NAME_GAP + _NAME_ROOM, 2 * _HALF
    across, along = (long, short) if columns else (short, long)
    head_u, head_v = (_BORDER, _HEADING) if columns else (_HEADING, _BORDER)
    low = (sheet.u + head_u, sheet.v + head_v)
    high = (sheet.u + cell.across - _BORDER - across, sheet.v + cell.along - _BORDER - along)
    for du, dv in _steps(*(int(_FURTHEST * (high[k] - low[k]) / _STEP) for k in (0, 1))):
        u = high[0] - du if at_high_u else low[0] + du
        v = high[1] - dv if at_high_v else low[1] + dv
        yield (u, v), (u + across, v + along)


@lru_cache(maxsize=16)
def _steps(across: int, along: int) -> tuple[StripPoint, ...]:
    """Return the ways from a corner in mm, the shortest sum first."""
    ways = sorted((i + j, i, j) for i in range(across + 1) for j in range(along + 1))
    return tuple((i * _STEP, j * _STEP) for _, i, j in ways)


def _grown(box: Box, by: float) -> Box:
    (u, v), (to_u, to_v) = box
    return ((u - by, v - by), (to_u + by, to_v + by))


def _overlap(one: Box, other: Box) -> bool:
    return all(one[0][k] < other[1][k] and other[0][k] < one[1][k] for k in (0, 1))


def _shape(box: Box) -> Shape:
    (u, v), (to_u, to_v) = box
    return shape_of(((u, v), (to_u, v), (to_u, to_v), (u, to_v)), _ON_CONTROL)
