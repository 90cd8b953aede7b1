"""Poses and rigid moves."""

from __future__ import annotations

import math

from geometry.curves import floats, near, poses
from hypothesis import given
from hypothesis import strategies as st

from turnout_templates.geometry.pose import Placement, Pose, wrapped

points = st.tuples(floats(-500, 500), floats(-500, 500))
placements = st.builds(Placement, floats(-7, 7), floats(-500, 500), floats(-500, 500))


@given(poses, points)
def test_a_point_seen_from_a_pose_is_found_again_from_there(pose: Pose, point: tuple[float, float]) -> None:
    ahead, left = pose.local(point)
    assert near(pose.ahead(ahead).beside(left), point, 1e-9)


def test_left_is_left_of_the_heading() -> None:
    east = Pose(1.0, 2.0, 0.0)
    assert near(east.beside(3.0), (1.0, 5.0), 1e-15)
    assert near(east.ahead(3.0).point, (4.0, 2.0), 1e-15)
    assert near(east.turned(math.pi / 2).ahead(1.0).point, (1.0, 3.0), 1e-15)
    assert near(east.shifted(-1.0).point, (1.0, 1.0), 1e-15)
    # Seen from a pose heading north, a point to the east lies to the right.
    assert near(Pose(0.0, 0.0, math.pi / 2).local((1.0, 0.0)), (0.0, -1.0), 1e-15)


@given(poses, floats(-50, 50))
def test_there_and_back_beside_a_pose(pose: Pose, offset: float) -> None:
    assert near(pose.shifted(offset).shifted(-offset).point, pose.point, 1e-12 * 3000)
    assert near(pose.ahead(offset).ahead(-offset).point, pose.point, 1e-12 * 3000)


@given(placements, points)
def test_a_move_undone(placement: Placement, point: tuple[float, float]) -> None:
    assert near(placement.inverse().apply(placement.apply(point)), point, 1e-10)


@given(placements, points, points)
def test_a_move_keeps_distances(placement: Placement, p: tuple[float, float], q: tuple[float, float]) -> None:
    assert math.isclose(math.dist(placement.apply(p), placement.apply(q)), math.dist(p, q), abs_tol=1e-9)


def test_a_move_turns_before_it_shifts() -> None:
    assert near(Placement(math.pi / 2, 10.0, 0.0).apply((1.0, 0.0)), (10.0, 1.0), 1e-14)


@given(floats(-60, 60))
def test_an_angle_reduced_to_one_turn(angle: float) -> None:
    reduced = wrapped(angle)
    assert -math.pi < reduced <= math.pi
    turns = (angle - reduced) / math.tau
    assert abs(turns - round(turns)) < 1e-12


def test_half_a_turn_is_positive() -> None:
    assert wrapped(math.pi) == math.pi
    assert wrapped(-math.pi) == math.pi
