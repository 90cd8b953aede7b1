"""Tapers: their length, chords and cubics against 30-digit arithmetic and brute force."""

from __future__ import annotations

import math
from collections.abc import Callable

import mpmath
import pytest
from geometry.curves import floats, near, paths, signs
from geometry.test_flatten import point_of
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString
from shapely.geometry import Point as Spot

from turnout_templates.geometry.flatten import flatten, segments_of
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.segments import CubicSegment, LineSegment
from turnout_templates.geometry.taper import Taper, length_of
from turnout_templates.geometry.tolerances import CUBIC, FLAT

offsets = floats(-40, 40)
tapers = st.builds(
    lambda path, offset, change, sign: Taper(
        path, offset, offset + sign * change, 0.1 * path.length, 0.8 * path.length
    ),
    paths,
    offsets,
    floats(0.01, 1),
    signs,
)
EASED = Taper(
    join(Pose(0, 0, 0), [Shape(101.6, 0.0, 1 / 457.2), Shape(254, 1 / 457.2, 1 / 457.2)]), 8.2423, 8.4923, 0.0, 300.0
)
STEEP = Taper(join(Pose(5, 1, 2), [Shape(200, 1 / 251, -1 / 20000)]), 40.0, 20.0, 10.0, 180.0)


def exact_length(taper: Taper) -> mpmath.mpf:
    """Return the length of a taper as the integral of the speed of p(s) + d(s) n(s), the derivative numerical."""
    total = mpmath.mpf(0)
    with mpmath.workdps(30):
        for begin, piece in zip(taper.path.starts, taper.path.pieces, strict=True):
            low, high = max(taper.low, begin), min(taper.high, begin + piece.length)
            if high > low:
                total += mpmath.quad(speed_on(taper, piece, begin), mpmath.linspace(low, high, 4))
    return total


def speed_on(taper: Taper, piece: Piece, begin: float) -> Callable[[mpmath.mpf], mpmath.mpf]:
    """Return the speed of a taper beside one piece of its path, as a function of the station."""
    number = mpmath.mpf
    slope = (number(taper.to_offset) - number(taper.from_offset)) / (number(taper.high) - number(taper.low))
    change = (number(piece.to_curvature) - number(piece.from_curvature)) / number(piece.length)

    def heading(s: mpmath.mpf) -> mpmath.mpf:
        u = s - number(begin)
        return number(piece.start.heading) + u * number(piece.from_curvature) + u * u * change / 2

    def across(s: mpmath.mpf) -> mpmath.mpc:
        offset = number(taper.from_offset) + slope * (s - number(taper.low))
        return offset * mpmath.expj(heading(s) + mpmath.pi / 2)

    return lambda s: abs(mpmath.expj(heading(s)) + mpmath.diff(across, s))


@pytest.mark.parametrize("taper", [EASED, STEEP])
def test_the_length_of_a_taper_to_the_last_digits(taper: Taper) -> None:
    assert abs(length_of(taper) - float(exact_length(taper))) < 1e-10


@settings(max_examples=10, deadline=None)
@given(tapers)
def test_the_length_of_any_taper(taper: Taper) -> None:
    assert length_of(taper) == pytest.approx(float(exact_length(taper)), abs=1e-9)


def test_a_taper_beside_a_straight_is_a_line_of_the_length_of_pythagoras() -> None:
    taper = Taper(join(Pose(1, 2, 0.5), [Shape(500)]), 3.0, 4.0, 100.0, 350.0)
    (line,) = segments_of(taper)
    assert isinstance(line, LineSegment)
    assert math.dist(line.start, line.end) == pytest.approx(math.hypot(250, 1), abs=1e-10)
    assert length_of(taper) == pytest.approx(math.hypot(250, 1), abs=1e-10)
    assert len(flatten(taper)) == 2


@settings(max_examples=30)
@given(tapers)
@example(EASED)
@example(STEEP)
def test_chords_keep_to_their_sagitta(taper: Taper) -> None:
    points = flatten(taper)
    assert points[0] == taper.point_at(taper.low) and near(points[-1], taper.point_at(taper.high), 1e-9)
    line = LineString(points)
    step = (taper.high - taper.low) / (7 * len(points))
    strays = [line.distance(Spot(taper.point_at(taper.low + i * step))) for i in range(7 * len(points) + 1)]
    assert max(strays) <= FLAT * (1 + 1e-3)


@settings(max_examples=30)
@given(tapers)
@example(EASED)
@example(STEEP)
@example(Taper(join(Pose(0, 0, 0), [Shape(5), Shape(133, 0.004, 0.004), Shape(35)]), 0.0, 1.0, 17.3, 138.4))
def test_cubics_keep_to_their_tolerance_and_hang_together(taper: Taper) -> None:
    s, at = taper.low, taper.point_at(taper.low)
    for segment in segments_of(taper):
        assert near(segment.start, at, 1e-8)
        at = segment.end
        for i in range(33):
            if isinstance(segment, CubicSegment):
                point = point_of(segment, i / 32)
            else:
                assert isinstance(segment, LineSegment)
                point = tuple(p + (q - p) * i / 32 for p, q in zip(segment.start, segment.end, strict=True))  # type: ignore[assignment]
            s, left = taper.path.foot_near(point, s)
            assert abs(left - taper.offset_at(s)) <= CUBIC
    assert near(at, taper.point_at(taper.high), 1e-8)


@given(tapers, floats(0.01, 0.99))
def test_poses_lie_on_the_curve_and_point_along_it(taper: Taper, part: float) -> None:
    h = 1e-4
    for chunk in taper.chunks():
        s = chunk.low + part * (chunk.high - chunk.low)
        (x0, y0), (x1, y1) = chunk.point_at(s - h), chunk.point_at(s + h)
        pose = chunk.pose_at(s)
        assert near(pose.point, taper.point_at(chunk.begin + s), 1e-9)
        assert abs(math.remainder(math.atan2(y1 - y0, x1 - x0) - pose.heading, math.tau)) < 1e-6
        turned = chunk.pose_at(s + h).heading - chunk.pose_at(s - h).heading
        assert chunk.bend_at(s) == pytest.approx(turned / math.hypot(x1 - x0, y1 - y0), abs=1e-8, rel=1e-5)


@given(paths, offsets)
def test_a_taper_that_does_not_taper_is_the_parallel(path: Path, offset: float) -> None:
    level, parallel = Taper(path, offset, offset, 0.0, path.length), Parallel(path, offset, 0.0, path.length)
    assert segments_of(level) == segments_of(parallel)
    assert flatten(level) == flatten(parallel)
    assert length_of(level) == pytest.approx(parallel.length_between(0.0, path.length), abs=1e-9)
