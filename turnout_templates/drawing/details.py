"""A part of a drawing shown larger than it is: what is enlarged, the window on it, and notes at their own size.

Everything is in mm as printed: what is enlarged is already as large as it will be on paper.
"""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.drawing.bounds import Box, bounds_of
from turnout_templates.drawing.items import Drawing, Item, MarkItem, PathItem, RegionItem, TextItem
from turnout_templates.drawing.place import placed
from turnout_templates.geometry.pose import Placement

PADDING, GAP = 2.0, 3.0
"""White inside the frame of a detail, and between frames, mm."""


def half_width(width: float) -> float:
    """Return how wide a detail may be where two of them stand side by side in frames, in mm; `width` is of one."""
    return (width - 2 * PADDING - GAP) / 2


class Detail(Struct, frozen=True):
    """An enlarged part: of `drawing` only what lies in `window` shows; the `notes` on and round it show whole.

    `title` says what it is and how much larger than in truth, `remarks` whatever else is to be told, in sentences.
    """

    title: str
    drawing: Drawing
    window: Box
    notes: tuple[Item, ...]
    remarks: str = ""

    @property
    def box(self) -> Box:
        """What the window and the notes take up."""
        if not self.notes:
            return self.window
        around = bounds_of(self.notes)
        return Box(
            min(self.window.left, around.left),
            min(self.window.bottom, around.bottom),
            max(self.window.right, around.right),
            max(self.window.top, around.top),
        )


def enlarged(item: Item, placement: Placement, factor: float) -> Item:
    """Return `item` moved by `placement` and then made `factor` times as large about the origin.

    Geometry grows; the widths of lines, their dashes, hatching, texts and marks keep their size.
    """
    moved = placed(item, placement)
    if isinstance(moved, PathItem):
        return replace(moved, segments=tuple(segment.scaled(factor) for segment in moved.segments))
    if isinstance(moved, RegionItem):
        return replace(moved, rings=tuple(tuple(s.scaled(factor) for s in ring) for ring in moved.rings))
    return _symbol(moved, factor)


def _symbol(item: TextItem | MarkItem, factor: float) -> TextItem | MarkItem:
    return replace(item, at=(item.at[0] * factor, item.at[1] * factor))
