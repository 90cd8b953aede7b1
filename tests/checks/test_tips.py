"""Points whose tips lie in, at or behind a frog of another turnout of the same main."""

from __future__ import annotations

from functools import cache

import pytest
from trackwork.building import job, spec

from turnout_templates.checks.finding import Finding
from turnout_templates.pipeline import Job, measure

FIRST = "one: {leaves: main, at: 60, hand: right, path: [{frog: 6}, {straight: 60}]}"


@cache
def laid(at: float) -> Job:
    """Return a No. 6 to the right of a straight main, and one to the left of it that leaves at a station."""
    second = f"two: {{leaves: main, at: {at}, hand: left, path: [{{frog: 6}}, {{straight: 60}}]}}"
    return job(spec(f"main: {{path: [straight: 700]}}\n{FIRST}\n{second}"))


def tips(at: float) -> list[Finding]:
    """Return what is said of the tips of the second one."""
    return [found for found in laid(at).findings if found.rule.startswith("tip-")]


@cache
def gap() -> tuple[float, float, float]:
    """Return where the first frog breaks the main's right rail, where that is whole again, and the tip behind `at`."""
    figures = measure(laid(400))
    (frog,) = [f for f in figures["frogs"] if {x["route"] for x in f["faces"]} == {"main", "one"}]
    (nose,) = [n["station_mm"] for n in frog["noses"] if n["route"] == "main"]
    (point,) = [e for e in frog["filing"] if e["face"]["route"] == "main" and e["what"] in ("point", "spliced")]
    (tip,) = [p for s in figures["switches"] for p in s["point_rails"] if p["route"] == "two"]
    return nose, point["to_mm"], tip["tip"]["x_mm"] - 400


def test_a_tip_in_the_gap_of_a_frog_is_told() -> None:
    nose, _, tip = gap()
    at = nose + 2.0 - tip
    (found,) = tips(at)
    assert (found.rule, found.where[:2]) == ("tip-missing", "S2")
    # The gap on a straight main of a No. 6: from a flangeway square to the other face before the crossing to where
    # the point is as wide as the frog is blunt.
    figures = measure(laid(at))
    (bar,) = [b for b in figures["rails"] if b["role"] == "point and closure rail" and b["pieces"][0]["route"] == "two"]
    begun = bar["pieces"][0]["start"]["x_mm"]
    assert found.measured.sizes == pytest.approx((begun - at - tip,), abs=0.01)
    assert begun > at + tip + 4.0
    # The bar is moved on to where all points lie over it.
    second = figures["switches"][1]
    assert len(second["throw_bar"]["spots"]) == second["points"] and found.level == "warning"
    assert second["throw_bar_station_mm"] > begun


def test_a_tip_beside_a_filed_rail_is_told() -> None:
    _, whole, tip = gap()
    (found,) = tips(whole - 5.0 - tip)
    assert found.rule == "tip-unbacked" and "main standard right" in str(found.measured)


def test_a_tip_beside_whole_rail_is_not() -> None:
    nose, whole, tip = gap()
    assert tips(whole + 0.5 - tip) == []
    assert tips(nose - 25.0 - tip) == []


def test_a_frog_before_the_tip_is_told_once() -> None:
    """A second branch to the same side that leaves 1 mm before the first one's frog; and 40 mm behind it."""
    (frog,) = job(spec(f"main: {{path: [straight: 700]}}\n{FIRST}")).trackwork.frogs
    for behind, count in ((-1.0, 1), (40.0, 0)):
        second = f"two: {{leaves: main, at: {frog.s + behind}, hand: right, path: [{{frog: 8}}, {{straight: 60}}]}}"
        work = job(spec(f"main: {{path: [straight: 700]}}\n{FIRST}\n{second}"))
        found = [one for one in work.findings if one.rule == "frog-before-tip"]
        assert len(found) == count
        for one in found:
            switch = work.trackwork.switches[1]
            assert one.measured.sizes == pytest.approx((switch.filed_station - frog.s,), abs=0.05)
