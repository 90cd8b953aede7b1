"""The dump is one line an item, says all of it, and is the same for drawings that are alike to 1e-4 mm."""

import pytest
from drawing.shapes import items
from hypothesis import given
from msgspec.structs import replace

from turnout_templates.drawing.dump import dump_item, dump_items, number
from turnout_templates.drawing.items import Fill, Item, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, polyline

PATH = PathItem(
    (LineSegment((0.0, 0.0), (10.0, 2.5)), ArcSegment((10.0, 12.5), 10.0, -1.5, 0.25)),
    Stroke(0.2, (3.0, 1.0), 0.5),
    "lines",
    "R1",
)
REGION = RegionItem((polyline([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)], closed=True),), Fill(0.9, 0.5), None, "areas")
TEXT = TextItem("It's 5°", (1.0, -2.0), 3.0, "labels", 0.5, "middle", True, 0.3, True, "T1")
MARK = MarkItem("cross", (4.0, 5.0), 2.0, "marks")


def test_the_dump_reads_as_this() -> None:
    assert dump_items((PATH, REGION, TEXT, MARK)) == (
        "path [lines/R1] line (0 0)(10 2.5) arc (10 12.5) r=10 from=-1.5 sweep=0.25 stroke=0.2 dash=3,1 grey=0.5\n"
        "region [areas] line (0 0)(1 0) line (1 0)(0 1) line (0 1)(0 0) "
        "fill=0.9 hatch=0.5@0.785398:stroke=0.05 no-stroke\n"
        'text [labels/T1] "It\'s 5°" at (1 -2) size=3 angle=0.5 middle bold halo grey=0.3\n'
        "mark [marks] cross at (4 5) size=2 angle=0 stroke=0.18\n"
    )


def test_cubics_are_written_by_their_four_points() -> None:
    item = PathItem((CubicSegment((0.0, 0.0), (1.0, 2.0), (3.0, 4.0), (5.0, 6.0)),), Stroke(0.1), "lines")
    assert dump_item(item) == "path [lines] cubic (0 0)(1 2)(3 4)(5 6) stroke=0.1"


@given(items)
def test_every_item_is_one_line(item: Item) -> None:
    assert dump_items((item, item)).count("\n") == 2


@pytest.mark.parametrize(
    "changed",
    [
        replace(PATH, stroke=replace(PATH.stroke, width=0.3)),
        replace(PATH, segments=PATH.segments[:1]),
        replace(TEXT, text="It's 6°"),
        replace(TEXT, halo=False),
        replace(TEXT, at=(1.0001, -2.0)),
        replace(REGION, fill=Fill(0.9, 0.6)),
        replace(MARK, angle=1e-5),
        replace(MARK, part="M"),
    ],
)
def test_a_change_of_any_kind_shows(changed: Item) -> None:
    originals = {dump_item(item) for item in (PATH, REGION, TEXT, MARK)}
    assert dump_item(changed) not in originals


def test_a_change_below_the_last_digit_does_not_show() -> None:
    assert dump_item(replace(TEXT, at=(1.00001, -2.00001))) == dump_item(TEXT)


def test_numbers_have_no_idle_digits() -> None:
    assert [number(v) for v in (0.0, -0.00001, 1.5, 2.0, -3.25, 100.0)] == ["0", "0", "1.5", "2", "-3.25", "100"]
