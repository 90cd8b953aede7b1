"""Formations against figures from outside the program.

Each expected figure is derived beside its check from plain trigonometry on centre lines and gauge faces, or found by
mpmath or shapely; none is the program's own. Frog number N = 1/2 cot(F/2), ratio 1:n is tan F = 1/n (see the design).
Toe of a tangent turnout: k = 2.5 heads / (2 sin(F/2)); its closure: (R + g/2)(1 - cos F) + k sin F = g (textbook).
"""

from __future__ import annotations

import cmath
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import mpmath
import pytest
from shapely.geometry import LineString, Point

from turnout_templates.errors import InputProblems
from turnout_templates.pipeline import measure, measure_file, work_out
from turnout_templates.spec.load import read_spec

from .figures import Figures

FOLDER = Path(__file__).parents[2] / "sample_specs"
HO, HEAD = 16.4846, 0.889
"""NMRA S-3.2 nominal HO gauge and the head of code 70 (NMRA RP-15.1), in mm."""


def figures(formation: str, more: str = "", unit: str = "mm") -> Figures:
    text = f"spec: 1\nname: a\nunits: {unit}\nscale: HO\nrail: code 70\n{more}{formation}\n"
    return measure(work_out(read_spec(text, file="a.yaml", folder=None)))


def angle(number: float) -> float:
    return 2 * math.atan(1 / (2 * number))


def toe(frog: float) -> float:
    return 2.5 * HEAD / (2 * math.sin(frog / 2))


def closure(frog: float) -> float:
    """Return the radius of the centre line before the toe."""
    return (HO - toe(frog) * math.sin(frog)) / (1 - math.cos(frog)) - HO / 2


def switch(found: Figures, branch: str) -> dict[str, Any]:
    return next(s for s in found["switches"] if s["branch"] == branch)


def of_kind(found: Figures, kind: str, number: float | None = None) -> list[dict[str, Any]]:
    frogs = [frog for frog in found["frogs"] if frog["kind"] == kind]
    return [frog for frog in frogs if number is None or abs(frog["number"] - number) < 1e-6]


def pieces(found: Figures, route: str, kind: str) -> list[dict[str, Any]]:
    return [piece for piece in found["routes"][route]["pieces"] if piece["kind"] == kind]


FROGS = [
    ("frog: 6", angle(6)),
    ("frog: 4.5", angle(4.5)),
    ("frog_ratio: 1:7", math.atan(1 / 7)),
    ("frog_angle: 8 deg", math.radians(8)),
]
POINTS = ["", ", points: {length: 60 mm, spread: 2.5 mm, tip: 0.2 mm}"]


@pytest.mark.parametrize("points", POINTS)
@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize(("frog", "f"), FROGS)
def test_the_frogs_of_a_crossover_on_straight_tracks(frog: str, f: float, hand: str, points: str) -> None:
    """Derived: the rails that make the two points lie g apart across the link, and s - g apart across the tracks.

    With u along the link, (d cos F - g sin F, d sin F + g cos F) is the way from point to point; the second is s - g,
    so that along the tracks it is (s - g)/tan F - g/sin F. It does not depend on the points.
    """
    s = 54.0
    found = figures(f"crossover: {{spacing: {s:g} mm, {frog}, hand: {hand}{points}}}")
    first, second = of_kind(found, "V")
    along = (s - HO) / math.tan(f) - HO / math.sin(f)
    assert second["x_mm"] - first["x_mm"] == pytest.approx(along, abs=1e-6)
    assert abs(second["y_mm"] - first["y_mm"]) == pytest.approx(s - HO, abs=1e-9)
    assert [math.radians(v["angle_deg"]) for v in (first, second)] == pytest.approx([f, f], abs=1e-9)


def test_a_crossover_of_a_given_length() -> None:
    """Derived: from tip to tip L = 2 lead + (s - g)/tan F - g/sin F; solved for F by mpmath."""
    found = figures("crossover: {spacing: 52 mm, frog: open, length: 450 mm, hand: left}")

    def length(f: Any) -> Any:
        k = 2.5 * HEAD / (2 * mpmath.sin(f / 2))
        outer = (HO - k * mpmath.sin(f)) / (1 - mpmath.cos(f))
        return 2 * (outer * mpmath.sin(f) + k * mpmath.cos(f)) + (52 - HO) / mpmath.tan(f) - HO / mpmath.sin(f) - 450

    f = float(mpmath.findroot(length, 0.17))
    assert [math.radians(v["angle_deg"]) for v in of_kind(found, "V")] == pytest.approx([f, f], abs=1e-9)


@pytest.mark.parametrize(("hand", "ratio"), [("left", 748 / 800), ("right", 852 / 800)])
def test_a_curved_crossover_ends_tangent_on_the_second_circle(hand: str, ratio: float) -> None:
    """Both tracks are circles about (0, 800): the link, its pieces strung together anew, ends on the second, square to
    its radius. The points lie on the circles of the faces that make them.
    """
    found = figures(f"crossover: {{spacing: 52 mm, frog: 6, hand: {hand}, main: {{radius: 800 mm, turn: left}}}}")
    centre, side = complex(0, 800), 1 if hand == "left" else -1
    start = found["routes"]["crossover"]["pieces"][0]["start"]
    at, heading = complex(start["x_mm"], start["y_mm"]), cmath.exp(1j * math.radians(start["heading_deg"]))
    for piece in found["routes"]["crossover"]["pieces"]:
        length, radius = piece["length_mm"], piece["radius_mm"]
        if radius is None:
            at += heading * length
        else:
            turn = cmath.exp(1j * length / radius)
            at += heading * 1j * radius * (1 - turn)
            heading *= turn
    assert abs(at - centre) == pytest.approx(800 * ratio, abs=1e-6)
    assert abs(((at - centre) / abs(at - centre) / heading).real) < 1e-9
    first, second = (complex(v["x_mm"], v["y_mm"]) for v in of_kind(found, "V", 6))
    assert abs(first - centre) == pytest.approx(800 - side * HO / 2, abs=1e-6)
    assert abs(second - centre) == pytest.approx(800 * ratio + side * HO / 2, abs=1e-6)


def test_the_diamond_of_a_double_crossover() -> None:
    """Derived: the links cross at 2F midway between the tracks; a diamond of that angle is g/sin F long."""
    found = figures("double_crossover: {spacing: 60 mm, frog: 6, hand: right}")
    number = 1 / (2 * math.tan(angle(6)))
    ends, knuckles = of_kind(found, "V", number), of_kind(found, "K", number)
    assert len(of_kind(found, "V", 6)) == 4 and len(ends) == len(knuckles) == 2
    assert [v["y_mm"] for v in ends] == pytest.approx([-30, -30], abs=1e-6)
    assert abs(ends[0]["x_mm"] - ends[1]["x_mm"]) == pytest.approx(HO / math.sin(angle(6)), abs=1e-6)
    assert abs(knuckles[0]["y_mm"] - knuckles[1]["y_mm"]) == pytest.approx(HO / math.cos(angle(6)), abs=1e-6)


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize(("hand", "side"), [("left", 1), ("right", -1)])
def test_a_passing_siding_stands_at_its_spacing(hand: str, side: int, unit: str) -> None:
    """The standing track lies at the spacing, 1e-4 mm being what a computed length is written to.

    Derived: behind each frog the way to it takes S cos F + R sin F along the main, with S sin F + R (1 - cos F) =
    s - g/2 (1 + cos F); the frog's foot lies lead - g/2 sin F from the tip.
    """
    siding = f"passing_siding: {{spacing: 52 mm, frog: 6, hand: {hand}, length: 700 mm, radius: 800 mm}}"
    found = figures(siding, unit=unit)
    standing = next(piece for piece in pieces(found, "siding", "straight") if abs(piece["length_mm"] - 700) < 1e-9)
    assert standing["start"]["y_mm"] == pytest.approx(side * 52, abs=2e-4)
    assert standing["start"]["heading_deg"] == pytest.approx(0, abs=1e-6)
    f, radius = angle(6), 800
    straight = (52 - HO / 2 * (1 + math.cos(f)) - radius * (1 - math.cos(f))) / math.sin(f)
    lead = (closure(f) + HO / 2) * math.sin(f) + toe(f) * math.cos(f)
    aside = lead - HO / 2 * math.sin(f) + straight * math.cos(f) + radius * math.sin(f)
    first, second = sorted(s["station_mm"] for s in found["switches"])
    assert second - first == pytest.approx(2 * aside + 700, abs=2e-3)


def test_the_angles_and_spacing_of_a_ladder() -> None:
    """Derived: the lead runs at F; its switches follow s/sin F apart; the tracks lie k s from the main."""
    found = figures("ladder: {tracks: 5, spacing: 50 mm, frog: 6, hand: left}")
    lead = found["routes"]["lead"]["end"]["heading_deg"]
    assert lead == pytest.approx(math.degrees(angle(6)), abs=1e-9)
    tips = [switch(found, f"track {k}")["station_mm"] for k in range(1, 6)]
    apart = [b - a for a, b in pairwise(tips)]
    assert apart == pytest.approx([50 / math.sin(angle(6))] * 4, abs=1e-6)
    for k in range(1, 6):
        start = found["routes"][f"track {k}"]["pieces"][0]["start"]
        assert (start["y_mm"], abs(start["heading_deg"])) == pytest.approx((50 * k, 180), abs=1e-9)
    assert [frog["number"] for frog in found["frogs"]] == pytest.approx([6] * 6, abs=1e-6)


def test_a_ladder_of_unlike_frogs() -> None:
    found = figures("ladder: {tracks: 3, spacing: 52 mm, frog: 6, frogs: [8, 6, 5], hand: right, radius: 700 mm}")
    assert [frog["number"] for frog in found["frogs"]] == pytest.approx([6, 8, 6, 5], abs=1e-6)
    turned = {name: [p["radius_mm"] for p in pieces(found, name, "arc")] for name in ("track 1", "track 2", "track 3")}
    # The lead heads F to the right of the main. A track behind a flatter frog still heads to the right and turns left;
    # run from its far end that is a turn to the right. Behind a sharper frog it is the contrary.
    assert (turned["track 1"][0], turned["track 3"][0]) == pytest.approx((-700, 700))
    assert len(turned["track 2"]) == 1


@pytest.mark.parametrize("frogs", ["[6, 5, 5, 4]", "[6, 6, 6, 3.5]", "[4, 6, 6, 9]"])
def test_the_lead_of_a_ladder_reaches_behind_its_last_frog(frogs: str) -> None:
    """A sharper frog than the lead's sends its track back toward the main, so that it lies further along the lead."""
    found = figures(f"ladder: {{tracks: 4, spacing: 50 mm, frog: 6, frogs: {frogs}, hand: right, length: 300 mm}}")
    last = found["frogs"][-1]
    assert [face["route"] for face in last["faces"]] == ["lead", "track 4"]
    asked = [6, *(float(number) for number in frogs.strip("[]").split(","))]
    assert [frog["number"] for frog in found["frogs"]] == pytest.approx(asked, abs=1e-6)
    behind = found["routes"]["lead"]["length_mm"] - last["stations_mm"]["lead"]
    heel = 2 * toe(math.radians(last["angle_deg"]))  # more than one toe: common practice, no source
    assert heel / 2 < behind < heel + 60  # plain track behind it, and rounding up
    assert pieces(found, "track 4", "straight")[0]["length_mm"] >= 300


def test_the_angles_of_a_wye_of_circles() -> None:
    """Derived: each leg turns through 90 deg, so the four right angles of the triangle's outline close; on the main,
    faces of radius R + g/2 and the straight R - g/2 below the centre meet at cos F = (R - g/2)/(R + g/2); at the tail
    two faces R + g/2 cross on the axis, each at cos A = R/(R + g/2).
    """
    radius = 600.0
    found = figures("wye: {radius: 600 mm, hand: right}")
    for leg in ("west", "east"):
        (arc,) = pieces(found, leg, "arc")
        assert abs(arc["length_mm"] / arc["radius_mm"]) == pytest.approx(math.pi / 2, abs=1e-9)
    tips = sorted(s["station_mm"] for s in found["switches"] if s["main"] == "main")
    assert tips[1] - tips[0] == pytest.approx(2 * radius, abs=1e-6)
    main = math.acos((radius - HO / 2) / (radius + HO / 2))
    tail = 2 * math.acos(radius / (radius + HO / 2))
    assert sorted(math.radians(f["angle_deg"]) for f in found["frogs"]) == pytest.approx(
        sorted([main, main, tail]), abs=1e-9
    )


def test_the_legs_of_a_wye_with_frogs_are_mirror_images() -> None:
    """Derived: a leg turns through 90 deg less F in its curve, and through F at the frog: the headings close."""
    found = figures("wye: {frog: 6, radius: 600 mm, hand: left}")
    turned = []
    for leg in ("west", "east"):
        turned.append([p["length_mm"] / p["radius_mm"] for p in pieces(found, leg, "arc")])
    assert turned[0] == pytest.approx([-a for a in turned[1]], abs=1e-9)
    curve, closing = (abs(a) for a in turned[0])
    assert curve + closing == pytest.approx(math.pi / 2, abs=1e-9)
    assert closing == pytest.approx(angle(6), abs=1e-9)
    assert len(of_kind(found, "V", 6)) == 2 and len(found["switches"]) == 3


def test_the_middle_frog_of_a_three_way_turnout() -> None:
    """Derived: the inner faces of the branches, circles of R + g/2 about (0, R) and (0, -R), cross on the main's centre
    line, each at cos A = R/(R + g/2), at (R + g/2) sin A from the tip.
    """
    found = figures("three_way: {frog: 6, hand: left}")
    radius = closure(angle(6))
    half = math.acos(radius / (radius + HO / 2))
    (middle,) = [frog for frog in found["frogs"] if abs(frog["y_mm"]) < 1e-6]
    tip = found["switches"][0]["station_mm"]
    assert middle["x_mm"] - tip == pytest.approx((radius + HO / 2) * math.sin(half), abs=1e-6)
    assert math.radians(middle["angle_deg"]) == pytest.approx(2 * half, abs=1e-9)


def test_the_middle_frog_of_a_staggered_three_way_turnout() -> None:
    """The faces of the two branches, circles about (0, R) and (40, -r) from the first tip, by mpmath."""
    found = figures(
        "three_way: {left: {frog: 6}, right: {radius: 700 mm, through: curved}, stagger: 40 mm, hand: left}"
    )
    left, right = closure(angle(6)), 700.0

    def faces(x: Any, y: Any) -> tuple[Any, Any]:
        first = x**2 + (y - left) ** 2 - (left + HO / 2) ** 2
        return first, (x - 40) ** 2 + (y + right) ** 2 - (right + HO / 2) ** 2

    x, y = mpmath.findroot(faces, (150, 2))
    tip = switch(found, "left")["station_mm"]
    assert switch(found, "right")["station_mm"] == pytest.approx(tip + 40, abs=1e-9)
    near = min(found["frogs"], key=lambda frog: math.hypot(frog["x_mm"] - tip - float(x), frog["y_mm"] - float(y)))
    assert (near["x_mm"] - tip, near["y_mm"]) == pytest.approx((float(x), float(y)), abs=1e-6)


def line(start: dict[str, float], length: float, offset: float) -> LineString:
    """Return the straight beside a route that starts at `start`."""
    h = math.radians(start["heading_deg"])
    x, y = start["x_mm"] - offset * math.sin(h), start["y_mm"] + offset * math.cos(h)
    return LineString([(x, y), (x + length * math.cos(h), y + length * math.sin(h))])


@pytest.mark.parametrize(
    "slip", ["frog: 6, tips: inside", "frog: 5, tips: outside", "frog_angle: 10 deg, radius: 900 mm"]
)
def test_a_slip_road_touches_both_tracks(slip: str) -> None:
    """By shapely: the circle of each slip road keeps its radius from the centre lines of both tracks."""
    found = figures(f"slip: {{{slip}, hand: left}}")
    routes = found["routes"]
    for road in ("slip", "other slip"):
        (arc,) = routes[road]["pieces"]
        radius, start = arc["radius_mm"], arc["start"]
        h = math.radians(start["heading_deg"])
        centre = Point(start["x_mm"] - radius * math.sin(h), start["y_mm"] + radius * math.cos(h))
        for track in ("main", "second"):
            (piece,) = routes[track]["pieces"]
            far = line(piece["start"], piece["length_mm"], 0.0)
            assert far.distance(centre) == pytest.approx(abs(radius), abs=1e-5)
        if "radius" in slip:
            assert abs(radius) == pytest.approx(900, abs=5e-3)  # tips are written to 1e-4 mm


def test_the_frogs_of_an_outside_slip() -> None:
    """By shapely: besides the diamond's four, the outer face of the slip road cuts the far face of either track.

    The circle is a polygon of 400 000 sides: its sagitta is below 1e-7 mm.
    """
    found = figures("slip: {frog: 5, tips: outside, sides: single, hand: left}")
    routes = found["routes"]
    (arc,) = routes["slip"]["pieces"]
    radius, start = arc["radius_mm"], arc["start"]
    centre = Point(start["x_mm"], start["y_mm"] + radius)
    assert start["heading_deg"] == pytest.approx(0, abs=1e-9) and radius > 0
    expected = []
    for track, offset in (("main", HO / 2), ("second", HO / 2)):
        (piece,) = routes[track]["pieces"]
        face = line(piece["start"], piece["length_mm"], offset)
        circle = centre.buffer(radius + HO / 2, quad_segs=100_000).exterior
        cuts = circle.intersection(face)
        expected += [tuple(cut.coords[0]) for cut in getattr(cuts, "geoms", [cuts])]
    others = [(f["x_mm"], f["y_mm"]) for f in found["frogs"] if abs(f["number"] - 5) > 1e-6]
    assert len(others) == 2
    for x, y in others:
        assert min(math.hypot(x - a, y - b) for a, b in expected) < 1e-4


@pytest.mark.parametrize(("said", "f"), [("frog: 4", angle(4)), ("frog_angle: 90 deg", math.pi / 2)])
def test_the_diagonals_of_a_straight_diamond(said: str, f: float) -> None:
    """Derived: four faces make a rhombus of height g, with diagonals g/sin(F/2) and g/cos(F/2)."""
    places = [complex(v["x_mm"], v["y_mm"]) for v in figures(f"diamond: {{{said}, hand: left}}")["frogs"]]
    assert len(places) == 4
    apart = sorted(abs(a - b) for k, a in enumerate(places) for b in places[:k])
    diagonals = sorted([HO / math.sin(f / 2), HO / math.cos(f / 2)])
    assert apart[-1] == pytest.approx(diagonals[1], abs=1e-6)
    assert min(abs(a - diagonals[0]) for a in apart) < 1e-6


def test_the_frogs_of_a_curved_diamond_lie_on_their_circles() -> None:
    found = figures(
        "diamond: {frog_angle: 35 deg, hand: right, main: {radius: 900 mm, turn: left}, "
        "second: {radius: 600 mm, turn: right}}"
    )
    assert len(found["frogs"]) == 4
    for track in ("main", "second"):
        (arc,) = found["routes"][track]["pieces"]
        h = cmath.exp(1j * math.radians(arc["start"]["heading_deg"]))
        centre = complex(arc["start"]["x_mm"], arc["start"]["y_mm"]) + 1j * h * arc["radius_mm"]
        for frog in found["frogs"]:
            away = abs(complex(frog["x_mm"], frog["y_mm"]) - centre) - abs(arc["radius_mm"])
            assert abs(away) == pytest.approx(HO / 2, abs=1e-6)


def test_the_frogs_of_a_gauntlet() -> None:
    """Derived: the second track's near face crosses the main's where its centre line lies g beside the main's: L/2 +
    R sin F + (g - o - R (1 - cos F))/tan F from the middle, less g/2 sin F for the foot, at the angle F.
    """
    found = figures("gauntlet: {spacing: 60 mm, offset: 4 mm, length: 300 mm, frog: 6, hand: left, radius: 700 mm}")
    f, bend = angle(6), 700 * (1 - math.cos(angle(6)))
    # The face that crosses lies g/2 (right) of the centre line: at height y it is met where the centre line is at
    # y + g/2 cos F, and g/2 sin F further out; y = g/2.
    rise = HO / 2 + HO / 2 * math.cos(f) - 4 - bend
    half = 150 + 700 * math.sin(f) + rise / math.tan(f) + HO / 2 * math.sin(f)
    first, second = of_kind(found, "V", 6)
    assert abs(second["x_mm"] - first["x_mm"]) == pytest.approx(2 * half, abs=1e-3)
    assert [finding["rule"] for finding in found["findings"]] == []


TWO_GAUGES = "gauges: {standard: HO, narrow: HOn3}\n"


@pytest.mark.parametrize("rail", ["left", "right"])
@pytest.mark.parametrize(
    ("formation", "kinds"),
    [
        ("crossover: {spacing: 54 mm, frog: 6, hand: right", "KKVVVV"),
        ("passing_siding: {spacing: 54 mm, frog: 6, hand: left, length: 400 mm", "KKVVVV"),
        ("ladder: {tracks: 2, spacing: 54 mm, frog: 6, hand: left", "KKKVVVVVV"),
        ("diamond: {frog: 4, hand: left", "KKKKKVVVV"),
        ("wye: {radius: 600 mm, hand: left, gauges: [narrow]", None),
    ],
)
def test_formations_in_two_gauges(formation: str, kinds: str | None, rail: str) -> None:
    """Each turnout of both gauges has K V V, as in the design's table of what two gauges yield.

    A triangle's legs take one gauge alone: leaving toward the common rail that makes V, away from it K V V, and both
    legs leave to the same side of the main; the tail has one V.
    """
    found = figures(f"{formation}, common_rail: {rail}}}", TWO_GAUGES)
    if kinds is None:
        kinds = "VVV" if rail == "left" else "KKVVVVV"
    assert "".join(sorted(frog["kind"] for frog in found["frogs"])) == kinds


@pytest.mark.parametrize("rail", ["left", "right"])
def test_a_common_rail_changes_its_side(rail: str) -> None:
    """Derived: with the gauges G and g, the narrow one's centre line comes from (G - g)/2 on one side of the wide one's
    to (G - g)/2 on the other; between two curves of R that turn by A, 2 R (1 - cos A) + s sin A = G - g and
    2 R sin A + s cos A = L. No rails cross; one point moves at either end.
    """
    found = figures(f"side_change: {{radius: 600 mm, length: 160 mm, common_rail: {rail}}}", TWO_GAUGES)
    across, side = HO - 10.4902, 1 if rail == "left" else -1

    def ends(a: Any, straight: Any) -> tuple[Any, Any]:
        return (
            1200 * (1 - mpmath.cos(a)) + straight * mpmath.sin(a) - across,
            1200 * mpmath.sin(a) + straight * mpmath.cos(a) - 160,
        )

    a, straight = mpmath.findroot(ends, (0.05, 80))
    lengths = [piece["length_mm"] for piece in found["routes"]["narrow"]["pieces"]]
    assert lengths == pytest.approx([float(600 * a), float(straight), float(600 * a)], abs=1e-6)
    assert found["routes"]["narrow"]["pieces"][0]["start"]["y_mm"] == pytest.approx(side * across / 2, abs=1e-9)
    assert found["routes"]["narrow"]["end"]["y_mm"] == pytest.approx(-side * across / 2, abs=1e-7)
    assert found["frogs"] == [] and [s["points"] for s in found["switches"]] == [1, 1]


def sample(name: str) -> Figures:
    (path,) = FOLDER.glob(f"{name}-*.yaml")
    return measure_file(path)


def rules(found: Figures) -> set[str]:
    return {finding["rule"] for finding in found["findings"]}


def test_the_samples_are_what_their_comments_say() -> None:
    crossover, two_gauges = sample("16"), sample("17")
    assert len(crossover["switches"]) == len(crossover["frogs"]) == 2
    assert len(two_gauges["frogs"]) == 6 and [s["points"] for s in two_gauges["switches"]] == [3, 3]
    double = sample("18")
    assert max(frog["angle_deg"] for frog in double["frogs"]) == pytest.approx(2 * math.degrees(angle(6)), abs=1e-6)
    assert any(piece["length_mm"] == pytest.approx(18 * 25.4) for piece in pieces(sample("19"), "siding", "straight"))
    assert [frog["number"] for frog in sample("20")["frogs"]] == pytest.approx([5, 5, 5, 4], abs=1e-6)
    triangle = sample("21")
    assert {f["gauge"] for frog in triangle["frogs"] for f in frog["faces"] if f["route"] != "main"} == {"narrow"}
    assert len(sample("22")["switches"]) == 2 and "points-together" in rules(sample("22"))
    assert len(sample("23")["switches"]) == 2 and "points-together" not in rules(sample("23"))
    assert len(sample("24")["frogs"]) == 4 and len(sample("25")["frogs"]) == 6
    assert len({round(frog["angle_deg"], 3) for frog in sample("26")["frogs"]}) == 4
    assert sample("27")["switches"] == [] and sample("28")["frogs"] == []


@pytest.mark.parametrize("frogs", ["[6, 5, 8]", "[6, 4.5, 6]", "[8, 6, 5]"])
def test_the_least_spacing_of_a_ladder_is_enough_and_a_little_less_is_not(frogs: str) -> None:
    """At it, each switch of the lead begins where the frog of the one before lies: on the lead, tip on frog."""
    line = f"ladder: {{tracks: 3, spacing: %s mm, frog: 6, frogs: {frogs}, hand: right}}"
    with pytest.raises(InputProblems) as refused:
        figures(line % 20)
    least = float(re.findall(r"the tracks need ([0-9.]+) mm", str(refused.value))[0])
    with pytest.raises(InputProblems):
        figures(line % (least - 0.2))
    found = figures(line % (least + 0.1))
    switches = sorted((s["station_mm"], s["id"]) for s in found["switches"] if s["main"] == "lead")
    ends = {f["switch"]: f["stations_mm"]["lead"] for f in found["frogs"] if "lead" in f["stations_mm"]}
    gaps = [tip - ends[name] for (_, name), (tip, _) in pairwise(switches)]
    gaps.append(switches[0][0] - next(f["stations_mm"]["lead"] for f in found["frogs"] if "main" in f["stations_mm"]))
    assert -0.1 < min(gaps) < 2.5
    assert not [f for f in found["findings"] if f["rule"] == "crossing-incomplete"]
