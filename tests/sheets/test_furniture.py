"""What is printed round a drawing: complete, alike on neighbours, measurable, and out of the drawing's way."""

import itertools
import math
from collections.abc import Iterable

import pytest
import shapely
from msgspec.structs import replace
from sheets.drawings import band, fine_points, holds_point, ladder

from turnout_templates.drawing.bounds import Box, bounds_of, item_bounds
from turnout_templates.drawing.items import Drawing, Item, MarkItem, PathItem, TextItem
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.sheets.furniture import SheetTitles, sheet_items
from turnout_templates.sheets.paper import Margins, paper_named
from turnout_templates.sheets.placing import place_sheets
from turnout_templates.sheets.plan import SheetPlan

TITLES = SheetTitles("Tamsin Quarry, east", "3", "1a2b-3c4d", "turnout-templates 0.1.0", "will not run as drawn")
DRAWINGS = {
    "straight": ladder(1100.0),
    "curved": ladder(1500.0, 1600.0),
    "sharp": ladder(1300.0, 700.0),
    "short": ladder(150.0),
    "fork": Drawing((*band(900.0), *band(900.0, turn=0.4))),
}
PLANS = {
    (name, paper): place_sheets(drawing, paper=paper_named(paper))
    for name, drawing in DRAWINGS.items()
    for paper in ("A4", "Letter", "A3", "100x160 mm")
}
every_plan = pytest.mark.parametrize("plan", PLANS.values(), ids=lambda _: "")


def printable(plan: SheetPlan) -> Box:
    margins = plan.margins
    return Box(margins.left, margins.bottom, plan.page_width - margins.right, plan.page_height - margins.top)


def ticks_of(items: Iterable[Item], label: str) -> list[LineSegment]:
    """The two end ticks of the bar with this label: the shortest of its lines."""
    lines = [
        item.segments[0]
        for item in items
        if isinstance(item, PathItem) and item.part == f"bar {label}" and isinstance(item.segments[0], LineSegment)
    ]
    return sorted(lines, key=lambda line: math.dist(line.start, line.end))[:2]


def middle(line: LineSegment) -> tuple[float, float]:
    return ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)


@every_plan
def test_nothing_reaches_into_the_margins(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        assert printable(plan).holds(bounds_of(sheet_items(plan, sheet, TITLES)), slack=1e-9)


@every_plan
def test_the_bars_measure_what_they_say(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        items = sheet_items(plan, sheet, TITLES)
        labels = {item.text for item in items if isinstance(item, TextItem) and item.layer == "bars"}
        assert len(labels) == (4 if plan.page_width > 150 else 2)
        for label in labels:
            first, second = ticks_of(items, label)
            number, unit = label.split()[:2]
            length = float(number) * (25.4 if unit == "in" else 1.0)
            assert math.dist(middle(first), middle(second)) == pytest.approx(length, abs=1e-9)
            if "=" in label:
                assert float(label.split("=")[1].split()[0]) == pytest.approx(length / 25.4, abs=0.0005)


@every_plan
def test_there_is_a_bar_each_way_as_long_as_the_frame_allows(plan: SheetPlan) -> None:
    sheet = plan.sheets[0]
    long = [
        item.text
        for item in sheet_items(plan, sheet, TITLES)
        if isinstance(item, TextItem) and item.layer == "bars" and "=" in item.text
    ]
    across, up = (float(text.split()[0]) for text in long)
    assert 0 <= sheet.frame.width - across <= 2.0
    assert 0 <= sheet.frame.height - up <= 2.0


@every_plan
def test_each_join_says_cut_on_one_sheet_and_glue_on_the_other(plan: SheetPlan) -> None:
    said: dict[tuple[int, int], str] = {}
    for sheet in plan.sheets:
        notes = [i for i in sheet_items(plan, sheet, TITLES) if isinstance(i, TextItem) and i.layer == "edges"]
        assert len(notes) == len(sheet.joins)
        for note in notes:
            said[sheet.number, int(note.text.split()[-1])] = note.text
    for (here, there), words in said.items():
        expected = f"cut here, lay on sheet {there}" if here > there else f"glue under sheet {there}"
        assert words == expected
        assert (there, here) in said


@every_plan
def test_edges_are_drawn_as_what_becomes_of_them(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        frame = {
            i.part: i.stroke for i in sheet_items(plan, sheet, TITLES) if isinstance(i, PathItem) and i.layer == "frame"
        }
        assert set(frame) == {"left", "right", "top", "bottom"}
        for side, stroke in frame.items():
            joins = [join for join in sheet.joins if join.side == side]
            if not joins:
                assert not stroke.dash
            else:
                # Cut edges are the heaviest lines: long dashes; glued edges are fine dots.
                assert (stroke.width > 0.2) == joins[0].cut and stroke.dash


@every_plan
def test_every_sheet_says_what_it_belongs_to(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        said = [item.text for item in sheet_items(plan, sheet, TITLES) if isinstance(item, TextItem)]
        assert f"sheet {sheet.number} of {len(plan.sheets)}" in said
        strip = next(text for text in said if text.startswith("Tamsin"))
        if plan.page_width > 150:
            assert strip == "Tamsin Quarry, east  ·  revision 3  ·  1a2b-3c4d  ·  turnout-templates 0.1.0"
        assert any(text.startswith("will not run") for text in said)


@every_plan
def test_no_words_round_the_drawing_lie_on_each_other(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        words = [item for item in sheet_items(plan, sheet, TITLES) if isinstance(item, TextItem)]
        for one, other in itertools.combinations(words, 2):
            shared = item_bounds(one).shared(item_bounds(other))
            assert shared is None or min(shared.width, shared.height) < 1e-6, (one.text, other.text)


@every_plan
def test_titles_and_lower_bars_stand_below_the_drawing(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        for item in sheet_items(plan, sheet, TITLES):
            box = item_bounds(item)
            upright_bar = item.layer == "bars" and box.left > sheet.frame.right - 3.5
            if item.layer == "titles" or (item.layer == "bars" and not upright_bar):
                assert box.top < sheet.frame.bottom
            if upright_bar:
                assert box.left >= sheet.texts.right


@every_plan
def test_marks_of_neighbours_coincide_in_the_drawing(plan: SheetPlan) -> None:
    found: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for sheet in plan.sheets:
        for item in sheet_items(plan, sheet, TITLES):
            if isinstance(item, MarkItem) and item.layer != "control marks":
                assert item.shape == "registration"
                assert sheet.frame.holds(item_bounds(item), slack=1e-9)
                key = (sheet.number, int(item.part.split()[-1]))
                found.setdefault(key, []).append(sheet.placement.inverse().apply(item.at))
    for (here, there), points in found.items():
        assert len(points) == 2
        for point, other in zip(points, found[there, here], strict=True):
            assert point == pytest.approx(other, abs=1e-9)


def test_words_on_edges_and_marks_keep_off_the_lines_of_a_plain_band() -> None:
    plan = PLANS["straight", "A4"]
    lines = [item for item in DRAWINGS["straight"].items if isinstance(item, PathItem) and item.layer == "lines"]
    for sheet in plan.sheets:
        ink = [sheet.placement.apply(point) for point in fine_points(lines)]
        for item in sheet_items(plan, sheet, TITLES):
            if item.layer == "edges" and not isinstance(item, PathItem):
                box = item_bounds(item)
                assert not any(holds_point(box, point) for point in ink)


def test_a_sheet_alone_says_nothing_of_joining() -> None:
    plan = PLANS["short", "A4"]
    said = [i.text for i in sheet_items(plan, plan.sheets[0], TITLES) if isinstance(i, TextItem)]
    assert len(plan.sheets) == 1
    assert not any("cut" in text.lower() or "glue" in text.lower() for text in said)


def test_a_title_too_long_for_the_strip_is_shortened() -> None:
    plan = place_sheets(DRAWINGS["short"], paper=paper_named("A4"), margins=Margins())
    titles = SheetTitles("A very long name indeed " * 12, "3", "f")
    items = sheet_items(plan, plan.sheets[0], titles)
    strip = next(item for item in items if isinstance(item, TextItem) and item.part == "title")
    assert strip.text.endswith("…")
    assert printable(plan).holds(item_bounds(strip))


@every_plan
def test_the_line_of_the_neighbours_edge_is_named_on_the_sheet_below(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        items = [item for item in sheet_items(plan, sheet, TITLES) if item.layer == "neighbour edges"]
        below = [join for join in sheet.joins if not join.cut]
        lines = {item.part: item for item in items if isinstance(item, PathItem)}
        names = {item.part: item for item in items if isinstance(item, TextItem)}
        assert set(lines) == set(names) == {f"join {join.neighbour}" for join in below}
        for join in below:
            line, name = lines[f"join {join.neighbour}"], names[f"join {join.neighbour}"]
            assert name.text == f"edge of sheet {join.neighbour}"
            assert line.stroke.width < 0.1 and line.stroke.dash
            box, along = item_bounds(name), item_bounds(line)
            assert sheet.frame.holds(box)
            # The name lies along its line, clear of it by less than 2 mm.
            gap = max(along.left - box.right, box.left - along.right, along.bottom - box.top, box.bottom - along.top)
            assert 0.0 < gap < 2.0, name.text


def test_the_words_in_the_bar_up_the_page_and_the_names_of_edges_keep_off_the_lines_of_a_band() -> None:
    for name in ("straight", "curved", "fork"):
        plan = PLANS[name, "A4"]
        lines = [item for item in DRAWINGS[name].items if isinstance(item, PathItem)]
        for sheet in plan.sheets:
            ink = [sheet.placement.apply(point) for point in fine_points(lines, 0.3)]
            for item in sheet_items(plan, sheet, TITLES):
                in_bar = item.layer == "bars" and item_bounds(item).left > sheet.frame.right - 3.5
                if isinstance(item, TextItem) and (in_bar or item.layer == "neighbour edges"):
                    assert not any(holds_point(item_bounds(item), point) for point in ink), (name, item.text)


def test_words_that_find_no_bare_place_have_a_white_ground() -> None:
    on_ink = 0
    ink = {
        name: shapely.STRtree(shapely.points(list(fine_points((i for i in d.items if isinstance(i, PathItem)), 0.3))))
        for name, d in DRAWINGS.items()
    }
    for (name, paper), plan in PLANS.items():
        for sheet in plan.sheets:
            on_drawing = sheet.placement.inverse()
            for item in sheet_items(plan, sheet, TITLES):
                if isinstance(item, TextItem) and item.layer in ("edges", "neighbour edges", "bars"):
                    words = item_bounds(replace(item, halo=False)).shared(sheet.frame)
                    ground = shapely.Polygon([on_drawing.apply(corner) for corner in words.corners] if words else [])
                    hit = len(ink[name].query(ground, "intersects")) > 0
                    assert item.halo or not hit, (name, paper, item.text)
                    on_ink += hit
    assert on_ink > 0  # the small paper leaves some of them no other place


def test_a_white_ground_is_given_to_no_words_on_bare_paper() -> None:
    for name in ("straight", "short"):
        plan = PLANS[name, "A4"]
        assert not any(
            item.halo
            for sheet in plan.sheets
            for item in sheet_items(plan, sheet, TITLES)
            if isinstance(item, TextItem)
        )


@every_plan
def test_the_bar_up_the_page_is_light(plan: SheetPlan) -> None:
    for sheet in plan.sheets:
        over = [
            item
            for item in sheet_items(plan, sheet, TITLES)
            if isinstance(item, PathItem) and item.layer == "bars" and item_bounds(item).top > sheet.frame.bottom
        ]
        assert len(over) == 4 and all(item.stroke.width <= 0.12 for item in over)
