"""The pages before the sheets: what to do, with bars to measure; the map; tables that never overfill a page."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sheets.drawings import ladder
from sheets.test_furniture import middle, printable, ticks_of

from turnout_templates.drawing.bounds import bounds_of, item_bounds
from turnout_templates.drawing.items import Item, PathItem, TextItem
from turnout_templates.sheets.blocks import CONTINUED, TextBlock
from turnout_templates.sheets.chapters import Chapter, chapter_pages
from turnout_templates.sheets.columns import text_pages
from turnout_templates.sheets.front import AssemblyDimension, first_page, map_pages
from turnout_templates.sheets.furniture import SheetTitles
from turnout_templates.sheets.layout import FrontMatter, lay_out_document
from turnout_templates.sheets.pages import Page
from turnout_templates.sheets.paper import PaperError, paper_named
from turnout_templates.sheets.placing import place_sheets
from turnout_templates.sheets.plan import SheetPlan

TITLES = SheetTitles("Tamsin Quarry, east", "3", "1a2b-3c4d", "turnout-templates 0.1.0")
DRAWING = ladder(1200.0, 1600.0)
PLANS = [place_sheets(DRAWING, paper=paper_named(name)) for name in ("A4", "Letter", "A3", "Legal")]
PLANS.append(place_sheets(DRAWING, paper=paper_named("A4"), orientation="portrait"))
CAUTIONS = (
    "Wear eye protection when you cut metal: offcuts fly.",
    "Hot irons burn and fumes harm: work in moving air.",
)
every_plan = pytest.mark.parametrize("plan", PLANS, ids=lambda p: f"{p.paper.name} {p.orientation}")


def texts_of(page: Page) -> list[TextItem]:
    return [item for item in page.items if isinstance(item, TextItem)]


def collisions(items: tuple[Item, ...]) -> list[tuple[str, str]]:
    """Pairs of texts that lie on each other."""
    words = [(item, item_bounds(item)) for item in items if isinstance(item, TextItem)]
    hits = []
    for (one, box), (other, other_box) in itertools.combinations(words, 2):
        shared = box.shared(other_box)
        if shared is not None and min(shared.width, shared.height) > 0.05:
            hits.append((one.text, other.text))
    return hits


@every_plan
def test_the_first_page_says_what_to_do_and_what_to_beware_of(plan) -> None:  # type: ignore[no-untyped-def]
    page = first_page(plan, TITLES, CAUTIONS)
    said = " ".join(item.text for item in texts_of(page))
    for words in ("Print this page first", "alone", "actual size", plan.paper.name, "steel rule", "Take care"):
        assert words in said
    for caution in CAUTIONS:
        assert caution in said


@every_plan
def test_nothing_on_the_first_page_leaves_it_or_collides(plan) -> None:  # type: ignore[no-untyped-def]
    page = first_page(plan, TITLES, CAUTIONS)
    assert printable(plan).holds(bounds_of(page.items), slack=1e-9)
    assert collisions(page.items) == []
    lines = [item_bounds(item) for item in page.items if isinstance(item, PathItem)]
    for text in texts_of(page):
        assert not any(line.touches(item_bounds(text)) for line in lines), text.text


@every_plan
def test_the_bars_of_the_first_page_measure_what_they_say(plan) -> None:  # type: ignore[no-untyped-def]
    page = first_page(plan, TITLES, CAUTIONS)
    labels = [item.text for item in texts_of(page) if item.layer == "bars"]
    # The two short bars stand there both ways, and a long one each way.
    assert sorted(labels)[:4] == ["100 mm", "100 mm", *[label for label in sorted(labels) if "=" in label]][:4]
    long = [label for label in labels if "=" in label]
    for label, room in zip(long, (page.width - 20.0, page.height - 20.0), strict=True):
        first, second = ticks_of(page.items, label)
        length = float(label.split()[0])
        assert math.dist(middle(first), middle(second)) == pytest.approx(length, abs=1e-9)
        assert float(label.split("=")[1].split()[0]) == pytest.approx(length / 25.4, abs=0.0005)
        assert room - 6.0 <= length <= room
    for label, length in (("100 mm", 100.0), ("4 in", 101.6)):
        bars = [
            item.segments[0]
            for item in page.items
            if isinstance(item, PathItem) and item.part == f"bar {label}" and item.segments[0].start[1] > 0
        ]
        ticks = [line for line in bars if math.dist(line.start, line.end) == pytest.approx(2.4)]
        lying = [middle(line) for line in ticks if line.start[0] == pytest.approx(line.end[0])]
        standing = [middle(line) for line in ticks if line.start[1] == pytest.approx(line.end[1])]
        assert math.dist(*lying) == pytest.approx(length)
        assert math.dist(*standing) == pytest.approx(length)


@every_plan
def test_the_diagonal_is_the_distance_of_the_bars_far_ends(plan) -> None:  # type: ignore[no-untyped-def]
    page = first_page(plan, TITLES)
    across, up = [item.text for item in texts_of(page) if item.layer == "bars" and "=" in item.text]
    right = max(middle(tick) for tick in ticks_of(page.items, across))
    top = max((middle(tick) for tick in ticks_of(page.items, up)), key=lambda point: point[1])
    said = " ".join(item.text for item in texts_of(page))
    assert f"{math.dist(right, top):.1f} mm" in said


def test_cautions_that_fill_more_than_a_page_are_refused() -> None:
    with pytest.raises(PaperError, match="do not fit on one page"):
        first_page(PLANS[0], TITLES, ["Be careful with everything that is sharp, hot or live. " * 6] * 40)


@every_plan
def test_the_map_shows_every_sheet_where_it_lies(plan) -> None:  # type: ignore[no-untyped-def]
    page = map_pages(plan, DRAWING, TITLES)[0]
    (view,) = page.views
    assert view.scale <= 0.5
    for sheet in plan.sheets:
        (outline,) = [i for i in page.items if isinstance(i, PathItem) and i.part == f"sheet {sheet.number}"]
        (number,) = [i for i in texts_of(page) if i.part == f"sheet {sheet.number}"]
        frame = [sheet.placement.inverse().apply(corner) for corner in sheet.frame.corners]
        for segment, corner in zip(outline.segments, frame, strict=True):
            assert segment.start == pytest.approx(view.page_point(corner), abs=1e-9)
        assert item_bounds(outline).holds(item_bounds(number))
        assert view.clip.holds(item_bounds(outline), slack=1e-9)


@every_plan
def test_dimensions_are_told_in_both_units(plan) -> None:  # type: ignore[no-untyped-def]
    page = map_pages(plan, DRAWING, TITLES, [AssemblyDimension("tip", "F2", 248.4)])[0]
    said = [item.text for item in texts_of(page)]
    assert {"tip to F2", "248.4 mm", "9.780 in"} <= set(said)  # 248.4 / 25.4 = 9.7795


cells = st.tuples(st.text("abcdef ", min_size=1, max_size=9), st.text("abc defgh ", max_size=150), st.just("sheet 3"))
rows = st.one_of(st.text("abcdef gh ", max_size=300), cells)
blocks = st.lists(
    st.builds(TextBlock, st.text("ABC def", min_size=1, max_size=60), st.lists(rows, max_size=40).map(tuple)),
    max_size=5,
)


@settings(max_examples=30)
@given(blocks, st.sampled_from(PLANS))
def test_no_page_is_ever_overfull_and_nothing_is_lost(made, plan) -> None:  # type: ignore[no-untyped-def]
    pages = map_pages(plan, DRAWING, TITLES, [AssemblyDimension("A", "B", 1.0)], made)
    for page in pages:
        assert printable(plan).holds(bounds_of(page.items), slack=1e-6)
        assert (
            collisions(tuple(i for i in page.items if isinstance(i, TextItem) and i.layer in ("tables", "titles")))
            == []
        )
    set_once = [text for page in pages for text in texts_of(page) if text.layer == "tables" and text.part != CONTINUED]
    letters = "".join(text.text for text in set_once)
    wanted = "".join(block.title + "".join("".join(row) for row in block.rows) for block in made)
    assert letters.replace(" ", "").endswith(wanted.replace(" ", "")) or sorted(
        letters.replace(" ", "").removeprefix("Measurewhenthesheetsarejoined")
    ) == sorted(wanted.replace(" ", "") + "AtoB1.0mm0.039in")


def test_long_tables_flow_on_to_further_pages() -> None:
    table = TextBlock(
        "Findings", tuple((f"W{k}", "The opening is too small here; see the table.", "3") for k in range(200))
    )
    pages = map_pages(PLANS[0], DRAWING, TITLES, (), [table])
    assert len(pages) > 1
    assert [page.label for page in pages[:2]] == ["Map", "Figures 1"]
    assert sum(text.text.startswith("W") for page in pages for text in texts_of(page)) == 200


def test_a_smaller_type_is_taken_where_it_saves_a_page() -> None:
    def pages_and_size(count: int) -> tuple[int, float]:
        block = TextBlock("Notes", tuple(f"A sentence that takes one line, {k}" for k in range(count)))
        pages = map_pages(PLANS[0], DRAWING, TITLES, (), [block])
        return len(pages), max(text.size for text in texts_of(pages[0]) if text.text.startswith("A sentence"))

    sizes = dict(pages_and_size(count) for count in range(10, 120))
    assert sizes[1] < 2.8  # just before the first page overflows, the type has shrunk
    assert pages_and_size(10) == (1, 2.8)


def test_ruled_rows_become_lower_with_the_type_where_that_saves_a_page() -> None:
    def pages_and_pitch(count: int) -> tuple[int, float]:
        rows = (("at", "1st"), *((f"row {k}", "") for k in range(count)))
        table = TextBlock("Record", rows, has_head=True, row_height=6.4, fill_in=1, least_row=6.0)
        pages = chapter_pages(PLANS[0], TITLES, [Chapter("Record", (table,), in_turn=True)])
        tops = [text.at[1] for text in texts_of(pages[0]) if text.text.startswith("row ")]
        pitches = {round(high - low, 6) for high, low in itertools.pairwise(tops)}
        assert len(pitches) == 1
        return len(pages), pitches.pop()

    found = [pages_and_pitch(count) for count in range(10, 60)]
    assert all(pitch in (pytest.approx(6.4), pytest.approx(6.0)) for _, pitch in found)
    assert found[0] == (1, pytest.approx(6.4))
    first_of_two = [pages for pages, _ in found].index(2)
    assert found[first_of_two - 1][1] < 6.4 == pytest.approx(found[first_of_two][1])


@every_plan
def test_sentences_under_a_narrow_table_run_on_where_there_is_paper(plan: SheetPlan) -> None:
    said = " ".join(f"word{k}" for k in range(60))
    table = TextBlock("Sections", (("section", "rails"), ("left", "R1"), ("right", "R2"), said), has_head=True)
    (page,) = text_pages(plan, TITLES, "Wiring", [table])
    lines = [text for text in texts_of(page) if text.text.startswith("word")]
    assert " ".join(line.text for line in lines) == said
    # Columns of prose are 80 mm wide or more, and the table needs half of one.
    assert max(item_bounds(line).width for line in lines) > 70.0


def test_the_document_has_its_pages_in_order_and_named() -> None:
    plan = PLANS[0]
    document = lay_out_document(plan, DRAWING, TITLES, FrontMatter(CAUTIONS), attachments=(("spec.yaml", b"x"),))
    sheets = [f"Sheet {k}" for k in range(1, len(plan.sheets) + 1)]
    assert [page.label for page in document.pages] == ["Print first", "Map", *sheets]
    assert document.title == "Tamsin Quarry, east" and document.version == "turnout-templates 0.1.0"
    for sheet, page in zip(plan.sheets, document.pages[2:], strict=True):
        (view,) = page.views
        assert (view.placement, view.clip, view.scale) == (sheet.placement, sheet.frame, 1.0)


def test_any_front_page_can_be_left_out() -> None:
    for front, labels in (
        (FrontMatter(first_page=False), ["Map", "Sheet 1"]),
        (FrontMatter(map=False), ["Print first", "Sheet 1"]),
        (FrontMatter(first_page=False, map=False), ["Sheet 1", "Sheet 2"]),
    ):
        document = lay_out_document(PLANS[0], DRAWING, TITLES, front)
        assert [page.label for page in document.pages][:2] == labels


@every_plan
def test_pages_of_text_have_their_heading_and_all_rows(plan) -> None:  # type: ignore[no-untyped-def]
    table = TextBlock("Pieces", tuple((f"P{k}", "bar", f"{k}.5 mm") for k in range(1500)))
    pages = text_pages(plan, TITLES, "What to cut", [table])
    assert len(pages) > 1
    assert [page.label for page in pages[:2]] == ["What to cut", "What to cut 2"]
    assert "What to cut" in {item.text for item in texts_of(pages[0])}
    cells = [
        item.text for page in pages for item in texts_of(page) if item.layer == "tables" and item.part != CONTINUED
    ]
    assert cells[1:] == [cell for row in table.rows for cell in row]
    for page in pages:
        assert printable(plan).holds(bounds_of(page.items), slack=1e-9)
        assert collisions(page.items) == []


def test_inches_stand_first_where_they_are_wanted() -> None:
    page = map_pages(PLANS[0], DRAWING, TITLES, [AssemblyDimension("tip", "F2", 248.4)], inches_first=True)[0]
    at = {item.text: item.at[0] for item in texts_of(page)}
    assert at["tip to F2"] < at["9.780 in"] < at["248.4 mm"]


@every_plan
def test_a_table_that_fits_a_column_stands_whole_in_one(plan) -> None:  # type: ignore[no-untyped-def]
    sentences = TextBlock("Notes", tuple(f"A sentence that takes one line, {k}" for k in range(12)))
    table = TextBlock("Marks", tuple((f"sign {k}", f"meaning {k}") for k in range(18)))
    page, *more = map_pages(plan, DRAWING, TITLES, (), [sentences, table])
    assert not more
    signs = [item.at for item in texts_of(page) if item.text.startswith("sign ")]
    assert len(signs) == 18
    assert len({x for x, _ in signs}) == 1
    (title,) = [item.at for item in texts_of(page) if item.text == "Marks"]
    assert title[0] == signs[0][0] and title[1] > signs[0][1]


@dataclass(frozen=True)
class Column:
    """The texts of one column of a page, from the top."""

    page: int
    texts: list[TextItem]

    @property
    def words(self) -> list[str]:
        return [text.text for text in self.texts]


def count_of(plan: SheetPlan) -> int:
    """Return how many columns a page has."""
    return 2 * int((printable(plan).width + 6.0) // 86.0)


def pitch_of(plan: SheetPlan) -> float:
    """Return how far columns start from one another, mm."""
    return (printable(plan).width + 6.0) / count_of(plan)


def columns_of(pages: Sequence[Page], plan: SheetPlan) -> list[Column]:
    """Return what stands in each column, found by where the texts start: a page has two to each 80 mm of prose."""
    pitch = pitch_of(plan)
    found: dict[tuple[int, int], list[TextItem]] = {}
    for number, page in enumerate(pages):
        for item in texts_of(page):
            if item.layer == "tables":
                at = (number, int((item.at[0] - printable(plan).left + 1e-6) // pitch))
                found.setdefault(at, []).append(item)
    return [Column(at[0], sorted(texts, key=lambda t: (-t.at[1], t.at[0]))) for at, texts in sorted(found.items())]


@every_plan
@pytest.mark.parametrize("rows", range(4, 24, 3))
def test_whatever_fits_a_column_stands_whole_in_one(plan: SheetPlan, rows: int) -> None:
    """Sentences and tables alike, wherever in a column the one before them ended."""
    before = TextBlock("Notes", tuple(f"A sentence that takes one line, {k}" for k in range(rows)))
    signs = TextBlock("Marks", tuple((f"sign {k}", f"meaning {k}") for k in range(18)))
    after = TextBlock("Facts", tuple(f"Another sentence that takes one line, {k}" for k in range(9)))
    columns = columns_of(map_pages(plan, DRAWING, TITLES, (), [before, signs, after]), plan)
    for title, start, count in (("Notes", "A sentence", rows), ("Marks", "sign ", 18), ("Facts", "Another", 9)):
        held = [sum(words.startswith(start) for words in column.words) for column in columns if title in column.words]
        assert held == [count], title
    assert not any("continued" in words for column in columns for words in column.words)


@every_plan
def test_a_table_longer_than_a_column_has_its_heading_above_every_part(plan: SheetPlan) -> None:
    rows = (("sign", "what it says"), *((f"sign {k}", f"meaning {k}") for k in range(150)))
    columns = columns_of(map_pages(plan, DRAWING, TITLES, (), [TextBlock("Marks", rows, has_head=True)]), plan)
    assert len(columns) > 1
    for number, column in enumerate(columns):
        title = "Marks" if number == 0 else "Marks (continued)"
        assert column.words[:3] == [title, "sign", "what it says"] and len(column.words) > 4
        assert column.texts[0].bold


def test_a_legend_that_fits_only_in_smaller_type_is_not_broken_for_larger() -> None:
    for rows in range(20, 32):
        table = TextBlock("Marks", tuple((f"sign {k}", f"meaning {k}") for k in range(rows)))
        columns = columns_of(map_pages(PLANS[0], DRAWING, TITLES, (), [table]), PLANS[0])
        assert len(columns) == 1, rows


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.booleans(), st.integers(1, 60)), min_size=1, max_size=6),
    st.sampled_from(PLANS),
)
@example([(False, 30), (False, 5), (False, 60)], PLANS[0])
@example([(False, 30), (True, 20), (False, 45)], PLANS[0])
def test_what_is_broken_is_read_on_down_the_columns(shapes: list[tuple[bool, int]], plan: SheetPlan) -> None:
    """Sentences number themselves; those of one block follow one another by page, then by column, then downward.

    A further column lies wholly beside the one before it, of which none stands half over it.
    """
    wide = 2 * pitch_of(plan) - 0.01
    made = [
        TextBlock(f"Block {b}", tuple((f"s {k}", "x" * 30) if is_table else f"{b}: {k}" for k in range(count)))
        for b, (is_table, count) in enumerate(shapes)
    ]
    places: dict[str, list[tuple[int, float, float]]] = {}
    for number, page in enumerate(map_pages(plan, DRAWING, TITLES, (), made)):
        for item in texts_of(page):
            if ": " in item.text:
                places.setdefault(item.text, []).append((number, item.at[0], -item.at[1]))
    for b, (is_table, count) in enumerate(shapes):
        if not is_table:
            read = [place for k in range(count) for place in places[f"{b}: {k}"]]
            assert len(read) == count and read == sorted(read)
            for one, other in itertools.pairwise(read):
                assert one[0] != other[0] or other[1] - one[1] < 0.01 or other[1] - one[1] >= wide


@every_plan
def test_blocks_that_one_column_would_hold_stand_side_by_side(plan: SheetPlan) -> None:
    made = [TextBlock(f"Block {b}", tuple(f"A sentence of one line, {k}" for k in range(12))) for b in range(3)]
    (page,) = text_pages(plan, TITLES, "Wiring", made)
    titles = [item.at for item in texts_of(page) if item.text.startswith("Block")]
    assert len({x for x, _ in titles}) == min(3, count_of(plan) // 2)
    low = min(item.at[1] for item in texts_of(page) if item.text.startswith("A sentence"))
    assert low > plan.page_height * 0.3  # down one column they end in the lowest quarter of A4 and Letter


@every_plan
@pytest.mark.parametrize("count", range(4, 40, 5))
def test_what_leads_begins_on_the_first_page(plan: SheetPlan, count: int) -> None:
    """Whether it fits there whole, or only a later page, or none."""
    words = "The opening is too small here; see the table and choose a larger frog. " * 4
    findings = TextBlock("Findings", tuple(f"{k}. {words}" for k in range(count)), leads=True)
    after = [TextBlock(f"Marks {n}", tuple((f"sign {k}", f"meaning {k}") for k in range(30))) for n in range(4)]
    first = map_pages(plan, DRAWING, TITLES, [AssemblyDimension("A", "B", 1.0)], [findings, *after])[0]
    said = [item.text for item in texts_of(first)]
    assert "Findings" in said and any(text.startswith("0. ") for text in said)


def test_a_table_longer_than_any_column_is_broken() -> None:
    table = TextBlock("Marks", tuple((f"sign {k}", f"meaning {k}") for k in range(150)))
    pages = map_pages(PLANS[0], DRAWING, TITLES, (), [table])
    assert sum(item.text.startswith("sign ") for page in pages for item in texts_of(page)) == 150
