"""Turn items into the upright box that holds them: tight for lines, arcs and cubics, by font metrics for texts.

Boxes hold geometry: half a line's width beyond it is not counted. A text's box holds its letters (and its halo).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from turnout_templates.drawing.items import Item, MarkItem, PathItem, RegionItem, TextItem
from turnout_templates.drawing.marks import mark_segments
from turnout_templates.drawing.text_metrics import text_extent
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment

HALO_PADDING = 0.12
"""White kept round a text with a halo, in parts of its size (ours: enough to read by, and hides little)."""


class Box(Struct, frozen=True):
    """An upright rectangle in mm, `left` <= `right` and `bottom` <= `top`."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """The extent along x in mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """The extent along y in mm."""
        return self.top - self.bottom

    @property
    def centre(self) -> Point:
        """The middle of the box."""
        return ((self.left + self.right) / 2, (self.bottom + self.top) / 2)

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """The four corners, counter-clockwise from bottom left."""
        return (
            (self.left, self.bottom),
            (self.right, self.bottom),
            (self.right, self.top),
            (self.left, self.top),
        )

    def holds(self, other: Box, *, slack: float = 0.0) -> bool:
        """Tell whether `other` lies wholly inside this box made `slack` mm larger on every side."""
        return (
            other.left >= self.left - slack
            and other.right <= self.right + slack
            and other.bottom >= self.bottom - slack
            and other.top <= self.top + slack
        )

    def touches(self, other: Box) -> bool:
        """Tell whether the boxes share a point."""
        return (
            other.left <= self.right
            and other.right >= self.left
            and other.bottom <= self.top
            and other.top >= self.bottom
        )

    def shared(self, other: Box) -> Box | None:
        """Return the rectangle that both boxes hold, or None where they do not meet."""
        left, right = max(self.left, other.left), min(self.right, other.right)
        bottom, top = max(self.bottom, other.bottom), min(self.top, other.top)
        return Box(left, bottom, right, top) if left <= right and bottom <= top else None

    def grown(self, by: float) -> Box:
        """Return the box moved out by `by` mm on every side."""
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def shifted(self, dx: float, dy: float) -> Box:
        """Return the box moved by (`dx`, `dy`) mm."""
        return Box(self.left + dx, self.bottom + dy, self.right + dx, self.top + dy)


def bounds_of(items: Iterable[Item]) -> Box:
    """Return the tight box of all `items`; raises ValueError when there is none."""
    return joined_boxes(item_bounds(item) for item in items)


def joined_boxes(boxes: Iterable[Box]) -> Box:
    """Return the least box that holds all `boxes`; raises ValueError when there is none."""
    known = list(boxes)
    if not known:
        raise ValueError("Nothing is drawn, so it has no bounds.")
    return Box(
        min(box.left for box in known),
        min(box.bottom for box in known),
        max(box.right for box in known),
        max(box.top for box in known),
    )


def item_bounds(item: Item) -> Box:
    """Return the tight box of one item."""
    if isinstance(item, TextItem):
        return points_box(text_corners(item))
    return segments_box(segment for chain in item_chains(item) for segment in chain)


def item_chains(item: PathItem | RegionItem | MarkItem) -> tuple[tuple[Segment, ...], ...]:
    """Return the chains of segments that draw an item that is no text."""
    if isinstance(item, PathItem):
        return (item.segments,)
    if isinstance(item, RegionItem):
        return item.rings
    return mark_segments(item)


def text_corners(item: TextItem) -> tuple[Point, Point, Point, Point]:
    """Return the corners of the rectangle round a text's letters (and halo), counter-clockwise from its lower left."""
    extent = text_extent(item.text, item.size, bold=item.bold)
    start = -extent.width * {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
    pad = HALO_PADDING * item.size if item.halo else 0.0
    upright = Box(start, extent.low, start + extent.width, extent.high).grown(pad)
    placement = Placement(item.angle, item.at[0], item.at[1])
    lower_left, lower_right, upper_right, upper_left = map(placement.apply, upright.corners)
    return (lower_left, lower_right, upper_right, upper_left)


def points_box(points: Iterable[Point]) -> Box:
    """Return the least box that holds all `points` (at least one)."""
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def segments_box(segments: Iterable[Segment]) -> Box:
    """Return the tight box of `segments` (at least one)."""
    return points_box(point for segment in segments for point in _extreme_points(segment))


def _extreme_points(segment: Segment) -> list[Point]:
    """Return points of the segment, its extremes in x and y among them."""
    if isinstance(segment, LineSegment):
        return [segment.start, segment.end]
    if isinstance(segment, ArcSegment):
        return _arc_extremes(segment)
    return _cubic_extremes(segment)


def _arc_extremes(arc: ArcSegment) -> list[Point]:
    """Return the ends of an arc and each quarter point of its circle that it passes."""
    quarter = math.pi / 2
    low, high = sorted((arc.start_angle, arc.start_angle + arc.sweep))
    first, last = math.ceil(low / quarter), math.floor(high / quarter)
    passed = range(first, min(last, first + 3) + 1)
    return [arc.start, arc.end, *(_quarter_point(arc, k) for k in passed)]


def _quarter_point(arc: ArcSegment, quarters: int) -> Point:
    """Return the exact point of the circle that lies `quarters` right angles from +x."""
    dx, dy = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters % 4]
    return (arc.centre[0] + dx * arc.radius, arc.centre[1] + dy * arc.radius)


def _cubic_extremes(cubic: CubicSegment) -> list[Point]:
    """Return the ends of a cubic and the points where it turns back in x or in y."""
    points = [cubic.start, cubic.end]
    for axis in (0, 1):
        controls = (cubic.start[axis], cubic.control_1[axis], cubic.control_2[axis], cubic.end[axis])
        points += [cubic_point(cubic, t) for t in _turning_parameters(*controls)]
    return points


def _turning_parameters(p0: float, p1: float, p2: float, p3: float) -> list[float]:
    """Return the parameters strictly inside (0, 1) where a cubic Bezier coordinate has no speed."""
    if min(p0, p3) <= min(p1, p2) and max(p1, p2) <= max(p0, p3):
        return []
    a, b, c = p3 - p0 + 3 * (p1 - p2), 2 * (p0 - 2 * p1 + p2), p1 - p0
    roots: list[float] = []
    if a == 0.0:
        roots = [-c / b] if b else []
    elif (under := b * b - 4 * a * c) >= 0.0:
        q = -(b + math.copysign(math.sqrt(under), b)) / 2
        roots = [q / a, *([c / q] if q else [])]
    return [t for t in roots if 0.0 < t < 1.0]


def cubic_point(cubic: CubicSegment, t: float) -> Point:
    """Return the point of `cubic` at parameter `t` from 0 to 1."""
    u = 1.0 - t
    a, b, c, d = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
    return (
        a * cubic.start[0] + b * cubic.control_1[0] + c * cubic.control_2[0] + d * cubic.end[0],
        a * cubic.start[1] + b * cubic.control_1[1] + c * cubic.control_2[1] + d * cubic.end[1],
    )
