"""Turn a sheet of a plan into what is printed round the drawing: frame, edges, marks, bars to measure and titles.

The frame's edges say what to do with them. Where two sheets join, the one with the higher number is cut along its
frame and laid on the other, so every sheet is cut at its left or upper edges only and what lies to the right or below
goes on top: the sheets are laid down in the order of their numbers.
"""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Item, MarkItem, PathItem, Stroke, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.sheets.bars import LIGHT_STROKE, SHORT_BARS, bar_items, both_units, long_bar_length
from turnout_templates.sheets.control import CONTROL_SIZE, NAME_GAP
from turnout_templates.sheets.control import NAME_SIZE as CONTROL_NAME_SIZE
from turnout_templates.sheets.joining import MARK_SIZE
from turnout_templates.sheets.notes import NAME_SIZE, NOTE_SIZE, name_words, note_words
from turnout_templates.sheets.plan import BAR_INSET, ControlMark, Join, Sheet, SheetPlan, Side, WordsPlace
from turnout_templates.sheets.setting import fitted_size, fitted_text

FRAME_LAYER, EDGE_LAYER, TITLE_LAYER = "frame", "edges", "titles"
NEIGHBOUR_LAYER, CONTROL_LAYER = "neighbour edges", "control marks"

_CUT = Stroke(0.25, (4.0, 1.5))
_GLUED = Stroke(0.1, (0.5, 1.0))
_PLAIN = Stroke(0.1)
_COVERED = Stroke(0.07, (0.6, 1.8), 0.45)
_CONTROL = Stroke(0.14)
_NAME_GREY = 0.35
_TITLE_SIZE = 2.5
_SMALL = 2.0
_SHORT_BAR_ROWS = (1.7, 6.3)  # mm below the frame
_LONG_BAR_ROW = 4.0
_TITLE_BASELINE = 10.6

_HOW_TO_JOIN = "Cut where it says so, lay that edge on the lower-numbered sheet, marks on marks; glue."


class SheetTitles(Struct, frozen=True):
    """What every sheet says of the whole: name, revision, fingerprint, program version, and a `stamp` or nothing."""

    name: str
    revision: str = ""
    fingerprint: str = ""
    version: str = ""
    stamp: str = ""

    @property
    def line(self) -> str:
        """All but the stamp, in one line."""
        revision = f"revision {self.revision}" if self.revision else ""
        return "  ·  ".join(part for part in (self.name, revision, self.fingerprint, self.version) if part)


def sheet_items(plan: SheetPlan, sheet: Sheet, titles: SheetTitles) -> tuple[Item, ...]:
    """Return everything that is printed on `sheet` besides the drawing, in mm of its page."""
    return (
        *_frame_lines(sheet),
        *(item for join in sheet.joins for item in _join_items(sheet, join)),
        *(item for mark in sheet.control for item in control_items(mark, sheet.placement.apply(mark.at))),
        *measuring_bars(sheet.frame, sheet.bar_words),
        *title_strip(
            sheet.frame,
            titles,
            f"sheet {sheet.number} of {len(plan.sheets)}",
            _HOW_TO_JOIN if sheet.joins else "",
        ),
    )


def _frame_lines(sheet: Sheet) -> list[Item]:
    """Return the four sides of the frame, each drawn as what becomes of it."""
    box = sheet.frame
    corners: dict[Side, tuple[Point, Point]] = {
        "left": ((box.left, box.bottom), (box.left, box.top)),
        "right": ((box.right, box.bottom), (box.right, box.top)),
        "bottom": ((box.left, box.bottom), (box.right, box.bottom)),
        "top": ((box.left, box.top), (box.right, box.top)),
    }
    strokes: dict[Side, Stroke] = {join.side: _CUT if join.cut else _GLUED for join in sheet.joins}
    return [
        PathItem((LineSegment(*ends),), strokes.get(side, _PLAIN), FRAME_LAYER, side) for side, ends in corners.items()
    ]


def _join_items(sheet: Sheet, join: Join) -> list[Item]:
    """Return the note, the marks and, on the sheet below, the line where the neighbour's edge will lie."""
    part = f"join {join.neighbour}"
    upward = join.side in ("left", "right")
    words = note_words(join.neighbour, cut=join.cut)
    items: list[Item] = [_words_at(join.note, words, NOTE_SIZE, EDGE_LAYER, part, upward=upward != join.note.square)]
    items += [
        MarkItem("registration", sheet.placement.apply(mark), MARK_SIZE, EDGE_LAYER, 0.0, Stroke(0.12), part)
        for mark in join.marks
    ]
    return [*items, *_neighbour_edge(join, part)]


def control_items(mark: ControlMark, at: Point, side: Literal[-1, 1] = 1) -> tuple[Item, ...]:
    """Return a control mark at a point of the page with its name to the right of it (`side` 1) or to the left (-1)."""
    beside = (at[0] + side * (CONTROL_SIZE / 2 + NAME_GAP), at[1] - 0.33 * CONTROL_NAME_SIZE)
    anchor: Literal["start", "end"] = "start" if side > 0 else "end"
    return (
        MarkItem("control", at, CONTROL_SIZE, CONTROL_LAYER, 0.0, _CONTROL, mark.name),
        TextItem(mark.name, beside, CONTROL_NAME_SIZE, CONTROL_LAYER, anchor=anchor, bold=True, part=mark.name),
    )


def _neighbour_edge(join: Join, part: str) -> list[Item]:
    """Return the line on the lower sheet where the cut edge of its neighbour comes to lie, and its name."""
    if join.name is None:
        return []
    words, upward = name_words(join.neighbour), join.side == "right"
    name = _words_at(join.name, words, NAME_SIZE, NEIGHBOUR_LAYER, part, upward=upward)
    return [
        PathItem((_covered_line(join.side, join.area),), _COVERED, NEIGHBOUR_LAYER, part),
        replace(name, grey=_NAME_GREY),
    ]


def _words_at(place: WordsPlace, words: str, size: float, layer: str, part: str, *, upward: bool) -> TextItem:
    """Return words centred on their place, on a white ground where the drawing lies under them."""
    (x, y), drop = place.at, 0.33 * size
    at, angle = ((x + drop, y), math.pi / 2) if upward else ((x, y - drop), 0.0)
    return TextItem(words, at, size, layer, angle, anchor="middle", halo=not place.bare, part=part)


def _covered_line(side: Side, area: Box) -> LineSegment:
    """Return the line on the lower sheet where the cut edge of its neighbour comes to lie."""
    if side == "right":
        return LineSegment((area.left, area.bottom), (area.left, area.top))
    return LineSegment((area.left, area.top), (area.right, area.top))


def measuring_bars(frame: Box, words: WordsPlace) -> list[Item]:
    """Return the bars below the frame and a light one up its right side, each as long as the page allows.

    `words` is the place of the words in the one up the page.
    """
    left = frame.left + 0.5
    items: list[Item] = []
    for (length, label), row in zip(SHORT_BARS, _SHORT_BAR_ROWS, strict=True):
        if length <= frame.width - 1.0:
            items += bar_items((left, frame.bottom - row), length, label)
    across = long_bar_length(frame.width)
    items += bar_items((left, frame.bottom - _LONG_BAR_ROW), across, both_units(across))
    up = long_bar_length(frame.height)
    start = (frame.right - BAR_INSET, frame.bottom + 0.5)
    at = (words.at[1] - start[1]) / up
    bar = bar_items(start, up, both_units(up), upward=True, tick=1.2, label_at=at, stroke=LIGHT_STROKE)
    items += (replace(item, halo=not words.bare) if isinstance(item, TextItem) else item for item in bar)
    return items


def title_strip(frame: Box, titles: SheetTitles, count: str, advice: str) -> list[Item]:
    """Return the texts below and beside the bars: the titles, which sheet of how many, and what to do with it."""
    room = frame.width - text_width(count, _TITLE_SIZE, bold=True) - 4.0
    baseline = frame.bottom - _TITLE_BASELINE
    line = fitted_text(titles.line, room, _TITLE_SIZE)
    items: list[Item] = [
        TextItem(line, (frame.left, baseline), _TITLE_SIZE, TITLE_LAYER, part="title"),
        TextItem(count, (frame.right, baseline), _TITLE_SIZE, TITLE_LAYER, anchor="end", bold=True, part="number"),
    ]
    beside = max((length for length, _ in SHORT_BARS if length <= frame.width - 1.0), default=0.0) + 4.0
    if advice:
        items += _beside_bar(frame, beside, _SHORT_BAR_ROWS[0], advice, bold=False)
    if titles.stamp:
        items += _beside_bar(frame, beside, _SHORT_BAR_ROWS[1], titles.stamp, bold=True)
    return items


def _beside_bar(frame: Box, beside: float, row: float, words: str, *, bold: bool) -> list[Item]:
    """Return `words` to the right of a short bar, set small enough to fit there and shortened at the worst."""
    room = frame.width - beside
    size = fitted_size(words, room, 2.6 if bold else _SMALL, least=1.6, bold=bold)
    at = (frame.right, frame.bottom - row - 0.33 * size)
    fitted = fitted_text(words, room, size, bold=bold)
    return [TextItem(fitted, at, size, TITLE_LAYER, anchor="end", bold=bold, part="stamp" if bold else "advice")]
