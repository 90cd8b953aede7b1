"""Turn a drawing and a paper into a plan of sheets: the fewest that hold it, joined edge to edge.

The drawing is tried at several turns, on the page held both ways, in columns and in rows, and each time the strips
are searched (`search`) and stacked (`stacking`). Every point of a line lies inside a sheet, every text and mark lies
whole on one, neighbours share at least the overlap, and all sheets hang together. Of two neighbours the later one is
cut and lies on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import count
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Drawing
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.sheets.control import place_control
from turnout_templates.sheets.ground import ground_of
from turnout_templates.sheets.joining import Laid, Seam, find_seams, hangs_together, laid_sheets, marked
from turnout_templates.sheets.needed import count_split, needed
from turnout_templates.sheets.notes import PlacedWords, Spot, place_words
from turnout_templates.sheets.paper import Margins, Orientation, Paper, PaperError
from turnout_templates.sheets.plan import (
    SIDE_STRIP,
    Arrangement,
    ControlMark,
    Join,
    Sheet,
    SheetPlan,
    Side,
    WordsPlace,
    frame_on,
)
from turnout_templates.sheets.sampling import Ink, sample_ink
from turnout_templates.sheets.search import LEAST_EDGE, StripRow, best_strip_row, fewest_strips
from turnout_templates.sheets.stacking import stack_strips, weight_cut
from turnout_templates.sheets.strips import Cell, Field, turned_field
from turnout_templates.sheets.turns import turns_worth_trying

LEAST_OVERLAP = 6.0
"""Least that neighbours may share, mm: a registration mark and the bar up the page side by side."""
_ARRANGEMENTS: tuple[Arrangement, ...] = ("columns", "rows")
_CUT_SIDE: dict[tuple[Arrangement, bool], Side] = {
    ("columns", True): "left",
    ("columns", False): "top",
    ("rows", True): "top",
    ("rows", False): "left",
}
_GLUED_SIDE: dict[Side, Side] = {"left": "right", "top": "bottom"}


class _Trial(Struct, frozen=True):
    """One way to lay pages over the drawing, with the row of strips found for it."""

    orientation: Orientation
    arrangement: Arrangement
    rotation: float
    frame: Box
    cell: Cell
    row: StripRow

    @property
    def rank(self) -> tuple[int, float, bool, bool, float]:
        """What makes a trial better: fewer sheets, less weight cut, no turn, columns, more even sharing."""
        sheets, weight, unevenness = self.row.cost
        return (sheets, round(weight, 9), self.rotation != 0.0, self.arrangement == "rows", unevenness)


class _Worked(Struct, frozen=True):
    """A trial worked out: the exact ink in its strips, its sheets, their joins, and what it spoils."""

    trial: _Trial
    turned: Field
    laid: list[Laid]
    seams: list[Seam]
    seam_weight: float
    split_texts: int

    @property
    def rank(self) -> tuple[int, int, float]:
        """What makes a result better: no text split, fewer sheets, less weight cut."""
        return (self.split_texts, len(self.laid), round(self.seam_weight, 9))


def place_sheets(
    drawing: Drawing,
    *,
    paper: Paper,
    orientation: Orientation | Literal["auto"] = "auto",
    margins: Margins = Margins(),
    overlap: float = 10.0,
) -> SheetPlan:
    """Return the plan of sheets of `paper` for `drawing` at full size.

    `margins` and `overlap` are mm. Raises PaperError where the paper is too small for its margins and the overlap,
    ValueError where nothing is drawn.
    """
    ink = sample_ink(drawing)
    if not ink.points:
        raise ValueError("Nothing is drawn, so there are no sheets to place.")
    held: tuple[Orientation, ...] = ("landscape", "portrait") if orientation == "auto" else (orientation,)
    frames = {way: _frame(paper, way, margins, overlap) for way in held}
    trials = sorted(_trials_that_fit(ink, frames, overlap), key=lambda trial: trial.rank)
    best: _Worked | None = None
    for trial in trials:
        if best is not None and best.rank <= (0, *trial.rank[:2]):
            break
        worked = _work_out(trial, ink)
        if best is None or worked.rank < best.rank:
            best = worked
    assert best is not None, "at least one trial always fits"
    return _plan(best, drawing, paper, margins, overlap)


def _frame(paper: Paper, orientation: Orientation, margins: Margins, overlap: float) -> Box:
    """Return the frame of a page held one way, after checking that the overlap leaves something of it."""
    frame = frame_on(*paper.page_size(orientation), margins)
    most = min(frame.width, frame.height) / 3
    if not LEAST_OVERLAP <= overlap <= most:
        raise PaperError(
            f"Sheets cannot share {overlap:g} mm: the overlap must be from {LEAST_OVERLAP:g} mm to a third of a "
            f"sheet ({most:.0f} mm here)."
        )
    return frame


def _trials_that_fit(ink: Ink, frames: dict[Orientation, Box], overlap: float) -> list[_Trial]:
    """Return all trials, asking less of them step by step until there is one."""
    longest = max(max(frame.width - SIDE_STRIP, frame.height) for frame in frames.values())
    shortest = min(min(frame.width - SIDE_STRIP, frame.height) for frame in frames.values())
    for length, least_edge in ((longest, LEAST_EDGE), (shortest, LEAST_EDGE), (shortest, LEAST_EDGE / 2), (0.0, 0.0)):
        fitting = replace(ink, wholes=tuple(whole for whole in ink.wholes if math.dist(whole[0], whole[1]) <= length))
        if trials := list(_trials(fitting, frames, overlap, least_edge)):
            return trials
    return []


def _trials(ink: Ink, frames: dict[Orientation, Box], overlap: float, least_edge: float) -> Iterator[_Trial]:
    """Yield every way to lay pages over the drawing for which there is a row of strips, none worse than the first.

    An upright drawing is always searched; a turned one only where it may need no more sheets than the best so far.
    """
    most: int | None = None
    for rotation in turns_worth_trying(ink.outline, quarter_turns=len(frames) == 1):
        for arrangement in _ARRANGEMENTS:
            turned = turned_field(ink, rotation, arrangement, exact=False)
            for way, frame in frames.items():
                cell = _cell(frame, arrangement, overlap)
                if most is not None and rotation != 0.0 and fewest_strips(turned, cell) > most:
                    continue
                if (row := best_strip_row(turned, cell, least_edge=least_edge, most=most)) is not None:
                    most = row.cost[0] if most is None else min(most, row.cost[0])
                    yield _Trial(way, arrangement, rotation, frame, cell, row)


def _cell(frame: Box, arrangement: Arrangement, overlap: float) -> Cell:
    """Return the frame as strips see it; the strip for the bar lies at the right of the page."""
    if arrangement == "columns":
        return Cell(frame.width, frame.height, SIDE_STRIP, 0.0, overlap)
    return Cell(frame.height, frame.width, 0.0, SIDE_STRIP, overlap)


def _work_out(trial: _Trial, ink: Ink) -> _Worked:
    """Return the sheets of one trial, worked out with every point of the ink."""
    turned = turned_field(ink, trial.rotation, trial.arrangement, exact=True)
    for joined in (False, True):
        chains = stack_strips(turned, trial.row, trial.cell, LEAST_EDGE, joined=joined)
        laid = laid_sheets(chains)
        seams = find_seams(laid, trial.cell)
        if hangs_together(len(laid), seams):
            break
    chains, laid, seams = needed(turned, chains, laid, seams, trial.cell)
    weight = weight_cut(turned, chains, trial.cell)
    return _Worked(trial, turned, laid, seams, weight, count_split(turned, laid, trial.cell))


def _plan(worked: _Worked, drawing: Drawing, paper: Paper, margins: Margins, overlap: float) -> SheetPlan:
    """Return the plan of the sheets that were found best, with the marks and the words on their edges placed."""
    trial = worked.trial
    width, height = paper.page_size(trial.orientation)
    ground = ground_of(drawing, trial.rotation, trial.arrangement)
    worked = replace(worked, seams=[marked(seam, ground, trial.cell) for seam in worked.seams])
    control = place_control(worked.laid, worked.seams, ground, trial.cell, trial.arrangement)
    words = place_words(worked.laid, worked.seams, ground, trial.cell, [marks.shapes for marks in control])
    names = count(1)
    named = [
        tuple(ControlMark(f"M{next(names)}", _on_drawing(point, trial)) for point in marks.points) for marks in control
    ]
    return SheetPlan(
        paper=paper,
        orientation=trial.orientation,
        page_width=width,
        page_height=height,
        margins=margins,
        overlap=overlap,
        rotation=trial.rotation,
        arrangement=trial.arrangement,
        sheets=tuple(replace(_sheet(index, worked, words), control=marks) for index, marks in enumerate(named)),
        seam_weight=worked.seam_weight,
        split_texts=worked.split_texts,
    )


def _upright(point: Point, arrangement: Arrangement) -> Point:
    """Return a point of strip coordinates as (right, up) of the turned drawing."""
    u, v = point
    return (u, -v) if arrangement == "columns" else (v, -u)


def _sheet(index: int, worked: _Worked, words: PlacedWords) -> Sheet:
    """Return one sheet with its place on the page and its joins."""
    trial = worked.trial
    here, frame = worked.laid[index], trial.frame
    left, top = _upright((here.u, here.v), trial.arrangement)
    shift = (frame.left - left, frame.top - top)
    row, column = (here.link, here.strip) if trial.arrangement == "columns" else (here.strip, here.link)
    return Sheet(
        number=index + 1,
        row=row + 1,
        column=column + 1,
        placement=Placement(trial.rotation, *shift),
        frame=frame,
        texts=replace(frame, right=frame.right - SIDE_STRIP),
        bar_words=_on_page(words.bars[index], trial, shift),
        joins=tuple(
            _join(index, seam, words, shift, trial) for seam in worked.seams if index in (seam.earlier, seam.later)
        ),
    )


def _join(index: int, seam: Seam, words: PlacedWords, shift: Point, trial: _Trial) -> Join:
    """Return the share of sheet `index` in a seam."""
    cut = index == seam.later
    neighbour = seam.earlier if cut else seam.later
    cut_side = _CUT_SIDE[trial.arrangement, seam.edge.across]
    (x, y), (to_x, to_y) = (_upright(corner, trial.arrangement) for corner in (seam.edge.low, seam.edge.high))
    area = Box(min(x, to_x), min(y, to_y), max(x, to_x), max(y, to_y)).shifted(*shift)
    return Join(
        side=cut_side if cut else _GLUED_SIDE[cut_side],
        neighbour=neighbour + 1,
        cut=cut,
        area=area,
        marks=tuple(_on_drawing(mark, trial) for mark in seam.marks),
        note=_on_page(words.notes[index, neighbour], trial, shift),
        name=None if cut else _on_page(words.names[index, neighbour], trial, shift),
    )


def _on_drawing(point: Point, trial: _Trial) -> Point:
    """Return a point of strip coordinates in mm of the drawing."""
    return Placement(-trial.rotation).apply(_upright(point, trial.arrangement))


def _on_page(spot: Spot, trial: _Trial, shift: Point) -> WordsPlace:
    """Return a place for words in mm of the page."""
    x, y = _upright(spot.at, trial.arrangement)
    return WordsPlace((x + shift[0], y + shift[1]), spot.bare, spot.square)
