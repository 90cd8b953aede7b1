"""A lead that is longer than the points make it is spoken of, and what is said to do instead does."""

from __future__ import annotations

import re

import pytest
from trackwork.building import job, spec

from turnout_templates.checks.finding import Finding


def found(routes: str) -> list[Finding]:
    return [finding for finding in job(spec(routes)).findings if finding.rule == "lead-before-points"]


def turnout(lead: float, *, at: float = 60, bend: str = "", points: str = "tangent") -> str:
    path = f"[{{frog: 6, lead: {lead}}}, straight: 60]"
    return f"""main: {{path: [straight: 500]{bend}}}
        branch: {{leaves: main, at: {at}, hand: left, points: {points}, path: {path}}}"""


# HO, code 70: k = 2.5 head/(2 sin(F/2)) = 13.3812 mm, R + g/2 = (g - k sin F)/(1 - cos F) = 1034.47 mm, and the lead
# of tangent points to a No. 6 is (R + g/2) sin F + k cos F = 184.42 mm.
NATURAL = 184.42


@pytest.mark.parametrize("bend", ["", ", bend: {radius: 900, turn: left}", ", bend: {radius: 900, turn: right}"])
def test_a_lead_longer_than_tangent_points_make_it(bend: str) -> None:
    assert found(turnout(NATURAL - 20, bend=bend)) == []
    assert found(turnout(NATURAL, bend=bend)) == []
    (said,) = found(turnout(NATURAL + 20, bend=bend))
    assert (said.level, said.where) == ("warning", '"branch" at S1')
    run, lead = (float(re.findall(r"[0-9.]+(?= mm)", text)[0]) for text in (str(said.measured), str(said.remedy)))
    assert run == pytest.approx(20, abs=0.02)
    assert lead == pytest.approx(NATURAL, abs=0.02)
    assert found(turnout(lead, at=60 + run, bend=bend)) == []


def test_points_with_an_angle_may_have_a_straight_behind_them() -> None:
    assert found(turnout(220, points="{length: 60, spread: 2.2, tip: 0.15}")) == []
    assert found(turnout(220, points="{entry: 1 deg}")) == []


def test_on_a_curve_a_straight_parts_from_it_at_once() -> None:
    routes = turnout(220).replace("straight: 500", "{curve: {radius: 3000, turn: right, length: 500}}")
    assert job(spec(routes)).layout.route("branch").path.pieces[0].kind == "straight"
    assert found(routes) == []


def test_pieces_that_are_written_out_are_meant() -> None:
    routes = turnout(0).replace("{frog: 6, lead: 0}", "{straight: 20}, {frog: 6}")
    assert found(routes) == []


WYE = """stem: {path: [straight: 100]}
    north: {leaves: stem, at: end, hand: left, path: [{frog: 6, lead: @}, straight: 90]}
    south: {leaves: stem, at: end, hand: right, path: [{frog: 6, lead: @}, straight: 90]}"""


def test_the_branches_of_a_wye_too() -> None:
    both = found(WYE.replace("@", "220"))
    assert [finding.where for finding in both] == ['"north" at S1', '"south" at S1']
    assert found(WYE.replace("@", "160")) == []
