"""The SVG files read back by a plain XML reader: size, arcs, groups, ids, metadata, and pages like those of the PDF."""

import math
import re
from xml.etree import ElementTree

import pytest
from backends.documents import CURVED, STRAIGHT
from drawing.shapes import arcs
from hypothesis import given

from turnout_templates.backends.pieces import cut_to_pieces, shown_in
from turnout_templates.backends.svg import EDGE, write_sheet_svg, write_svg
from turnout_templates.drawing.bounds import bounds_of
from turnout_templates.drawing.items import Drawing, Fill, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, polyline

NS = "{http://www.w3.org/2000/svg}"
SPEC = 'spec: 1\nname: <A & B>  # 2′ ½ "quoted"\n'
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def parsed(content: bytes) -> ElementTree.Element:
    return ElementTree.fromstring(content)


def numbers(text: str) -> list[float]:
    return [float(found) for found in NUMBER.findall(text)]


def commands(data: str) -> list[tuple[str, list[float]]]:
    """Path data as (command, numbers)."""
    return [(letter, numbers(rest)) for letter, rest in re.findall(r"([A-Za-z])([^A-Za-z]*)", data)]


def one_item(item: PathItem | RegionItem | TextItem | MarkItem) -> ElementTree.Element:
    return parsed(write_svg(Drawing((item,)), "t"))


@pytest.mark.parametrize("case", [CURVED, STRAIGHT])
def test_the_whole_drawing_is_at_full_size(case) -> None:  # type: ignore[no-untyped-def]
    drawing = case[1].drawing
    root = parsed(write_svg(drawing, "T"))
    box = bounds_of(drawing.items).grown(EDGE)
    left, top, width, height = numbers(root.attrib["viewBox"])
    assert (left, top, width, height) == pytest.approx((box.left, -box.top, box.width, box.height), abs=1e-4)
    assert root.attrib["width"].endswith("mm") and root.attrib["height"].endswith("mm")
    assert (numbers(root.attrib["width"])[0], numbers(root.attrib["height"])[0]) == (width, height)


def test_title_description_and_spec_come_back_whole() -> None:
    root = parsed(write_svg(STRAIGHT[1].drawing, "A title", "What it is.", SPEC))
    assert root.findtext(f"{NS}title") == "A title"
    described = root.findtext(f"{NS}desc") or ""
    assert described.startswith("What it is.") and "Use the PDF for printing" in described
    assert root.findtext(f"{NS}metadata") == SPEC


@given(arcs)
def test_an_arc_stays_an_arc_with_its_ends_radius_and_hand(arc: ArcSegment) -> None:
    root = one_item(PathItem((arc,), Stroke(0.2), "lines"))
    path = root.find(f".//{NS}path")
    assert path is not None
    (start, at), *bends = commands(path.attrib["d"])
    here: Point = (at[0], -at[1])
    assert start == "M" and here == pytest.approx(arc.start, abs=1e-5)
    turned = 0.0
    for letter, (rx, ry, tilt, large, sweep, x, y) in bends:
        assert letter == "A" and rx == ry == pytest.approx(arc.radius, abs=1e-5)
        assert (tilt, large) == (0, 0)
        # y points down in the file, so a left turn is the sweep that the format calls 0.
        assert (sweep == 0) == (arc.sweep > 0)
        chord = math.dist(here, (x, -y))
        turned += 2 * math.asin(min(1.0, chord / (2 * rx)))
        here = (x, -y)
    assert here == pytest.approx(arc.end, abs=1e-5)
    if arc.radius * abs(arc.sweep) > 1 and arc.radius > 5:
        assert turned == pytest.approx(abs(arc.sweep), rel=1e-3)


def test_lines_and_cubics_come_back_turned_over() -> None:
    item = PathItem(
        (LineSegment((0.0, 0.0), (1.0, 2.0)), CubicSegment((1.0, 2.0), (3.0, 4.0), (5.0, 6.0), (7.0, 8.12345))),
        Stroke(0.25, (3.0, 1.0), 0.5),
        "lines",
        "R 1",
    )
    path = one_item(item).find(f".//{NS}path")
    assert path is not None
    assert commands(path.attrib["d"]) == [
        ("M", [0.0, 0.0]),
        ("L", [1.0, -2.0]),
        ("C", [3.0, -4.0, 5.0, -6.0, 7.0, -8.12345]),
    ]
    assert path.attrib["stroke"] == "#808080" and path.attrib["stroke-width"] == "0.25"
    assert path.attrib["stroke-dasharray"] == "3,1" and path.attrib["fill"] == "none"


def test_items_lie_in_groups_by_layer_and_part_in_drawing_order() -> None:
    def line(y: float, layer: str, part: str) -> PathItem:
        return PathItem((LineSegment((0.0, y), (1.0, y)),), Stroke(0.1), layer, part)

    drawing = Drawing(
        (line(1, "a", "R1"), line(2, "a", "R1"), line(3, "b", "R2"), line(4, "a", "R1"), line(5, "a", ""))
    )
    root = parsed(write_svg(drawing, "t"))
    layers = [g for g in root if g.attrib.get("class") == "layer"]
    assert [g.attrib["id"] for g in layers] == ["layer-a", "layer-b", "layer-a--2"]
    assert [g.attrib["id"] for g in root.iter(f"{NS}g")] == [
        "layer-a", "R1", "layer-b", "R2", "layer-a--2", "R1--2",
    ]  # fmt: skip
    heights = [numbers(path.attrib["d"])[1] for path in root.iter(f"{NS}path")]
    assert heights == [-1, -2, -3, -4, -5]


@pytest.mark.parametrize("case", [CURVED, STRAIGHT])
def test_no_id_is_given_twice(case) -> None:  # type: ignore[no-untyped-def]
    document = case[1]
    for content in (write_svg(document.drawing, "t"), write_sheet_svg(document, document.pages[-1])):
        ids = [element.attrib["id"] for element in parsed(content).iter() if "id" in element.attrib]
        assert len(ids) == len(set(ids)) > 10


def test_texts_keep_the_width_that_they_were_laid_out_with() -> None:
    item = TextItem("heel & <toe>", (10.0, 20.0), 3.5, "labels", 0.5, "middle", True)
    text = one_item(item).find(f".//{NS}text")
    assert text is not None
    assert text.text == item.text
    assert float(text.attrib["textLength"]) == pytest.approx(text_width(item.text, 3.5, bold=True), abs=1e-4)
    assert text.attrib["text-anchor"] == "middle" and text.attrib["font-weight"] == "bold"
    x, y, turn = numbers(text.attrib["transform"])
    assert (x, y, turn) == pytest.approx((10.0, -20.0, -math.degrees(0.5)), abs=1e-4)


def test_a_region_has_tint_hatch_and_outline() -> None:
    square = polyline([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], closed=True)
    tint, hatch, outline = one_item(RegionItem((square,), Fill(0.8, 4.0, 0.0), Stroke(0.3), "areas")).iter(f"{NS}path")
    assert (tint.attrib["fill"], tint.attrib["fill-rule"], tint.attrib["stroke"]) == ("#cccccc", "evenodd", "none")
    assert commands(hatch.attrib["d"])[::2] == [("M", [0.0, 0.0]), ("M", [0.0, -4.0]), ("M", [0.0, -8.0])]
    assert outline.attrib["fill"] == "none" and outline.attrib["stroke-width"] == "0.3"


@pytest.mark.parametrize("case", [CURVED, STRAIGHT], ids=["curved", "straight"])
def test_a_page_is_paper_and_shows_the_pieces_that_the_pdf_shows(case) -> None:  # type: ignore[no-untyped-def]
    plan, document = case
    pieces = cut_to_pieces(document.drawing.items)
    for page in document.pages[-len(plan.sheets) :]:
        root = parsed(write_sheet_svg(document, page))
        assert numbers(root.attrib["width"])[0] == pytest.approx(page.width)
        assert numbers(root.attrib["viewBox"]) == pytest.approx([0.0, -page.height, page.width, page.height])
        (view,) = page.views
        window = root.find(f"{NS}g[@clip-path]")
        assert window is not None
        (moved,) = window
        shown = [pieces[index].item for index in shown_in(view, pieces)]
        assert len(list(moved.iter(f"{NS}text"))) == sum(isinstance(item, TextItem) for item in shown)
        a, b, c, d, e, f = numbers(moved.attrib["transform"])
        drawn = [numbers(path.attrib["d"])[:2] for path in moved.iter(f"{NS}path")]
        on_page = [(a * x + c * y + e, -(b * x + d * y + f)) for x, y in drawn]
        for item in shown:
            if isinstance(item, PathItem):
                there = view.page_point(item.segments[0].start)
                assert min(math.dist(there, point) for point in on_page) < 1e-4
        own = [path for group in root if group.attrib.get("class") == "layer" for path in group.iter(f"{NS}path")]
        # Every path, region and mark of the page's own is one element (none of them is hatched or has a halo).
        assert len(own) == sum(not isinstance(item, TextItem) for item in page.items)


def test_the_window_of_a_page_is_its_frame() -> None:
    plan, document = STRAIGHT
    root = parsed(write_sheet_svg(document, document.pages[-1]))
    data = root.find(f".//{NS}clipPath/{NS}path")
    assert data is not None
    frame = plan.sheets[-1].frame
    assert numbers(data.attrib["d"]) == pytest.approx([frame.left, -frame.bottom, frame.right, -frame.top, frame.left])
    assert len(root.findall(f".//{NS}clipPath")) == 1


def test_what_is_not_a_number_is_refused() -> None:
    for bad in (math.nan, math.inf):
        line = PathItem((LineSegment((0.0, 0.0), (1.0, bad)),), Stroke(0.1), "lines")
        with pytest.raises(ValueError, match="cannot be drawn"):
            write_svg(Drawing((line,)), "t")


def test_a_character_that_xml_cannot_hold_is_refused() -> None:
    drawing = Drawing((TextItem("a\x07b", (0.0, 0.0), 3.0, "labels"),))
    with pytest.raises(ValueError, match=r"U\+0007"):
        write_svg(drawing, "t")
