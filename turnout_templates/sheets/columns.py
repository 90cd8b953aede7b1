"""Turn blocks of text and tables into whole pages of columns, each with its title line at the foot."""

from __future__ import annotations

from collections.abc import Sequence

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Item, TextItem
from turnout_templates.sheets.blocks import TextBlock
from turnout_templates.sheets.filling import last_page, set_blocks
from turnout_templates.sheets.furniture import TITLE_LAYER, SheetTitles
from turnout_templates.sheets.pages import Page
from turnout_templates.sheets.plan import SheetPlan
from turnout_templates.sheets.setting import fitted_text, text_block, wrapped_lines
from turnout_templates.sheets.text_pages import Ground

HEADING = 6.0
"""Size of a page's heading, mm."""
FOOT = 7.0
"""Height kept at the foot of a page for its title line, mm."""
_FOOT_SIZE = 2.5


def text_pages(plan: SheetPlan, titles: SheetTitles, heading: str, blocks: Sequence[TextBlock]) -> tuple[Page, ...]:
    """Return as many pages under `heading` as `blocks` need, on the paper of `plan`, labelled by the heading."""
    area = printable_area(plan)
    lines = wrapped_lines(heading, area.width, HEADING, bold=True)
    head, y = text_block(lines, area.left, area.top, HEADING, TITLE_LAYER, bold=True)
    body = Box(area.left, area.bottom + FOOT, area.right, area.top)
    _, texts = set_blocks(blocks, Ground(Box(body.left, body.bottom, body.right, y - 2.0), body))
    count = 1 + last_page(texts)
    made = []
    for index in range(count):
        what = heading if count == 1 else f"{heading}, page {index + 1} of {count}"
        own: list[Item] = [*(head if index == 0 else []), *(item for page, item in texts if page == index)]
        own += foot_line(plan, titles, what)
        label = heading if index == 0 else f"{heading} {index + 1}"
        made.append(Page(plan.page_width, plan.page_height, tuple(own), (), label, what))
    return tuple(made)


def printable_area(plan: SheetPlan) -> Box:
    """Return what may be printed on a page of the plan's paper, mm."""
    margins = plan.margins
    return Box(margins.left, margins.bottom, plan.page_width - margins.right, plan.page_height - margins.top)


def foot_line(plan: SheetPlan, titles: SheetTitles, what: str) -> list[Item]:
    """Return the title line at the foot of a page that is no sheet, ending in `what` the page is."""
    area = printable_area(plan)
    stamp = [titles.stamp] if titles.stamp else []
    words = fitted_text("  ·  ".join([titles.line, *stamp, what]), area.width, _FOOT_SIZE)
    return [TextItem(words, (area.left, area.bottom + 1.0), _FOOT_SIZE, TITLE_LAYER)]
