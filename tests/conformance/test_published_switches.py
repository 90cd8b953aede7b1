"""Published turnouts that points of all kinds and stubs can express, each within its own rounding.

The sources are numbered as in the project's list of published values: S6 NMRA RP-12.7, S23 US Army TI 850-02 (2000),
S27 Webb, Railroad Construction, S28 a 19th-century US field book (Shunk), S30 Vose, Handbook of Railroad Construction
(1857), S35 an article on German turnouts, S36 Indian Railways calculation sheets, S37 the British bullhead turnout
table of the S Scale MRS. Each says whether its figures were read or come from memory.
"""

from __future__ import annotations

import math
from math import asin, atan, cos, radians, sin, sqrt, tan

import pytest

from .figures import RAD, measured
from .prototype import FOOT, INCH, arc_radius, full_size, rounding, the_frog
from .scenes import PieceSpec, Scene

G = 56.5  # in


def frog_angle(number: float) -> float:
    return 2 * atan(1 / (2 * number))


# --- S37, read; the model's parameters (planing 66 in at 1:24, rail 2 3/4 in wide) are from memory


def british_lead(*, radius: float, switch: float, planing: float, number: float) -> float:
    """Return the lead in inches: planing at 1:24, the switch rail's arc, then an arc tangent to the straight vee."""
    s, f = atan(1 / 24), frog_angle(number)
    x, y = planing, planing / 24
    heel = s + (switch - planing / cos(s)) / radius
    x += radius * (sin(heel) - sin(s))
    y += radius * (cos(s) - cos(heel))
    closure = (G - y) / (cos(heel) - cos(f))
    return x + closure * (sin(f) - sin(heel))


@pytest.mark.parametrize(("number", "radius_ft", "lead_ft"), [(5, 212, 46 + 10 / 12), (7, 482, 54.0)])
def test_british_a_switches(number: int, radius_ft: float, lead_ft: float) -> None:
    planing = math.hypot(66, 2.75)
    # The table's radii are those of the outer rail: 482 ft is R + g/2.
    switch_arc: PieceSpec = {
        "curve": {
            "radius": f"{482 * 12 - G / 2} in",
            "turn": "left",
            "angle": f"{math.degrees((240 - planing) / 5784)!r} deg",
        }
    }
    scene = full_size(
        [switch_arc, {"curve": {"frog": str(number), "through": "curved"}}],
        points={"length": f"{planing!r} in", "spread": "2.75 in", "tip": "0.0001 in"},
    )
    outer = arc_radius(scene) / FOOT + G / 24
    assert abs(outer - radius_ft) < 0.5 + 0.1  # printed to the foot; the switch's 482 ft to half a foot moves it 0.1
    # The lead is printed to the inch, the switch rail's radius to the foot; planing and switch rail are taken as exact.
    inputs = {"radius": 482 * 12.0, "switch": 240.0, "planing": 66.0, "number": float(number)}
    slack = 0.5 + rounding(british_lead, inputs, {"radius": 6.0})
    assert abs(the_frog(scene)["lead_mm"] / INCH - lead_ft * 12) < slack


# --- S6, read


def nmra_lead(*, switch: float, entry: float, heel: float, toe: float, spread: float, frog: float) -> float:
    """Return the lead in inches from the heel spread: entry and heel angles in degrees."""
    e, h, f = radians(entry), radians(heel), radians(frog)
    closure = (9 / INCH - toe * sin(f) - spread) / (cos(h) - cos(f))
    return switch * cos((e + h) / 2) + closure * (sin(f) - sin(h)) + toe * cos(f)


@pytest.mark.parametrize(
    ("number", "lead", "toe", "closure", "closure_radius"), [(4, 2.657, 0.3, 1.3, 8), (6, 3.256, 0.375, 1.816, 22)]
)
def test_nmra_rp_12_7(number: int, lead: float, toe: float, closure: float, closure_radius: float) -> None:
    # Gauge 9 mm (ICL = G N gives it). The switch rail turns from 2 deg 1 min to 4 deg 50 min over 1.088 in, measured on
    # the outer rail: on the reference line it is shorter by g/2 times the turn.
    entry, heel = 2 + 1 / 60, 4 + 50 / 60
    turn = radians(heel - entry)
    on_line = 1.088 - 9 / INCH / 2 * turn
    frog = frog_angle(number)
    switch_rail: PieceSpec = {
        "curve": {"radius": f"{on_line / turn!r} in", "turn": "left", "angle": f"{heel - entry!r} deg"}
    }
    scene = full_size(
        [switch_rail, {"curve": {"frog": str(number), "through": {"straight": f"{toe} in"}}}],
        gauge="9 mm",
        main={"straight": "8 in"},
        at="2 in",
        points={"entry": f"{entry!r} deg"},
        head="0.7 mm",
    )
    # Lengths are printed to a thousandth, angles to a minute; the heel spread weighs most: 0.0005 in of it are 0.003 in
    # of lead at No. 4, since the closure curve must make up for it at a small angle.
    inputs = {"switch": 1.088, "entry": entry, "heel": heel, "toe": toe, "spread": 0.065, "frog": math.degrees(frog)}
    halves = {"switch": 0.0005, "entry": 1 / 120, "heel": 1 / 120, "toe": 0.0005, "spread": 0.0005, "frog": 1 / 120}
    assert abs(the_frog(scene)["lead_mm"] / INCH - lead) < 0.0005 + rounding(nmra_lead, inputs, halves)
    # The closure's rail is printed to a thousandth too, and R to the inch; both follow from the same angles.
    outer = arc_radius(scene) / INCH + 9 / INCH / 2
    assert abs(outer * (frog - radians(heel)) - closure) < 0.0005 + rounding(nmra_lead, inputs, halves)
    assert abs(arc_radius(scene) / INCH - closure_radius) < 0.5
    # Heel spread 0.065 in, printed to a thousandth: where the closure curve begins.
    start = measured(scene.text)["routes"]["branch"]["pieces"][1]["start"]
    face_y = start["y_mm"] / INCH - 9 / INCH / 2 * cos(radians(heel))
    assert abs(face_y + 9 / INCH / 2 - 0.065) < 0.0005


# --- S23, read: formulas, heel spread 6 1/4 in, point 1/4 in, switch of 16.5 ft, curvature of Nos 8, 9 and 10
# The frogs' toes, and the leads of Nos 8, 10, 15 and 20, are from memory (AREA plan 910); the point is 1/2 in thick at
# N/2 in from the theoretical point (from memory), so the theoretical toe and lead are N/2 in less than the actual ones.

AREA = {  # number: actual lead ft, switch ft, radius ft, actual toe ft: from memory
    8: (68.0, 16.5, 487.28, 5 + 1 / 12),
    10: (78.75, 16.5, 779.39, 6 + 5 / 12),
    15: (126.375, 30, 1720.77, 9 + 5 / 12),
    20: (151 + 11.5 / 12, 30, 3289.29, 11 + 0.5 / 12),
}


def switch_angle(feet: float) -> float:
    return asin((6.25 - 0.25) / (feet * 12))


def area_tangents(
    *, lead: float, toe: float, number: float, switch: float, spread: float = 6.25
) -> tuple[float, float]:
    """Return the tangents in inches from the switch's heel and to the frog's toe to where they meet."""
    s, f = switch_angle(switch), frog_angle(number)
    k = toe * 12 - number / 2
    dx = lead * 12 - number / 2 - k * cos(f) - switch * 12 * cos(s)
    dy = G - k * sin(f) - spread
    to_toe = (dx * sin(s) - dy * cos(s)) / sin(s - f)
    from_heel = (dx - to_toe * cos(f)) / cos(s)
    return from_heel, to_toe


def area_radius(*, lead: float, toe: float, number: float, switch: float) -> float:
    """Return the centre line's radius in feet of the arc that ends at the toe, a tangent before it."""
    _, to_toe = area_tangents(lead=lead, toe=toe, number=number, switch=switch)
    turn = frog_angle(number) - switch_angle(switch)
    return (to_toe / tan(turn / 2) - G / 2) / 12


def area_points(feet: float) -> dict[str, str]:
    return {"length": f"{feet} ft", "spread": "6.25 in", "tip": "0.25 in"}


@pytest.mark.parametrize("number", AREA)
def test_area_plan_910(number: int) -> None:
    lead, switch, radius, toe = AREA[number]
    from_heel, to_toe = area_tangents(lead=lead, toe=toe, number=number, switch=switch)
    k = toe * 12 - number / 2
    scene = full_size(
        [
            {"straight": f"{from_heel - to_toe!r} in"},
            {"curve": {"frog": str(number), "through": {"straight": f"{k!r} in"}}},
        ],
        points=area_points(switch),
    )
    # The lead went in as the length of the tangent, so it must come out again, to the micron.
    assert abs(the_frog(scene)["lead_mm"] - (lead * 12 - number / 2) * INCH) < 1e-3
    # The radius follows from lead and toe, printed to half an inch in the table.
    inputs = {"lead": lead, "toe": toe, "number": float(number), "switch": float(switch)}
    slack = rounding(area_radius, inputs, {"lead": 0.25 / 12, "toe": 0.25 / 12})
    assert abs(arc_radius(scene) / FOOT - radius) < 0.005 + slack
    # The slack must not be so wide that it proves nothing: well under one part in a hundred.
    assert slack < 0.01 * radius


@pytest.mark.parametrize(("number", "degrees"), [(8, 11.8), (10, 7.4)])
def test_army_curvature_of_closures_with_a_tangent_at_the_heel(number: int, degrees: float) -> None:
    lead, switch, _, toe = AREA[number]
    from_heel, to_toe = area_tangents(lead=lead, toe=toe, number=number, switch=switch)
    k = toe * 12 - number / 2
    scene = full_size(
        [
            {"straight": f"{from_heel - to_toe!r} in"},
            {"curve": {"frog": str(number), "through": {"straight": f"{k!r} in"}}},
        ],
        points=area_points(switch),
    )
    # S23 prints tenths of a degree of the 100 ft chord: R = 50/sin(D/2).
    assert abs(math.degrees(2 * asin(50 / (arc_radius(scene) / FOOT))) - degrees) < 0.05


def test_army_curvature_of_no_9() -> None:
    # In No. 9 the curve begins at the heel; its toe of 6 ft 4 1/2 in is from memory.
    k = 6.375 * 12 - 4.5
    scene = full_size([{"curve": {"frog": "9", "through": {"straight": f"{k} in"}}}], points=area_points(16.5))
    assert abs(math.degrees(2 * asin(50 / (arc_radius(scene) / FOOT))) - 9.3) < 0.05


@pytest.mark.parametrize("number", [8, 9, 10])
def test_army_formula_of_the_closure_radius(number: int) -> None:
    # C = q/sin((F + S)/2) with q = g - e - h, R = C/(2 sin((F - S)/2)): R of the outer rail, e the toe's spread.
    toe = {8: 57.0, 9: 72.0, 10: 72.0}[number]
    scene = full_size(
        [{"curve": {"frog": str(number), "through": {"straight": f"{toe} in"}}}], points=area_points(16.5)
    )
    s, f = switch_angle(16.5), frog_angle(number)
    chord = (G - toe * sin(f) - 6.25) / sin((f + s) / 2)
    outer = chord / (2 * sin((f - s) / 2))
    assert arc_radius(scene) / INCH + G / 2 == pytest.approx(outer, rel=1e-10)


@pytest.mark.parametrize(
    ("feet", "printed"),
    [(11, (2, 36, 19)), (15, (1, 54, 37)), (16.5, (1, 44, 11)), (22, (1, 18, 8)), (30, (0, 57, 18))],
)
def test_switch_angles(feet: float, printed: tuple[int, int, int]) -> None:
    # S = asin((h - t)/a), S23 (formula, h and t read); 1 deg 44 min 11 s for 16.5 ft is well known (from memory).
    scene = full_size([{"straight": "60 ft"}], points=area_points(feet))
    heading = measured(scene.text)["routes"]["branch"]["end"]["heading_deg"]
    degrees, minutes, seconds = printed
    assert abs(heading * 3600 - (degrees * 3600 + minutes * 60 + seconds)) < 0.5


# --- stub turnouts, S27 and S28 (read)


@pytest.mark.parametrize("number", [4, 6, 8, 10, 15])
@pytest.mark.parametrize("gauge", [56.5, 36.0])
def test_stub_identities(number: int, gauge: float) -> None:
    # S27 eq. 74-77: lead = 2 g N and R = 2 g N^2, exact for an arc tangent at the point of curve and at the frog.
    scene = full_size([{"curve": {"frog": str(number), "through": "curved"}}], gauge=f"{gauge} in")
    assert the_frog(scene)["lead_mm"] == pytest.approx(2 * gauge * number * INCH, abs=1e-6)
    # 1e-6 mm of place over a lead L leaves 2e-6/L^2 of curvature undecided, R^2 as much of radius.
    radius = 2 * gauge * number**2 * INCH
    assert arc_radius(scene) == pytest.approx(radius, abs=2e-6 * radius**2 / the_frog(scene)["lead_mm"] ** 2)


def test_stub_switch_with_a_straight_thrown_rail() -> None:
    # S28, read: thrown rail 18 ft, throw 0.42 ft, F = 5 deg 44 min, g = 4.71 ft; R of the outer rail 907 ft and toe to
    # frog 69.64 ft, by four-place logarithms (0.15 %).
    s = math.degrees(asin(0.42 / 18))
    angle = 5 + 44 / 60
    scene = full_size(
        [{"straight": "18 ft"}, {"curve": {"frog_angle": f"{angle!r} deg", "through": "curved"}}],
        gauge="4.71 ft",
        points={"entry": f"{s!r} deg"},
    )
    outer = arc_radius(scene) / FOOT + 4.71 / 2
    assert outer == pytest.approx(907, rel=0.0015)
    assert outer == pytest.approx(906.95, abs=0.005)
    turn = radians(angle - s)
    assert 2 * outer * sin(turn / 2) == pytest.approx(69.64, rel=0.0015)


# Clearances in a full-size scene are any part of the gauge; with this head its flangeway lets a stub be thrown 5 in.
THIN_HEAD = "1 in"


def toe_to_frog(scene: Scene) -> float:
    """Return the straight distance in feet from the toe of the branch's outer rail to the frog's theoretical point."""
    (switch,) = measured(scene.text)["switches"]
    assert switch["switching"] == "stub" and switch["points"] == 0
    (butt,) = (r for r in switch["fixed_rails"] if (r["route"], r["hand"]) == ("branch", "right"))
    frog = the_frog(scene)
    return math.dist((butt["begin"]["x_mm"], butt["begin"]["y_mm"]), (frog["x_mm"], frog["y_mm"])) / FOOT


def test_stub_thrown_straight_by_its_own_key() -> None:
    # The same worked example, WE01 in the list of published values: S28, read.
    angle = 5 + 44 / 60
    scene = full_size(
        [{"curve": {"frog_angle": f"{angle!r} deg", "through": "curved"}}],
        gauge="4.71 ft",
        points={"stub": "0.42 ft", "length": "18 ft"},
        head=THIN_HEAD,
    )
    s, f = asin(0.42 / 18), radians(angle)
    outer = arc_radius(scene) / FOOT + 4.71 / 2
    assert outer == pytest.approx(907, rel=0.0015)  # printed; four-place logarithms
    assert outer == pytest.approx((4.71 - 0.42) / (cos(s) - cos(f)), abs=1e-6)
    assert toe_to_frog(scene) == pytest.approx(69.64, rel=0.0015)  # printed
    assert toe_to_frog(scene) == pytest.approx(69.574, abs=0.0005)  # the printed formula without rounding
    assert toe_to_frog(scene) == pytest.approx((4.71 - 0.42) / sin((f + s) / 2), abs=1e-6)
    (switch,) = measured(scene.text)["switches"]
    assert switch["throw_mm"] == pytest.approx(0.42 * FOOT, abs=1e-6)
    assert switch["filed_tip"]["station_mm"] - switch["station_mm"] == pytest.approx(18 * cos(s) * FOOT, abs=1e-6)


def test_stub_of_the_split_turnout_example() -> None:
    # WE03: S30, read as to what is given (4 ft 8 1/2 in, a rail of 20 ft thrown 5 in, a frog of 72 in by 9); its
    # printed answer was not seen. Its formula is D = 2 (g - s) cot S cot F/(cot S + cot F), here with cot S = 240/5 and
    # cot F = 72/9. It takes the mean of two slopes for the slope of the chord and comes out 0.2 % short of it:
    # plausibility within 0.25 %, and no more than that.
    scene = full_size(
        [{"curve": {"frog": "8", "through": "curved"}}], points={"stub": "5 in", "length": "20 ft"}, head=THIN_HEAD
    )
    hunt = 2 * (G - 5) / 12 * 48 * 8 / (48 + 8)
    assert hunt == pytest.approx(58.857, abs=0.0005)
    assert toe_to_frog(scene) == pytest.approx(hunt, rel=0.0025)
    assert toe_to_frog(scene) == pytest.approx(58.974, abs=0.0005)  # the chord by exact trigonometry, derived


@pytest.mark.parametrize("number", [6, 8, 10])
def test_stub_identities_hold_for_bent_rails(number: int) -> None:
    # S27 eq. 74-77, from the fixed end of the swinging rails, where the lead curve begins. Derived: the toe lies where
    # the outer rail, of radius r = R + g/2, has moved by the throw D: sqrt(2 r D - D^2) along the main.
    scene = full_size([{"curve": {"frog": str(number), "through": "curved"}}], points={"stub": "5 in"}, head=THIN_HEAD)
    assert the_frog(scene)["lead_mm"] == pytest.approx(2 * G * number * INCH, abs=1e-6)
    (switch,) = measured(scene.text)["switches"]
    r = 2 * G * number**2 + G / 2
    swing = switch["filed_tip"]["station_mm"] - switch["station_mm"]
    assert swing == pytest.approx(sqrt(2 * r * 5 - 25) * INCH, rel=1e-8)
    assert switch["throw_mm"] == pytest.approx(5 * INCH, abs=1e-9)


@pytest.mark.parametrize(
    ("n", "lead", "radius", "d", "sl"),
    [(12, 40.224, 485.202, 0.175, 13.03035), (8.5, 28.492, 244.696, 0.135, 8.127096)],
)
def test_cole_method(n: float, lead: float, radius: float, d: float, sl: float) -> None:
    # S36, read: G = 1.676 m, CL = 2GN, R = 1.5G + 2GN^2 of the outer rail, 1 in N being tan F = 1/N. Both formulas are
    # the first terms of G cot(F/2) = G (N + sqrt(N^2 + 1)) and (G/2)(1 + cot^2(F/2)): what they drop is G/(2N) and
    # G/(8N^2), less their own next terms.
    scene = full_size(
        [{"curve": {"frog_ratio": f"1:{n}", "through": "curved"}}], gauge="1.676 m", main={"straight": "60 m"}, at="5 m"
    )
    assert 0 < the_frog(scene)["lead_mm"] / 1000 - lead < 1.676 / (2 * n)
    outer = arc_radius(scene) / 1000 + 1.676 / 2
    assert abs(outer - radius) < 1.676 / (8 * n**2) + 0.0005
    # SL = sqrt(2 R d - d^2): where the outer rail is d from the stock rail. It is computed here from the program's
    # radius, and must come out to all printed digits within what the radius leaves open.
    assert sqrt(2 * outer * d - d * d) == pytest.approx(sl, abs=sl * 0.5 * 1.676 / (8 * n**2) / radius + 5e-6)


def test_frog_number_from_a_given_radius() -> None:
    # S43, read: N = sqrt(6R/G), R in feet and G in inches: 36 ft at 3 ft gauge gives 2.449, printed as 2.5. The same as
    # R = 2 g N^2.
    curve = {"radius": "36 ft", "turn": "left", "to": "frog", "through": "curved"}
    frog = the_frog(full_size([{"curve": curve}], gauge="36 in"))
    assert frog["number"] == pytest.approx(sqrt(6), abs=1e-7)
    assert round(frog["number"], 1) == pytest.approx(2.4) and abs(frog["number"] - 2.5) < 0.06


def test_three_foot_gauge_rule() -> None:
    # S29, read: distances and radii for 3 ft gauge are 5/8 of the standard gauge's; exact is 36/56.5 = 0.637.
    wide, narrow = (full_size([{"curve": {"frog": "8", "through": "curved"}}], gauge=g) for g in ("56.5 in", "36 in"))
    ratio = the_frog(narrow)["lead_mm"] / the_frog(wide)["lead_mm"]
    assert ratio == pytest.approx(36 / 56.5, abs=1e-9)
    assert ratio == pytest.approx(5 / 8, rel=0.02)


@pytest.mark.parametrize(("hand", "rule"), [("left", 1.0), ("right", -1.0)])
def test_curvature_sum_rule(hand: str, rule: float) -> None:
    # S29, read: from a curve of radius R inside, r = R2 R/(R2 + R), outside r = R2 R/(R2 - R) with R2 the radius of the
    # same turnout from straight track; S27, read: the lead stays the same. Exact for a tangent arc to the frog, by
    # the law of cosines on the two circles: 1/r -+ 1/R = (1 +- g^2 N^2/(R r))/(2 g N^2), so the rule errs by
    # g^2 N^2/(R r).
    g, n, main = G * INCH, 8, 1432.69 * FOOT
    scene = full_size(
        [{"curve": {"frog": str(n), "through": "curved"}}],
        main={"curve": {"radius": "1432.69 ft", "turn": "left", "length": "200 ft"}},
        hand=hand,
    )
    (curve, *_) = [p for p in measured(scene.text)["routes"]["branch"]["pieces"] if p["kind"] == "arc"]
    change = rule * (1 / curve["radius_mm"] - 1 / main)
    stub = 1 / (2 * g * n**2)
    exact = stub * (1 + g * g * n * n / (main * curve["radius_mm"]))
    assert change == pytest.approx(exact, rel=1e-9)
    assert change == pytest.approx(stub, rel=abs(g * g * n * n / (main * curve["radius_mm"])) * 1.001)
    # The rule's own example (derived from it, R2 = 487.28 ft): inside 363.61, outside 738.43. Ours is the stub's R2.
    assert the_frog(scene)["lead_mm"] == pytest.approx(2 * g * n, rel=0.002)


# --- German turnouts, S35: 1:9 and 16.615 m read, 10.523 and 20.797 m from memory


@pytest.mark.parametrize(
    ("radius", "n", "tangent"),
    [(190, 9, 10.523), (300, 9, 16.615), (500, 12, 20.797)],
    ids=["190-1:9", "300-1:9", "500-1:12"],
)
def test_german_tangents(radius: int, n: int, tangent: float) -> None:
    # The tangent of an arc that turns by F = atan(1/n) is R tan(F/2); the branch's end line meets the main there.
    angle = math.degrees(atan(1 / n))
    scene = full_size(
        [{"curve": {"radius": f"{radius} m", "turn": "left", "angle": f"{angle!r} deg"}}, {"straight": "20 m"}],
        gauge="1435 mm",
        main={"straight": "70 m"},
        at="5 m",
    )
    end = measured(scene.text)["routes"]["branch"]["end"]
    assert end["heading_deg"] == pytest.approx(angle, abs=math.degrees(RAD))
    meets = end["x_mm"] - end["y_mm"] * n
    # Printed in mm, 300 tan(F/2) = 16.61554 as 16.615: cut off, not rounded, so the whole last digit is open.
    assert abs((meets - 5000) / 1000 - tangent) < 0.001


def test_a_german_radius_is_found_from_the_ratio() -> None:
    # 190-1:9, whose arc ends before the frog: of the three the only one with a straight frog.
    # g = (R + g/2)(1 - cos F) + k sin F gives the straight k that belongs to the radius; the program is told k and n.
    g, n, radius = 1.435, 9, 190
    f = atan(1 / n)
    k = (g - (radius + g / 2) * (1 - cos(f))) / sin(f)
    curve = {"frog_ratio": f"1:{n}", "through": {"straight": f"{k * 1000!r} mm"}}
    scene = full_size([{"curve": curve}], gauge="1435 mm", main={"straight": "70 m"}, at="5 m")
    assert arc_radius(scene) / 1000 == pytest.approx(radius, rel=1e-9)
