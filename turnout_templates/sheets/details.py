"""Turn enlarged details into pages: each in a frame of its own, side by side and under one another as they fit.

Nothing on these pages is at size: the heading and each frame say so, and there is no bar that could be measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, partial

from msgspec.structs import replace

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.details import GAP, PADDING, Detail
from turnout_templates.drawing.items import Item, PathItem, Stroke
from turnout_templates.drawing.place import placed
from turnout_templates.geometry.pose import Placement
from turnout_templates.geometry.segments import polyline
from turnout_templates.sheets.columns import FOOT, foot_line, printable_area
from turnout_templates.sheets.furniture import TITLE_LAYER, SheetTitles
from turnout_templates.sheets.pages import Page, View
from turnout_templates.sheets.plan import SheetPlan
from turnout_templates.sheets.rows import Frame, fewest_pages, frame_boxes
from turnout_templates.sheets.setting import LEADING, text_block, wrapped_lines

FRAME_LAYER = "detail frames"
ADVICE = (
    "Enlarged, not to size: measure and build on the sheets. Lengths are those of the real rail along its gauge face. "
    "TP: theoretical point. Short dashes: base filed off. Heads are filed on the outer side. "
    "A frog's guards lie across the track."
)
_HEADING = 4.5
"""Size of the heading, mm: smaller than on other pages, for four details are to fit under it."""
_FRAME = Stroke(0.2)
_TITLE_SIZE, _REMARK_SIZE, _ADVICE_SIZE = 2.5, 2.1, 2.5
_TITLE_LINES, _REMARK_LINES = 3, 5
"""Lines kept for the title and the remarks where room for a detail is stated."""
_PADDINGS = 2
"""How many times the white inside a frame is kept: half above the title, the rest over and under the drawing."""


def detail_room(plan: SheetPlan) -> tuple[float, float]:
    """Return the width and the height in mm that a detail with its notes may take up on the paper of `plan`."""
    area = _frames_area(plan)
    words = (_TITLE_LINES * _TITLE_SIZE + _REMARK_LINES * _REMARK_SIZE) * LEADING
    return area.width - 2 * PADDING, area.height - _PADDINGS * PADDING - words


def detail_pages(plan: SheetPlan, titles: SheetTitles, details: Sequence[Detail]) -> tuple[Page, ...]:
    """Return the pages that hold `details`, "Details 1", "Details 2" ..., on the paper of `plan`; none of none.

    They stand in their order, unless pages are saved by placing the tallest or the widest first.
    """
    area = _frames_area(plan)
    frames = [
        Frame(number, min(area.width, inner.width + 2 * PADDING), cache(partial(_frame_height, detail, inner.height)))
        for number, (detail, inner) in enumerate((detail, detail.box) for detail in details)
    ]
    pages = fewest_pages(frames, area, GAP)
    made = ([(details[frame.number], box) for frame, box in frame_boxes(rows, area)] for rows in pages)
    return tuple(_page(plan, titles, framed, number, len(pages)) for number, framed in enumerate(made, start=1))


def _head(plan: SheetPlan, number: int, count: int) -> tuple[list[Item], float]:
    """Return the heading of a page with its advice, and the y below them."""
    area = printable_area(plan)
    items: list[Item] = []
    more, y = text_block([f"Details {number} of {count}"], area.left, area.top, _HEADING, TITLE_LAYER, bold=True)
    items += more
    more, y = text_block(wrapped_lines(ADVICE, area.width, _ADVICE_SIZE), area.left, y, _ADVICE_SIZE, TITLE_LAYER)
    return [*items, *more], y


def _frames_area(plan: SheetPlan) -> Box:
    """Return where frames may stand on each page."""
    area = printable_area(plan)
    return Box(area.left, area.bottom + FOOT, area.right, _head(plan, 1, 1)[1] - PADDING)


def _frame_height(detail: Detail, inner: float, width: float) -> float:
    """Return how high a frame of `width` mm round a detail `inner` mm high with its words is, mm."""
    words = len(_title_lines(detail, width)) * _TITLE_SIZE + len(_remark_lines(detail, width)) * _REMARK_SIZE
    return inner + _PADDINGS * PADDING + words * LEADING


def _title_lines(detail: Detail, width: float) -> list[str]:
    return wrapped_lines(detail.title, width - 2 * PADDING, _TITLE_SIZE, bold=True)


def _remark_lines(detail: Detail, width: float) -> list[str]:
    return wrapped_lines(detail.remarks, width - 2 * PADDING, _REMARK_SIZE) if detail.remarks else []


def _page(plan: SheetPlan, titles: SheetTitles, framed: Sequence[tuple[Detail, Box]], number: int, count: int) -> Page:
    items, _ = _head(plan, number, count)
    items += foot_line(plan, titles, f"details {number} of {count}, not to size")
    views: list[View] = []
    for detail, box in framed:
        view, own = _in_frame(detail, box)
        views.append(view)
        items += own
    name = f"Details {number}"
    return Page(plan.page_width, plan.page_height, tuple(items), tuple(views), name, name)


def _in_frame(detail: Detail, box: Box) -> tuple[View, list[Item]]:
    """Return the view of a detail in its frame `box`, and the frame with title and notes."""
    lines = _title_lines(detail, box.width)
    items: list[Item] = [PathItem(polyline(box.corners, closed=True), _FRAME, FRAME_LAYER)]
    more, y = text_block(lines, box.left + PADDING, box.top - PADDING / 2, _TITLE_SIZE, TITLE_LAYER, bold=True)
    items += more
    remarks = _remark_lines(detail, box.width)
    more, y = text_block(remarks, box.left + PADDING, y, _REMARK_SIZE, TITLE_LAYER)
    items += more
    inner = detail.box
    shift = Placement(0.0, box.centre[0] - inner.centre[0], (y + box.bottom) / 2 - inner.centre[1])
    items += [placed(item, shift) for item in detail.notes]
    clip = detail.window.shifted(shift.dx, shift.dy)
    return View(shift, clip, drawing=detail.drawing), [_named(item, detail) for item in items]


def _named(item: Item, detail: Detail) -> Item:
    """Return an item as a part of its detail, so that readers of the file can tell whose it is."""
    return replace(item, part=f"{detail.title.split(',')[0]} {item.part}".strip())
