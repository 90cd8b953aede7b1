"""A frog and its lead given: the arc and the one straight between, against fifty digits; what is said without one."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from oracle.curves import Num, Path, Piece, Place, arc, ctx, mpf, place, straight
from trackwork.building import TWO_GAUGES, job, refusal, spec

from turnout_templates.alignment.lead import LeadTask, proposed, tangents_between
from turnout_templates.errors import InputProblems
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Shape, join
from turnout_templates.geometry.pose import Pose
from turnout_templates.pipeline import measure
from turnout_templates.units import read_length

from .tasks import GAUGE, HEAD, angle_of, some_task

MM, RAD = 1e-6, 1e-9
"""The bar of the design for a computed crossing."""
G = mpf("0.649") * mpf("25.4")
"""HO gauge in NMRA S-3.2 (2010), read."""
CODE_70 = mpf("0.035") * mpf("25.4")


def figures(routes: str, **keys: str) -> dict[str, Any]:
    return measure(job(spec(routes, **keys)))


def frog_angle(number: object) -> Num:
    return 2 * ctx.atan(1 / (2 * mpf(number)))


def expected(main: Path, start: Place, *, hand: int, theoretical: Num, angle: Num, toe: Num) -> tuple[Num, Num, Num]:
    """Return (signed radius, straight before, straight after) by intersecting the two tangents as complex lines.

    Written from the definition: the branch's outer face passes through the point where the main's far face lies at the
    station `theoretical`, turned by the frog's angle to the `hand`; its reference line runs half a gauge beside.
    """
    point = main.at(theoretical)[0].shifted(hand * G / 2).turned(hand * angle)
    end = point.shifted(hand * G / 2)
    end_z = end.z - toe * ctx.expj(end.heading)
    # start + t1 e^(i a) = end - t2 e^(i b): two real equations
    d, e = ctx.expj(start.heading), ctx.expj(end.heading)
    gap = end_z - start.z
    determinant = d.real * e.imag - d.imag * e.real
    t1 = (gap.real * e.imag - gap.imag * e.real) / determinant
    t2 = (d.real * gap.imag - d.imag * gap.real) / determinant
    turn = end.heading - start.heading
    assert t1 > 0 and t2 > 0
    shorter = min(t1, t2)
    return shorter / ctx.tan(turn / 2), max(t1 - t2, ctx.zero), max(t2 - t1, ctx.zero)


def check(found: dict[str, Any], want: tuple[Num, Num, Num], toe: Num, planed: int = 0) -> None:
    """Compare a branch's pieces: the straight before if there is one, the arc, what is straight to the point."""
    radius, before, after = want
    pieces = found["routes"]["branch"]["pieces"][planed:]
    if before > 0:
        first = pieces.pop(0)
        assert first["kind"] == "straight"
        assert abs(first["length_mm"] - float(before)) < MM
    curve, end = pieces[:2]
    assert (curve["kind"], end["kind"]) == ("arc", "straight")
    # A curvature is compared by what moves the end of the arc by the bar.
    assert abs(1 / curve["radius_mm"] - float(1 / radius)) < 2 * MM / curve["length_mm"] ** 2
    assert abs(end["length_mm"] - float(after + toe)) < MM


def default_toe(angle: Num) -> Num:
    return mpf("2.5") * CODE_70 / (2 * ctx.sin(angle / 2))


# --- on straight main


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize(
    ("lead", "straight_before"), [("150", False), ("170", False), ("190", False), ("210", True), ("230", True)]
)
def test_straight_points_on_straight_main(hand: str, lead: str, straight_before: bool) -> None:
    a, h, t = mpf(60), mpf("2.2"), mpf("0.15")
    s, f, side = ctx.asin((h - t) / a), frog_angle(6), 1 if hand == "left" else -1
    # The outer face runs from the tip, t from the stock rail's, for a at the angle S: so to the heel, h from it.
    heel = place().shifted(-side * G / 2).turned(side * s)
    heel = Place(mpf(60) + a * ctx.cos(s) + ctx.mpc(0, side) * (h - G / 2), heel.heading).shifted(side * G / 2)
    points = "{length: 60, spread: 2.2, tip: 0.15}"
    toe = default_toe(f)
    want = expected(Path(place(), (straight(400),)), heel, hand=side, theoretical=60 + mpf(lead), angle=f, toe=toe)
    assert (want[1] > 0) is straight_before
    path = f"[{{frog: 6, lead: {lead}}}, straight: 60]"
    found = figures(
        f"""main: {{path: [straight: 400]}}
        branch: {{leaves: main, at: 60, hand: {hand}, points: {points}, path: {path}}}"""
    )
    check(found, want, toe, planed=1)
    (frog,) = found["frogs"]
    assert abs(frog["lead_mm"] - float(lead)) < MM
    assert abs(math.radians(frog["angle_deg"]) - float(f)) < RAD


@pytest.mark.parametrize(
    ("piece", "toe"),
    [
        ("frog_angle: 9 deg, lead: 140", None),
        ("curve: {frog_angle: 9 deg, lead: 140}", None),
        ("frog_angle: 9 deg, lead: 140, through: curved", "0"),
        ("frog_angle: 9 deg, lead: 140, through: {straight: 30}", "30"),
    ],
)
def test_tangent_points_and_each_way_to_write_it(piece: str, toe: str | None) -> None:
    f = 9 * ctx.pi / 180
    k = default_toe(f) if toe is None else mpf(toe)
    want = expected(Path(place(), (straight(400),)), place(x=60), hand=1, theoretical=mpf(200), angle=f, toe=k)
    found = figures(
        f"""main: {{path: [straight: 400]}}
        branch: {{leaves: main, at: 60, hand: left, path: [{{{piece}}}, straight: 60]}}"""
    )
    check(found, want, k)
    (frog,) = found["frogs"]
    assert frog["angle_deg"] == pytest.approx(9, abs=math.degrees(RAD))
    assert frog["lead_mm"] == pytest.approx(140, abs=MM)


def test_the_natural_lead_needs_no_straight() -> None:
    """(R + g/2)(1 - cos F) + k sin F = g, lead (R + g/2) sin F + k cos F: given that lead, R comes out."""
    f = frog_angle(7)
    k = default_toe(f)
    outer = (G - k * ctx.sin(f)) / (1 - ctx.cos(f))
    lead = outer * ctx.sin(f) + k * ctx.cos(f)
    found = figures(
        f"""main: {{path: [straight: 400]}}
        branch: {{leaves: main, at: 60, hand: left, path: [{{frog: 7, lead: {ctx.nstr(lead, 18)}}}, straight: 60]}}"""
    )
    curve, toe, heel = found["routes"]["branch"]["pieces"]
    assert curve["radius_mm"] == pytest.approx(float(outer - G / 2), rel=1e-9)
    assert (toe["length_mm"], heel["length_mm"]) == pytest.approx((float(k), 60), abs=MM)


# --- on curves and easements

MAINS = {
    "the same way": ("{curve: {radius: 762, turn: left, length: 500}}", (arc(mpf(500), 1 / mpf(762)),)),
    "the other way": ("{curve: {radius: 900, turn: right, length: 500}}", (arc(mpf(500), -1 / mpf(900)),)),
    "easement": (
        "{straight: 80}, {easement: {length: 300, from: straight, to: {radius: 800, turn: left}}}",
        (straight(80), Piece(mpf(300), ctx.zero, 1 / mpf(800))),
    ),
    "easement away": (
        "{easement: {length: 420, from: {radius: 1500, turn: left}, to: {radius: 900, turn: right}}}",
        (Piece(mpf(420), 1 / mpf(1500), -1 / mpf(900)),),
    ),
}


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("name", MAINS)
@pytest.mark.parametrize("less", [0, 6, -6])
def test_on_curved_mains(name: str, hand: str, less: int) -> None:
    """The lead that the frog comes to by itself to a micron, and six mm to either side of it."""
    text, pieces = MAINS[name]
    routes = f"""main: {{start: {{x: 7, y: -4, heading: 12 deg}}, path: [{text}]}}
        branch: {{leaves: main, at: 100, hand: {hand}, path: [{{frog: 5@}}, straight: 60]}}"""
    natural = figures(routes.replace("@", ""))["frogs"][0]["lead_mm"]
    lead = mpf(f"{natural - less:.3f}")
    f, side = frog_angle(5), 1 if hand == "left" else -1
    main = Path(place("7", "-4", 12 * ctx.pi / 180), pieces)
    toe = default_toe(f)
    want = expected(main, main.at(mpf(100))[0], hand=side, theoretical=100 + lead, angle=f, toe=toe)
    routes = routes.replace("@", f", lead: {ctx.nstr(lead, 12)}")
    if want[1] > 1 and side * main.at(mpf(101))[1] > 0:
        # A straight comes first, and the main curves to the hand: the branch would leave it to the other side.
        assert "part to the wrong side first" in refusal(routes)
        return
    found = figures(routes)
    check(found, want, toe)
    frog = next(frog for frog in found["frogs"] if abs(frog["lead_mm"] - float(lead)) < MM)
    assert abs(math.radians(frog["angle_deg"]) - float(f)) < RAD


def test_after_other_pieces_and_for_the_narrow_gauge() -> None:
    """The curve begins where the piece before it ends; the lead is on the parent's reference line all the same."""
    found = figures(
        """main: {common_rail: left, path: [straight: 400]}
        branch: {leaves: main, at: 60, hand: right, gauges: [narrow],
          path: [{curve: {radius: 900, turn: right, length: 40}}, {frog: 5, lead: 140}, straight: 60]}""".replace(
            ",\n", ","
        ),
        gauges=TWO_GAUGES,
    )
    # It is the frog with the main's widest gauge that was asked for, the other comes before it.
    far = {"route": "main", "gauge": "standard", "hand": "right"}
    (frog,) = (frog for frog in found["frogs"] if far in frog["faces"] and frog["kind"] == "V")
    assert frog["number"] == pytest.approx(5, abs=1e-8)
    assert frog["lead_mm"] == pytest.approx(140, abs=MM)
    kinds = [piece["kind"] for piece in found["routes"]["branch"]["pieces"]]
    assert kinds[:2] == ["arc", "arc"] or kinds[:3] == ["arc", "straight", "arc"]


@given(st.integers(0, 400), st.floats(0.02, 0.98))
def test_every_lead_that_is_said_to_do_does(seed: int, part: float) -> None:
    """Inside the range there is a curve that meets the face where and as it should; beyond its ends there is none."""
    task, pick = some_task(seed)
    lead_task = LeadTask(task, angle_of(pick.uniform(4, 12)), GAUGE)
    for low, high in lead_task.allowed():
        curve = lead_task.curve(low + part * (high - low))
        assert curve is not None
        end = join(task.start, curve.shapes).end
        there = task.target.pose_at(curve.station)
        assert end.beside(task.offset) == pytest.approx(there.point, abs=MM)
        assert math.remainder(end.heading - there.heading - task.turn * lead_task.angle, math.tau) == pytest.approx(
            0, abs=RAD
        )
        assert abs(1 / curve.curvature) >= GAUGE - MM
        assert not (curve.before and curve.after)
        assert lead_task.curve(low - 1e-3) is None
        assert lead_task.curve(high + 1e-3) is None


def test_mirrored_branches_of_a_wye_stay_mirrored() -> None:
    found = figures(
        """stem: {path: [straight: 100]}
        north: {leaves: stem, at: end, hand: left, path: [{frog: 6, lead: 120}, straight: 90]}
        south: {leaves: stem, at: end, hand: right, path: [{frog: 6, lead: 120}, straight: 90]}"""
    )
    north, south = (found["routes"][name]["pieces"] for name in ("north", "south"))
    assert [piece["length_mm"] for piece in north] == pytest.approx([piece["length_mm"] for piece in south], abs=MM)
    assert north[0]["radius_mm"] == pytest.approx(-south[0]["radius_mm"], rel=1e-9)
    (frog,) = found["frogs"]
    assert frog["number"] == pytest.approx(6, abs=1e-9)
    assert (frog["x_mm"], frog["y_mm"]) == pytest.approx((220, 0), abs=MM)


# --- where there is none

STRAIGHT_POINTS = """main: {path: [straight: 700]}
    branch: {leaves: main, at: 60, hand: left, points: {length: 60, spread: 2.2, tip: 0.15},
      path: [{frog: 6, lead: @}, straight: 60]}""".replace(",\n", ",")
NAMED = re.compile(r"allow leads of (.+?) to (.+?)\. The nearest that would do is \"(.+?)\"")


@pytest.mark.parametrize(
    ("lead", "why", "nearest"),
    [
        ("70 mm", "meet behind the points", 0),
        ("560 mm", "meet beyond the toe of the frog", 1),
        ("645 mm", "beyond the end of the track", 1),
    ],
)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_leads_that_there_are_are_told_and_do(lead: str, why: str, nearest: int, unit: str) -> None:
    shown = lead if unit == "mm" else f"{float(read_length(lead)) / 25.4:.3f} in"
    # Lengths without a unit are mm here, so that inches are the spec's units only where it says so.
    routes = STRAIGHT_POINTS if unit == "mm" else _with_units(STRAIGHT_POINTS)
    keys = {} if unit == "mm" else {"units": "in"}
    said = _refusal(routes.replace("@", shown), **keys)
    assert why in said
    assert "routes > branch > path > 1st piece > lead" in said
    match = NAMED.search(said)
    assert match is not None and match[3] == match[1 + nearest]
    low, high = (float(read_length(text)) for text in match.groups()[:2])
    assert all(text.endswith(unit) for text in match.groups())
    for text in match.groups():
        _built(routes.replace("@", text), **keys)
    step = 0.1 if unit == "mm" else 25.4 / 64
    for beyond in (low - step, high + step):
        _refusal(routes.replace("@", f"{beyond} mm"), **keys)


def _with_units(routes: str) -> str:
    """Return routes whose plain numbers say that they are mm."""
    return re.sub(r"(?<=[a-z]: )(\d+(?:\.\d+)?)(?=[,}\]])(?<!frog: 6)", r"\1 mm", routes)


def _text(routes: str, units: str = "mm") -> str:
    return spec(routes).replace("units: mm", f"units: {units}")


def _refusal(routes: str, units: str = "mm") -> str:
    with pytest.raises(InputProblems) as refused:
        job(_text(routes, units))
    return str(refused.value.problems[0])


def _built(routes: str, units: str = "mm") -> None:
    assert job(_text(routes, units)).trackwork.frogs


def test_where_no_lead_would_do() -> None:
    """The track ends before the shortest lead of all, g cot F to the tip of a curve without a size."""
    said = refusal(
        """main: {path: [straight: 140]}
        branch: {leaves: main, at: 60, hand: left, path: [{frog: 6, lead: 70}]}"""
    )
    assert "No lead would do" in said
    assert "another frog or other points" in said


def test_a_tight_curve_is_none() -> None:
    """At the ends of the range the radius is the gauge, beyond it less."""
    main = join(Pose(0, 0, 0), [Shape(900)])
    start = Pose(60, 0, math.radians(2))
    task = LeadTask(_task(start, main), angle_of(6), GAUGE)
    ((low, high),) = task.allowed()
    for lead in (low, high):
        curve = task.curve(lead)
        assert curve is not None and abs(1 / curve.curvature) == pytest.approx(GAUGE, abs=1e-3)
    assert task.obstacle(high + 1e-3) == "the curve would be tighter than the gauge"


def _task(start: Pose, main: Any) -> Any:
    from turnout_templates.alignment.solving import FrogTask

    return FrogTask(start, -GAUGE / 2, Parallel(main, GAUGE / 2, 60.0, main.length), 1, HEAD, None)


def test_parallel_tangents_meet_nowhere() -> None:
    met = tangents_between(Pose(0, 0, 1), Pose(5, 5, 1))
    assert (met.ahead, met.before, met.turn) == (math.inf, math.inf, 0)


def test_tangents_meet_where_they_do() -> None:
    met = tangents_between(Pose(0, 0, 0), Pose(30 + 40 * math.cos(0.3), 40 * math.sin(0.3), 0.3))
    assert (met.ahead, met.before, met.turn) == pytest.approx((30, 40, 0.3), abs=1e-12)
    back = tangents_between(Pose(0, 0, 0), Pose(30 - 40 * math.cos(0.3), -40 * math.sin(0.3), 0.3))
    assert (back.ahead, back.before) == pytest.approx((30, -40), abs=1e-12)


@pytest.mark.parametrize(
    ("low", "high", "units", "texts"),
    [
        (100.04, 120.07, "mm", ("100.1 mm", "120 mm")),
        (100.01, 100.08, "mm", ("100.01 mm", "100.08 mm")),
        (25.4, 50.8, "in", ("1 in", "2 in")),
        (25.41, 50.79, "in", ("1 1/64 in", "1 63/64 in")),
    ],
)
def test_proposed_leads_are_rounded_inward(low: float, high: float, units: Any, texts: tuple[str, str]) -> None:
    ends = proposed(low, high, units)
    assert tuple(text for _, text in ends) == texts
    assert all(low - 1e-9 <= mm <= high + 1e-9 for mm, _ in ends)
    assert all(float(read_length(text)) == pytest.approx(mm, abs=1e-9) for mm, text in ends)
