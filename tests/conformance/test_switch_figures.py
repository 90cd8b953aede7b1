"""Where points begin, how far they open, and what a site allows."""

from __future__ import annotations

import math
import re

import pytest

from turnout_templates.errors import TemplateError
from turnout_templates.spec.load import read_spec
from turnout_templates.trackwork.points.opening_laws import least_opening

from .figures import check_frogs, measured
from .prototype import full_size, the_frog
from .scenes import Leg, NoSuchFrog, PieceSpec, Scene, solve
from .test_against_oracle import MAINS, ON, TWO, turnout

# HO No. 6: G = 0.649 in (S-1.2 by way of S-3.2), code 70 head 0.035 in (RP-15.1, read), N = 6.
G, HEAD, NUMBER = 0.649 * 25.4, 0.035 * 25.4, 6
F = 2 * math.atan(1 / (2 * NUMBER))
TOE = 2.5 * HEAD / (2 * math.sin(F / 2))
OUTER = (G - TOE * math.sin(F)) / (1 - math.cos(F))
LEAD = OUTER * math.sin(F) + TOE * math.cos(F)
PLAIN_NO_6 = "spec: 1\nname: plain\nscale: HO\nrail: code 70\nthrow: 1.8 mm\nturnout: {hand: left, frog: 6}\n"


def station_apart(y: float) -> float:
    """Return the station, from the tangent point, at which the outer faces of a plain No. 6 are `y` mm apart."""
    return math.sqrt(2 * OUTER * y - y * y)


def apart(s: float) -> float:
    """Return how far apart the outer faces are `s` mm from the tangent point."""
    return OUTER - math.sqrt(OUTER**2 - s * s)


def test_a_plain_no_6_agrees_with_the_closed_form() -> None:
    # (R + g/2)(1 - cos F) + k sin F = g, lead = (R + g/2) sin F + k cos F
    assert the_frog_of(PLAIN_NO_6)["lead_mm"] == pytest.approx(LEAD, abs=1e-6)
    (curve, *_) = measured(PLAIN_NO_6)["routes"]["branch"]["pieces"]
    assert curve["radius_mm"] == pytest.approx(OUTER - G / 2, rel=1e-9)


def the_frog_of(text: str) -> dict[str, float]:
    (frog,) = measured(text)["frogs"]
    return dict(frog)


def test_the_filed_tip_lies_where_the_faces_are_a_tip_apart() -> None:
    # The design: in HO No. 6 some 14 mm on, the full head about 43 mm from the tangent point (tip 0.1 mm: practice).
    (switch,) = measured(PLAIN_NO_6)["switches"]
    filed = switch["filed_tip"]["station_mm"] - switch["station_mm"]
    assert filed == pytest.approx(station_apart(0.1), abs=1e-6)
    assert round(filed) == 14
    (point,) = [p for p in switch["point_rails"] if p["route"] == "branch"]
    full_head = station_apart(HEAD)
    assert round(full_head) == 43
    # The station of full head is on the branch, whose reference line is shorter than its outer face's shadow.
    assert point["full_head_station_mm"] == pytest.approx((OUTER - G / 2) * math.asin(full_head / OUTER), abs=1e-6)


def test_straight_points_have_their_tip_at_their_station() -> None:
    text = PLAIN_NO_6.replace("frog: 6", "frog: 6, points: {length: 45 mm, spread: 1.8 mm, tip: 0.1 mm}")
    (switch,) = measured(text)["switches"]
    assert switch["filed_tip"]["station_mm"] == pytest.approx(switch["station_mm"], abs=1e-9)


@pytest.mark.parametrize(
    ("fix_apart", "bent", "least"),
    [(None, True, 1.14), (HEAD + 0.048 * 25.4, False, 0.63), (HEAD + 0.048 * 25.4, True, 0.29)],
)
def test_openings_of_a_no_6_thrown_1_8_mm(fix_apart: float | None, bent: bool, least: float) -> None:
    # The design's figures: 0.63 hinged at the heel, 0.29 bent from there, 1.14 bent from the toe; the bar lies at the
    # tangent point, the heel where a full flangeway (S-3.2 2010: 0.048 in) has opened behind the head.
    fix = LEAD - TOE if fix_apart is None else station_apart(fix_apart)
    stations = [fix * i / 2000 for i in range(2001)]
    opening, at = least_opening(
        stations, [apart(s) for s in stations], bar=0.0, fix=fix, throw=1.8, head=HEAD, bent=bent
    )
    assert round(opening, 2) == least
    assert abs(at - station_apart(HEAD)) < 2  # "the least lies about where full head width begins"


def test_the_least_opening_of_a_measured_turnout() -> None:
    # Point and closure are one bar, held so far before the knuckle that a tie and the gap fit, or at the toe if no gap
    # were needed: d = D(1 - 1.5x + 0.5x^3), opening d + max(0, y - head).
    (switch,) = measured(PLAIN_NO_6)["switches"]
    bar = float(switch["throw_bar_station_mm"] - switch["station_mm"])
    ties = read_spec(PLAIN_NO_6, file="plain.yaml", folder=None).spec.ties
    # The knuckle: a flangeway of 0.048 in, square to the other face. The tie lies within 1.1 spaces; the gap is 0.75 of
    # a head wide and a quarter of one clear on both sides.
    knuckle = 0.048 * 25.4 / math.sin(F)
    room = 2 * 0.55 * max(ties.spacing, ties.switch_spacing) + ties.switch_width + 1.25 * HEAD

    def least(fix: float) -> float:
        def opening(s: float) -> float:
            x = (s - bar) / (fix - bar)
            return 1.8 * (1 - 1.5 * x + 0.5 * x**3) + max(0.0, apart(s) - HEAD)

        return min(opening(station_apart(0.1) + i * 0.05) for i in range(2000))

    # The program looks at 200 places between tip and heel, a quarter mm apart: 0.002 mm of opening on this slope.
    assert switch["least_opening_mm"] == pytest.approx(least(LEAD - knuckle - room), abs=0.005)
    at_toe = switch["openings"][-1]
    assert at_toe["least_opening_mm"] == pytest.approx(least(LEAD - TOE), abs=0.005)
    assert at_toe["fix_mm"] - switch["openings"][0]["fix_mm"] == pytest.approx(knuckle + room - TOE, abs=1e-6)


def test_coles_switch_length_is_where_the_faces_part_by_d() -> None:
    # S36, read: SL = sqrt(2 R d - d^2) = 13.03035 m for 1 in 12, G = 1.676 m, d = 0.175 m, R = 485.202 m of the outer
    # rail. R drops G/(8 N^2) = 1.5 mm, half of that relative to R goes into SL: 0.02 mm.
    curve = {"frog_ratio": "1:12", "through": "curved"}
    # A tip is thinner than its head, so the head is 0.18 m wide here; nothing else follows from it.
    scene = full_size([{"curve": curve}], gauge="1.676 m", main={"straight": "60 m"}, at="5 m", head="0.18 m")
    text = scene.text.replace("routes:", "tip: 175 mm\nroutes:", 1)
    (switch,) = measured(text)["switches"]
    assert switch["filed_tip"]["station_mm"] - 5000 == pytest.approx(13030.35, abs=0.05)


@pytest.mark.parametrize("number", ["4", "6", "9"])
def test_the_practical_point_is_as_wide_as_the_frog_point(number: str) -> None:
    # Between two straight faces at the angle F a blunt of width p lies p/(2 tan(F/2)) from the theoretical point, N p.
    scene = full_size([{"curve": {"frog": number}}, {"straight": "20 ft"}])
    frog = the_frog(
        Scene(scene.main, scene.legs, scene.gauges, head=scene.head, scale="1:1", more=("frog_point: 0.5 in",))
    )
    away = math.hypot(frog["practical"]["x_mm"] - frog["x_mm"], frog["practical"]["y_mm"] - frog["y_mm"])
    assert away == pytest.approx(12.7 * float(number), abs=1e-6)


@pytest.mark.parametrize("main", list(MAINS))
def test_frogs_come_in_order_along_the_parent(main: str) -> None:
    scene = turnout(main, "left", "tangent", carried=("standard", "narrow"), common="left", gauges=TWO)
    stations = [frog["stations_mm"]["main"] for frog in measured(scene.text)["frogs"]]
    assert len(stations) == 3
    assert stations == sorted(stations)


def test_a_three_way_turnout_has_its_crotch_frog_on_the_centre_line() -> None:
    # By symmetry the inner faces of two equal branches cross on the main's centre line, where each is g/2 from its own
    # outer face's start: cos(F/2) = 1 - (g/2)/(R + g/2) while the arcs still run.
    legs = tuple(
        Leg(name, ({"curve": {"radius": "900 mm", "turn": name, "length": "300 mm"}},), at="60 mm")
        for name in ("left", "right")
    )
    scene = Scene(({"straight": "500 mm"},), legs)
    check_frogs(scene)
    (crotch,) = [
        frog for frog in measured(scene.text)["frogs"] if {face["route"] for face in frog["faces"]} == {"left", "right"}
    ]
    half = math.acos(1 - 8.25 / 908.25)
    assert crotch["kind"] == "V" and crotch["lead_mm"] is None
    assert crotch["x_mm"] == pytest.approx(60 + 908.25 * math.sin(half), abs=1e-6)
    assert crotch["y_mm"] == pytest.approx(0, abs=1e-6)
    assert crotch["angle_deg"] == pytest.approx(math.degrees(2 * half), abs=1e-7)


# What a site allows: an easement from 1/450 to the right to 1/450 to the left in 300 mm, the branch leaving to the
# right where it begins and curved through to the frog.

SWINGING: tuple[PieceSpec, ...] = (
    {
        "easement": {
            "length": "300 mm",
            "from": {"radius": "450 mm", "turn": "right"},
            "to": {"radius": "450 mm", "turn": "left"},
        }
    },
)


def swinging(number: str) -> Scene:
    leg = Leg("branch", ({"curve": {"frog": number, "through": "curved"}},), at="0 mm", hand="right")
    return Scene(SWINGING, (leg,))


def test_of_two_curves_the_one_that_changes_least_is_taken() -> None:
    # The oracle finds 607.19 mm and 328.38 mm; at the tip the main turns to the right at 450 mm, and 1/450 - 1/607
    # is less than 1/328 - 1/450.
    scene = swinging("3.6")
    solved = solve(scene)["branch"].frog
    assert solved is not None
    radius = measured(scene.text)["routes"]["branch"]["pieces"][0]["radius_mm"]
    assert radius == pytest.approx(float(1 / solved.curvature), rel=1e-9)
    assert radius == pytest.approx(-607.19, abs=0.005)


@pytest.mark.parametrize("number", ["3.9", "5", "8"])
def test_a_number_that_the_site_does_not_allow_is_refused_with_those_that_it_does(number: str) -> None:
    with pytest.raises(NoSuchFrog):
        solve(swinging(number))
    with pytest.raises(TemplateError) as refused:
        measured(swinging(number).text)
    said = str(refused.value)
    assert f"No. {number}" in said and "branch" in said
    allowed = re.search(r"allows ([0-9]+\.[0-9]) to ([0-9]+\.[0-9])", said)
    assert allowed is not None
    low, high = (float(figure) for figure in allowed.groups())
    # What it says must be true: the oracle can build the highest number that it names, and not a tenth more.
    assert low < high < float(number)
    assert solve(swinging(f"{high}"))["branch"].frog is not None
    with pytest.raises(NoSuchFrog):
        solve(swinging(f"{high + 0.1:.1f}"))


def test_a_frog_beyond_the_mains_end_is_refused() -> None:
    leg = Leg("branch", ({"curve": {"frog": "8"}}, ON), at="100 mm", hand="left")
    with pytest.raises(TemplateError, match="frog"):
        measured(Scene(({"straight": "220 mm"},), (leg,)).text)
