"""The primitives that writers draw: ends, moves and polylines."""

from __future__ import annotations

import math

from geometry.curves import floats, near
from hypothesis import given
from hypothesis import strategies as st

from turnout_templates.geometry.pose import Placement
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, polyline

placements = st.builds(Placement, floats(-7, 7), floats(-500, 500), floats(-500, 500))


def test_an_arc_from_its_angles() -> None:
    arc = ArcSegment((10.0, 20.0), 5.0, 0.0, math.pi / 2)
    assert near(arc.start, (15.0, 20.0), 1e-14)
    assert near(arc.end, (10.0, 25.0), 1e-14)
    assert near(ArcSegment((10.0, 20.0), 5.0, 0.0, -math.pi / 2).end, (10.0, 15.0), 1e-14)


@given(placements)
def test_a_segment_moves_as_its_points_do(placement: Placement) -> None:
    arc = ArcSegment((10.0, 20.0), 5.0, 0.4, -1.1)
    line = LineSegment((1.0, 2.0), (3.0, -4.0))
    cubic = CubicSegment((0.0, 0.0), (1.0, 2.0), (3.0, 2.0), (4.0, 0.0))
    for segment in (arc, line, cubic):
        moved = segment.placed(placement)
        assert near(moved.start, placement.apply(segment.start), 1e-10)
        assert near(moved.end, placement.apply(segment.end), 1e-10)
    middle = arc.start_angle + arc.sweep / 2
    assert near(arc.placed(placement).point_at(middle + placement.turn), placement.apply(arc.point_at(middle)), 1e-10)
    assert near(cubic.placed(placement).control_2, placement.apply(cubic.control_2), 1e-10)


def test_a_polyline_open_and_closed() -> None:
    corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)]
    sides = [(line.start, line.end) for line in polyline(corners)]
    assert sides == [((0.0, 0.0), (1.0, 0.0)), ((1.0, 0.0), (1.0, 1.0))]
    closed = [(line.start, line.end) for line in polyline(corners, closed=True)]
    assert closed == [*sides, ((1.0, 1.0), (0.0, 0.0))]
