"""A drawing seen from behind: shapes turn over, texts do not."""

from __future__ import annotations

import math

import pytest

from turnout_templates.drawing.bounds import item_chains, text_corners
from turnout_templates.drawing.items import (
    Anchor,
    Drawing,
    Fill,
    KeepClear,
    MarkItem,
    PathItem,
    RegionItem,
    Stroke,
    TextItem,
)
from turnout_templates.drawing.mirror import mirrored, mirrored_drawing
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, polyline

STROKE = Stroke(0.1)
CHAIN = (
    LineSegment((1.0, 2.0), (4.0, 3.0)),
    ArcSegment((4.0, 8.0), 5.0, -math.pi / 2, 0.7),
    CubicSegment((7.0, 4.0), (8.0, 4.5), (9.0, 6.0), (9.0, 9.0)),
)


def test_lines_arcs_and_cubics_turn_over() -> None:
    (chain,) = item_chains(mirrored(PathItem(CHAIN, STROKE, "a")))  # type: ignore[arg-type]
    for before, after in zip(CHAIN, chain, strict=True):
        assert after.start == pytest.approx((-before.start[0], before.start[1]))
        assert after.end == pytest.approx((-before.end[0], before.end[1]))
    arc, over = CHAIN[1], chain[1]
    assert isinstance(arc, ArcSegment) and isinstance(over, ArcSegment)
    x, y = arc.point_at(arc.start_angle + arc.sweep / 3)
    assert over.point_at(over.start_angle + over.sweep / 3) == pytest.approx((-x, y))


def test_hatching_and_marks_turn_over() -> None:
    ring = polyline([(0.0, 0.0), (4.0, 0.0), (4.0, 2.0)], closed=True)
    region = mirrored(RegionItem((ring,), Fill(hatch=1.0, hatch_angle=0.3), None, "a"))
    assert isinstance(region, RegionItem) and math.tan(region.fill.hatch_angle) == pytest.approx(-math.tan(0.3))
    mark = MarkItem("triangle", (3.0, 1.0), 2.0, "a", 0.4)
    corners = [(-x, y) for (chain,) in [item_chains(mark)] for x, y in (segment.start for segment in chain)]
    (over,) = item_chains(mirrored(mark))  # type: ignore[arg-type]
    for corner in (segment.start for segment in over):
        assert min(math.dist(corner, known) for known in corners) < 1e-9


@pytest.mark.parametrize("angle", [0.0, 0.4, 1.2, -1.3, math.pi / 2, 2.5])
@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_a_text_fills_the_mirrored_rectangle_and_is_not_turned_over_itself(angle: float, anchor: str) -> None:
    text = TextItem("S1 machine axis", (12.0, 5.0), 2.0, "a", angle, anchor)  # type: ignore[arg-type]
    over = mirrored(text)
    assert isinstance(over, TextItem) and over.text == text.text
    wanted = [(-x, y) for x, y in text_corners(text)]
    for corner in text_corners(over):
        assert min(math.dist(corner, known) for known in wanted) < 1e-9
    assert -math.pi / 2 <= math.remainder(over.angle - math.radians(10), math.tau) < math.pi / 2


def test_discs_and_anchors_go_along() -> None:
    over = mirrored_drawing(Drawing((), (KeepClear((1.0, 2.0), 3.0, 4.0),), (Anchor("F1", (5.0, 6.0)),)))
    assert over.keep_clear == (KeepClear((-1.0, 2.0), 3.0, 4.0),) and over.anchors == (Anchor("F1", (-5.0, 6.0)),)
