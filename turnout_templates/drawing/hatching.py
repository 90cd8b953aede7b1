"""Turn a region and a spacing into the hatch lines that fill it, cut exactly at its edge.

Rings are flattened (within `FLAT`) and cut by parallel lines, even-odd. The lines lie on one grid through the origin
of the drawing, so two regions hatched alike match where they touch.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from turnout_templates.drawing.bounds import cubic_point
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, LineSegment, Segment

FLAT = 0.02
"""Furthest that a flattened edge may lie from its curve, mm: under half the thinnest pen; hatching is no geometry."""


def hatch_lines(rings: Sequence[Sequence[Segment]], spacing: float, angle: float) -> list[tuple[Point, Point]]:
    """Return the hatch lines as (start, end) in mm, `spacing` mm apart, at `angle` radians (ccw from +x)."""
    if spacing <= 0.0:
        raise ValueError(f"Hatch lines cannot be {spacing} mm apart: the spacing must be more than zero.")
    cosine, sine = math.cos(angle), math.sin(angle)
    edges = [
        (
            (p[0] * cosine + p[1] * sine, p[1] * cosine - p[0] * sine),
            (q[0] * cosine + q[1] * sine, q[1] * cosine - q[0] * sine),
        )
        for ring in rings
        for p, q in _closed_pairs(flattened(ring))
    ]
    lines = []
    for row, crossings in sorted(_crossings(edges, spacing).items()):
        y = row * spacing
        for start, end in zip(crossings[::2], crossings[1::2], strict=False):
            lines.append(
                (
                    (start * cosine - y * sine, start * sine + y * cosine),
                    (end * cosine - y * sine, end * sine + y * cosine),
                )
            )
    return lines


def _crossings(edges: Iterable[tuple[Point, Point]], spacing: float) -> dict[int, list[float]]:
    """Return row number -> sorted x of the edges that row crosses (each edge holds its lower end, not its upper)."""
    rows: dict[int, list[float]] = {}
    for (x0, y0), (x1, y1) in edges:
        if y0 == y1:
            continue
        if y0 > y1:
            x0, y0, x1, y1 = x1, y1, x0, y0
        slope = (x1 - x0) / (y1 - y0)
        for row in range(math.ceil(y0 / spacing), math.ceil(y1 / spacing)):
            rows.setdefault(row, []).append(x0 + (row * spacing - y0) * slope)
    for crossings in rows.values():
        crossings.sort()
    return rows


def _closed_pairs(points: Sequence[Point]) -> Iterable[tuple[Point, Point]]:
    return zip(points, [*points[1:], points[0]], strict=True)


def flattened(segments: Iterable[Segment], *, sagitta: float = FLAT) -> list[Point]:
    """Return the points of a chain of segments, joined by chords nowhere further than `sagitta` mm from the curve."""
    points: list[Point] = []
    for segment in segments:
        if not points:
            points.append(segment.start)
        points += flattened_segment(segment, sagitta=sagitta)
    return points


def flattened_segment(segment: Segment, *, sagitta: float = FLAT) -> list[Point]:
    """Return the points of one segment after its start, within `sagitta` mm."""
    if isinstance(segment, LineSegment):
        return [segment.end]
    if isinstance(segment, ArcSegment):
        step = 2 * math.acos(max(0.0, 1.0 - sagitta / segment.radius)) if segment.radius > 0.0 else math.tau
        count = max(1, math.ceil(abs(segment.sweep) / step))
        angles = (segment.start_angle + segment.sweep * k / count for k in range(1, count + 1))
        return [segment.point_at(angle) for angle in angles]
    # A chord of a cubic errs by at most 1/8 of the greatest second derivative times the step squared.
    bend = max(
        _bend(segment.start, segment.control_1, segment.control_2),
        _bend(segment.control_1, segment.control_2, segment.end),
    )
    count = max(1, math.ceil(math.sqrt(6 * bend / (8 * sagitta))))
    return [cubic_point(segment, k / count) for k in range(1, count + 1)]


def _bend(p: Point, q: Point, r: Point) -> float:
    """Return the length of the second difference of three control points."""
    return math.hypot(p[0] - 2 * q[0] + r[0], p[1] - 2 * q[1] + r[1])
