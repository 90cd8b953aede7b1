"""What placing sheets gives: numbered sheets, each with its place on the drawing and its joins to its neighbours.

The frame is the part of a page that shows the drawing: the page less its margins and less one band along the bottom
that carries the title and the bars to measure. The bar up the page needs no band of its own: it stands in the last
`SIDE_STRIP` mm of the frame, where the neighbour to the right covers the paper, or where nothing is drawn.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from turnout_templates.drawing.bounds import Box
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.sheets.paper import Margins, Orientation, Paper, PaperError

Side = Literal["left", "right", "top", "bottom"]
Arrangement = Literal["columns", "rows"]

BOTTOM_BAND = 11.5
"""Height of the band of title and bars, mm: three bars 2.2 mm apart and two lines of text."""
SIDE_STRIP = 3.5
"""Width of the strip for the bar up the page, mm: a tick of 1.6 mm and a text of 2 mm."""
BAR_INSET = 1.5
"""Distance of the bar up the page from the right side of the frame, mm: its words keep off the line to glue along."""
LEAST_FRAME = 60.0
"""Shortest side of a frame that still takes the texts of a sheet, mm."""


class WordsPlace(Struct, frozen=True):
    """A place for words: its middle (page mm), whether it is `bare`, and whether they stand `square` to their edge.

    Words at a place that is not bare need a white ground.
    """

    at: Point
    bare: bool
    square: bool = False


class Join(Struct, frozen=True):
    """A sheet's share in a join: what it shares with which neighbour, and which of the two is cut.

    `area` is the shared rectangle in mm of this page; `marks` are the points, in mm of the drawing, of the
    registration marks that both sheets carry; `note` is the place for the words on the edge, and `name` for the name
    of the neighbour's edge on the sheet that is not cut. The sheet that is cut lies on top.
    """

    side: Side
    neighbour: int
    cut: bool
    area: Box
    marks: tuple[Point, ...]
    note: WordsPlace
    name: WordsPlace | None = None


class ControlMark(Struct, frozen=True):
    """A named mark on bare paper, `at` a point in mm of the drawing, that is on one sheet alone.

    Lengths between the marks of two sheets prove that these are joined as they should be.
    """

    name: str
    at: Point


class Sheet(Struct, frozen=True):
    """One sheet: `placement` moves the drawing on to the page, `frame` is what shows (page mm), `texts` where they fit.

    `number`, `row` and `column` count from 1; `bar_words` is the place, where least is drawn, of the words in the
    bar up the page; `control` are its control marks.
    """

    number: int
    row: int
    column: int
    placement: Placement
    frame: Box
    texts: Box
    bar_words: WordsPlace
    joins: tuple[Join, ...] = ()
    control: tuple[ControlMark, ...] = ()

    @property
    def neighbours(self) -> dict[Side, tuple[int, ...]]:
        """The numbers of the neighbours on each side that has any."""
        sides: dict[Side, tuple[int, ...]] = {}
        for join in self.joins:
            sides[join.side] = (*sides.get(join.side, ()), join.neighbour)
        return sides


class SheetPlan(Struct, frozen=True):
    """All sheets of a drawing on one paper; `rotation` is the turn of the drawing on every page in radians.

    `seam_weight` is the weight of keep-clear discs that seams cut; `split_texts` counts texts and marks too long for
    any sheet of this paper (all others lie whole on one).
    """

    paper: Paper
    orientation: Orientation
    page_width: float
    page_height: float
    margins: Margins
    overlap: float
    rotation: float
    arrangement: Arrangement
    sheets: tuple[Sheet, ...]
    seam_weight: float = 0.0
    split_texts: int = 0

    def sheet_at(self, point: Point) -> int | None:
        """Return the number of the sheet on which `point` (mm of the drawing) is seen after joining, if any."""
        found = None
        for sheet in self.sheets:
            x, y = sheet.placement.apply(point)
            if sheet.frame.holds(Box(x, y, x, y)):
                found = sheet.number
        return found


def frame_on(page_width: float, page_height: float, margins: Margins) -> Box:
    """Return the frame of a page in mm; raises PaperError where margins leave less than `LEAST_FRAME` a side."""
    frame = Box(margins.left, margins.bottom + BOTTOM_BAND, page_width - margins.right, page_height - margins.top)
    if min(margins.left, margins.bottom, margins.right, margins.top) < 0.0:
        raise PaperError("A margin cannot be less than nothing.")
    if min(frame.width, frame.height) < LEAST_FRAME:
        raise PaperError(
            f"A page of {page_width:g} x {page_height:g} mm with these margins leaves {frame.width:g} x "
            f"{frame.height:g} mm for the drawing; at least {LEAST_FRAME:g} mm a side is needed. "
            "Use larger paper or smaller margins."
        )
    return frame
