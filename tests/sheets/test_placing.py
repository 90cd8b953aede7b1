"""Placing sheets loses nothing, cuts no text, joins every sheet, and never needs more paper than an upright grid."""

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheets.drawings import (
    band,
    bands,
    discs,
    drawings,
    fewest_by_grid,
    fine_points,
    forks,
    holds_point,
    ladder,
    moved,
)

from turnout_templates.drawing.bounds import item_bounds
from turnout_templates.drawing.items import Drawing, Item, KeepClear, MarkItem, TextItem
from turnout_templates.drawing.place import placed
from turnout_templates.geometry.pose import Placement
from turnout_templates.pipeline import PaperChoice, draw, work_out
from turnout_templates.sheets.paper import Margins, PaperError, paper_named
from turnout_templates.sheets.placing import place_sheets
from turnout_templates.sheets.plan import SheetPlan, frame_on
from turnout_templates.spec.load import read_spec

A4 = paper_named("A4")
LONG = Path(__file__).parents[2] / "sample_specs" / "13-long-two-gauge-junction.yaml"
OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
plans = st.sampled_from(["A4", "Letter", "A3", "300x420 mm"]).map(paper_named)


def long_curves() -> list[Drawing]:
    """Bands as wide as two lines with bars across, 1.2 to 2.8 m long, on curves from sharp to easy."""
    return [
        Drawing(band(length, width=width, radius=radius))
        for length, radius, width in (
            (1200.0, 800.0, 60.0),
            (1500.0, 1200.0, 50.0),
            (1800.0, 1000.0, 70.0),
            (2000.0, 1600.0, 60.0),
            (2400.0, 2200.0, 90.0),
            (2800.0, 1500.0, 60.0),
            (1600.0, 3000.0, 80.0),
        )
    ]


@settings(max_examples=25)
@given(drawings, plans, st.floats(6, 30))
def test_every_point_of_a_line_is_inside_a_sheet(drawing: Drawing, paper, overlap: float) -> None:  # type: ignore[no-untyped-def]
    plan = place_sheets(drawing, paper=paper, overlap=overlap)
    for point in fine_points(drawing.items):
        assert any(holds_point(sheet.frame, sheet.placement.apply(point)) for sheet in plan.sheets)


@settings(max_examples=25)
@given(drawings, plans)
def test_every_text_and_mark_is_whole_on_a_sheet(drawing: Drawing, paper) -> None:  # type: ignore[no-untyped-def]
    plan = place_sheets(drawing, paper=paper)
    assert plan.split_texts == 0
    for item in drawing.items:
        if isinstance(item, TextItem | MarkItem):
            assert any(
                sheet.texts.holds(item_bounds(placed(item, sheet.placement)), slack=1e-6) for sheet in plan.sheets
            )


def test_a_text_longer_than_the_paper_is_counted_as_split() -> None:
    long = TextItem("much too long for any sheet " * 12, (0.0, 0.0), 5.0, "labels")
    plan = place_sheets(Drawing((*band(300.0), long)), paper=A4)
    assert plan.split_texts == 1


def overlap_of(plan: SheetPlan, first: int, second: int) -> tuple[float, float]:
    """How much two sheets share of the turned drawing, across and up."""
    one, other = plan.sheets[first - 1], plan.sheets[second - 1]
    dx = other.placement.dx - one.placement.dx
    dy = other.placement.dy - one.placement.dy
    return (one.frame.width - abs(dx), one.frame.height - abs(dy))


@settings(max_examples=25)
@given(drawings, plans, st.floats(6, 30))
def test_joins_are_mutual_and_as_wide_as_asked(drawing: Drawing, paper, overlap: float) -> None:  # type: ignore[no-untyped-def]
    plan = place_sheets(drawing, paper=paper, overlap=overlap)
    for sheet in plan.sheets:
        assert sheet.placement.turn == plan.rotation
        for join in sheet.joins:
            (back,) = [other for other in plan.sheets[join.neighbour - 1].joins if other.neighbour == sheet.number]
            assert back.side == OPPOSITE[join.side]
            assert join.cut != back.cut
            assert join.cut == (sheet.number > join.neighbour)
            assert join.side in (("left", "top") if join.cut else ("right", "bottom"))
            shared = overlap_of(plan, sheet.number, join.neighbour)
            depth = shared[0] if join.side in ("left", "right") else shared[1]
            assert depth >= overlap - 1e-6
            assert (join.area.width, join.area.height) == pytest.approx(shared)
            assert sheet.frame.holds(join.area, slack=1e-6)


@settings(max_examples=25)
@given(drawings, plans)
def test_all_sheets_hang_together(drawing: Drawing, paper) -> None:  # type: ignore[no-untyped-def]
    plan = place_sheets(drawing, paper=paper)
    reached, waiting = {1}, [1]
    while waiting:
        for join in plan.sheets[waiting.pop() - 1].joins:
            if join.neighbour not in reached:
                reached.add(join.neighbour)
                waiting.append(join.neighbour)
    assert reached == set(range(1, len(plan.sheets) + 1))


@settings(max_examples=25)
@given(drawings)
def test_registration_marks_are_one_point_near_the_quarters(drawing: Drawing) -> None:
    plan = place_sheets(drawing, paper=A4)
    for sheet in plan.sheets:
        for join in sheet.joins:
            (back,) = [other for other in plan.sheets[join.neighbour - 1].joins if other.neighbour == sheet.number]
            assert join.marks == back.marks and len(join.marks) == 2
            parts = []
            for mark in join.marks:
                x, y = sheet.placement.apply(mark)
                assert holds_point(join.area, (x, y))
                upright = join.side in ("left", "right")
                parts.append(
                    (y - join.area.bottom) / join.area.height if upright else (x - join.area.left) / join.area.width
                )
            assert sorted(parts) == pytest.approx([0.25, 0.75], abs=0.101)


def printable_pages(paper) -> list[tuple[float, float]]:  # type: ignore[no-untyped-def]
    """What a page less its margins measures, both ways: no band for titles or bars, so harder to match."""
    return [(width - 20, height - 20) for width, height in map(paper.page_size, ("portrait", "landscape"))]


@settings(max_examples=40)
@given(st.one_of(bands, forks), st.sampled_from(["A4", "Letter"]).map(paper_named))
def test_never_more_sheets_than_the_best_upright_grid(items: tuple[Item, ...], paper) -> None:  # type: ignore[no-untyped-def]
    plan = place_sheets(Drawing(items), paper=paper)
    frames = [frame_on(*paper.page_size(way), Margins()) for way in ("portrait", "landscape")]
    grid = fewest_by_grid(
        list(fine_points(items, 3.0)), [(frame.width, frame.height) for frame in frames], plan.overlap
    )
    assert len(plan.sheets) <= grid


@pytest.mark.parametrize("length", [250.0, 530.0, 790.0, 1060.0, 1500.0, 2100.0])
@pytest.mark.parametrize("turn", [0.0, 90.0, 30.0])
def test_a_straight_band_takes_no_more_than_a_grid_of_the_whole_printable_page(length: float, turn: float) -> None:
    items = band(length, turn=math.radians(turn))
    plan = place_sheets(Drawing(items), paper=A4)
    assert len(plan.sheets) <= fewest_by_grid(list(fine_points(items)), printable_pages(A4), 10.0)


@pytest.mark.parametrize("paper", [A4, paper_named("Letter")], ids=lambda paper: paper.name)
def test_long_curves_take_a_quarter_less_paper_than_a_grid(paper) -> None:  # type: ignore[no-untyped-def]
    ours = grid = 0
    for drawing in long_curves():
        mine = len(place_sheets(drawing, paper=paper).sheets)
        best = fewest_by_grid(list(fine_points(drawing.items, 3.0)), printable_pages(paper), 10.0)
        assert mine <= best
        ours, grid = ours + mine, grid + best
    assert ours <= 0.75 * grid


@settings(max_examples=25)
@given(st.one_of(bands, forks), st.tuples(st.floats(-5000, 5000), st.floats(-5000, 5000)))
def test_where_a_drawing_lies_does_not_matter(items: tuple[Item, ...], shift: tuple[float, float]) -> None:
    there = place_sheets(Drawing(moved(items, Placement(0.0, *shift))), paper=A4)
    here = place_sheets(Drawing(items), paper=A4)
    # The outline is thinned on cells that lie still, so one sheet more or less may be found; no more than that.
    assert abs(len(there.sheets) - len(here.sheets)) <= 1


def test_a_drawing_that_fits_a_page_takes_one_page_without_joins() -> None:
    plan = place_sheets(Drawing(band(240.0, width=80.0)), paper=A4)
    assert [sheet.joins for sheet in plan.sheets] == [()]
    assert plan.orientation == "landscape" and plan.rotation == 0.0


def test_a_page_may_be_held_one_way_only() -> None:
    for way, size in (("portrait", (210.0, 297.0)), ("landscape", (297.0, 210.0))):
        plan = place_sheets(ladder(700.0), paper=A4, orientation=way)  # type: ignore[arg-type]
        assert (plan.page_width, plan.page_height) == size
        # Turned by a quarter if need be, 700 mm of band take three sheets either way.
        assert len(plan.sheets) == 3


def test_sheets_are_numbered_in_rows_and_columns() -> None:
    plan = place_sheets(Drawing(band(1000.0)), paper=A4)
    assert plan.arrangement == "columns" and plan.rotation == 0.0
    assert [(s.number, s.row, s.column) for s in plan.sheets] == [(1, 1, 1), (2, 1, 2), (3, 1, 3), (4, 1, 4)]
    assert plan.sheets[1].neighbours == {"left": (1,), "right": (3,)}


def cut_weight(plan: SheetPlan, clear: tuple[KeepClear, ...]) -> float:
    """The weight of discs that the cut edges of later sheets run through, where an earlier sheet lies below."""
    total = 0.0
    for disc in clear:
        spoilt = False
        for sheet in plan.sheets:
            x, y = sheet.placement.apply(disc.at)
            box = sheet.frame
            beside = box.bottom - disc.radius < y < box.top + disc.radius
            under = box.left - disc.radius < x < box.right + disc.radius
            cut = {join.side for join in sheet.joins if join.cut}
            spoilt |= "left" in cut and beside and abs(x - box.left) < disc.radius
            spoilt |= "top" in cut and under and abs(y - box.top) < disc.radius
        total += disc.weight if spoilt else 0.0
    return total


@settings(max_examples=40)
@given(bands, discs)
def test_the_weight_of_spoilt_discs_is_told_truly(items: tuple[Item, ...], clear: list[KeepClear]) -> None:
    plan = place_sheets(Drawing(items, tuple(clear)), paper=A4)
    told, seen = plan.seam_weight, cut_weight(plan, tuple(clear))
    # What is told also counts a seam's prolongation beyond its sheet, so it is never less than what is seen.
    assert told >= seen - 1e-9


def test_seams_keep_off_discs_where_there_is_room() -> None:
    items = band(1150.0)  # five sheets could hold 1295 mm of it, so seams have room to move
    bare = place_sheets(Drawing(items), paper=A4)
    seam = -bare.sheets[2].placement.dx + bare.sheets[2].frame.left
    spoilt = KeepClear((seam, 0.0), 25.0, 3.0)
    plan = place_sheets(Drawing(items, (spoilt,)), paper=A4)
    assert len(plan.sheets) == len(bare.sheets)
    assert cut_weight(bare, (spoilt,)) == 3.0
    assert cut_weight(plan, (spoilt,)) == plan.seam_weight == 0.0


def test_two_islands_are_bridged() -> None:
    items = (*band(150.0), *moved(band(150.0), Placement(0.0, 900.0, 0.0)))
    plan = place_sheets(Drawing(items), paper=A4)
    # 1050 mm in all: four sheets hang together; two alone could not be joined.
    assert len(plan.sheets) == 4
    assert all(sheet.joins for sheet in plan.sheets)


def test_the_sheet_on_top_is_where_a_point_is_seen() -> None:
    plan = place_sheets(Drawing(band(1000.0)), paper=A4)
    second = plan.sheets[1]
    seam = second.frame.left - second.placement.dx
    assert plan.sheet_at((seam + 1.0, 0.0)) == 2  # shared with sheet 1, which lies below
    assert plan.sheet_at((seam - 1.0, 0.0)) == 1
    assert plan.sheet_at((9999.0, 0.0)) is None


@pytest.mark.parametrize("length", [300.0, 380.0, 460.0])
def test_two_sheets_share_evenly(length: float) -> None:
    """White at either end, and what is shared beyond the 10 mm asked for, are a third each of what both sheets hold."""
    plan = place_sheets(Drawing(band(length)), paper=A4, orientation="landscape")
    first, second = plan.sheets
    width = first.frame.width
    before = first.placement.dx - first.frame.left  # the band begins at x = 0
    shared = overlap_of(plan, 1, 2)[0] - 10.0
    after = second.frame.right - second.placement.dx - length
    part = (2 * width - 10.0 - length) / 3
    # Strips start on a lattice of a sixteenth of a pitch; the last 3.5 mm are kept for the bar up the page.
    step = (width - 10.0) / 16
    assert [before, shared, after] == pytest.approx([part] * 3, abs=step + 3.5)


def test_nothing_to_draw_is_an_error() -> None:
    with pytest.raises(ValueError, match="Nothing is drawn"):
        place_sheets(Drawing(()), paper=A4)


@pytest.mark.parametrize("overlap", [0.0, 5.9, 80.0, math.nan])
def test_an_overlap_that_cannot_be_is_refused(overlap: float) -> None:
    with pytest.raises(PaperError, match="overlap must be from 6 mm to a third"):
        place_sheets(Drawing(band(1000.0)), paper=A4, overlap=overlap)


def test_margins_are_kept_on_each_side() -> None:
    margins = Margins(left=15.0, bottom=5.0, right=8.0, top=20.0)
    plan = place_sheets(Drawing(band(1000.0)), paper=A4, margins=margins)
    for sheet in plan.sheets:
        assert sheet.frame.left == 15.0 and sheet.frame.right == plan.page_width - 8.0
        assert sheet.frame.top == plan.page_height - 20.0 and sheet.frame.bottom > 5.0


def test_the_search_looks_at_few_points(monkeypatch: pytest.MonkeyPatch) -> None:
    from turnout_templates.sheets import placing

    seen: list[int] = []
    turned = placing.turned_field

    def counted(ink, *args, **options):  # type: ignore[no-untyped-def]
        made = turned(ink, *args, **options)
        seen.append(len(made.us))
        return made

    monkeypatch.setattr(placing, "turned_field", counted)
    place_sheets(ladder(1500.0, 1600.0), paper=A4)
    # 1500 mm of band and bars: 8 turns, two arrangements, and at most a few plans worked out with every point.
    assert len(seen) <= 22 and sum(seen) < 90_000


def test_no_sheet_shows_only_what_another_does() -> None:
    """A track that ended in the overlap with the strip before had a sheet of the last strip to itself."""
    text = LONG.read_text()
    shorter = text.replace("length: 23 in", "length: 20 in")
    assert shorter != text
    drawn = draw(work_out(read_spec(shorter, file=LONG.name, folder=LONG.parent)), PaperChoice("Letter"))
    points = list(fine_points(drawn.drawing.items))
    for sheet in drawn.plan.sheets:
        own = [point for point in points if holds_point(sheet.frame, sheet.placement.apply(point))]
        for other in drawn.plan.sheets:
            assert other is sheet or not all(holds_point(other.texts, other.placement.apply(point)) for point in own)
