"""Turn the drawing of what lies under the board into sheets to be fixed there: mirror images of those that carry it.

Each is the mirror image of one sheet of the plan, with the same control marks: holes drilled down through these are
where it is laid on below. A hatched border, its heading and the words at its foot tell it from the sheets of the top.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.drawing.bounds import Box, item_bounds
from turnout_templates.drawing.items import Drawing, Fill, Item, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.mirror import mirrored_point
from turnout_templates.drawing.upright import upright_drawing
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.room import Outline
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
_NAME_AT = 0.35
"""Where on the edge of a sheet above its name stands, in parts of its length."""
_WHOLE = 2.0
"""How far (mm) within a page all anchors lie of what is whole on it."""
_KEY, _KEY_SIZE = "No framing may lie where it is hatched inside a dashed edge.", 2.2
_MARK_ROOM = CONTROL_SIZE / 2 + NAME_GAP + 5.0
"""Room for half a control mark and its name to the left of it, mm."""


class UnderSheet(Struct, frozen=True):
    """What one sheet to be fixed below shows: the mirror image of `sheet`, with the anchors that are `told` of on it.

    `place` is what shows of the drawing, as corners in mm of the drawing from above, counter-clockwise; `taken` are the
    places of the control marks on it and of the names of edges, as such corners too, which the drawing keeps off.
    """

    sheet: Sheet
    told: tuple[str, ...]
    place: Outline
    taken: tuple[Outline, ...]


def sheets_below(plan: SheetPlan, drawing: Drawing) -> tuple[UnderSheet, ...]:
    """Return what is to be fixed below: under each sheet that holds what some anchor names furthest from its sides.

    `drawing` is as seen from below (see `drawing.mirror`); anchors of one name belong together. Each such sheet tells
    of all that it shows whole.
    """
    places: dict[str, list[Point]] = {}
    for anchor in drawing.anchors:
        places.setdefault(anchor.name, []).append(mirrored_point(anchor.at))
    numbers = sorted({max(plan.sheets, key=lambda sheet: _depth(sheet, ats)).number for ats in places.values()})
    return tuple(_under_sheet(plan, plan.sheets[number - 1], places) for number in numbers)


def _under_sheet(plan: SheetPlan, sheet: Sheet, places: dict[str, list[Point]]) -> UnderSheet:
    """Return what lies below one sheet, of the things named that have the `places` (mm of the drawing from above)."""
    inner, undone = _inner(sheet.frame), sheet.placement.inverse()

    def home(box: Box) -> Outline:
        (left, bottom), (right, top) = (_mirrored(sheet, at) for at in (box.corners[1], box.corners[3]))
        return tuple(map(undone.apply, Box(left, bottom, right, top).corners))

    told = tuple(name for name, ats in places.items() if _depth(sheet, ats) >= _WHOLE)
    marks = (_mark_room(_mirrored(sheet, sheet.placement.apply(mark.at))) for mark in marks_below(plan, sheet))
    names = (item_bounds(_edge_name(sheet, join)) for join in sheet.joins)
    return UnderSheet(sheet, told, home(inner), tuple(map(home, (*marks, *names))))


def underside_pages(
    plan: SheetPlan, below: Sequence[UnderSheet], drawing: Drawing, own: Sequence[Drawing], titles: SheetTitles
) -> tuple[Page, ...]:
    """Return a page for each of the sheets `below`: its part of `drawing`, and what is its `own`, both from below."""
    base = upright_drawing(drawing, -plan.rotation)
    pages = []
    for number, (under, alone) in enumerate(zip(below, own, strict=True), start=1):
        move, inner = mirrored_placement(under.sheet), _inner(under.sheet.frame)
        shown = (base, upright_drawing(alone, -plan.rotation))
        views = tuple(View(move, inner, drawing=drawing) for drawing in shown)
        title = f"{LABEL}, U{number} of {len(below)}"
        items = _items(plan, under.sheet, titles, f"U{number} of {len(below)}")
        pages.append(Page(plan.page_width, plan.page_height, items, views, f"{LABEL} {number}", title))
    return tuple(pages)


def marks_below(plan: SheetPlan, sheet: Sheet) -> tuple[ControlMark, ...]:
    """Return the control marks that the mirror image of `sheet` carries: its own, and its neighbours' that it holds."""
    inner = _inner(sheet.frame)
    numbers = sorted({sheet.number, *(join.neighbour for join in sheet.joins)})
    found = []
    for mark in (mark for number in numbers for mark in plan.sheets[number - 1].control):
        if inner.holds(_mark_room(_mirrored(sheet, sheet.placement.apply(mark.at)))):
            found.append(mark)
    return tuple(found)


def _mark_room(at: Point) -> Box:
    """Return the room of a control mark at a point of the page from below, with its name to the left of it."""
    half = CONTROL_SIZE / 2
    return Box(at[0] - _MARK_ROOM, at[1] - half, at[0] + half, at[1] + half)


def mirrored_placement(sheet: Sheet) -> Placement:
    """Return the move that puts the drawing as seen from below on to the mirror image of `sheet`."""
    move = sheet.placement
    return Placement(-move.turn, sheet.frame.left + sheet.frame.right - move.dx, move.dy)


def _depth(sheet: Sheet, points: Sequence[Point]) -> float:
    """Return how far (mm) points of the drawing from above lie inside the part of the sheet that shows from below."""
    inner = _inner(sheet.frame)
    places = (_mirrored(sheet, sheet.placement.apply(point)) for point in points)
    return min(min(x - inner.left, inner.right - x, y - inner.bottom, inner.top - y) for x, y in places)


def _inner(frame: Box) -> Box:
    """Return the frame of a page from below without its border and the bar up the page."""
    return Box(frame.left + BORDER, frame.bottom + BORDER, frame.right - SIDE_STRIP, frame.top - HEAD)


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
    foot = ((inner.left + inner.right) / 2, frame.bottom + BORDER / 2 - 0.33 * _KEY_SIZE)
    return [
        PathItem(polyline(frame.corners, closed=True), _EDGE, FRAME_LAYER, "frame"),
        RegionItem((polyline(ring, closed=True),), _HATCH, _EDGE, FRAME_LAYER, "border"),
        TextItem(words, at, size, TITLE_LAYER, anchor="middle", bold=True, halo=True, part="heading"),
        TextItem(_KEY, foot, _KEY_SIZE, TITLE_LAYER, anchor="middle", halo=True, part="key"),
    ]


def _edge_above(sheet: Sheet, join: Join) -> list[Item]:
    """Return the line where the edge of a neighbour of the sheet above lies, and its name."""
    ends = _edge_ends(sheet, join)
    return [PathItem((LineSegment(*ends),), _ABOVE, EDGE_LAYER, f"join {join.neighbour}"), _edge_name(sheet, join)]


def _edge_ends(sheet: Sheet, join: Join) -> tuple[Point, Point]:
    """Return the ends of that line, inside the border."""
    area, inner = join.area, _inner(sheet.frame)
    if join.side in ("left", "right"):
        x = _mirrored(sheet, (area.left if join.side == "right" else area.right, 0.0))[0]
        return (x, max(area.bottom, inner.bottom)), (x, min(area.top, inner.top))
    y = area.top if join.side == "bottom" else area.bottom
    left, right = sorted(_mirrored(sheet, (x, y))[0] for x in (area.left, area.right))
    return (max(left, inner.left), y), (min(right, inner.right), y)


def _edge_name(sheet: Sheet, join: Join) -> TextItem:
    """Return the name of that edge, along it."""
    (x, y), (to_x, to_y) = _edge_ends(sheet, join)
    at = (x + _NAME_AT * (to_x - x), y + _NAME_AT * (to_y - y))
    words, drop = f"edge of sheet {join.neighbour} above", 0.33 * _ABOVE_SIZE
    upright = join.side in ("left", "right")
    angle, middle = (math.pi / 2, (at[0] + drop, at[1])) if upright else (0.0, (at[0], at[1] - drop))
    return TextItem(words, middle, _ABOVE_SIZE, EDGE_LAYER, angle, anchor="middle", grey=0.35, halo=True, part="above")


def _how_to_fix(marks: Sequence[ControlMark]) -> str:
    """Return what the foot of the page says."""
    names = ", ".join(mark.name for mark in marks)
    return f"Drill 1 mm (0.04 in) square down through {names}; lay these marks on the holes from below, then fix."
