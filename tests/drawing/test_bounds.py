"""Bounds hold every point of an item and touch it on all four sides."""

import math

import pytest
from drawing.shapes import points_along, segments
from hypothesis import given

from turnout_templates.drawing.bounds import Box, bounds_of, item_bounds
from turnout_templates.drawing.items import MarkItem, PathItem, Stroke, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment

PEN = Stroke(0.2)


@given(segments)
def test_bounds_hold_a_segment_and_are_tight(segment: Segment) -> None:
    box = item_bounds(PathItem((segment,), PEN, "lines"))
    along = list(points_along(segment, 2000))
    xs, ys = [x for x, _ in along], [y for _, y in along]
    size = max(box.width, box.height, 1.0)
    assert box.holds(Box(min(xs), min(ys), max(xs), max(ys)), slack=1e-9 * size)
    # 2000 steps along a curve miss an extreme by at most a few parts in a million of its size.
    near = 2e-5 * max(size, getattr(segment, "radius", 0.0))
    assert box.left == pytest.approx(min(xs), abs=near)
    assert box.right == pytest.approx(max(xs), abs=near)
    assert box.bottom == pytest.approx(min(ys), abs=near)
    assert box.top == pytest.approx(max(ys), abs=near)


def test_the_top_of_an_arc_lies_between_its_ends() -> None:
    # From 45 to 135 degrees on a radius of 10: the ends lie at 10 sin 45 = 7.0711, the top at 10.
    box = item_bounds(PathItem((ArcSegment((0.0, 0.0), 10.0, math.pi / 4, math.pi / 2),), PEN, "lines"))
    assert (box.left, box.right) == pytest.approx((-7.0710678, 7.0710678))
    assert (box.bottom, box.top) == pytest.approx((7.0710678, 10.0))


def test_a_full_circle_reaches_all_four_quarters() -> None:
    for sweep in (math.tau, -math.tau):
        box = item_bounds(PathItem((ArcSegment((3.0, 4.0), 2.0, 0.3, sweep),), PEN, "lines"))
        assert (box.left, box.bottom, box.right, box.top) == pytest.approx((1.0, 2.0, 5.0, 6.0))


def test_a_cubic_that_bulges_is_held_at_its_bulge() -> None:
    # Controls at height 4 over ends at 0: the middle of the curve is at 3/4 of 4.
    cubic = CubicSegment((0.0, 0.0), (0.0, 4.0), (10.0, 4.0), (10.0, 0.0))
    assert item_bounds(PathItem((cubic,), PEN, "lines")).top == pytest.approx(3.0)


def test_a_text_reaches_from_its_anchor_by_its_width() -> None:
    width = text_width("Heel", 5.0)
    for anchor, left in (("start", 20.0), ("middle", 20.0 - width / 2), ("end", 20.0 - width)):
        box = item_bounds(TextItem("Heel", (20.0, 30.0), 5.0, "labels", anchor=anchor))  # type: ignore[arg-type]
        assert box.left == pytest.approx(left)
        assert box.width == pytest.approx(width)
        assert box.bottom == pytest.approx(30.0, abs=0.1)  # no letter of it hangs below the line


def test_a_text_turned_upright_is_as_tall_as_it_was_wide() -> None:
    lying = item_bounds(TextItem("tip", (0.0, 0.0), 4.0, "labels"))
    standing = item_bounds(TextItem("tip", (0.0, 0.0), 4.0, "labels", angle=math.pi / 2))
    assert standing.height == pytest.approx(lying.width)
    assert standing.width == pytest.approx(lying.height)
    assert standing.right == pytest.approx(-lying.bottom)


def test_a_halo_makes_room_round_a_text() -> None:
    plain = item_bounds(TextItem("tip", (0.0, 0.0), 4.0, "labels"))
    ringed = item_bounds(TextItem("tip", (0.0, 0.0), 4.0, "labels", halo=True))
    assert ringed.holds(plain) and ringed.width > plain.width


def test_bounds_of_items_join_their_boxes() -> None:
    items = (
        PathItem((LineSegment((0.0, 0.0), (10.0, 1.0)),), PEN, "lines"),
        MarkItem("ring", (20.0, 20.0), 4.0, "marks"),
    )
    assert bounds_of(items) == Box(0.0, 0.0, 22.0, 22.0)


def test_bounds_of_nothing_are_an_error() -> None:
    with pytest.raises(ValueError, match="Nothing is drawn"):
        bounds_of(())


def test_boxes_share_touch_and_hold() -> None:
    first, second, apart = Box(0, 0, 10, 10), Box(5, -5, 15, 5), Box(20, 20, 30, 30)
    assert first.shared(second) == Box(5, 0, 10, 5)
    assert first.touches(second) and not first.touches(apart)
    assert first.shared(apart) is None
    assert first.holds(Box(1, 1, 9, 9)) and not first.holds(second)
