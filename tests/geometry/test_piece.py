"""Pieces of linear curvature against the Fresnel integrals and against quadrature in thirty digits."""

from __future__ import annotations

import math

import mpmath
import pytest
from geometry.curves import clothoids, floats, near, pieces, poses, same_pose
from hypothesis import given
from scipy.special import fresnel

from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Point, Pose


def by_fresnel(piece: Piece, s: float) -> Point:
    """Return the point at `s` from the closed form: completing the square of the heading leaves Fresnel integrals."""
    sigma = piece.sharpness
    u0 = piece.from_curvature / sigma
    phase = piece.start.heading - 0.5 * piece.from_curvature * u0
    scale = math.sqrt(math.pi / abs(sigma))

    def primitive(u: float) -> complex:
        sine, cosine = fresnel(u / scale)
        turned = complex(cosine, math.copysign(1.0, sigma) * sine) * scale
        return turned * complex(math.cos(phase), math.sin(phase))

    step = primitive(s + u0) - primitive(u0)
    return (piece.start.x + step.real, piece.start.y + step.imag)


def by_quadrature(piece: Piece, s: float) -> Point:
    """Return the point at `s` from the definition in thirty digits."""
    with mpmath.workdps(30):
        start, bend = mpmath.mpf(piece.start.heading), mpmath.mpf(piece.from_curvature)
        sigma = (mpmath.mpf(piece.to_curvature) - bend) / mpmath.mpf(piece.length)

        def heading(t: mpmath.mpf) -> mpmath.mpf:
            return start + bend * t + sigma * t * t / 2

        x = mpmath.quad(lambda t: mpmath.cos(heading(t)), mpmath.linspace(0, s, 9))
        y = mpmath.quad(lambda t: mpmath.sin(heading(t)), mpmath.linspace(0, s, 9))
        return (piece.start.x + float(x), piece.start.y + float(y))


@given(clothoids, floats(0, 1))
def test_an_easement_is_a_clothoid(piece: Piece, part: float) -> None:
    # The closed form itself loses digits where the square that it completes is far off: u0^2 sigma radians.
    lost = 1e-16 * (1 + piece.from_curvature**2 / abs(piece.sharpness)) * math.pi / math.sqrt(abs(piece.sharpness))
    s = part * piece.length
    assert near(piece.pose_at(s).point, by_fresnel(piece, s), 1e-10 + 20 * lost)


THIRTY_DIGITS = [
    Piece(Pose(0, 0, 0), 300, -1 / 450, 1 / 450),
    Piece(Pose(12, -3, 2.5), 1200, 0.0, 1 / 300),
    Piece(Pose(0, 0, -1), 900, 1 / 250, -1 / 400),
    Piece(Pose(0, 0, 0.2), 700, 1 / 800, 1 / 800.001),
    Piece(Pose(0, 0, 0.2), 700, 1 / 800, 1 / 800),
    Piece(Pose(5, 5, 3), 640, 1e-9, 1e-9),
    Piece(Pose(5, 5, 3), 640, 0.0, 0.0),
    Piece(Pose(5, 5, 3), 1500, 1 / 240, 1 / 240),
]


@pytest.mark.parametrize("piece", THIRTY_DIGITS, ids=lambda piece: f"{piece.kind} {piece.length} mm")
@pytest.mark.parametrize("part", [-0.1, 0.2, 0.5, 1.0, 1.1])
def test_points_in_thirty_digits(piece: Piece, part: float) -> None:
    s = part * piece.length
    assert near(piece.pose_at(s).point, by_quadrature(piece, s), 2e-12 * max(1.0, piece.length / 100))


@given(pieces, floats(0, 1))
def test_heading_is_the_integral_of_curvature(piece: Piece, part: float) -> None:
    s = part * piece.length
    mean = (piece.curvature_at(0) + piece.curvature_at(s)) / 2
    assert math.isclose(piece.heading_at(s) - piece.start.heading, mean * s, abs_tol=1e-13)
    assert math.isclose(piece.pose_at(s).heading, piece.heading_at(s), abs_tol=1e-13)


@given(pieces, floats(0.05, 0.95))
def test_stations_are_length_along_the_curve(piece: Piece, part: float) -> None:
    s, step = part * piece.length, 1e-3 * piece.length
    before, after = piece.pose_at(s - step), piece.pose_at(s + step)
    # A chord of 2 step falls short of its arc by (2 step)^3 k^2/24.
    short = (2 * step) ** 3 * max(abs(piece.from_curvature), abs(piece.to_curvature)) ** 2 / 20
    assert -1e-9 <= 2 * step - math.dist(before.point, after.point) <= short + 1e-9


@given(pieces, floats(0, 1), floats(0, 1))
def test_a_part_lies_on_the_whole(piece: Piece, a: float, b: float) -> None:
    low, high = sorted((a * piece.length, b * piece.length))
    part = piece.part(low, high)
    assert part.length == high - low
    for u in (0.0, 0.3, 1.0):
        s = u * (high - low)
        assert same_pose(part.pose_at(s), piece.pose_at(low + s), 1e-9)
        assert math.isclose(part.curvature_at(s), piece.curvature_at(low + s), abs_tol=1e-15)


@given(pieces, floats(0, 1))
def test_a_piece_run_backward(piece: Piece, part: float) -> None:
    back = piece.reversed()
    s = part * piece.length
    there = piece.pose_at(s)
    assert same_pose(back.pose_at(piece.length - s), there.turned(math.pi), 1e-9)
    assert math.isclose(back.curvature_at(piece.length - s), -piece.curvature_at(s), abs_tol=1e-15)


@given(pieces, floats(0, 1))
def test_a_piece_in_the_mirror(piece: Piece, part: float) -> None:
    there = piece.pose_at(part * piece.length)
    assert same_pose(piece.mirrored().pose_at(part * piece.length), Pose(there.x, -there.y, -there.heading), 1e-9)


@given(pieces, floats(0, 1), floats(-1, 1))
def test_the_foot_of_a_perpendicular(piece: Piece, part: float, across: float) -> None:
    s, offset = part * piece.length, 60 * across
    # Turning by more than half a circle leaves more than one foot; the pieces here turn by at most 3.6 rad.
    near_by = s + 20 * across
    foot, left = piece.foot(piece.pose_at(s).beside(offset), near_by)
    assert abs(foot - s) < 1e-8
    assert abs(left - offset) < 1e-10


@given(poses, floats(-1, 1), floats(-100, 100))
def test_the_foot_on_an_almost_straight_arc(pose: Pose, bend: float, left: float) -> None:
    piece = Piece(pose, 500.0, bend * 1e-9, bend * 1e-9)
    foot, found = piece.foot(piece.pose_at(321.0).beside(left))
    assert abs(foot - 321.0) < 1e-5 and abs(found - left) < 1e-9


@given(pieces)
def test_total_turning_counts_both_ways(piece: Piece) -> None:
    steps = 2000
    width = piece.length / steps
    total = sum(abs(piece.curvature_at((i + 0.5) * width)) * width for i in range(steps))
    assert math.isclose(piece.turning(0.0, piece.length), total, rel_tol=1e-5, abs_tol=1e-12)


def test_what_pieces_are_called() -> None:
    pose = Pose(0, 0, 0)
    assert [Piece(pose, 1, 0, 0).kind, Piece(pose, 1, 0.1, 0.1).kind, Piece(pose, 1, 0, 0.1).kind] == [
        "straight",
        "arc",
        "easement",
    ]
