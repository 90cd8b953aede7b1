"""Turn a plan of sheets into the pages of a document: what to print first, the map, then the sheets by number."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.drawing.items import Drawing
from turnout_templates.drawing.upright import upright_drawing
from turnout_templates.sheets.blocks import TextBlock
from turnout_templates.sheets.front import AssemblyDimension, first_page, map_pages
from turnout_templates.sheets.furniture import SheetTitles, sheet_items
from turnout_templates.sheets.pages import Document, Page, View
from turnout_templates.sheets.plan import Sheet, SheetPlan
from turnout_templates.sheets.proof import SeamProof


class FrontMatter(Struct, frozen=True):
    """What comes before the sheets: `cautions` for the first page, `dimensions`, `proofs` and `blocks` for the map.

    Any part can be left out: `first_page` and `map` say whether those pages are made. `inches_first` says in which
    order the two units of a dimension stand.
    """

    cautions: tuple[str, ...] = ()
    dimensions: tuple[AssemblyDimension, ...] = ()
    blocks: tuple[TextBlock, ...] = ()
    proofs: tuple[SeamProof, ...] = ()
    first_page: bool = True
    map: bool = True
    inches_first: bool = False


def lay_out_document(
    plan: SheetPlan,
    drawing: Drawing,
    titles: SheetTitles,
    front: FrontMatter = FrontMatter(),
    *,
    more_pages: Sequence[Page] = (),
    last_pages: Sequence[Page] = (),
    subject: str = "",
    keywords: tuple[str, ...] = (),
    attachments: tuple[tuple[str, bytes], ...] = (),
) -> Document:
    """Return the document of `plan`: the front pages asked for, `more_pages`, a page for each sheet, `last_pages`.

    Texts of the drawing are turned over in place where the turn of the plan would print them upside down.
    """
    pages: list[Page] = []
    if front.first_page:
        pages.append(first_page(plan, titles, front.cautions))
    if front.map:
        pages += map_pages(
            plan, drawing, titles, front.dimensions, front.blocks, front.proofs, inches_first=front.inches_first
        )
    pages += more_pages
    pages += [sheet_page(plan, sheet, titles) for sheet in plan.sheets]
    pages += last_pages
    shown = upright_drawing(drawing, plan.rotation)
    return Document(tuple(pages), shown, titles.name, subject, keywords, attachments, titles.version)


def sheet_page(plan: SheetPlan, sheet: Sheet, titles: SheetTitles) -> Page:
    """Return the page of one sheet: its part of the drawing, and everything round it."""
    view = View(sheet.placement, sheet.frame, texts=sheet.texts)
    name = f"Sheet {sheet.number}"
    outline = f"{name} of {len(plan.sheets)}"
    return Page(plan.page_width, plan.page_height, sheet_items(plan, sheet, titles), (view,), name, outline)
