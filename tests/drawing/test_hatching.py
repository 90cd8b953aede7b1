"""Hatch lines against shapely's own cutting of lines by polygons."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon
from shapely.affinity import rotate

from turnout_templates.drawing.hatching import FLAT, flattened, hatch_lines
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, polyline

corner = st.tuples(st.floats(-40, 40), st.floats(-40, 40))


def star(radii: list[float]) -> list[Point]:
    """A polygon that cannot cross itself: its corners go round the origin once."""
    step = math.tau / len(radii)
    return [(r * math.cos(k * step + 0.05), r * math.sin(k * step + 0.05)) for k, r in enumerate(radii)]


@given(st.lists(st.floats(5, 60), min_size=3, max_size=9), st.floats(1.5, 9), st.floats(-4, 4))
def test_the_lines_are_those_that_shapely_cuts(radii: list[float], spacing: float, angle: float) -> None:
    corners = star(radii)
    lines = hatch_lines([polyline(corners, closed=True)], spacing, angle)
    upright = rotate(Polygon(corners), -angle, origin=(0, 0), use_radians=True)
    expected = 0.0
    for row in range(-int(60 / spacing) - 1, int(60 / spacing) + 2):
        cut = upright.intersection(LineString([(-100, row * spacing), (100, row * spacing)]))
        expected += cut.length
    assert sum(math.dist(*line) for line in lines) == pytest.approx(expected, abs=1e-6)
    for start, end in lines:
        middle = LineString([start, end]).interpolate(0.5, normalized=True)
        assert Polygon(corners).buffer(1e-6).contains(middle)


def test_a_hole_is_left_bare() -> None:
    outer = polyline([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], closed=True)
    inner = polyline([(3.0, 3.0), (7.0, 3.0), (7.0, 7.0), (3.0, 7.0)], closed=True)
    lines = hatch_lines([outer, inner], 5.0, 0.0)
    assert lines == [((0.0, 0.0), (10.0, 0.0)), ((0.0, 5.0), (3.0, 5.0)), ((7.0, 5.0), (10.0, 5.0))]


def test_a_spacing_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="more than zero"):
        hatch_lines([polyline([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)], closed=True)], 0.0, 0.0)


@given(st.floats(1, 3000), st.floats(-6, 6).filter(lambda s: abs(s) > 1e-3))
def test_a_flattened_arc_stays_within_its_sagitta(radius: float, sweep: float) -> None:
    points = flattened([ArcSegment((0.0, 0.0), radius, 0.4, sweep)])
    for p, q in itertools.pairwise(points):
        assert radius - math.hypot((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) <= FLAT * (1 + 1e-6) + 1e-12 * radius


@given(corner, corner, corner, corner)
def test_a_flattened_cubic_stays_within_its_sagitta(p: Point, q: Point, r: Point, s: Point) -> None:
    cubic = CubicSegment(p, q, r, s)
    chords = flattened([cubic])
    line = LineString(chords) if len(set(chords)) > 1 else None
    fine = flattened([cubic], sagitta=FLAT / 1000)
    if line is not None:
        assert LineString(fine).hausdorff_distance(line) <= FLAT * 1.01
