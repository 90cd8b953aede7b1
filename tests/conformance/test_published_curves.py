"""Published curves and angles, each within its own rounding; sources numbered as in the list of published values."""

from __future__ import annotations

import math

import pytest

from .figures import Figures, measured
from .prototype import FOOT, the_frog
from .scenes import Leg, PieceSpec, Scene


def run(*pieces: PieceSpec) -> Figures:
    """Return the figures of one route made of `pieces`, of a gauge small enough for any of them."""
    scene = Scene(pieces, gauges=(("standard", "9 mm"),), head="0.7 mm", scale="1:1")
    return dict(measured(scene.text)["routes"]["main"])


# --- frog numbers: N = 1/2 cot(F/2), S43 (read); S6, S34, S48 print the angles to the minute

NUMBERS = {
    4: (14.25003, 14, 15, "S6"),
    4.5: (12.68038, None, None, None),
    5: (11.42119, 11, 25, "S6, S34"),
    6: (9.52728, 9, 32, "S6, S34"),
    7: (8.17123, 8, 10, "S6"),
    8: (7.15267, 7, 9, "S48"),
    9: (6.35966, 6, 22, "S48"),
    10: (5.72481, 5, 43, "S48"),
    11: (5.20512, None, None, None),
    12: (4.77189, None, None, None),
    14: (4.09082, None, None, None),
    15: (3.8183, None, None, None),
    16: (3.57982, None, None, None),
    18: (3.18228, None, None, None),
    20: (2.86419, 2, 52, "S34"),
}


def turnout_of(curve: PieceSpec) -> Scene:
    return Scene(({"straight": "900 mm"},), (Leg("branch", ({"curve": curve},), at="50 mm", hand="left"),))


@pytest.mark.parametrize("number", NUMBERS)
def test_frog_numbers(number: float) -> None:
    derived, degrees, minutes, _source = NUMBERS[number]
    frog = the_frog(turnout_of({"frog": str(number)}))
    assert abs(frog["angle_deg"] - derived) < 0.5e-5
    assert frog["number"] == pytest.approx(number, abs=1e-6)
    if degrees is not None and minutes is not None:
        assert abs(frog["angle_deg"] * 60 - (degrees * 60 + minutes)) <= 0.6  # S48's own rounding: 6 deg 21.6 min is 22


@pytest.mark.parametrize(("n", "printed"), [(9, (6, 20, 25)), (12, (4, 45, 49))])
def test_continental_ratios(n: int, printed: tuple[int, int, int]) -> None:
    # tan F = 1/n: 1:9 by S35, 1 in 12 by S36, both read. No. 9 is 6.3597 deg: never mixed.
    frog = the_frog(turnout_of({"frog_ratio": f"1:{n}"}))
    degrees, minutes, seconds = printed
    assert abs(frog["angle_deg"] * 3600 - (degrees * 3600 + minutes * 60 + seconds)) < 0.5


# --- arcs


def test_a_simple_curve_by_the_chord_definition() -> None:
    # S31 (read): delta 62 deg 10 min, D = 8 deg 20 min; T = 414.85 ft; at 54.5 ft tangent offset 2.16 ft and deflection
    # 2 deg 16.2 min. R = 50/sin(D/2) = 688.156 ft; the arc definition's T would be 414.48.
    radius = 50 / math.sin(math.radians(25 / 6))
    curve = {"radius": f"{radius!r} ft", "turn": "left"}
    end = run({"curve": {**curve, "angle": f"{62 + 10 / 60!r} deg"}})["end"]
    delta = math.radians(end["heading_deg"])
    tangent = end["x_mm"] - end["y_mm"] / math.tan(delta)
    assert abs(tangent / FOOT - 414.85) < 0.005
    there = run({"curve": {**curve, "length": "54.5 ft"}})["end"]
    assert abs(there["y_mm"] / FOOT - 2.16) < 0.005
    # Deflection angles are reckoned per 100 ft of curve; the difference of chord and arc is 1e-4 of it, 0.02 minutes.
    assert abs(math.degrees(math.atan2(there["y_mm"], there["x_mm"])) * 60 - 136.2) < 0.05 + 0.1


@pytest.mark.parametrize(("degrees", "feet"), [(6, 955), (10, 574), (12, 478), (16, 359), (20, 288)])
def test_a_hundred_feet_of_chord_turn_by_the_degree(degrees: int, feet: int) -> None:
    # S24 (read), R to the foot: over D degrees of a curve of that radius the chord is 100 ft, within the rounding of R.
    end = run({"curve": {"radius": f"{feet} ft", "turn": "right", "angle": f"{degrees} deg"}})["end"]
    chord = math.hypot(end["x_mm"], end["y_mm"]) / FOOT
    assert abs(chord - 100) < 0.5 * 2 * math.sin(math.radians(degrees / 2))


def test_a_circles_offset() -> None:
    # S39 (read): R = 1600, L = 200 gives 12.5, from L^2/(2R); exact is 12.549 at 200 along the tangent.
    angle = math.degrees(math.asin(200 / 1600))
    end = run({"curve": {"radius": "1600 mm", "turn": "left", "angle": f"{angle!r} deg"}})["end"]
    assert end["x_mm"] == pytest.approx(200, abs=1e-9)
    assert end["y_mm"] == pytest.approx(1600 - math.sqrt(1600**2 - 200**2), abs=1e-9)
    assert abs(end["y_mm"] - 12.5) < 0.05


# --- easements


def test_a_clothoids_angle() -> None:
    # S41 (read): A^2 = 144, R = 9: L = 16 and theta = 50.92 deg (L/2R = 50.9296, cut off, not rounded).
    ease = {"length": "16 m", "from": "straight", "to": {"radius": "9 m", "turn": "left"}}
    end = run({"easement": ease})["end"]
    assert end["heading_deg"] == pytest.approx(math.degrees(16 / 18), abs=1e-10)
    assert 50.92 <= end["heading_deg"] < 50.93


@pytest.mark.parametrize("c", [3000, 10000, 12000, 15000])
@pytest.mark.parametrize("x", [5, 10, 15, 20, 25, 30])
def test_a_flat_clothoid_is_a_cubic_parabola(c: int, x: int) -> None:
    # S40 (read): y = x^3/(6C) in mm, R = C/x. With theta = L/2R the clothoid's y is L^3/(6C)(1 - theta^2/14 + ...) at
    # x = L(1 - theta^2/10 + ...): beside its own x it differs from the parabola by less than 0.3 theta^2 of y.
    table = {
        3000: (7, 56, 188, 444, 868, 1500),
        10000: (2, 17, 56, 133, 260, 450),
        12000: (2, 14, 47, 111, 217, 375),
        15000: (1, 11, 38, 89, 174, 300),
    }
    theta = x * x / (2 * c)
    length = x * (1 + theta**2 / 10)  # so that the end lies at x
    slope = 1 / c
    ease = {
        "length": f"{length!r} m",
        "from": "straight",
        "to": {"radius": f"{1 / (slope * length)!r} m", "turn": "left"},
    }
    end = run({"easement": ease})["end"]
    assert end["x_mm"] / 1000 == pytest.approx(x, rel=theta**4 + 1e-12)
    printed = table[c][x // 5 - 1]
    assert abs(end["y_mm"] - printed) <= 0.6 + 0.3 * theta**2 * printed  # printed to the mm; 37.5 became 38 and 17.4 17


@pytest.mark.parametrize(("length", "radius"), [(100, 800), (180, 600), (60, 450)])
def test_the_shift_of_an_easement(length: int, radius: int) -> None:
    # f = L^2/(24R) - L^4/(2688R^3) (S41, read; NEM 113's f): how far the arc lies inside its tangent.
    ease = {"length": f"{length} mm", "from": "straight", "to": {"radius": f"{radius} mm", "turn": "left"}}
    end = run({"easement": ease})["end"]
    theta = math.radians(end["heading_deg"])
    shift = end["y_mm"] - radius * (1 - math.cos(theta))
    series = length**2 / (24 * radius) - length**4 / (2688 * radius**3)
    assert abs(shift - series) < length**6 / (40000 * radius**5)  # the next term, L^6/(506880 R^5), and its friends
