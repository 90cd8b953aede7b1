"""Dimension lines: each tells its length once, ends where it must, and no text is lain on or struck out."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnout_templates.drawing.bounds import Box, item_bounds
from turnout_templates.drawing.details import enlarged
from turnout_templates.drawing.dimensions import Span, draw_spans
from turnout_templates.drawing.items import Fill, Item, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.geometry.pose import Placement
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, polyline

STRIP = Box(-50.0, -10.0, 50.0, 10.0)
across = st.floats(-50.0, 50.0).map(lambda x: round(x, 2))
places = st.tuples(across, st.floats(-10.0, 10.0))
spans = st.lists(
    st.builds(
        Span, places, places, st.sampled_from(["filed over 10.4 mm", "flare 2 mm", "knuckle"]), st.sampled_from([1, -1])
    ),
    max_size=12,
)


def texts(items: tuple[Item, ...]) -> list[TextItem]:
    return [item for item in items if isinstance(item, TextItem)]


@given(spans)
def test_texts_overlap_nothing(wanted: list[Span]) -> None:
    items, missing = draw_spans(wanted, STRIP, left=-90.0, right=90.0, rows=40)
    assert missing == 0
    assert sorted(item.text for item in texts(items)) == sorted(span.words for span in wanted)
    boxes = [item_bounds(item) for item in texts(items)]
    for one, other in itertools.combinations(boxes, 2):
        shared = one.shared(other)
        assert shared is None or min(shared.width, shared.height) < 1e-9
    for box in boxes:
        assert box.bottom > STRIP.top or box.top < STRIP.bottom
        assert box.left >= -90.0 and box.right <= 90.0
        for line in (item for item in items if isinstance(item, PathItem)):
            shared = box.shared(item_bounds(line))
            assert shared is None, (box, line)


def test_a_span_ends_where_it_is_told() -> None:
    items, _ = draw_spans([Span((-20.0, 3.0), (30.0, -4.0), "50 mm", 1)], STRIP, left=-60.0, right=60.0, rows=3)
    slashes = sorted(item.at[0] for item in items if isinstance(item, MarkItem))
    assert slashes == [-20.0, 30.0]
    posts = [item.segments[0] for item in items if isinstance(item, PathItem)]
    feet = {line.start for line in posts if isinstance(line, LineSegment) and line.start[0] == line.end[0]}
    # They stop 0.7 mm short of what is measured, toward the text.
    assert feet == {(-20.0, 3.7), (30.0, -3.3)}
    (text,) = texts(items)
    box = item_bounds(text)
    assert (box.left + box.right) / 2 == pytest.approx(5.0) and box.bottom > STRIP.top


def test_what_finds_no_room_is_counted() -> None:
    wanted = [Span((0.0, 0.0), (1.0, 0.0), f"length number {k}", 1) for k in range(7)]
    items, missing = draw_spans(wanted, STRIP, left=-60.0, right=60.0, rows=2)
    assert missing == 7 - len(texts(items)) > 0


def test_geometry_grows_and_looks_do_not() -> None:
    """By hand: turned a quarter about the origin, shifted by (1, 0), three times as large."""
    move = Placement(math.pi / 2, 1.0, 0.0)
    stroke = Stroke(0.2, (3.0, 1.0))
    line, arc, cubic = (
        enlarged(PathItem((segment,), stroke, "a"), move, 3.0)
        for segment in (
            LineSegment((2.0, 0.0), (4.0, 1.0)),
            ArcSegment((2.0, 0.0), 5.0, 0.1, 0.4),
            CubicSegment((0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (3.0, 0.0)),
        )
    )
    assert isinstance(line, PathItem) and isinstance(arc, PathItem) and isinstance(cubic, PathItem)
    assert line.stroke == stroke
    assert line.segments[0].start == pytest.approx((3.0, 6.0)) and line.segments[0].end == pytest.approx((0.0, 12.0))
    (round_,) = arc.segments
    assert isinstance(round_, ArcSegment)
    assert round_.radius == 15.0 and round_.centre == pytest.approx((3.0, 6.0))
    assert (round_.start_angle, round_.sweep) == pytest.approx((0.1 + math.pi / 2, 0.4))
    assert cubic.segments[0].end == pytest.approx((3.0, 9.0))
    text = enlarged(TextItem("R1", (2.0, 0.0), 2.0, "a"), move, 3.0)
    assert isinstance(text, TextItem) and text.size == 2.0 and text.at == pytest.approx((3.0, 6.0))
    mark = enlarged(MarkItem("cross", (2.0, 0.0), 3.0, "a"), move, 3.0)
    assert isinstance(mark, MarkItem) and mark.size == 3.0 and mark.at == pytest.approx((3.0, 6.0))
    square = RegionItem((polyline(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)), closed=True),), Fill(0.8, 1.3), None, "a")
    grown = enlarged(square, move, 3.0)
    assert isinstance(grown, RegionItem) and item_bounds(grown).width == pytest.approx(3.0)
