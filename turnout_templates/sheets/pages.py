"""What a writer is given: pages with items of their own and views of one drawing, in mm, y up, origin bottom left."""

from __future__ import annotations

from msgspec import Struct

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Drawing, Item
from turnout_templates.geometry.pose import Placement, Point


class View(Struct, frozen=True):
    """A window on the drawing: its points times `scale`, then moved by `placement`, show inside `clip` (page mm).

    Texts and marks show where they lie whole inside `texts` (or `clip` when that is None). A view at a scale other
    than 1 is a survey: it shows lines and edges as hairlines, and no text, mark, dash, tint or hatch. It looks at
    `drawing`, or at the document's own where that is None.
    """

    placement: Placement
    clip: Box
    scale: float = 1.0
    texts: Box | None = None
    drawing: Drawing | None = None

    def page_point(self, point: Point) -> Point:
        """Return where a point of the drawing lies on the page."""
        return self.placement.apply((point[0] * self.scale, point[1] * self.scale))


class Page(Struct, frozen=True):
    """One page of `width` by `height` mm: its `views` are drawn first, its own `items` over them.

    `label` is the page's name in a reader's list of pages, `outline_title` its line in the outline.
    """

    width: float
    height: float
    items: tuple[Item, ...]
    views: tuple[View, ...]
    label: str
    outline_title: str


class Document(Struct, frozen=True):
    """Everything that goes into one printable file; `attachments` are (file name, content), `version` the program's."""

    pages: tuple[Page, ...]
    drawing: Drawing
    title: str
    subject: str = ""
    keywords: tuple[str, ...] = ()
    attachments: tuple[tuple[str, bytes], ...] = ()
    version: str = ""
