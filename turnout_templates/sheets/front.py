"""Turn a plan into the pages before its sheets: the page to print first, then the map with its tables.

The first page proves that the printer prints at size before any paper is spent. The map shows how the sheets lie, what
to measure when they are joined, and whatever blocks of text and tables the caller gives; what does not fit flows on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.drawing.bounds import Box, joined_boxes
from turnout_templates.drawing.items import Drawing, Item, PathItem, Stroke, TextItem
from turnout_templates.geometry.pose import Placement
from turnout_templates.geometry.segments import polyline
from turnout_templates.sheets.bars import SHORT_BARS, bar_items, both_units, long_bar_length
from turnout_templates.sheets.blocks import TextBlock
from turnout_templates.sheets.columns import FOOT, HEADING, foot_line, printable_area
from turnout_templates.sheets.filling import last_page, set_blocks
from turnout_templates.sheets.furniture import TITLE_LAYER, SheetTitles
from turnout_templates.sheets.pages import Page, View
from turnout_templates.sheets.paper import MM_PER_INCH, PaperError
from turnout_templates.sheets.plan import Sheet, SheetPlan
from turnout_templates.sheets.proof import PROVED, SeamProof
from turnout_templates.sheets.setting import text_block, wrapped_lines
from turnout_templates.sheets.text_pages import Ground

MAP_LAYER = "map"
_MAP_SHARES = (0.5, 0.42, 0.34)
"""Most of a page's height that the map may take; a smaller part where that saves a page or allows larger type."""
_SHEET_EDGE = Stroke(0.25)


class AssemblyDimension(Struct, frozen=True):
    """A length to measure on the joined sheets: from one named anchor to another, in mm."""

    start: str
    end: str
    length: float


def first_page(plan: SheetPlan, titles: SheetTitles, cautions: Sequence[str] = ()) -> Page:
    """Return the page to be printed alone and measured before the rest, with the cautions under its advice."""
    area = printable_area(plan)
    corner = (area.left + 2.0, area.bottom + 2.0)
    across, up = long_bar_length(area.width - 4.0), long_bar_length(area.height)
    start = (area.left + 4.5, corner[1])
    foot = (corner[0], area.bottom + 0.5)
    items: list[Item] = [
        *bar_items(start, across, both_units(across), tick=3.0, size=3.2, label_at=0.72),
        *bar_items(foot, up, both_units(up), upward=True, tick=3.0, size=3.2, label_at=0.72),
    ]
    for k, (length, label) in enumerate(SHORT_BARS, start=1):
        if length < min(across, up) - 20.0:
            aside = 5.0 * k
            items += bar_items((start[0], corner[1] + aside), length, label, tick=2.4, size=2.8)
            items += bar_items((corner[0] + aside, corner[1] + 15.0), length, label, upward=True, tick=2.4, size=2.8)
    diagonal = math.dist((foot[0], foot[1] + up), (start[0] + across, start[1]))
    box = Box(corner[0] + 16.0, corner[1] + 15.0, area.right, area.top)
    items += _advice(plan, titles, box, diagonal, cautions)
    return Page(plan.page_width, plan.page_height, tuple(items), (), "Print first", "Print this page first")


def _advice(plan: SheetPlan, titles: SheetTitles, box: Box, diagonal: float, cautions: Sequence[str]) -> list[TextItem]:
    """Return the words of the first page, in smaller type when they would not fit `box`."""
    for size in (4.2, 3.8, 3.4, 3.0, 2.6, 2.3, 2.0):
        items, bottom = _set_advice(_steps(plan, diagonal), titles, box, size, cautions)
        if bottom >= box.bottom:
            return items
    raise PaperError(f"The cautions do not fit on one page of {plan.paper.name}. Use larger paper or fewer cautions.")


def _set_advice(
    steps: Sequence[str], titles: SheetTitles, box: Box, size: float, cautions: Sequence[str]
) -> tuple[list[TextItem], float]:
    """Return heading, numbered steps and cautions set in `size` mm from the top of `box`, and the y below them."""
    items, y = text_block(["Print this page first"], box.left, box.top, 2 * size, TITLE_LAYER, bold=True)
    more, y = text_block(wrapped_lines(titles.line, box.width, size), box.left, y - size / 2, size, TITLE_LAYER)
    items += more
    numbered = [(f"{number}.", words) for number, words in enumerate(steps, start=1)]
    groups = [("", numbered), ("Take care", [("•", words) for words in cautions])]
    for heading, entries in groups:
        y -= size
        if heading and entries:
            more, y = text_block([heading], box.left, y, 1.2 * size, TITLE_LAYER, bold=True)
            items += more
        for sign, words in entries:
            lines = wrapped_lines(words, box.width - 2 * size, size)
            first, _ = text_block([sign], box.left, y, size, TITLE_LAYER)
            more, y = text_block(lines, box.left + 2 * size, y, size, TITLE_LAYER)
            items += [*first, *more]
            y -= 0.35 * size
    return items, y


def _steps(plan: SheetPlan, diagonal: float) -> list[str]:
    """Return what to do with the first page, step by step."""
    return [
        f"Print this page alone, on {plan.paper.name}, at actual size: choose \u201cActual size\u201d or 100 %, never "
        "\u201cFit\u201d or \u201cShrink\u201d. The best quality is 600 dpi or more.",
        "Measure every bar with a steel rule, from the middle of one end tick to the middle of the other. The two long "
        "bars matter most: they show in which direction an error lies.",
        f"Measure also from the upper end of the upright bar to the right end of the lower bar: "
        f"{both_units(round(diagonal, 1))}. If only this is off, the paper went in askew; straighten the stack and "
        "print again.",
        "If all lengths are right as nearly as you can read the rule, print the other pages with the same settings.",
        "If a bar is off by several millimetres, something scales: look for \u201cscale\u201d, \u201cfit\u201d and the "
        "paper size in the print window and in the printer's own settings, and print this page again. A web browser "
        "is a common cause; print from a PDF reader instead.",
        "If a long bar is still off by a little, that is the printer itself. Do not build on it: try thicker or drier "
        "paper, another tray or another printer.",
    ]


def map_pages(
    plan: SheetPlan,
    drawing: Drawing,
    titles: SheetTitles,
    dimensions: Sequence[AssemblyDimension] = (),
    blocks: Sequence[TextBlock] = (),
    proofs: Sequence[SeamProof] = (),
    *,
    inches_first: bool = False,
) -> tuple[Page, ...]:
    """Return the map of the sheets with dimensions and blocks under it, and as many further pages as they need.

    `proofs` are the lengths across seams that prove the sheets joined.
    """
    area = printable_area(plan)
    text_area = Box(area.left, area.bottom + FOOT, area.right, area.top)
    heading, y = text_block(["How the sheets lie"], area.left, area.top, HEADING, TITLE_LAYER, bold=True)
    every = [
        *([_dimension_block(dimensions, inches_first, is_joined=len(plan.sheets) > 1)] if dimensions else []),
        *([proof_block(proofs, inches_first=inches_first)] if proofs else []),
        *blocks,
    ]
    surveys = []
    for part in _MAP_SHARES:
        share = Box(area.left, max(text_area.bottom, y - 2.0 - part * text_area.height), area.right, y - 2.0)
        surveys.append(_survey(plan, share))
    grounds = [Ground(Box(area.left, text_area.bottom, area.right, low - 4.0), text_area) for _, _, low in surveys]
    way, texts = set_blocks(every, *grounds)
    view, sheets, _ = surveys[way]
    pages = 1 + last_page(texts)
    made = []
    for index in range(pages):
        own: list[Item] = [*heading, *sheets] if index == 0 else []
        own += [item for page, item in texts if page == index]
        own += foot_line(
            plan, titles, "map of the sheets" if pages == 1 else f"map and figures, page {index + 1} of {pages}"
        )
        name = "Map" if index == 0 else f"Figures {index}"
        outline = "How the sheets lie" if index == 0 else f"Figures, page {index + 1}"
        views = (view,) if index == 0 else ()
        made.append(Page(plan.page_width, plan.page_height, tuple(own), views, name, outline))
    return tuple(made)


def _dimension_block(dimensions: Sequence[AssemblyDimension], inches_first: bool, *, is_joined: bool) -> TextBlock:
    """Return the table of lengths to measure on the sheet, or on several when they are joined."""
    rows = [
        (f"{row.start} to {row.end}", *_both_units(row.length, inches_first=inches_first, digits=1))
        for row in dimensions
    ]
    title = "Measure when the sheets are joined" if is_joined else "Measure on the sheet"
    return TextBlock(title, tuple(rows))


def proof_block(proofs: Sequence[SeamProof], *, inches_first: bool) -> TextBlock:
    """Return the table of lengths across the seams, headed by how nearly they must be right, and what that proves."""
    within = math.floor(min(proof.reading for proof in proofs) * 100.0) / 100.0
    both = " = ".join(_both_units(within, inches_first=inches_first, digits=2))
    proved, twice = (" = ".join(_both_units(k * PROVED, inches_first=inches_first, digits=1)) for k in (1, 2))
    told = (
        f"Measure from cross to cross with a caliper, longer ones with a steel rule and a glass. Where all three of a "
        f"seam are right within {both}, no part of the track on one of its sheets lies more than {proved} from its "
        f"place beside the other; right within twice that, they prove {twice}. Lay again what is further off."
    )
    rows: list[str | tuple[str, ...]] = [told]
    for proof in proofs:
        for start, end in proof.pairs:
            length = _both_units(math.dist(start.at, end.at), inches_first=inches_first, digits=2)
            rows.append((f"{start.name} to {end.name}", *length))
    return TextBlock("Measure across the seams", tuple(rows))


def _both_units(length: float, *, inches_first: bool, digits: int) -> tuple[str, str]:
    """Return a length in mm, to so many `digits`, and in inches, in the order of the reader."""
    metric, inches = f"{length:.{digits}f} mm", f"{length / MM_PER_INCH:.3f} in"
    return (inches, metric) if inches_first else (metric, inches)


def _survey(plan: SheetPlan, share: Box) -> tuple[View, list[Item], float]:
    """Return the reduced view of the drawing inside `share`, the sheets over it, and the y below it."""
    frames = [_turned_frame(sheet) for sheet in plan.sheets]
    whole = joined_boxes(frames)
    scale = min(share.width / whole.width, share.height / whole.height, 0.5)
    shift = (share.left + (share.width - whole.width * scale) / 2 - whole.left * scale, share.top - whole.top * scale)
    placement = Placement(plan.rotation, *shift)
    low = share.top - whole.height * scale
    clip = Box(share.left, low, share.right, share.top)
    items: list[Item] = []
    for sheet, frame in zip(plan.sheets, frames, strict=True):
        box = Box(*(value * scale for value in (frame.left, frame.bottom, frame.right, frame.top))).shifted(*shift)
        items += _sheet_on_map(sheet, box)
    return View(placement, clip, scale), items, low


def _turned_frame(sheet: Sheet) -> Box:
    """Return the frame of a sheet on the turned drawing, mm of full size."""
    return sheet.frame.shifted(-sheet.placement.dx, -sheet.placement.dy)


def _sheet_on_map(sheet: Sheet, box: Box) -> list[Item]:
    """Return a sheet's outline on the map and its number, in the corner that its neighbours leave free."""
    size = min(4.0, 0.3 * box.width, 0.3 * box.height)
    at = (box.left + 0.4 * size, box.top - 1.1 * size)
    return [
        PathItem(polyline(box.corners, closed=True), _SHEET_EDGE, MAP_LAYER, f"sheet {sheet.number}"),
        TextItem(str(sheet.number), at, size, MAP_LAYER, bold=True, halo=True, part=f"sheet {sheet.number}"),
    ]
