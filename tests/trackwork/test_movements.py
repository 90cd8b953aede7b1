"""Which points of one tip move together, how each route is set by them, and where their throw bars lie.

Nothing here asks the program which points belong together: for each route every point must be closed or open as its
rail lies to the rails outside it, and the positions of the switches are tried until they say so.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise, product

import pytest
from trackwork.building import built

from turnout_templates.checks.moving import check_points_apart
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import PointRail

TURN = "{leaves: main, at: %s, hand: %s, gauges: [standard], path: [{frog: %s}, {straight: 100}]}"
ENDED = "{leaves: main, at: end, path: [%s]}"
TIPS = {
    "either side": ("", "main: {path: [straight: 500]}", TURN % (60, "left", 6), TURN % (60, "right", 6)),
    "one side": ("", "main: {path: [straight: 600]}", TURN % (60, "left", 5), TURN % (60, "left", 7)),
    "parting": (
        "",
        "main: {path: [straight: 100]}",
        ENDED % "curve: {radius: 700, turn: left, length: 300}",
        ENDED % "straight: 300",
        ENDED % "curve: {radius: 700, turn: right, length: 300}",
    ),
    "two gauges": (
        "standard: HO, narrow: HOn3",
        "main: {gauges: [standard, narrow], common_rail: left, path: [straight: 600]}",
        TURN % (60, "left", 6),
        (TURN % (60, "right", 7)).replace("standard", "narrow"),
    ),
}


@cache
def laid(name: str) -> Trackwork:
    gauges, main, *branches = TIPS[name]
    routes = "\n".join([f"    {main}", *(f"    {'abc'[i]}: {branch}" for i, branch in enumerate(branches))])
    return built(routes, **({"gauges": gauges} if gauges else {}))


def asked(work: Trackwork, point: PointRail, route: str) -> bool | None:
    """Return whether a point must be closed for a route: its own or that of a point behind it; open for one outside."""
    if any(route == owner.route for owner in point.outside):
        return False
    points = (other for switch in work.switches for other in switch.moving_points)
    behind = {other.owner.route for other in points if point.owner in other.outside}
    return True if route in {point.owner.route, *behind} else None


@pytest.mark.parametrize("name", list(TIPS))
def test_every_route_can_be_set(name: str) -> None:
    """A bar closes one of its two points and opens the other: no route may ask for both or for neither."""
    work = laid(name)
    routes = {route for switch in work.switches for route in switch.onward}
    assert len(work.switches) == len(routes) - 1
    for switch in work.switches:
        assert {point.owner.face.hand for point in switch.moving_points} == {"left", "right"}
        assert len(switch.moving_points) == 2
        for route in routes:
            closed = [asked(work, point, route) for point in switch.moving_points]
            assert None in closed or closed[0] != closed[1], (switch.id, route)
            assert name == "two gauges" or None not in closed


@pytest.mark.parametrize("name", list(TIPS))
def test_each_has_a_bar_between_headblocks_of_its_own(name: str) -> None:
    work = laid(name)
    bars = [made.bar for made in work.switch_works]
    for one, other in pairwise(bars):
        assert one is not None and other is not None
        along = one.pose.local(other.pose.point)[0]
        assert along == pytest.approx(work.spec.ties.switch_spacing, abs=0.01)
    blocks = [tie for tie in work.ties if tie.role == "headblock"]
    assert len(blocks) == len(bars) + 1


@pytest.mark.parametrize("name", list(TIPS))
def test_it_is_told_how_switches_of_one_tip_must_not_stand(name: str) -> None:
    """That is where one point is open and another, which lies behind it, is closed; no route asks for it."""
    work = laid(name)
    pairs = [(a, b) for a, b in product(work.switches, repeat=2) if a.id < b.id]
    told = [finding.remedy.in_units("mm") for finding in check_points_apart(work)]
    assert told and all("never throw" in words and "at least" in words for words in told)
    for first, second in pairs:
        said = {words.split("never throw ")[1].split(",")[0] for words in told if f"{first.id} to" in words}
        for words in said:
            one, other = words.split('"')[1], words.split('"')[3]
            for route in (*first.onward, *second.onward):
                stands = [_stands(work, switch, route) for switch in (first, second)]
                assert stands != [one, other], (name, words, route)


def _stands(work: Trackwork, switch: Switch, route: str) -> str | None:
    """Return to which of its routes a switch stands for a route, as the points of its branch and its lead tell."""
    lead, branch = switch.onward
    for point in switch.moving_points:
        closed = asked(work, point, route)
        if closed is not None and point.owner.route in (lead, branch):
            return branch if (point.owner.route == branch) == closed else lead
    return None
