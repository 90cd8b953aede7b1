"""Turn a drawing into its mirror image about the y axis, as it is seen from behind: shapes turn over, texts do not.

A text keeps the mirrored rectangle of its letters, so that what was placed clear of it stays clear, and reads upright.
"""

from __future__ import annotations

import math

from msgspec.structs import replace

from turnout_templates.drawing.bounds import text_corners
from turnout_templates.drawing.items import Anchor, Drawing, Item, KeepClear, MarkItem, PathItem, RegionItem, TextItem
from turnout_templates.drawing.upright import is_upside_down
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment


def mirrored_point(point: Point) -> Point:
    """Return a point seen from behind."""
    return (-point[0], point[1])


def mirrored_drawing(drawing: Drawing) -> Drawing:
    """Return `drawing` seen from behind: its items, its keep-clear discs and its anchors."""
    return Drawing(
        tuple(map(mirrored, drawing.items)),
        tuple(KeepClear(mirrored_point(disc.at), disc.radius, disc.weight) for disc in drawing.keep_clear),
        tuple(Anchor(anchor.name, mirrored_point(anchor.at)) for anchor in drawing.anchors),
    )


def mirrored(item: Item) -> Item:
    """Return one item seen from behind."""
    if isinstance(item, PathItem):
        return replace(item, segments=_chain(item.segments))
    if isinstance(item, RegionItem):
        fill = replace(item.fill, hatch_angle=math.pi - item.fill.hatch_angle)
        return replace(item, rings=tuple(map(_chain, item.rings)), fill=fill)
    if isinstance(item, MarkItem):
        return replace(item, at=mirrored_point(item.at), angle=math.pi - item.angle)
    return _text(item)


def _text(item: TextItem) -> TextItem:
    """Return a text that fills the mirrored rectangle of its letters, read along the mirrored line, not backward."""
    corners = text_corners(item)
    angle = -item.angle
    if is_upside_down(angle):
        angle = math.remainder(angle + math.pi, math.tau)
    turned = replace(item, angle=angle)
    (x, y), (to_x, to_y) = _middle(tuple(map(mirrored_point, corners))), _middle(text_corners(turned))
    return replace(turned, at=(item.at[0] + x - to_x, item.at[1] + y - to_y))


def _middle(corners: tuple[Point, ...]) -> Point:
    return ((corners[0][0] + corners[2][0]) / 2, (corners[0][1] + corners[2][1]) / 2)


def _chain(segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
    return tuple(map(_segment, segments))


def _segment(segment: Segment) -> Segment:
    if isinstance(segment, LineSegment):
        return LineSegment(mirrored_point(segment.start), mirrored_point(segment.end))
    if isinstance(segment, ArcSegment):
        centre = mirrored_point(segment.centre)
        return ArcSegment(centre, segment.radius, math.pi - segment.start_angle, -segment.sweep)
    ends = (segment.start, segment.control_1, segment.control_2, segment.end)
    return CubicSegment(*map(mirrored_point, ends))
