"""Switches: where points begin, how far they are thrown, and what throw would keep wheels off them."""

from __future__ import annotations

import math

import pytest
from trackwork.building import TWO_GAUGES, built, job, plain, spec, station_beside, two_gauge
from trackwork.sites import SITES

from turnout_templates.trackwork.points.opening_laws import least_opening, moved_share, throw_to_hold

WANTED = (0.649 - 0.588) * 25.4
"""Gauge less point spread of HO in NMRA S-3.2 (2010), read: G 0.649, P 0.588 in."""


@pytest.mark.parametrize("points", ["tangent", "{length: 45, spread: 2.2, tip: 0.15}"])
def test_the_default_throw_opens_the_filed_tip_by_gauge_less_point_spread(points: str) -> None:
    (switch,) = built(plain(6, points=points)).switches
    bar = switch.outer.tip + switch.bar_station - switch.filed_station
    # Between the bar and its tip nothing bends a point: the tip moves by D times the share there.
    # Sprung, it is held before the knuckle (a flangeway before the point) by 1.1 tie spaces, a tie and a gap.
    ties = built(plain(6, points=points)).spec.ties
    room = 1.1 * max(ties.spacing, ties.switch_spacing) + ties.switch_width + 1.25 * 0.889
    knuckle = 184.04 - 0.048 * 25.4 / math.sin(2 * math.atan(1 / 12))
    fix = switch.outer.heel if points != "tangent" else knuckle - room
    x = (switch.outer.tip - bar) / (fix - bar)
    share = 1 - x if points != "tangent" else 1 - 1.5 * x
    assert share > 1
    assert switch.throw * share == pytest.approx(WANTED, abs=5e-4)
    assert switch.throw < WANTED


def test_a_throw_of_the_spec_is_taken_as_it_is() -> None:
    assert built(plain(), throw="1.8 mm").switches[0].throw == 1.8


def test_the_throw_that_holds_the_opening_holds_it() -> None:
    ((switch, made),) = built(plain()).works()
    assert switch.least_opening < WANTED
    assert made.throw_to_hold is not None and made.throw_to_hold > switch.throw
    ((_, held),) = built(plain(), throw=f"{made.throw_to_hold:.9f} mm").works()
    assert min(point.opening.least for point in held.points) == pytest.approx(WANTED, abs=1e-6)


def test_no_throw_holds_a_planed_point_whose_heel_spreads_too_little() -> None:
    """At its heel, 2.2 mm from the stock rail's face, a head of 0.889 leaves 1.31 mm, less than 1.55, at any throw."""
    ((_, made),) = built(plain(points="{length: 45, spread: 2.2, tip: 0.15}")).works()
    assert made.throw_to_hold is None


def test_throws_by_hand() -> None:
    """A rigid point 100 mm long whose faces part evenly, 0.02 mm a mm, held at 100 by a head of 1 mm."""
    stations = [float(s) for s in range(101)]
    apart = [0.02 * s for s in stations]
    keys = {"bar": 0.0, "fix": 100.0, "head": 1.0, "bent": False}
    # Opening D(1 - s/100) + max(0, s/50 - 1): at D = 1.5 it falls to 0.75 at 50 and rises to 1 at 100.
    assert least_opening(stations, apart, throw=1.5, **keys) == pytest.approx((0.75, 50.0))  # type: ignore[arg-type]
    # To hold 0.9: at s = 50, D/2 = 0.9; at 100, 1 > 0.9 whatever D is.
    assert throw_to_hold(0.9, stations, apart, **keys) == pytest.approx(1.8)  # type: ignore[arg-type]
    assert throw_to_hold(1.01, stations, apart, **keys) is None  # type: ignore[arg-type]
    # Bent from the fixed end: half way the share is 1 - 0.75 + 0.0625.
    assert moved_share(50.0, bar=0.0, fix=100.0, bent=True) == pytest.approx(0.3125)
    # Before the load it goes on straight, at the slope that it has there.
    assert moved_share(-20.0, bar=0.0, fix=100.0, bent=True) == pytest.approx(1.3)
    assert moved_share(120.0, bar=0.0, fix=100.0, bent=True) == 0.0
    assert moved_share(5.0, bar=3.0, fix=3.0, bent=False) == 1.0


@pytest.mark.parametrize("hand", ["left", "right"])
def test_heads_full_and_clear_on_a_plain_turnout(hand: str) -> None:
    """On straight main faces part by s^2/2R nearly: tip 0.1, head 0.889, clear head + flangeway 0.048 in."""
    work = built(plain(6, hand))
    (switch,) = work.switches
    outer = switch.outer
    path = work.layout.route("branch").path
    # R sin(s/R0) along the main on the outer face: y = R (1 - cos(s/R0)).
    r0 = 1 / abs(path.pieces[0].from_curvature)
    r = r0 + work.spec.gauges["standard"].width / 2
    for station, y in ((outer.tip, 0.1), (outer.full_head, 0.889), (outer.clear, 0.889 + 0.048 * 25.4)):
        assert r * (1 - math.cos(station / r0)) == pytest.approx(y, abs=1e-6)
    assert outer.heel == outer.clear
    assert outer.owner.route == "branch" and outer.owner.face.hand != hand


def test_straight_points_part_by_their_spread_at_their_heel() -> None:
    (switch,) = built(plain(6, points="{length: 45, spread: 2.2, tip: 0.15}")).switches
    work = built(plain(6, points="{length: 45, spread: 2.2, tip: 0.15}"))
    assert switch.outer.heel - switch.outer.tip == pytest.approx(45.0, rel=0.002)
    path = work.layout.route("branch").path
    for station, y in ((switch.outer.tip, 0.15), (switch.outer.heel, 2.2)):
        place = path.point_at(station, switch.outer.owner.face.offset)
        assert place[1] + work.spec.gauges["standard"].width / 2 == pytest.approx(y, abs=1e-9)
    assert station_beside(work, "main", switch.outer.owner, switch.outer.tip) == pytest.approx(60.0, abs=1e-9)


MAIN = "main: {path: [straight: 90]}\n"
LEFT = "left: {leaves: main, at: end, path: [{curve: {radius: 600, turn: left, length: 260}}]}\n"
GENTLE = "gentle: {leaves: main, at: end, path: [{curve: {radius: 3000, turn: left, length: 260}}]}\n"
AHEAD = "ahead: {leaves: main, at: end, path: [{straight: 260}]}\n"
SOLVED = "solved: {leaves: main, at: end, hand: left, path: [{frog: 6}, {straight: 60}]}\n"


@pytest.mark.parametrize(
    ("routes", "hand"),
    [
        (MAIN + LEFT + GENTLE, "right"),
        (MAIN + GENTLE + LEFT, "left"),
        (MAIN + LEFT + AHEAD, "right"),
        (MAIN + AHEAD + LEFT, "left"),
        (MAIN + SOLVED + AHEAD, "right"),
        (MAIN + SOLVED + GENTLE, "right"),
        (MAIN + GENTLE + SOLVED, "left"),
    ],
)
def test_where_a_main_ends_the_hand_is_that_of_the_second_branch_against_the_first(routes: str, hand: str) -> None:
    (switch,) = built(routes).switches
    assert switch.hand == hand
    branch = switch.onward[1]
    stock = {"left": "right", "right": "left"}[hand]
    # The branch's rail on the side that it leaves to is stock, the other's a point behind it.
    behind = {(p.owner.route, p.owner.face.hand): p.outside[0].route for p in switch.points}
    assert behind == {(switch.onward[0], hand): branch, (branch, stock): switch.onward[0]}


@pytest.mark.parametrize("points", ["{length: 45, spread: 2.2, tip: 0}", "{entry: 1.5 deg}", "{stub: 2.2, length: 60}"])
def test_of_two_branches_that_bend_away_each_has_its_outer_rail_as_stock(points: str) -> None:
    """Their rails cross within a millimetre of the bends, which is no parting to the other side."""
    routes = (
        SITES["wye"][0].replace("frog: 5", "frog: 6").replace(", path: [{frog", f", points: {points}, path: [{{frog")
    )
    (switch,) = built(routes).switches
    behind = {(p.owner.route, p.owner.face.hand): p.outside[0].route for p in switch.points if p.outside}
    assert behind == {("left", "right"): "right", ("right", "left"): "left"}
    assert not [finding for finding in job(spec(routes)).findings if finding.level == "error"]


@pytest.mark.parametrize("name", SITES)
def test_the_filed_tip_lies_beside_the_point(name: str) -> None:
    routes, keys = SITES[name]
    work = built(routes, **keys)
    for switch in work.switches:
        if not switch.parting:
            assert station_beside(work, switch.parent, switch.outer.owner, switch.outer.tip) == pytest.approx(
                switch.filed_station, abs=1e-6
            )
        # Straight points on a curve are laid out along the face: good to a ten-thousandth.
        assert switch.station - 1e-3 <= switch.filed_station
        if switch.bar_station is not None:
            assert (switch.filed_station <= switch.bar_station) == (switch.switching == "points")
        for point in switch.points:
            assert point.tip <= point.full_head <= point.heel


@pytest.mark.parametrize("common", ["left", "right"])
def test_a_two_gauge_switch_has_one_throw_for_all_its_points(common: str) -> None:
    (switch,) = built(two_gauge("both", common, "left"), gauges=TWO_GAUGES).switches
    assert len(switch.points) == 3
    assert switch.outer.owner.route == "branch"
    tips = [point.tip for point in switch.points if point.owner.route == "branch"]
    assert max(tips) - min(tips) < 0.2


def test_branches_at_one_place_share_a_switch_whatever_rounding_makes_of_it() -> None:
    """100.1 + 200.2 is not 300.3 in binary: the end of the main and a station written out are still one place."""
    done = job(
        spec(
            """
            main: {path: [{straight: 100.1}, {straight: 200.2}]}
            on: {leaves: main, at: end, path: [{straight: 300}]}
            off: {leaves: main, at: 300.3, hand: left, path: [{frog: 6}, {straight: 60}]}
            """
        )
    )
    (switch,) = done.trackwork.switches
    assert switch.onward == ("on", "off")
    assert done.trackwork.layout.route("off").departure != done.trackwork.layout.route("on").departure
    for name in switch.onward:
        assert switch.end_of(done.trackwork.layout.route(name)) is not None


def test_switches_back_to_back_at_one_station_keep_their_own_branches() -> None:
    work = job(
        spec(
            """
            main: {path: [{straight: 900}]}
            up: {leaves: main, at: 450, hand: left, path: [{frog: 6}, {straight: 60}]}
            back: {leaves: {route: main, at: 450, facing: against}, hand: left, path: [{frog: 6}, {straight: 60}]}
            """
        )
    ).trackwork
    for switch in work.switches:
        theirs = [name for name in ("up", "back") if switch.end_of(work.layout.route(name)) is not None]
        assert theirs == [switch.branch]
