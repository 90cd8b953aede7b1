"""Turn parallels and tapers of paths into chords within a sagitta, or into exact segments for a writer."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.geometry.parallel import Chunk
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment, Segment
from turnout_templates.geometry.taper import Curve
from turnout_templates.geometry.tolerances import CUBIC, FLAT

_LOOKED = 0.92
"""What part of a tolerance the errors that are looked at may take: between two places they were up to 8 % greater, over
300 clothoids and tapers drawn by chance."""


def flatten(curve: Curve, *, sagitta: float = FLAT) -> list[Point]:
    """Return points on `curve` whose chords stray from it by no more than `sagitta` mm, both ends included."""
    points = [curve.point_at(curve.low)]
    for chunk in curve.chunks(math.inf):
        bend = max(abs(chunk.bend_at(s)) for s in (chunk.low, chunk.high))
        turn = chunk.piece.turning(chunk.low, chunk.high)
        # An arc of turn w and radius r has the sagitta r (1 - cos(w/2)); r is at least 1/bend.
        step = 2.0 * math.acos(max(1.0 - sagitta * bend, 0.5)) if bend else math.inf
        length = abs(chunk.high - chunk.low) * max(abs(chunk.speed_at(s)) for s in (chunk.low, chunk.high))
        count = max(1, math.ceil(max(turn, bend * length) / step))
        width = (chunk.high - chunk.low) / count
        points += chunk.points_at([*(chunk.low + i * width for i in range(1, count)), chunk.high])
    return points


def segments_of(curve: Curve, *, tolerance: float = CUBIC) -> tuple[Segment, ...]:
    """Return `curve` as lines, arcs and cubics; only clothoids and tapers of curves become cubics, within `tolerance`.

    A taper beside a straight is a line.
    """
    return tuple(segment for chunk in curve.chunks(math.pi / 2) for segment in _chunk_segments(chunk, tolerance))


def _chunk_segments(chunk: Chunk, tolerance: float) -> Iterator[Segment]:
    if chunk.piece.kind == "straight":
        yield LineSegment(chunk.point_at(chunk.low), chunk.point_at(chunk.high))
    elif chunk.piece.kind == "arc" and not chunk.slope:
        yield _arc(chunk)
    else:
        yield from _cubics(chunk, chunk.low, chunk.high, tolerance)


def _arc(chunk: Chunk) -> ArcSegment:
    """Return the arc of a chunk of constant curvature."""
    curvature = chunk.piece.from_curvature
    first = chunk.piece.pose_at(chunk.low)
    radius = 1.0 / curvature - chunk.offset
    turn = curvature * (chunk.high - chunk.low)
    # The centre lies to the left by the signed radius; the start angle points from it back to the curve.
    start_angle = first.heading - math.copysign(math.pi / 2, radius)
    return ArcSegment(first.beside(1.0 / curvature), abs(radius), start_angle, turn)


def _cubics(chunk: Chunk, low: float, high: float, tolerance: float) -> Iterator[CubicSegment]:
    """Yield cubics through both ends with the right tangents, halving until the middle agrees.

    The error of such a cubic peaks away from the middle, so it is looked at in seven places, and may be greater between
    them by what `_LOOKED` leaves.
    """
    first, last = chunk.pose_at(low), chunk.pose_at(high)
    handle = _handle(chunk, low, high) / 3.0
    cubic = CubicSegment(first.point, first.ahead(handle).point, last.ahead(-handle).point, last.point)
    if high - low < 1e-3 or _strays(chunk, cubic, low, high) <= _LOOKED * tolerance:
        yield cubic
        return
    middle = 0.5 * (low + high)
    yield from _cubics(chunk, low, middle, tolerance)
    yield from _cubics(chunk, middle, high, tolerance)


def _handle(chunk: Chunk, low: float, high: float) -> float:
    turn = chunk.piece.heading_at(high) - chunk.piece.heading_at(low)
    length = chunk.length_between(low, high)
    # An arc of turn w needs handles of 4/3 tan(w/4) r = length/3 (1 + w^2/48 ...).
    return length * (4.0 * math.tan(turn / 4.0) / turn if abs(turn) > 1e-6 else 1.0)


def _strays(chunk: Chunk, cubic: CubicSegment, low: float, high: float) -> float:
    worst = 0.0
    for u in (0.15, 0.25, 0.35, 0.5, 0.65, 0.75, 0.85):
        point = _cubic_point(cubic, u)
        s = low + u * (high - low)
        for _ in range(3):
            pose: Pose = chunk.piece.pose_at(s)
            ahead, left = pose.local(point)
            s += ahead / (1.0 - chunk.piece.curvature_at(s) * left)
        worst = max(worst, abs(chunk.piece.pose_at(s).local(point)[1] - chunk.offset_at(s)))
    return worst


def _cubic_point(cubic: CubicSegment, u: float) -> Point:
    v = 1.0 - u
    weights = (v * v * v, 3 * u * v * v, 3 * u * u * v, u * u * u)
    corners = (cubic.start, cubic.control_1, cubic.control_2, cubic.end)
    return (
        sum(w * p[0] for w, p in zip(weights, corners, strict=True)),
        sum(w * p[1] for w, p in zip(weights, corners, strict=True)),
    )
