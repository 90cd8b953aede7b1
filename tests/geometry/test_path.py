"""Paths: pieces joined, split, reversed and mirrored; feet and nearest stations across pieces."""

from __future__ import annotations

import itertools
import math

import pytest
from geometry.curves import dense_line, floats, near, paths, same_pose, whole
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point as Spot

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Pose


@given(paths)
def test_pieces_are_tangent_where_they_join(path: Path) -> None:
    assert path.length == pytest.approx(sum(piece.length for piece in path.pieces), abs=1e-12)
    for begin, before, after in zip(path.starts[1:], path.pieces, path.pieces[1:], strict=False):
        assert same_pose(before.end, after.start, 1e-12)
        assert same_pose(path.pose_at(begin), after.start, 1e-12)
        assert path.curvature_at(begin) == after.from_curvature


@given(paths, floats(0, 1), floats(0, 1))
def test_parts_lie_on_the_whole(path: Path, a: float, b: float) -> None:
    low, high = sorted((a * path.length, b * path.length))
    if high - low < 1e-3:
        return
    part = path.part(low, high)
    assert part.length == pytest.approx(high - low, abs=1e-9)
    for u in (0.0, 0.37, 1.0):
        s = u * part.length
        assert same_pose(part.pose_at(s), path.pose_at(low + s), 1e-8)


@given(paths, st.lists(floats(0.01, 0.99), max_size=4))
def test_splitting_loses_nothing(path: Path, cuts: list[float]) -> None:
    parts = path.split(*(cut * path.length for cut in cuts))
    assert len(parts) == len({cut * path.length for cut in cuts}) + 1
    assert sum(part.length for part in parts) == pytest.approx(path.length, abs=1e-8)
    for before, after in itertools.pairwise(parts):
        assert same_pose(before.end, after.start, 1e-8)
    assert same_pose(parts[0].start, path.start) and same_pose(parts[-1].end, path.end, 1e-8)


def test_a_split_at_a_joint_or_outside_cuts_nothing_more() -> None:
    path = join(Pose(0, 0, 0), [Shape(10), Shape(20, 0.01, 0.01)])
    assert [[piece.length for piece in part.pieces] for part in path.split(10.0)] == [[10], [20]]
    assert path.split(0.0, 30.0, -5.0, 99.0) == (path,)


@given(paths, floats(0, 1))
def test_a_path_run_backward(path: Path, part: float) -> None:
    s = part * path.length
    back = path.reversed()
    assert same_pose(back.pose_at(path.length - s), path.pose_at(s).turned(math.pi), 1e-8)
    assert same_pose(back.reversed().pose_at(s), path.pose_at(s), 1e-8)


@given(paths, floats(0, 1))
def test_a_path_in_the_mirror(path: Path, part: float) -> None:
    there = path.pose_at(part * path.length)
    assert same_pose(path.mirrored().pose_at(part * path.length), Pose(there.x, -there.y, -there.heading), 1e-8)


@given(paths, floats(0, 1), floats(-1, 1))
def test_the_foot_is_found_from_its_neighbourhood(path: Path, part: float, across: float) -> None:
    s, offset = part * path.length, 60 * across
    start = min(max(s + 100 * across, 0.0), path.length)
    foot, left = path.foot_near(path.point_at(s, offset), start)
    assert abs(foot - s) < 1e-7
    assert abs(left - offset) < 1e-9


def test_beyond_its_ends_a_path_is_carried_on() -> None:
    path = join(Pose(0, 0, 0), [Shape(100), Shape(50, 1 / 200, 1 / 200)])
    assert path.foot_near((-25.0, 3.0), 0.0) == pytest.approx((-25.0, 3.0), abs=1e-12)
    beyond = path.pieces[-1].pose_at(60.0)
    assert path.foot_near(beyond.beside(-4.0), 150.0) == pytest.approx((160.0, -4.0), abs=1e-9)
    assert near(path.point_at(160.0), beyond.point, 1e-12)


@settings(max_examples=30)
@given(paths, floats(-1, 2), floats(-1, 1))
def test_nothing_lies_nearer_than_the_nearest_station(path: Path, part: float, across: float) -> None:
    s = min(max(part * path.length, 0.0), path.length)
    point = path.pose_at(s).ahead(300 * (part - s / path.length)).beside(120 * across)
    station, distance = nearest_station(path, point)
    assert 0.0 <= station <= path.length
    assert distance == pytest.approx(math.dist(path.point_at(station), point), abs=1e-9)
    # Chords of 0.5 mm at a radius of 250 mm or more stray by 0.0002 mm at most.
    line = dense_line(whole(path), max(2, math.ceil(path.length / 0.5)))
    assert distance == pytest.approx(line.distance(Spot(point)), abs=3e-4)


def test_of_equally_near_stations_the_first() -> None:
    # From the centre of an arc all stations are equally near; from the middle of a half circle's chord too.
    path = join(Pose(0, 0, 0), [Shape(100 * math.pi, 0.01, 0.01)])
    station, distance = nearest_station(path, (0.0, 99.0))
    assert distance == pytest.approx(99.0, abs=1e-9) or station > 0
    assert nearest_station(join(Pose(0, 0, 0), [Shape(10), Shape(10)]), (10.0, 5.0)) == pytest.approx((10.0, 5.0))


def test_pieces_that_do_not_join_are_refused() -> None:
    first = Piece(Pose(0, 0, 0), 10.0, 0.0, 0.0)
    with pytest.raises(ValueError, match=r"0\.001 mm apart"):
        Path((first, Piece(Pose(10.001, 0, 0), 5.0, 0.0, 0.0)))
    with pytest.raises(ValueError, match=r"0\.01 rad off"):
        Path((first, Piece(Pose(10, 0, 0.01), 5.0, 0.0, 0.0)))
    with pytest.raises(ValueError, match="at least one piece"):
        Path(())


def test_a_whole_turn_between_pieces_is_no_turn() -> None:
    path = Path((Piece(Pose(0, 0, 0), 10.0, 0.0, 0.0), Piece(Pose(10, 0, math.tau), 5.0, 0.0, 0.0)))
    assert near(path.end.point, (15.0, 0.0), 1e-12)


def test_shapes_of_no_length_are_left_out() -> None:
    path = join(Pose(0, 0, 0), [Shape(0.0), Shape(5.0), Shape(0.0, 0.1, 0.2)])
    assert [piece.length for piece in path.pieces] == [5.0]
