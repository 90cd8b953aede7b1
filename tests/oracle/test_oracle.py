"""The oracle itself, against closed forms, scipy and a second way of computing."""

import math

import pytest
import scipy.special

from .crossing import meetings
from .curves import Face, Num, Path, Piece, arc, ctx, mpf, place, straight
from .turnout import (
    LEFT,
    RIGHT,
    Track,
    default_toe,
    entry_start,
    frog_for_curvature,
    frogs_for_angle,
    straight_start,
    tangent_start,
)

G = mpf("16.5")
TINY = mpf("1e-40")  # mm and rad: ten digits above the rounding of fifty-digit arithmetic in metres


def main_line(curvature: object = 0, length: object = 900) -> Track:
    return Track("main", Path(place(), (arc(mpf(length), mpf(curvature)),)), {"standard": G})


def test_a_clothoid_agrees_with_quadrature() -> None:
    piece = Piece(mpf(300), mpf(-1) / 450, mpf(1) / 450)
    here = piece.after(place(3, 4, "0.2"), mpf(217))

    def heading(s: Num) -> Num:
        return mpf("0.2") + piece.k0 * s + (piece.k1 - piece.k0) * s**2 / 600

    there = ctx.mpc(3, 4) + ctx.quad(lambda s: ctx.expj(heading(s)), [0, 100, 217])
    assert abs(here.z - there) < TINY


def test_a_clothoid_agrees_with_scipy() -> None:
    # From straight to radius R over L with A^2 = R L: x = A sqrt(pi) C(t), y = A sqrt(pi) S(t), t = sqrt(L/(pi R)).
    radius, length = 9.0, 16.0
    end = Piece(mpf(16), ctx.zero, mpf(1) / 9).after(place(), mpf(16))
    s, c = scipy.special.fresnel(math.sqrt(length / (math.pi * radius)))
    scale = math.sqrt(radius * length * math.pi)
    assert abs(complex(end.z) - complex(c, s) * scale) < 1e-12


def test_the_stub_identities_hold() -> None:
    # S27 (Webb, eq. 74-77, read): lead = 2 g N and R = 2 g N^2 for an arc tangent at both ends.
    main, n = main_line(), mpf(6)
    angle = 2 * ctx.atan(1 / (2 * n))
    begin = tangent_start(main, mpf(10), main.gauges).place
    (frog,) = frogs_for_angle(main, begin, main.gauges, LEFT, at=mpf(10), angle=angle, toe=ctx.zero)
    assert abs(1 / frog.curvature - 2 * G * n**2) < TINY
    assert abs(frog.meeting.u - 10 - 2 * G * n) < TINY


@pytest.mark.parametrize("hand", [LEFT, RIGHT])
def test_tangent_points_agree_with_the_closed_form(hand: int) -> None:
    # (R + g/2)(1 - cos F) + k sin F = g, lead = (R + g/2) sin F + k cos F
    main, angle = main_line(), 2 * ctx.atan(mpf(1) / 14)
    k = default_toe(mpf("0.889"), angle)
    begin = tangent_start(main, mpf(50), main.gauges).place
    (frog,) = frogs_for_angle(main, begin, main.gauges, hand, at=mpf(50), angle=angle, toe=k)
    outer = hand / frog.curvature + G / 2
    assert abs(outer * (1 - ctx.cos(angle)) + k * ctx.sin(angle) - G) < TINY
    assert abs(outer * ctx.sin(angle) + k * ctx.cos(angle) - (frog.meeting.u - 50)) < TINY


@pytest.mark.parametrize("hand", [LEFT, RIGHT])
def test_straight_points_agree_with_the_closed_form(hand: int) -> None:
    # R + g/2 = (g - h - k sin F)/(cos S - cos F), lead = a cos S + (R + g/2)(sin F - sin S) + k cos F
    main, angle = main_line(), 2 * ctx.atan(mpf(1) / 16)
    a, h, t, k = mpf(55), mpf("1.9"), mpf("0.2"), mpf(12)
    start = straight_start(main, mpf(80), main.gauges, hand, length=a, spread=h, tip=t)
    begin = Path(start.place, start.pieces).end
    (frog,) = frogs_for_angle(main, begin, main.gauges, hand, at=mpf(80), angle=angle, toe=k)
    s = ctx.asin((h - t) / a)
    outer = (G - h - k * ctx.sin(angle)) / (ctx.cos(s) - ctx.cos(angle))
    lead = a * ctx.cos(s) + outer * (ctx.sin(angle) - ctx.sin(s)) + k * ctx.cos(angle)
    assert abs(hand / frog.curvature + G / 2 - outer) < TINY
    assert abs(frog.meeting.u - 80 - lead) < TINY


@pytest.mark.parametrize("curvature", ["0.0021", "-0.0013"])
def test_straight_points_keep_tip_and_heel_spread_on_a_curve(curvature: str) -> None:
    # Two equal circles turned by S about the vertex are d sin S apart at the distance d from it, less terms of
    # d S/(2 R) and (d/R)^2/6 of that: at most half a percent of 1.9 mm for d = 61 mm and R = 476 mm.
    main = main_line(curvature)
    a, h, t = mpf(55), mpf("1.9"), mpf("0.2")
    start = straight_start(main, mpf(80), main.gauges, LEFT, length=a, spread=h, tip=t)
    heel = Path(start.place, start.pieces).end.shifted(-G / 2)
    centre = ctx.mpc(0, 1 / mpf(curvature))
    radius_of_face = 1 / mpf(curvature) + G / 2
    apart = abs(abs(heel.z - centre) - abs(radius_of_face))
    assert abs(apart - h) < mpf("0.01")


def test_a_given_curve_and_a_given_angle_are_two_ways_to_one_frog() -> None:
    main, head = main_line("0.0011"), mpf("0.889")
    angle = 2 * ctx.atan(mpf(1) / 13)
    begin = entry_start(main, mpf(60), main.gauges, RIGHT, mpf("0.03")).place
    there = frogs_for_angle(main, begin, main.gauges, RIGHT, at=mpf(60), angle=angle, toe=default_toe(head, angle))[0]
    back = frog_for_curvature(
        main, begin, main.gauges, RIGHT, at=mpf(60), curvature=there.curvature, toe=None, head=head
    )
    assert abs(back.angle - angle) < mpf("1e-35")
    assert abs(back.meeting.z - there.meeting.z) < mpf("1e-30")


def test_a_narrow_branch_starts_beside_its_parents_centre_line() -> None:
    gauges = {"standard": G, "narrow": mpf("10.5")}
    main = Track("main", Path(place(), (straight(300),)), gauges, LEFT)
    begin = tangent_start(main, mpf(20), {"narrow": mpf("10.5")}).place
    assert begin.z == ctx.mpc(20, 3)  # 16.5/2 - 10.5/2
    assert main.faces() == {
        ("common", LEFT): mpf("8.25"),
        ("standard", RIGHT): mpf("-8.25"),
        ("narrow", RIGHT): mpf("-2.25"),
    }


def test_two_circles_meet_where_the_law_of_cosines_says() -> None:
    # Centres 80 apart, radii 60 and 50: x = (60^2 - 50^2 + 80^2)/160 = 46.875, y = sqrt(60^2 - x^2).
    a = Face(Path(place(60, 0, ctx.pi / 2), (arc(ctx.pi * 60, mpf(1) / 60),)), ctx.zero)
    b = Face(Path(place(130, 0, ctx.pi / 2), (arc(ctx.pi * 50, mpf(1) / 50),)), ctx.zero)
    (meeting,) = meetings(a, b, a_span=(ctx.zero, a.path.length), b_span=(ctx.zero, b.path.length))
    x = mpf("46.875")
    assert abs(meeting.z - ctx.mpc(x, ctx.sqrt(3600 - x**2))) < TINY
