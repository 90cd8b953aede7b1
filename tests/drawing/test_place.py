"""Moving an item moves every point that it draws, and nothing else of it."""

import pytest
from drawing.shapes import items, placements, points_along
from hypothesis import given

from turnout_templates.drawing.bounds import item_chains, text_corners
from turnout_templates.drawing.hatching import hatch_lines
from turnout_templates.drawing.items import Fill, Item, RegionItem, TextItem
from turnout_templates.drawing.place import placed
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import polyline


def drawn_points(item: Item) -> list[Point]:
    if isinstance(item, TextItem):
        return list(text_corners(item))
    return [point for chain in item_chains(item) for segment in chain for point in points_along(segment, 7)]


@given(items, placements)
def test_every_point_moves_as_the_placement_says(item: Item, placement: Placement) -> None:
    expected = [placement.apply(point) for point in drawn_points(item)]
    for here, there in zip(drawn_points(placed(item, placement)), expected, strict=True):
        assert here == pytest.approx(there, abs=1e-7)


@given(items, placements)
def test_there_and_back_is_where_it_was(item: Item, placement: Placement) -> None:
    back = placed(placed(item, placement), placement.inverse())
    for here, there in zip(drawn_points(back), drawn_points(item), strict=True):
        assert here == pytest.approx(there, abs=1e-7)
    assert type(back) is type(item) and back.layer == item.layer and back.part == item.part


def test_hatching_turns_with_its_region() -> None:
    square = polyline([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], closed=True)
    region = RegionItem((square,), Fill(hatch=3.0, hatch_angle=0.0), None, "areas")
    turn = Placement(0.6)
    moved = placed(region, turn)
    assert isinstance(moved, RegionItem)
    before = hatch_lines(region.rings, 3.0, region.fill.hatch_angle)
    after = hatch_lines(moved.rings, 3.0, moved.fill.hatch_angle)
    assert len(after) == len(before) == 4  # rows at 0, 3, 6 and 9 mm
    for (start, end), (moved_start, moved_end) in zip(before, after, strict=True):
        assert moved_start == pytest.approx(turn.apply(start))
        assert moved_end == pytest.approx(turn.apply(end))
