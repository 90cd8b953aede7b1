"""Marks: every shape of the table is drawn where and as large as it says."""

import itertools
import math

import pytest
from drawing.shapes import points_along

from turnout_templates.drawing.bounds import item_bounds
from turnout_templates.drawing.items import MarkItem
from turnout_templates.drawing.marks import SHAPES, is_filled, mark_segments
from turnout_templates.geometry.segments import ArcSegment, LineSegment


@pytest.mark.parametrize("shape", ["cross", "registration", "dot", "ring", "triangle", "tick", "diamond", "arrow"])
def test_the_promised_shapes_are_there(shape: str) -> None:
    assert shape in SHAPES


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_no_shape_is_larger_than_its_size(shape: str) -> None:
    box = item_bounds(MarkItem(shape, (100.0, 50.0), 6.0, "marks"))
    assert max(box.width, box.height) == pytest.approx(6.0, rel=0.15)


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_the_chains_of_a_shape_are_unbroken(shape: str) -> None:
    for chain in mark_segments(MarkItem(shape, (1.0, 2.0), 3.0, "marks", 0.7)):
        for one, following in itertools.pairwise(chain):
            assert one.end == pytest.approx(following.start)


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_a_turned_mark_is_the_mark_turned_about_its_point(shape: str) -> None:
    upright = mark_segments(MarkItem(shape, (0.0, 0.0), 2.0, "marks"))
    turned = mark_segments(MarkItem(shape, (5.0, 7.0), 2.0, "marks", 0.4))
    cosine, sine = math.cos(0.4), math.sin(0.4)
    for chain, other in zip(upright, turned, strict=True):
        for segment, moved in zip(chain, other, strict=True):
            for (x, y), q in zip(points_along(segment, 5), points_along(moved, 5), strict=True):
                assert q == pytest.approx((5 + x * cosine - y * sine, 7 + x * sine + y * cosine))


def test_a_registration_mark_is_a_circle_in_a_cross_on_one_middle() -> None:
    chains = mark_segments(MarkItem("registration", (10.0, 20.0), 5.0, "marks"))
    circles = [c[0] for c in chains if isinstance(c[0], ArcSegment)]
    lines = [c[0] for c in chains if isinstance(c[0], LineSegment)]
    assert [c.centre for c in circles] == [(10.0, 20.0)]
    assert [math.dist(line.start, line.end) for line in lines] == pytest.approx([5.0, 5.0])
    for line in lines:
        middle = ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)
        assert middle == pytest.approx((10.0, 20.0))


def test_only_the_dot_is_solid() -> None:
    assert [shape for shape in sorted(SHAPES) if is_filled(shape)] == ["dot"]


def test_an_unknown_shape_is_named_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match=r'no mark "star".*cross, diamond, dot'):
        mark_segments(MarkItem("star", (0.0, 0.0), 1.0, "marks"))
