"""Turn a chapter, a heading over blocks of text and tables, into pages of its own."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.drawing.bounds import Box
from turnout_templates.sheets.blocks import TextBlock
from turnout_templates.sheets.columns import FOOT, HEADING, foot_line, printable_area
from turnout_templates.sheets.filling import last_page, set_blocks
from turnout_templates.sheets.furniture import TITLE_LAYER, SheetTitles
from turnout_templates.sheets.pages import Page
from turnout_templates.sheets.plan import SheetPlan
from turnout_templates.sheets.setting import text_block
from turnout_templates.sheets.text_pages import Ground

_SIZES = (2.4, 2.2)
"""Sizes of the text of chapters, mm: 6.8 pt, which is read at the bench, and 6.2 pt where that saves a page."""


class Chapter(Struct, frozen=True):
    """Blocks that belong together, under one `heading` on each of their pages.

    What is worked through or filled in `in_turn` keeps its order on the pages; other blocks go where there is room.
    """

    heading: str
    blocks: tuple[TextBlock, ...]
    in_turn: bool = False


def chapter_pages(plan: SheetPlan, titles: SheetTitles, chapters: Sequence[Chapter]) -> tuple[Page, ...]:
    """Return the pages of all `chapters` on the paper of `plan`, each on pages of its own; none for an empty one.

    They are labelled with their heading and a number: "Cut list 1", "Cut list 2" ...
    """
    return tuple(page for chapter in chapters if chapter.blocks for page in _pages(plan, titles, chapter))


def _pages(plan: SheetPlan, titles: SheetTitles, chapter: Chapter) -> tuple[Page, ...]:
    area = printable_area(plan)
    heading, y = text_block([chapter.heading], area.left, area.top, HEADING, TITLE_LAYER, bold=True)
    ground = Box(area.left, area.bottom + FOOT, area.right, y - 2.0)
    _, texts = set_blocks(chapter.blocks, Ground(ground, ground), sizes=_SIZES, in_turn=chapter.in_turn)
    count = 1 + last_page(texts)
    made = []
    for index in range(count):
        name = f"{chapter.heading} {index + 1}"
        what = chapter.heading if count == 1 else f"{name} of {count}"
        own = [*heading, *(item for page, item in texts if page == index), *foot_line(plan, titles, what)]
        made.append(Page(plan.page_width, plan.page_height, tuple(own), (), name, what))
    return tuple(made)
