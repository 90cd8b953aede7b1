"""Chords within a sagitta and cubics within a tolerance, measured densely."""

from __future__ import annotations

import itertools
import math

import pytest
from geometry.curves import clothoids, dense, floats, near, paths, whole
from hypothesis import example, given, settings
from shapely.geometry import LineString
from shapely.geometry import Point as Spot

from turnout_templates.geometry.flatten import flatten, segments_of
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.segments import ArcSegment, CubicSegment, LineSegment
from turnout_templates.geometry.tolerances import CUBIC, FLAT

offsets = floats(-60, 60)
EASE = Path((Piece(Pose(0, 0, 0), 300.0, -1 / 450, 1 / 450),))
SHARP = Path((Piece(Pose(0, 0, 0), 800.0, 1 / 251, -1 / 20000),))


@settings(max_examples=30)
@given(paths, offsets)
@example(EASE, 8.25)
@example(SHARP, 60.0)
def test_chords_keep_to_their_sagitta(path: Path, offset: float) -> None:
    curve = whole(path, offset)
    points = flatten(curve)
    assert points[0] == curve.point_at(0.0) and near(points[-1], curve.point_at(path.length), 1e-9)
    line = LineString(points)
    strays = [line.distance(Spot(point)) for point in dense(curve, 7 * len(points))]
    assert max(strays) <= FLAT * (1 + 1e-6)


@pytest.mark.parametrize("sagitta", [0.5, 0.01, 0.002, 1e-5])
@pytest.mark.parametrize("radius", [150.0, 762.0, 15000.0])
def test_an_arc_takes_no_more_chords_than_it_needs(radius: float, sagitta: float) -> None:
    curve = whole(join(Pose(0, 0, 0), [Shape(400, 1 / radius, 1 / radius)]))
    # An arc of turn w has the sagitta r (1 - cos(w/2)).
    needed = math.ceil(400 / radius / (2 * math.acos(1 - sagitta / radius)))
    assert len(flatten(curve, sagitta=sagitta)) == needed + 1


def test_a_straight_is_one_chord() -> None:
    assert len(flatten(whole(join(Pose(0, 0, 1), [Shape(5000)]), 7.0))) == 2


def point_of(cubic: CubicSegment, u: float) -> Point:
    """Return a point by de Casteljau's construction."""
    corners = [cubic.start, cubic.control_1, cubic.control_2, cubic.end]
    while len(corners) > 1:
        corners = [(p[0] + u * (q[0] - p[0]), p[1] + u * (q[1] - p[1])) for p, q in itertools.pairwise(corners)]
    return corners[0]


@settings(max_examples=30)
@given(clothoids, offsets)
@example(EASE.pieces[0], 8.25)
@example(SHARP.pieces[0], -60.0)
def test_cubics_keep_to_their_tolerance(piece: Piece, offset: float) -> None:
    path = Path((piece,))
    cubics = segments_of(whole(path, offset))
    s = 0.0
    for cubic in cubics:
        assert isinstance(cubic, CubicSegment)
        for i in range(33):
            s, left = path.foot_near(point_of(cubic, i / 32), s)
            assert abs(left - offset) <= CUBIC
    assert s == pytest.approx(path.length, abs=1e-6)


@given(clothoids)
def test_a_looser_tolerance_takes_fewer_cubics(piece: Piece) -> None:
    curve = whole(Path((piece,)))
    assert len(segments_of(curve, tolerance=0.1)) <= len(segments_of(curve)) <= len(segments_of(curve, tolerance=1e-6))


@given(paths, offsets)
def test_segments_hang_together(path: Path, offset: float) -> None:
    curve = whole(path, offset)
    segments = segments_of(curve)
    at = curve.point_at(0.0)
    for segment in segments:
        assert near(segment.start, at, 1e-8)
        at = segment.end
    assert near(at, curve.point_at(path.length), 1e-8)
    kinds = {"straight": LineSegment, "arc": ArcSegment, "easement": CubicSegment}
    order = [type(segment) for segment in segments]
    wanted = [kinds[piece.kind] for piece in path.pieces]
    assert [k for i, k in enumerate(order) if i == 0 or order[i - 1] is not k] == [
        k for i, k in enumerate(wanted) if i == 0 or wanted[i - 1] is not k
    ]


@given(floats(-1 / 100, 1 / 100), offsets, floats(0.1, 1))
def test_an_arc_stays_an_arc(bend: float, offset: float, part: float) -> None:
    if abs(bend) < 1e-5:
        return
    curve = Parallel(join(Pose(9, -4, 2.1), [Shape(500 * part, bend, bend)]), offset, 0.0, 500 * part)
    sampled = 0.0
    for arc in segments_of(curve):
        assert isinstance(arc, ArcSegment)
        assert arc.radius == pytest.approx(abs(1 / bend - offset), abs=1e-9)
        assert abs(arc.sweep) <= math.pi / 2 + 1e-9
        for u in (0.0, 0.4, 1.0):
            s = sampled + u * arc.sweep / bend
            assert near(arc.point_at(arc.start_angle + u * arc.sweep), curve.point_at(s), 1e-8)
        sampled += arc.sweep / bend
    assert sampled == pytest.approx(500 * part, abs=1e-8)
