"""Published leads, from which the radius is found.

The sources are numbered as in the project's list of published values: S23 US Army TI 850-02 (2000) and S27 Webb, read;
the AREA table of plan 910 is from memory, and so is that a point is half an inch thick at N/2 in from the theoretical.
"""

from __future__ import annotations

import math
from math import asin

import pytest

from .figures import measured
from .prototype import FOOT, INCH, arc_radius, full_size, rounding, the_frog
from .scenes import Scene
from .test_published_switches import AREA, G, area_points, area_radius, area_tangents, frog_angle, switch_angle

MORE = {  # number: actual lead ft, switch ft, radius ft, actual toe ft: from memory
    7: (62 + 1 / 12, 16.5, 365.59, 4 + 8.5 / 12),
    9: (72 + 3.5 / 12, 16.5, 615.12, 6.375),
    11: (91 + 10.25 / 12, 22, 927.27, 7.0),
    12: (96 + 8 / 12, 22, 1104.63, 7 + 9.5 / 12),
    14: (107 + 0.75 / 12, 22, 1581.2, 8.625),
    18: (140 + 11.5 / 12, 30, 2578.79, 11 + 0.5 / 12),
}
"""Rows whose tangent is longer at the toe: the table's curve is none with one straight, so they are near, no more."""


def lead_given(number: int, lead: float, switch: float, toe: float) -> Scene:
    """Return the turnout of a row: lead and toe as they are printed, less N/2 in to the theoretical point."""
    k = f"{toe * 12 - number / 2!r} in"
    piece = {"frog": str(number), "lead": f"{lead * 12 - number / 2!r} in", "through": {"straight": k}}
    return full_size([piece], points=area_points(switch))


@pytest.mark.parametrize("number", AREA)
def test_area_plan_910_from_its_leads(number: int) -> None:
    lead, switch, radius, toe = AREA[number]
    scene = lead_given(number, lead, switch, toe)
    frog = the_frog(scene)
    assert frog["number"] == pytest.approx(number, abs=1e-9)
    assert abs(frog["lead_mm"] - (lead * 12 - number / 2) * INCH) < 1e-6
    found = arc_radius(scene) / FOOT
    # Lead and toe are printed to half an inch, the switch to the foot: what follows from them is no sharper.
    inputs = {"lead": lead, "toe": toe, "number": float(number), "switch": float(switch)}
    slack = rounding(area_radius, inputs, {"lead": 0.25 / 12, "toe": 0.25 / 12})
    assert abs(found - radius) < 0.005 + slack < 0.01 * radius
    assert found == pytest.approx(area_radius(**inputs), rel=1e-9)
    # All four are of the kind with the straight at the heel of the points, and the curve runs to the toe.
    from_heel, to_toe = area_tangents(lead=lead, toe=toe, number=number, switch=switch)
    _planed, straight, arc, end = measured(scene.text)["routes"]["branch"]["pieces"][:4]
    assert (straight["kind"], arc["kind"], end["kind"]) == ("straight", "arc", "straight")
    assert straight["length_mm"] == pytest.approx((from_heel - to_toe) * INCH, abs=1e-5)
    assert end["length_mm"] == pytest.approx((toe * 12 - number / 2) * INCH, abs=1e-9)


@pytest.mark.parametrize("number", MORE)
def test_the_other_rows_are_at_least_plausible(number: int) -> None:
    lead, switch, radius, toe = MORE[number]
    assert arc_radius(lead_given(number, lead, switch, toe)) / FOOT == pytest.approx(radius, rel=0.02)


@pytest.mark.parametrize(("number", "degrees"), [(8, 11.8), (10, 7.4)])
def test_army_curvature_from_the_lead(number: int, degrees: float) -> None:
    # S23 prints tenths of a degree of the 100 ft chord, R = 50/sin(D/2); the leads are AREA's, from memory.
    lead, switch, _, toe = AREA[number]
    radius = arc_radius(lead_given(number, lead, switch, toe)) / FOOT
    assert abs(math.degrees(2 * asin(50 / radius)) - degrees) < 0.05


@pytest.mark.parametrize("number", [8, 9, 10])
def test_army_formula_is_the_lead_without_a_straight(number: int) -> None:
    # S23, read: C = q/sin((F + S)/2), q = g - e - h, R = C/(2 sin((F - S)/2)) of the outer rail, which runs from heel
    # to toe. Its lead is a cos S + C cos((F + S)/2) + k cos F: given that lead, there is no straight to either side.
    toe, switch = {8: 57.0, 9: 72.0, 10: 72.0}[number], 16.5
    s, f = switch_angle(switch), frog_angle(number)
    chord = (G - toe * math.sin(f) - 6.25) / math.sin((f + s) / 2)
    lead = switch * 12 * math.cos(s) + chord * math.cos((f + s) / 2) + toe * math.cos(f)
    piece = {"frog": str(number), "lead": f"{lead!r} in", "through": {"straight": f"{toe} in"}}
    scene = full_size([piece], points=area_points(switch))
    assert arc_radius(scene) / INCH + G / 2 == pytest.approx(chord / (2 * math.sin((f - s) / 2)), rel=1e-9)
    _planed, arc, end, _heel = measured(scene.text)["routes"]["branch"]["pieces"]
    assert arc["kind"] == "arc"
    assert end["length_mm"] == pytest.approx(toe * INCH, abs=1e-5)


def test_a_stub_lead_is_two_gauges_for_each_number() -> None:
    # S27, read: lead 2 g N and R 2 g N^2 of a tangent arc to the theoretical point. Given the one, the other follows. A
    # shorter lead takes from the tangent at the tip, and what it takes is straight before the frog.
    n = 8
    full = full_size([{"frog": str(n), "lead": f"{2 * G * n!r} in", "through": "curved"}])
    assert arc_radius(full) / INCH == pytest.approx(2 * G * n * n, rel=1e-9)
    less = 20.0  # in
    short = full_size([{"frog": str(n), "lead": f"{2 * G * n - less!r} in", "through": "curved"}])
    # The tangent at the tip loses those inches; both of the arc are then that long, and tan(F/2) = 1/(2N).
    outer = 2 * G * n * n + G / 2
    tangent = outer / (2 * n) - less
    assert arc_radius(short) / INCH + G / 2 == pytest.approx(tangent * 2 * n, rel=1e-9)
    arc, toe = measured(short.text)["routes"]["branch"]["pieces"][:2]
    assert (arc["kind"], toe["kind"]) == ("arc", "straight")
    assert toe["length_mm"] / INCH == pytest.approx(less, rel=1e-9)
    assert the_frog(short)["number"] == pytest.approx(n, abs=1e-9)
