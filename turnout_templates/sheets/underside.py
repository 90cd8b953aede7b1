"""Turn the drawing of what lies under the board into sheets to be fixed there: mirror images of those that carry it.

Each is the mirror image of one sheet of the plan, with the same control marks: holes drilled down through these are
where it is laid on below. A hatched border, its heading and the words at its foot tell it from the sheets of the top.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Drawing, Fill, Item, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.mirror import mirrored_point
from turnout_templates.drawing.upright import upright_drawing
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import LineSegment, polyline
from turnout_templates.sheets.control import CONTROL_SIZE, NAME_GAP
from turnout_templates.sheets.furniture import (
    EDGE_LAYER,
    FRAME_LAYER,
    TITLE_LAYER,
    SheetTitles,
    control_items,
    measuring_bars,
    title_strip,
)
from turnout_templates.sheets.pages import Page, View
from turnout_templates.sheets.plan import SIDE_STRIP, ControlMark, Join, Sheet, SheetPlan
from turnout_templates.sheets.setting import fitted_size

LABEL = "Underside"
"""What the pages' labels begin with."""
BORDER, HEAD = 3.5, 7.5
"""Width of the hatched border, and height of its upper side where the heading stands, mm."""
_HATCH = Fill(hatch=1.6, hatch_stroke=Stroke(0.1, grey=0.3))
_EDGE = Stroke(0.1)
_ABOVE = Stroke(0.07, (0.6, 1.8), 0.45)
_HEAD_SIZE, _ABOVE_SIZE = 4.6, 1.5
_WHOLE = 2.0
"""How far (mm) within a page an anchor lies whose mark is whole on it."""
_MARK_ROOM = CONTROL_SIZE / 2 + NAME_GAP + 5.0
"""Room for half a control mark and its name to the left of it, mm."""


class UnderSheet(Struct, frozen=True):
    """What one sheet to be fixed below shows: the mirror image of `sheet`, with the anchors that are `told` of on it.

    `place` is where words may stand on it, as corners in mm of the drawing from above, counter-clockwise.
    """

    sheet: Sheet
    told: tuple[str, ...]
    place: tuple[Point, ...]


def sheets_below(plan: SheetPlan, drawing: Drawing) -> tuple[UnderSheet, ...]:
    """Return what is to be fixed below: under each sheet that holds some anchor of `drawing` furthest from its sides.

    `drawing` is as seen from below (see `drawing.mirror`). Each such sheet tells of all anchors that it shows whole.
    """
    places = [(anchor.name, mirrored_point(anchor.at)) for anchor in drawing.anchors]
    numbers = sorted({max(plan.sheets, key=lambda sheet: _depth(sheet, at)).number for _, at in places})
    found = []
    for sheet in (plan.sheets[number - 1] for number in numbers):
        undone = sheet.placement.inverse()
        told = tuple(name for name, at in places if _depth(sheet, at) >= _WHOLE)
        found.append(UnderSheet(sheet, told, tuple(map(undone.apply, _words_box(sheet).corners))))
    return tuple(found)


def underside_pages(
    plan: SheetPlan, below: Sequence[UnderSheet], drawing: Drawing, words: Sequence[Drawing], titles: SheetTitles
) -> tuple[Page, ...]:
    """Return a page for each of the sheets `below`: its part of `drawing`, and its own `words`, both from below."""
    base = upright_drawing(drawing, -plan.rotation)
    pages = []
    for number, (own, told) in enumerate(zip(below, words, strict=True), start=1):
        move = mirrored_placement(own.sheet)
        inner = _inner(own.sheet.frame)
        shown = (base, upright_drawing(told, -plan.rotation))
        views = tuple(View(move, own.sheet.frame, texts=inner, drawing=drawing) for drawing in shown)
        title = f"{LABEL}, U{number} of {len(below)}"
        items = _items(plan, own.sheet, titles, f"U{number} of {len(below)}")
        pages.append(Page(plan.page_width, plan.page_height, items, views, f"{LABEL} {number}", title))
    return tuple(pages)


def marks_below(plan: SheetPlan, sheet: Sheet) -> tuple[ControlMark, ...]:
    """Return the control marks that the mirror image of `sheet` carries: its own, and its neighbours' that it holds."""
    inner = _inner(sheet.frame)
    numbers = sorted({sheet.number, *(join.neighbour for join in sheet.joins)})
    found = []
    for mark in (mark for number in numbers for mark in plan.sheets[number - 1].control):
        x, y = _mirrored(sheet, sheet.placement.apply(mark.at))
        room = Box(x - _MARK_ROOM, y - CONTROL_SIZE / 2, x + CONTROL_SIZE / 2, y + CONTROL_SIZE / 2)
        if inner.holds(room):
            found.append(mark)
    return tuple(found)


def mirrored_placement(sheet: Sheet) -> Placement:
    """Return the move that puts the drawing as seen from below on to the mirror image of `sheet`."""
    move = sheet.placement
    return Placement(-move.turn, sheet.frame.left + sheet.frame.right - move.dx, move.dy)


def _depth(sheet: Sheet, point: Point) -> float:
    """Return how far (mm) a point of the drawing from above lies inside the part of the sheet that shows from below."""
    (x, y), frame = sheet.placement.apply(point), sheet.frame
    return min(x - frame.left - SIDE_STRIP, frame.right - BORDER - x, y - frame.bottom - BORDER, frame.top - HEAD - y)


def _inner(frame: Box) -> Box:
    """Return the frame of a page from below without its border and the bar up the page."""
    return Box(frame.left + BORDER, frame.bottom + BORDER, frame.right - SIDE_STRIP, frame.top - HEAD)


def _words_box(sheet: Sheet) -> Box:
    """Return the same on the page of the sheet above."""
    inner, ends = _inner(sheet.frame), sheet.frame.left + sheet.frame.right
    return Box(ends - inner.right, inner.bottom, ends - inner.left, inner.top)


def _items(plan: SheetPlan, sheet: Sheet, titles: SheetTitles, count: str) -> tuple[Item, ...]:
    """Return everything on a page besides the drawing."""
    frame, alone, marks = sheet.frame, len(plan.sheets) == 1, marks_below(plan, sheet)
    words = replace(sheet.bar_words, at=(frame.right, frame.centre[1]), bare=False)
    return (
        *_border(frame, sheet.number, alone=alone),
        *(item for join in sheet.joins for item in _edge_above(sheet, join)),
        *(item for mark in marks for item in control_items(mark, _mirrored(sheet, sheet.placement.apply(mark.at)), -1)),
        *measuring_bars(frame, words),
        *title_strip(frame, titles, count, _how_to_fix(marks)),
    )


def _mirrored(sheet: Sheet, at: Point) -> Point:
    """Return a point of the sheet's page on the mirror image of that page."""
    return (sheet.frame.left + sheet.frame.right - at[0], at[1])


def _border(frame: Box, above: int, *, alone: bool) -> list[Item]:
    """Return the frame, the hatched border on three of its sides, and the heading in it."""
    inner = _inner(frame)
    ring = (
        (frame.left, frame.bottom),
        (inner.right, frame.bottom),
        (inner.right, inner.bottom),
        (inner.left, inner.bottom),
        (inner.left, inner.top),
        (inner.right, inner.top),
        (inner.right, frame.top),
        (frame.left, frame.top),
    )
    words = "UNDERSIDE, mirrored: fix it under the baseboard" + ("" if alone else f", below sheet {above}")
    size = fitted_size(words, frame.width - 24.0, _HEAD_SIZE, least=2.0, bold=True)
    at = (frame.centre[0], frame.top - HEAD / 2 - 0.33 * size)
    return [
        PathItem(polyline(frame.corners, closed=True), _EDGE, FRAME_LAYER, "frame"),
        RegionItem((polyline(ring, closed=True),), _HATCH, _EDGE, FRAME_LAYER, "border"),
        TextItem(words, at, size, TITLE_LAYER, anchor="middle", bold=True, halo=True, part="heading"),
    ]


def _edge_above(sheet: Sheet, join: Join) -> list[Item]:
    """Return the line where the edge of a neighbour of the sheet above lies, and its name."""
    area = join.area
    upright = join.side in ("left", "right")
    if upright:
        x = _mirrored(sheet, (area.left if join.side == "right" else area.right, 0.0))[0]
        ends, at = ((x, area.bottom), (x, area.top)), (x, area.bottom + 0.35 * area.height)
    else:
        y = area.top if join.side == "bottom" else area.bottom
        left, right = sorted(_mirrored(sheet, (x, y))[0] for x in (area.left, area.right))
        ends, at = ((left, y), (right, y)), (left + 0.35 * (right - left), y)
    words = f"edge of sheet {join.neighbour} above"
    middle = (at[0], at[1] - 0.33 * _ABOVE_SIZE)
    return [
        PathItem((LineSegment(*ends),), _ABOVE, EDGE_LAYER, f"join {join.neighbour}"),
        TextItem(words, middle, _ABOVE_SIZE, EDGE_LAYER, anchor="middle", grey=0.35, halo=True, part="above"),
    ]


def _how_to_fix(marks: Sequence[ControlMark]) -> str:
    """Return what the foot of the page says."""
    names = ", ".join(mark.name for mark in marks)
    return f"Drill 1 mm (0.04 in) square down through {names}; lay these marks on the holes from below, then fix."
