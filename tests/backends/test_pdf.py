"""The PDF read back by other libraries: points, bars, marks, fonts, what it asks of a printer, and its bytes."""

import hashlib
import io
import math
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pdfplumber
import pikepdf
import pypdfium2
import pytest
from backends.documents import CURVED, SPEC, STRAIGHT, TITLES
from backends.reading import Nearby, PageContent, open_pdf, read_page
from drawing.shapes import points_along
from sheets.drawings import PEN

from turnout_templates.backends.pdf import POINTS_PER_MM, write_pdf
from turnout_templates.drawing.bounds import Box, item_bounds
from turnout_templates.drawing.items import Drawing, Fill, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.place import placed
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import ArcSegment, LineSegment, Segment, polyline
from turnout_templates.sheets.pages import Document, Page, View

CASES = {"curved": CURVED, "straight": STRAIGHT}
WRITTEN = {name: write_pdf(document) for name, (_, document) in CASES.items()}
CONTENT: dict[str, list[PageContent]] = {}
for _name, _bytes in WRITTEN.items():
    with open_pdf(_bytes) as _pdf:
        CONTENT[_name] = [read_page(page) for page in _pdf.pages]
every_case = pytest.mark.parametrize("case", CASES)


def sheets_of(case: str):  # type: ignore[no-untyped-def]
    plan, document = CASES[case]
    return list(zip(plan.sheets, document.pages[-len(plan.sheets) :], CONTENT[case][-len(plan.sheets) :], strict=True))


def long_lines(document: Document) -> list[Segment]:
    return [item.segments[0] for item in document.drawing.items if isinstance(item, PathItem) and item.layer == "lines"]


def in_drawing(content: PageContent, placement: Placement) -> list[Point]:
    """All points of the windowed paths of a sheet, its placement undone."""
    back = placement.inverse()
    return [back.apply(point) for path in content.paths if path.window for point in path.points]


@every_case
def test_corners_of_areas_read_back_where_they_were_drawn(case: str) -> None:
    _, document = CASES[case]
    corners = [
        segment.start
        for item in document.drawing.items
        if isinstance(item, RegionItem)
        for ring in item.rings
        for segment in ring
    ]
    seen = 0
    for sheet, _, content in sheets_of(case):
        found = Nearby(in_drawing(content, sheet.placement))
        inner = sheet.frame.grown(-0.5)
        for corner in corners:
            x, y = sheet.placement.apply(corner)
            if not inner.holds(Box(x, y, x, y)):
                continue
            seen += 1
            assert found.distance(corner) < 0.001
    assert seen >= len(corners)


@every_case
def test_every_point_on_a_line_lies_on_the_line_that_was_asked_for(case: str) -> None:
    _, document = CASES[case]
    wanted = [
        item.segments[0] for item in document.drawing.items if isinstance(item, PathItem) and item.layer == "lines"
    ]
    checked = 0
    for sheet, _, content in sheets_of(case):
        for path in content.paths:
            if path.window and path.width == pytest.approx(PEN.width) and path.painted == "S" and not path.dash:
                for point in path.points:
                    home = sheet.placement.inverse().apply(point)
                    assert min(_off_line(segment, home) for segment in wanted) < 0.001
                    checked += 1
    assert checked > 20


def _off_line(segment, point: Point) -> float:  # type: ignore[no-untyped-def]
    if isinstance(segment, ArcSegment):
        return abs(math.dist(point, segment.centre) - segment.radius)
    (x, y), (to_x, to_y) = segment.start, segment.end
    return abs((to_x - x) * (point[1] - y) - (to_y - y) * (point[0] - x)) / math.dist(segment.start, segment.end)


@every_case
def test_what_two_sheets_share_is_the_same_in_both(case: str) -> None:
    homes = {sheet.number: in_drawing(content, sheet.placement) for sheet, _, content in sheets_of(case)}
    compared = 0
    for sheet, _, _ in sheets_of(case):
        for join in sheet.joins:
            if join.neighbour < sheet.number:
                continue
            other = Nearby(homes[join.neighbour])
            for point in homes[sheet.number]:
                x, y = sheet.placement.apply(point)
                if join.area.grown(-0.5).holds(Box(x, y, x, y)):
                    assert other.distance(point) < 0.001
                    compared += 1
    assert compared > 10


@every_case
def test_nothing_of_the_drawing_shows_outside_the_frame(case: str) -> None:
    for sheet, _, content in sheets_of(case):
        frame = sheet.frame
        windows = {path.window for path in content.paths if path.window}
        assert len(windows) == 1
        assert next(iter(windows)) == pytest.approx((frame.left, frame.bottom, frame.right, frame.top), abs=0.001)


@every_case
def test_the_bars_on_every_sheet_measure_what_they_say(case: str) -> None:
    for _, page, content in sheets_of(case):
        lines = [path.points for path in content.paths if not path.window and len(path.points) == 2]
        wanted = [item for item in page.items if isinstance(item, TextItem) and item.layer == "bars"]
        assert len(wanted) == 4
        for label in wanted:
            number, unit = label.text.split()[:2]
            length = float(number) * (25.4 if unit == "in" else 1.0)
            upright = abs(label.angle) > 1.0
            # Ticks are lines square to the bar whose middles lie on it; two of them are the length apart.
            axis = 1 if upright else 0
            level = _middle_of_text(label)[1 - axis]
            ticks = [
                (p[axis] + q[axis]) / 2
                for p, q in lines
                if abs(p[axis] - q[axis]) < 1e-6
                and abs((p[1 - axis] + q[1 - axis]) / 2 - level) < 0.3
                and 1.0 < math.dist(p, q) < 2.0
            ]
            gaps = [abs(a - b) for a in ticks for b in ticks]
            assert any(abs(gap - length) < 0.001 for gap in gaps), label.text


def _middle_of_text(item: TextItem) -> Point:
    return item_bounds(item).centre


@every_case
def test_registration_marks_of_neighbours_coincide_on_paper(case: str) -> None:
    circles: dict[int, list[Point]] = {}
    for sheet, page, content in sheets_of(case):
        marks = [item for item in page.items if isinstance(item, MarkItem) and item.shape == "registration"]
        found = []
        for path in content.paths:
            # A circle of 2.4 mm in a cross of 4 mm: the path that holds more than 8 points, none in a window.
            if not path.window and len(path.points) > 12:
                xs, ys = [x for x, _ in path.points], [y for _, y in path.points]
                found.append(((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2))
        assert len(found) == len(marks) == 2 * len(sheet.joins)
        circles[sheet.number] = [sheet.placement.inverse().apply(point) for point in found]
    for sheet, _, _ in sheets_of(case):
        for join in sheet.joins:
            for mark in join.marks:
                for number in (sheet.number, join.neighbour):
                    assert min(math.dist(mark, other) for other in circles[number]) < 0.001


@every_case
def test_pages_are_real_paper(case: str) -> None:
    plan, document = CASES[case]
    with open_pdf(WRITTEN[case]) as pdf:
        assert len(pdf.pages) == len(document.pages)
        for page in pdf.pages:
            left, bottom, right, top = (float(value) for value in page.mediabox)
            assert (left, bottom) == (0, 0)
            assert (right, top) == pytest.approx(
                (plan.page_width * POINTS_PER_MM, plan.page_height * POINTS_PER_MM), abs=0.001
            )
            assert "/UserUnit" not in page


@every_case
def test_the_file_asks_for_no_scaling_and_names_its_pages(case: str) -> None:
    _, document = CASES[case]
    with open_pdf(WRITTEN[case]) as pdf:
        assert pdf.Root.ViewerPreferences.PrintScaling == pikepdf.Name("/None")
        labels = list(pdf.Root.PageLabels.Nums)
        names = [str(label.P) for label in labels[1::2]]
        assert names == [page.label for page in document.pages]
        with pdf.open_outline() as outline:
            assert [entry.title for entry in outline.root] == [page.outline_title for page in document.pages]


@every_case
def test_the_file_tells_what_it_is_and_carries_its_attachments(case: str) -> None:
    with open_pdf(WRITTEN[case]) as pdf:
        facts = pdf.docinfo
        assert str(facts.Title) == TITLES.name
        assert str(facts.Subject) == "Full-size template"
        assert str(facts.Creator) == TITLES.version
        assert {name: file.get_file().read_bytes() for name, file in pdf.attachments.items()} == {
            "tamsin.yaml": SPEC,
            "a second file.txt": b"2",
        }


@every_case
def test_every_font_is_embedded(case: str) -> None:
    with open_pdf(WRITTEN[case]) as pdf:
        fonts = [font for page in pdf.pages for font in page.Resources.Font.values()]
        assert {str(font.BaseFont).split("+")[1] for font in fonts} == {"SourceSansPro-Regular", "SourceSansPro-Bold"}
        for font in fonts:
            assert len(font.FontDescriptor.FontFile2.read_bytes()) > 1000


@every_case
def test_texts_read_back_where_they_are_whole_and_nowhere_else(case: str) -> None:
    _, document = CASES[case]
    names = [item for item in document.drawing.items if isinstance(item, TextItem)]
    printed: set[str] = set()
    pdf = pypdfium2.PdfDocument(WRITTEN[case])
    first = len(document.pages) - len(sheets_of(case))
    for index, (sheet, _, content) in enumerate(sheets_of(case)):
        said = pdf[first + index].get_textpage().get_text_range()
        words = re.sub(r"\s+", " ", said)
        for item in names:
            whole = sheet.texts.holds(item_bounds(placed(item, sheet.placement)), slack=1e-6)
            # Every label of the drawing is unlike the others, and followed by the end of its line.
            shown = re.search(rf"(?<![\d]){re.escape(item.text)}", words) is not None
            assert shown == whole, item.text
            if shown:
                printed.add(item.text)
        box = sheet.frame
        inside = [p for p in content.text_starts if box.left <= p[0] <= box.right and p[1] > box.bottom]
        whole_names = sum(sheet.texts.holds(item_bounds(placed(item, sheet.placement)), slack=1e-6) for item in names)
        # Beside them stand the words on edges, the names of neighbours' edges and of control marks, and the label of
        # the bar up the page.
        own = [item for item in document.pages[first + index].items if isinstance(item, TextItem)]
        around = sum(sheet.frame.holds(item_bounds(item), slack=1e-6) for item in own)
        named = sum(item.text.startswith("edge of sheet") for item in own)
        assert around == len(sheet.joins) + 1 + named + len(sheet.control)
        assert len(inside) == whole_names + around
    assert printed == {item.text for item in names}


def test_a_plain_reader_sees_the_same_lines() -> None:
    """pdfplumber, which shares no code with the reader above."""
    plan, document = STRAIGHT
    sheet = plan.sheets[0]
    with pdfplumber.open(io.BytesIO(WRITTEN["straight"])) as pdf:
        page = pdf.pages[len(document.pages) - len(plan.sheets)]
        height = float(page.height)
        ends = [(float(x) * 25.4 / 72, (height - float(y)) * 25.4 / 72) for line in page.lines for x, y in line["pts"]]
    lines = [
        item.segments[0] for item in document.drawing.items if isinstance(item, PathItem) and item.layer == "lines"
    ]
    for line in lines:
        for end in (line.start, line.end):
            there = sheet.placement.apply(end)
            assert min(math.dist(there, point) for point in ends) < 0.001


def test_ink_lies_within_a_pixel_at_600_dpi() -> None:
    lines = tuple(
        PathItem((LineSegment((x, 5.0), (x, 25.0)),), Stroke(0.15), "lines") for x in (10.0, 13.337, 17.71, 22.4567)
    )
    page = Page(40.0, 30.0, lines, (), "1", "1")
    pdf = pypdfium2.PdfDocument(write_pdf(Document((page,), Drawing(()), "lines")))
    image = pdf[0].render(scale=600 / 72, grayscale=True).to_numpy().squeeze()
    row = 255 - image[image.shape[0] // 2].astype(float)
    pixel = 25.4 / 600
    for line in lines:
        x = line.segments[0].start[0] / pixel
        near = slice(int(x) - 8, int(x) + 9)
        weight = row[near]
        centre = sum((near.start + k + 0.5) * value for k, value in enumerate(weight)) / weight.sum()
        assert abs(centre - x) <= 1.0


def test_looks_come_out_as_asked() -> None:
    square = polyline([(5.0, 5.0), (15.0, 5.0), (15.0, 15.0), (5.0, 15.0)], closed=True)
    items = (
        PathItem((LineSegment((0.0, 1.0), (30.0, 1.0)),), Stroke(0.35, (3.0, 1.0), 0.4), "a"),
        RegionItem((square,), Fill(0.9, 2.0, 0.0, Stroke(0.07)), Stroke(0.2), "b"),
        MarkItem("dot", (20.0, 20.0), 2.0, "c"),
        TextItem("x", (25.0, 25.0), 3.0, "d", halo=True),
    )
    page = Page(40.0, 40.0, items, (), "1", "1")
    with open_pdf(write_pdf(Document((page,), Drawing(()), "looks"))) as pdf:
        paths = read_page(pdf.pages[0]).paths
    line, tint, hatch, outline, dot, halo = paths
    assert (line.width, line.dash, line.grey) == (pytest.approx(0.35), (3.0, 1.0), 0.4)
    assert (tint.painted, tint.grey) == ("f*", 0.9)
    # Hatch lines at whole multiples of 2 mm: y = 6, 8, 10, 12 and 14.
    assert hatch.width == pytest.approx(0.07)
    assert [round(subpath[0][1], 6) for subpath in hatch.subpaths] == [6.0, 8.0, 10.0, 12.0, 14.0]
    assert outline.width == pytest.approx(0.2)
    assert (dot.painted, dot.grey) == ("f", 0.0)
    assert (halo.painted, halo.grey) == ("f", 1.0)


def test_dashes_go_on_across_pieces() -> None:
    arc = ArcSegment((0.0, 0.0), 400.0, 0.2, 1.0)  # 400 mm: three pieces of 133.3 mm
    page = Page(100.0, 100.0, (PathItem((arc,), Stroke(0.2, (7.0, 2.0)), "a"),), (), "1", "1")
    with open_pdf(write_pdf(Document((page,), Drawing(()), "dashes"))) as pdf:
        phases = [path.phase for path in read_page(pdf.pages[0]).paths]
    third = 400.0 / 3
    assert phases == pytest.approx([0.0, third % 9.0, 2 * third % 9.0], abs=0.005)


def test_a_reduced_view_shows_lines_only_thin_and_where_they_belong() -> None:
    _plan, document = CURVED
    content = CONTENT["curved"][1]
    (view,) = document.pages[1].views
    lines = [path for path in content.paths if path.window]
    assert {round(path.width, 3) for path in lines} == {0.05, 0.12}
    assert not any(path.dash for path in lines)
    corners = {
        tuple(round(v, 2) for v in view.page_point(ring[0].start))
        for item in document.drawing.items
        if isinstance(item, RegionItem)
        for ring in item.rings
    }
    drawn = {tuple(round(v, 2) for v in path.points[0]) for path in lines}
    assert len(corners - drawn) <= 0.1 * len(corners)  # but for rounding to another hundredth
    for item in document.drawing.items:
        if isinstance(item, PathItem) and item.layer == "lines":
            ends = [view.page_point(point) for point in points_along(item.segments[0], 1)]
            for end in ends:
                assert min(math.dist(end, point) for path in lines for point in path.points) < 0.001


_ORDER = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
from backends.documents import CURVED
from turnout_templates.backends.pdf import write_pdf
from turnout_templates.backends.svg import write_svg
print(hashlib.sha256(write_pdf(CURVED[1])).hexdigest())
print(hashlib.sha256(write_svg(CURVED[1].drawing, "T", "D", "spec")).hexdigest())
"""


def test_the_same_bytes_in_every_process() -> None:
    tests = str(Path(__file__).resolve().parents[1])
    said = []
    for seed, zone in (("0", "UTC"), ("4242", "Asia/Tokyo")):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone}
        run = subprocess.run(
            [sys.executable, "-c", _ORDER, tests], capture_output=True, text=True, check=True, env=environment
        )
        said.append(run.stdout)
        time.sleep(1.1)  # a clock in the file would show
    assert said[0] == said[1]
    assert said[0].split()[0] == hashlib.sha256(WRITTEN["curved"]).hexdigest()


def test_writing_leaves_the_library_as_it_was() -> None:
    from reportlab import rl_config

    before = rl_config.useA85
    write_pdf(STRAIGHT[1])
    assert rl_config.useA85 == before


def test_what_is_not_a_number_is_refused() -> None:
    nowhere = PathItem((LineSegment((0.0, math.nan), (1.0, 1.0)),), PEN, "lines")
    page = Page(40.0, 40.0, (nowhere,), (), "1", "1")
    with pytest.raises(ValueError, match="cannot be drawn"):
        write_pdf(Document((page,), Drawing(()), "nowhere"))


def test_a_sheet_carries_only_what_it_shows() -> None:
    """Work is capped: all sheets together paint each piece little more than once."""
    _, document = CURVED
    painted = sum(len([p for p in content.paths if p.window]) for _, _, content in sheets_of("curved"))
    regions = sum(isinstance(item, RegionItem) for item in document.drawing.items)
    hatched = sum(isinstance(i, RegionItem) and i.fill.hatch is not None for i in document.drawing.items)
    others = len(document.drawing.items) - regions
    assert painted < 1.6 * (regions + hatched + 2.5 * others)


def test_a_view_that_shows_nothing_is_an_empty_window() -> None:
    view = View(Placement(0.0, 9999.0, 0.0), Box(10.0, 10.0, 30.0, 30.0))
    page = Page(40.0, 40.0, (), (view,), "1", "1")
    with open_pdf(write_pdf(Document((page,), STRAIGHT[1].drawing, "empty"))) as pdf:
        assert read_page(pdf.pages[0]).paths == []
