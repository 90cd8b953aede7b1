"""Rails that meet without being meant to: each spec does one thing wrong, and its sound twin next to it does not."""

from __future__ import annotations

import math
from typing import Any

import pytest

from turnout_templates.pipeline import measure_text

HEAD = "spec: 1\nname: meeting\nscale: HO\nroutes:\n"
STRAIGHT = "  a: {path: [straight: 400 mm]}\n"


def findings(routes: str) -> dict[str, str]:
    """Return the level of each rule that the routes trigger."""
    return {found["rule"]: found["level"] for found in measure_text(HEAD + routes)["findings"]}


def beside(distance: str) -> str:
    return STRAIGHT + f"  b: {{start: {{x: 0 mm, y: {distance}, heading: 0 deg}}, path: [straight: 400 mm]}}\n"


LOOP = "  a: {path: [straight: 9 in, curve: {radius: 8 in, turn: left, angle: %s deg}, straight: 9 in]}\n"
BRANCH = (
    STRAIGHT + "  b: {leaves: a, at: 80 mm, hand: %s, path: [curve: {radius: 700 mm, turn: right, length: 250 mm}]}\n"
)
CROSSING = STRAIGHT + "  b: {start: {x: 20 mm, y: -40 mm, heading: 14 deg}, path: [straight: %s mm]}\n"
TWO = STRAIGHT + "  b: {leaves: a, at: 80 mm, hand: left, path: [frog: 6]}\n"
ENDS = STRAIGHT + "  b: {start: {x: 402 mm, y: %s mm, heading: 60 deg}, path: [straight: 200 mm]}\n"
THREE = TWO + "  c: {leaves: a, at: %s mm, hand: right, path: [frog: 5]}\n"


@pytest.mark.parametrize(
    ("rule", "level", "wrong", "sound"),
    [
        # Standard gauge in HO is 16.48 mm: at 16.4 mm apart the inner rails lie in each other's flangeway.
        ("rail-lost", "error", beside("16.4 mm"), beside("30 mm")),
        ("crosses-itself", "error", LOOP % 300, LOOP % 120),
        ("wrong-hand", "error", BRANCH % "left", BRANCH % "right"),
        # A line at 14 degrees from 40 mm below needs 40/sin 14 = 165 mm to the centre, and the gauge beyond.
        ("crossing-incomplete", "warning", CROSSING % 170, CROSSING % 300),
        # A line that begins askew at the end of another: no tie finds room under both. Further off each has its own.
        ("rail-bare", "warning", ENDS % 0, ENDS % 40),
        ("points-together", "warning", THREE % 80, THREE % 180),
    ],
)
def test_a_rule_speaks_of_the_wrong_spec_only(rule: str, level: str, wrong: str, sound: str) -> None:
    assert findings(wrong).get(rule) == level
    assert rule not in findings(sound)


def test_a_throw_that_stops_a_wheel_is_an_error() -> None:
    # Gauge less point spread is (0.649 - 0.588) in = 1.55 mm for HO in NMRA S-3.2 (2010); a quarter of it is 0.39 mm.
    for throw, level in (("0.2 mm", "error"), ("1.5 mm", "warning")):
        routes = HEAD.replace("routes:", f"throw: {throw}\nroutes:") + TWO
        levels = {f["rule"]: f["level"] for f in measure_text(routes)["findings"]}
        assert levels["point-opening"] == level


def steep(degrees: int) -> dict[str, Any]:
    """Return the figures of two straight tracks whose middles cross at (150, 0), over the middle of a tie."""
    x, y = 150 - 130 * math.cos(math.radians(degrees)), -130 * math.sin(math.radians(degrees))
    start = f"{{x: {x:.6f} mm, y: {y:.6f} mm, heading: {degrees} deg}}"
    return measure_text(HEAD + STRAIGHT + f"  b: {{start: {start}, path: [straight: 260 mm]}}\n")


@pytest.mark.parametrize("degrees", [50, 60, 70])
def test_steep_crossings_are_guarded_without_wings_and_joined_by_no_copper(degrees: int) -> None:
    crossing = steep(degrees)
    needs = [need for frog in crossing["frogs"] for need in frog["guarded_by"]]
    assert len(needs) == 8 and len(crossing["guards"]) == 8
    assert not any(need["unguided"] for need in needs)
    assert crossing["wings"] == []
    assert {found["rule"] for found in crossing["findings"]} <= {"copper-gap"}
    assert not [found for found in crossing["findings"] if found["level"] == "error"]


def test_a_square_crossing_has_no_room_for_guards_and_says_so_once_at_each_frog() -> None:
    """Both rails are broken opposite each other: a guard would stand in the very groove that makes the gap."""
    square = steep(90)
    assert square["guards"] == square["wings"] == []
    assert [found["rule"] for found in square["findings"]] == ["frog-unguarded"] * 4
    groove = square["gauges"]["standard"]["flangeway_mm"]
    # The default frog point, 1/2 in in full size (from memory), where each face leans at 45 degrees.
    point = 12.7 / 87.1 / (2 * math.sin(math.radians(45)))
    for frog, found in zip(square["frogs"], square["findings"], strict=True):
        assert found["where"] == f"{frog['id']} ({frog['kind']})" and "smaller angle" in found["remedy"]
        for need in frog["guarded_by"]:
            ((low, high),) = need["unguided"]
            assert high - low == pytest.approx(groove + (point if frog["kind"] == "V" else 0.0), abs=1e-6)
        assert found["measured"].count(f"its whole gap of {high - low:.1f} mm unguided") == 2


def test_a_line_that_runs_over_itself_and_another_is_told_not_choked_on() -> None:
    over = (
        "  b: {start: {x: 100 mm, y: -100 mm, heading: 20 deg}, path: "
        "[straight: 500 mm, curve: {radius: 400 mm, turn: left, angle: 320 deg}, straight: 900 mm]}\n"
    )
    found = findings(STRAIGHT.replace("400 mm", "3000 mm") + over)
    assert found["crosses-itself"] == "error"
    assert "rail-lost" not in found


def test_guards_of_a_diamond_stand_in_no_flangeway() -> None:
    """At No. 4 in O the rails cross right beside the middle of a guard, where they are one for a moment only."""
    text = HEAD.replace("HO", "O").replace("400 mm", "800 mm") + STRAIGHT.replace("400 mm", "800 mm")
    text += "  b: {start: {x: 12.0 mm, y: -96.0 mm, heading: 14.250033 deg}, path: [straight: 780 mm]}\n"
    measured = measure_text(text)
    assert len(measured["frogs"]) == 4
    beside_k = {f["where"].split()[0] for f in measured["findings"] if f["rule"] == "frog-unguarded"}
    kinds = {f["id"]: f["kind"] for f in measured["frogs"]}
    assert {kinds[name] for name in beside_k} == {"K"}
