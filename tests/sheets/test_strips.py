"""Strips and chains on small inputs whose best answer can be worked out by hand."""

import math

import pytest

from turnout_templates.drawing.items import Drawing, KeepClear, PathItem, Stroke, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.sheets.paper import paper_named
from turnout_templates.sheets.placing import place_sheets
from turnout_templates.sheets.sampling import BULGE, Ink, sample_ink
from turnout_templates.sheets.search import best_strip_row, fewest_strips
from turnout_templates.sheets.stacking import stack_strips, weight_cut
from turnout_templates.sheets.strips import Cell, Field, chain_is_sound, chain_starts, turned_field

CELL = Cell(across=100.0, along=80.0, across_end=0.0, along_end=0.0, overlap=10.0)


def line(length: float, *clear: KeepClear) -> Drawing:
    return Drawing((PathItem((LineSegment((0.0, 0.0), (length, 0.0)),), Stroke(0.2), "lines"),), clear)


def field_of(ink: Ink) -> Field:
    return turned_field(ink, 0.0, "columns", exact=True)


def label(start: float, end: float) -> TextItem:
    """A text along the line from `start` to `end`, its size chosen so that it is just so long."""
    words = "words along the line"
    return TextItem(words, (start, 5.0), (end - start) / text_width(words, 1.0), "labels")


@pytest.mark.parametrize(
    ("length", "strips"),
    # One strip of 100 mm holds 99.5 (a quarter millimetre is kept at either end), each further one 90 more.
    [(50.0, 1), (99.5, 1), (99.6, 2), (189.5, 2), (189.6, 3), (459.5, 5), (459.6, 6)],
)
def test_a_line_takes_as_few_strips_as_arithmetic_says(length: float, strips: int) -> None:
    turned = field_of(sample_ink(line(length)))
    assert fewest_strips(turned, CELL) == strips
    row = best_strip_row(turned, CELL)
    assert row is not None and len(row.starts) == strips == row.cost[0]
    assert row.starts[0] <= -BULGE + 1e-9 and row.starts[-1] + 100.0 >= length + BULGE - 1e-9
    assert all(b - a <= 90.0 + 1e-9 for a, b in zip(row.starts, row.starts[1:], strict=False))


@pytest.mark.parametrize("start", [40.0, 60.0, 70.0, 80.0, 88.0])
def test_a_strip_begins_before_a_text_that_the_one_before_does_not_hold(start: float) -> None:
    # The second strip must start at 60.25 at least to reach 160.25; what does not end by 99.75 must start after it.
    text = label(start, start + 35.0)
    drawing = Drawing((*line(160.0).items, text))
    row = best_strip_row(field_of(sample_ink(drawing)), CELL)
    assert row is not None and len(row.starts) == 2
    assert any(u <= start and start + 35.0 <= u + 100.0 for u in row.starts)


def test_no_row_is_found_for_texts_wider_than_a_strip() -> None:
    too_long = [label(60.0 * k, 60.0 * k + 110.0) for k in range(3)]
    assert best_strip_row(field_of(sample_ink(Drawing((*line(400.0).items, *too_long)))), CELL) is None


def test_texts_that_overlap_by_halves_are_whole_all_the_same() -> None:
    texts = [label(30.0 * k, 30.0 * k + 60.0) for k in range(12)]
    row = best_strip_row(field_of(sample_ink(Drawing((*line(400.0).items, *texts)))), CELL)
    assert row is not None
    for text in texts:
        start = text.at[0]
        assert any(u <= start + 1e-6 and start + 60.0 <= u + 100.0 + 1e-6 for u in row.starts)


def test_seams_avoid_discs_by_weight() -> None:
    # 150 mm take two strips; the seam (the start of the second) may lie from 50.25 to 89.75.
    turned = field_of(sample_ink(line(150.0, KeepClear((60.0, 0.0), 8.0, 1.0), KeepClear((80.0, 0.0), 8.0, 5.0))))
    row = best_strip_row(turned, CELL)
    assert row is not None and len(row.starts) == 2 and row.cost[1] == 0.0
    assert all(abs(row.starts[1] - middle) >= 8.0 for middle in (60.0, 80.0))


def test_of_two_discs_that_cannot_both_be_spared_the_lighter_is_cut() -> None:
    light, heavy = KeepClear((62.0, 0.0), 12.0, 1.0), KeepClear((82.0, 0.0), 12.0, 5.0)
    # The seam may lie from 50.25 to 89.75, and the two discs together cover 50 to 94.
    turned = field_of(sample_ink(line(150.0, light, heavy)))
    row = best_strip_row(turned, CELL)
    assert row is not None and row.cost[:2] == (2, 1.0)
    assert abs(row.starts[1] - 62.0) < 12.0 <= abs(row.starts[1] - 82.0)


def test_a_chain_starts_each_sheet_as_late_as_it_may() -> None:
    along = [float(v) for v in range(0, 201)]
    # First at the ink less 0.25; then 70 mm on each time.
    assert chain_starts(along, (), CELL) == pytest.approx([-0.25, 69.75, 139.75])


def test_a_chain_makes_room_for_what_must_be_whole() -> None:
    along = [float(v) for v in range(0, 201)]
    # From 60 to 85 is not whole on the first sheet (to 79.75), so the second starts at 60 instead of 69.75.
    assert chain_starts(along, ((60.0, 85.0),), CELL) == pytest.approx([-0.25, 60.0, 130.0])
    assert chain_is_sound([-0.25, 60.0, 130.0], ((60.0, 85.0),), (0.0, 200.0), CELL)
    assert not chain_is_sound([-0.25, 69.75, 139.75], ((60.0, 85.0),), (0.0, 200.0), CELL)


def test_a_chain_leaves_out_a_bare_gap_unless_it_must_join() -> None:
    along = [0.0, 10.0, 300.0, 310.0]
    assert chain_starts(along, (), CELL) == pytest.approx([-0.25, 299.75])
    joined = chain_starts(along, (), CELL, joined=True)
    assert joined == pytest.approx([-0.25, 69.75, 139.75, 209.75, 279.75])


def test_a_chain_keeps_its_end_bare_where_it_is_told_to() -> None:
    along = [float(v) for v in range(0, 80)]  # reaches to 79
    assert len(chain_starts(along, (), Cell(100.0, 80.0, 0.0, 0.0, 10.0))) == 1
    assert len(chain_starts(along, (), Cell(100.0, 80.0, 0.0, 3.5, 10.0))) == 2


def upright_line(length: float, *clear: KeepClear) -> Drawing:
    return Drawing((PathItem((LineSegment((0.0, 0.0), (0.0, -length)),), Stroke(0.2), "lines"),), clear)


def test_a_chain_slides_its_seams_off_discs() -> None:
    # 125 mm down in two sheets of 80: the seam may lie from 45 to 70 down; at first it lies at 69.75, in the disc.
    clear = KeepClear((0.0, -66.0), 8.0, 3.0)
    turned = field_of(sample_ink(upright_line(125.0, clear)))
    row = best_strip_row(turned, CELL)
    assert row is not None
    chains = stack_strips(turned, row, CELL, 40.0, joined=False)
    ((_, seam),) = [chain.starts for chain in chains]
    assert abs(seam - 66.0) >= 8.0
    assert weight_cut(turned, chains, CELL) == 0.0


def test_a_disc_that_a_chain_cannot_spare_is_counted() -> None:
    # 149 mm need both sheets stretched out: the seam lies at about 69 whatever is done.
    turned = field_of(sample_ink(upright_line(149.0, KeepClear((0.0, -69.0), 8.0, 3.0))))
    row = best_strip_row(turned, CELL)
    assert row is not None
    assert weight_cut(turned, stack_strips(turned, row, CELL, 40.0, joined=False), CELL) == 3.0


def test_a_chain_does_not_slide_its_seams_into_discs() -> None:
    # Left to itself the chain shares most with the seam at 45.25; a disc there keeps it further down.
    for clear, place in (((), 45.25), ((KeepClear((0.0, -47.0), 8.0, 3.0),), None)):
        turned = field_of(sample_ink(upright_line(125.0, *clear)))
        row = best_strip_row(turned, CELL)
        assert row is not None
        ((_, seam),) = [chain.starts for chain in stack_strips(turned, row, CELL, 40.0, joined=False)]
        assert seam == pytest.approx(place) if place else seam >= 55.0


@pytest.mark.parametrize("orientation", ["portrait", "landscape"])
@pytest.mark.parametrize("turn", [0.0, math.pi / 2])
def test_dense_texts_along_a_line_are_all_whole(orientation: str, turn: float) -> None:
    """Texts of 35 mm with 5 mm between them leave a seam few places, whichever way the pages run."""
    cosine, sine = math.cos(turn), math.sin(turn)
    end = (1100.0 * cosine, 1100.0 * sine)
    texts = []
    for k in range(27):
        upright = label(40.0 * k, 40.0 * k + 35.0)
        at = (upright.at[0] * cosine - 5.0 * sine, upright.at[0] * sine + 5.0 * cosine)
        texts.append(TextItem(upright.text, at, upright.size, "labels", turn))
    drawing = Drawing((PathItem((LineSegment((0.0, 0.0), end),), Stroke(0.2), "lines"), *texts))
    plan = place_sheets(drawing, paper=paper_named("A4"), orientation=orientation)  # type: ignore[arg-type]
    assert plan.split_texts == 0
    # The line takes 1100 mm; a page holds 6 texts whole (235 of its 277 mm), so five pages hold all 27.
    assert len(plan.sheets) <= 5
