"""Turn a document into text that a reader can follow and a diff can compare: a writer for tests and for `--dump`.

Each page is a heading, its views with the items they show (moved on to the page), and its own items. It goes through
the same choice of pieces as the writers of files, so it records what they draw.
"""

from __future__ import annotations

import math

from turnout_templates.backends.pieces import cut_to_pieces, shown_in
from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.dump import dump_item, dump_items, number
from turnout_templates.drawing.place import placed
from turnout_templates.sheets.pages import Document, View


def record_document(document: Document) -> str:
    """Return `document` as text: one line for each page, view and item."""
    whole = cut_to_pieces(document.drawing.items)
    lines = [f"document {document.title!r} by {document.version!r}"]
    lines += [f"attachment {name!r} {len(content)} bytes" for name, content in document.attachments]
    for page in document.pages:
        lines.append(f"page {page.label!r} {number(page.width)} x {number(page.height)} ({page.outline_title})")
        for view in page.views:
            lines.append(_view_line(view))
            pieces = whole if view.drawing is None else cut_to_pieces(view.drawing.items)
            shown = [pieces[index].item for index in shown_in(view, pieces)]
            if view.scale == 1.0:
                lines += [f"  {dump_item(placed(item, view.placement))}" for item in shown]
            else:
                lines.append(f"  {len(shown)} items reduced")
        lines += [f"  {line}" for line in dump_items(page.items).splitlines()]
    return "\n".join(lines) + "\n"


def _view_line(view: View) -> str:
    """Return what a view looks at."""
    move = view.placement
    turn = number(math.degrees(move.turn), 6)
    scale = "" if view.scale == 1.0 else f" scale={number(view.scale, 6)}"
    return f" view turn={turn} deg shift=({number(move.dx)} {number(move.dy)}){scale} clip={_box(view.clip)}"


def _box(box: Box) -> str:
    return f"({number(box.left)} {number(box.bottom)} {number(box.right)} {number(box.top)})"
