"""Stub switches: where the toe lies, that everything begins anew there, and that nothing is filed or crosses before."""

from __future__ import annotations

import math
import re

import pytest

from turnout_templates.errors import InputProblems
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace

from .building import TWENTY, TWO_GAUGES, built, job, overlaps, refusal, spec, two_gauge
from .sites import N_KEYS

RADIUS, THROW = 600.0, 2.4
HALF = 0.649 * 25.4 / 2
"""Half the HO gauge of NMRA S-3.2 (2010), read."""


def stub(points: str = f"{{stub: {THROW}}}", hand: str = "left") -> Trackwork:
    curve = f"{{curve: {{radius: {RADIUS}, turn: {hand}, length: 260}}}}"
    return built(f"""
        main: {{path: [straight: 400]}}
        branch: {{leaves: main, at: 60, hand: {hand}, points: {points}, path: [{curve}]}}
    """)


def butt(switch: Switch, route: str, hand: str) -> PointRail:
    (found,) = (p for p in switch.points if (p.owner.route, p.owner.face.hand) == (route, hand))
    return found


def overlaid(work: Trackwork) -> list[tuple[RouteFace, RouteFace]]:
    """Return the pairs of heads that lie on each other and make no frog between them."""
    frogs = [{frog.first, frog.second} for frog in work.frogs]
    return [(a.owner, b.owner) for a, b, _ in overlaps(work) if {a.owner, b.owner} not in frogs]


@pytest.mark.parametrize("hand", ["left", "right"])
def test_bent_rails_swing_until_they_have_parted_by_the_throw(hand: str) -> None:
    work = stub(hand=hand)
    (switch,) = work.switches
    # The branch's outer rail has the radius r and moves by r (1 - cos) off the main's; the toe is square to the main.
    r, inner = RADIUS + HALF, RADIUS - HALF
    swing = math.sqrt(2 * r * THROW - THROW**2)
    assert switch.swinging == pytest.approx(swing, abs=1e-6)
    assert switch.throw == pytest.approx(THROW, abs=1e-9)
    other = "right" if hand == "left" else "left"
    assert butt(switch, "branch", other).tip == pytest.approx(RADIUS * math.acos(1 - THROW / r), abs=1e-6)
    assert butt(switch, "branch", hand).tip == pytest.approx(RADIUS * math.asin(swing / inner), abs=1e-6)
    assert [butt(switch, "main", side).tip for side in ("left", "right")] == pytest.approx([60 + swing] * 2, abs=1e-6)


def test_straight_rails_swing_about_their_fixed_end() -> None:
    work = stub(f"{{stub: {THROW}, length: 70}}")
    (switch,) = work.switches
    turned = math.asin(THROW / 70)
    assert work.layout.route("branch").path.start.heading == pytest.approx(turned, abs=1e-12)
    assert switch.swinging == pytest.approx(70 * math.cos(turned), abs=1e-9)
    assert switch.throw == pytest.approx(THROW, abs=1e-9)
    # Straight points that spread by the throw lie alike, but move.
    (points,) = stub(f"{{length: 70, spread: {THROW}, tip: 0}}").switches
    assert butt(switch, "branch", "right").tip == pytest.approx(butt(points, "branch", "right").heel, abs=1e-9)
    assert (switch.switching, points.switching) == ("stub", "points")


@pytest.mark.parametrize("points", [f"{{stub: {THROW}}}", f"{{stub: {THROW}, length: 70}}"])
def test_every_rail_begins_anew_at_the_toe_with_a_whole_head(points: str) -> None:
    work = stub(points)
    (switch,) = work.switches
    assert len(switch.points) == 4 and not switch.moving_points
    for point in switch.points:
        assert point.tip == point.full_head == point.heel == point.clear
        lows = [s.low for rail in work.rails for s in rail.stretches if s.owner == point.owner]
        assert point.tip in lows
        (head,) = (h for h in work.heads if h.stretch.owner == point.owner and h.stretch.low == point.tip)
        assert not [zone for zone in head.filed if zone[0] < point.tip + 5.0]
        assert work.layout.route("branch").begin_of(butt(switch, "branch", "left").owner.face) > 0.0
    # Before the toe there are the two swinging rails, drawn as they lie for the main, whole from end to end.
    swinging = [bar for bar in work.bars if bar.role == "swinging rail"]
    toe = switch.filed_station
    assert [(s.owner.route, s.low, s.high) for bar in swinging for s in bar.stretches] == [("main", 0.0, toe)] * 2
    assert not any(h.filed for h in work.heads if h.stretch.high <= toe + 1e-9 and h.stretch.owner.route == "main")
    assert "point and closure rail" not in {bar.role for bar in work.bars}


def test_the_bar_lies_between_headblocks_of_which_one_carries_the_butts() -> None:
    work = stub()
    (switch,) = work.switches
    blocks = sorted(tie.station for tie in work.ties if tie.role == "headblock")
    assert blocks[1] == pytest.approx(switch.filed_station, abs=1e-9)
    assert switch.bar_station == pytest.approx(sum(blocks) / 2, abs=1e-9)
    assert switch.least_opening is switch.least_station is None and switch.openings == ()


THREE = """
    main: {path: [straight: 400]}
    up: {leaves: main, at: 60, hand: left, points: %s, path: [{frog: 6}, {straight: 60}]}
    down: {leaves: main, at: 60, hand: right, points: %s, path: [{frog: 6}, {straight: 60}]}
"""


@pytest.mark.parametrize("points", ["{stub: 2.4}", "{stub: 2.4, length: 70}"])
def test_three_ways_from_one_toe(points: str) -> None:
    done = job(spec(THREE % (points, points)))
    work = done.trackwork
    (switch,) = work.switches
    assert switch.onward == ("main", "up", "down") and len(switch.points) == 6
    assert switch.throws == pytest.approx((2.4, 2.4), abs=1e-9)
    for hand, other in (("left", "right"), ("right", "left")):
        assert butt(switch, "up", hand).tip == pytest.approx(butt(switch, "down", other).tip, abs=1e-9)
    bar = work.switch_works[0].bar
    assert bar is not None and bar.stops_between
    # The bar lies half a tie space before the toe; the rails swing about their fixed end, so that it moves less.
    stops = [bar.from_far_stop(position) for position in bar.positions]
    assert [position.route for position in bar.positions][1] == "main"
    assert stops == pytest.approx([0.0, bar.travel / 2, bar.travel], abs=1e-9) and 4.2 < bar.travel < 4.8
    assert {f.rule for f in done.findings} <= {"frog-unguarded", "copper-gap"}  # frogs abreast leave little room
    assert [frog.kind for frog in work.frogs] == ["V"] * 3
    assert not overlaid(work)


def test_one_toe_serves_all_and_the_throw_says_so() -> None:
    done = job(spec(THREE % ("{stub: 2.4}", "{stub: 3}")))
    (finding,) = (f for f in done.findings if f.rule == "stub-toes")
    assert finding.level == "warning" and finding.where == '"up" at S1' and "2.4 mm is said" in str(finding.limit)
    # Both curves are alike, so that at the toe of the longer throw both are thrown by that.
    assert done.trackwork.switches[0].throws == pytest.approx((3, 3), abs=1e-9)


def test_ways_to_the_same_side_need_room_between_their_butts() -> None:
    routes = """
        main: {path: [straight: 500]}
        near: {leaves: main, at: 60, points: {stub: %s}, path: [{curve: {radius: 500, turn: left, length: 200}}]}
        far: {leaves: main, at: 60, points: {stub: 2.4}, path: [{curve: {radius: 700, turn: left, length: 230}}]}
    """
    found = [f for f in job(spec(routes % 2.4)).findings if f.rule == "stub-throw"]
    # near is thrown 2.4 x 700/500 = 3.4 or so where far is thrown 2.4: 1 mm between them, where 2.11 is needed.
    assert {re.sub(r"R\d+[a-z]? ", "", f.where) for f in found} == {
        "S1, (far standard left) beside (near standard left)",
        "S1, (near standard right) beside (far standard right)",
    }
    assert all(f.level == "error" and 0.9 < f.measured.sizes[0] < 1.05 for f in found)


def test_where_the_track_ends_two_branches_take_the_throw_between_them() -> None:
    work = built("""
        main: {path: [straight: 100]}
        up: {leaves: main, at: end, points: {stub: 2.4}, path: [{curve: {radius: 900, turn: left, length: 260}}]}
        down: {leaves: main, at: end, points: {stub: 2.4}, path: [{curve: {radius: 900, turn: right, length: 260}}]}
    """)
    (switch,) = work.switches
    assert switch.onward == ("up", "down") and switch.throws == pytest.approx((2.4,), abs=1e-9)
    swinging = [bar for bar in work.bars if bar.role == "swinging rail"]
    assert [[s.owner.route for s in bar.stretches] for bar in swinging] == [["main", "up"]] * 2
    for bar in swinging:
        last = bar.stretches[-1]
        assert last.low == 0.0 and last.high in [p.tip for p in switch.points if p.owner == last.owner]
    assert not overlaid(work)


@pytest.mark.parametrize(("case", "common", "hand"), TWENTY)
def test_every_pair_of_gauges_can_swing(case: str, common: str, hand: str) -> None:
    """No kind of turnout needs more: whatever goes on begins at the toe, and no head lies on another."""
    routes = two_gauge(case, common, hand, frog=8, length=520).replace(", hand:", ", points: {stub: 2.2}, hand:")
    done = job(spec(routes, gauges=TWO_GAUGES))
    work = done.trackwork
    (switch,) = work.switches
    carried = [face for name in switch.onward for face in work.layout.route(name).faces]
    assert len(switch.points) == len(carried)
    assert {p.begins for p in switch.points} == {"butt"}
    assert not overlaid(work)
    plain = job(spec(two_gauge(case, common, hand, frog=8, length=520), gauges=TWO_GAUGES)).trackwork
    assert [(f.kind, f.number) for f in work.frogs] == [(f.kind, pytest.approx(f.number)) for f in plain.frogs]
    assert not [f for f in done.findings if f.level == "error"]


def test_a_butt_beside_a_crossing_is_told() -> None:
    """In N with Nn3 the third rail is 2.5 mm from the wide one: thrown 2.2, the narrow butt lies in the way of that."""
    routes = two_gauge("both", "left", "left")
    crowded = job(spec(routes.replace("hand:", "points: {stub: 2.2}, hand:"), **N_KEYS))
    (finding,) = (f for f in crowded.findings if f.rule == "stub-butt-filed")
    assert finding.level == "warning" and re.fullmatch(r"S1, R\d+[a-z]? \(main narrow right\)", finding.where)
    roomy = job(spec(routes.replace("hand:", "points: {stub: 2.2}, hand:"), gauges=TWO_GAUGES))
    assert not [f for f in roomy.findings if f.rule == "stub-butt-filed"]


def test_a_branch_too_short_for_its_throw() -> None:
    with pytest.raises(InputProblems) as caught:
        built("""
            main: {path: [straight: 330]}
            branch: {leaves: main, at: 60, points: {stub: 2.4}, path: [{curve: {radius: 900, turn: left, length: 20}}]}
        """)
    assert "before it has parted" in str(caught.value) and "routes > branch > points" in str(caught.value)


def test_a_toe_beyond_the_end_of_the_route_that_leads_is_refused() -> None:
    """On this circle of 266 mm rails have parted by 2.2 mm some 43 mm behind the tip; the main ends after 30."""
    told = refusal(
        """
        main: {path: [straight: 90]}
        branch: {leaves: main, at: 60, hand: right, points: {stub: 2.2},
          path: [curve: {radius: 266, turn: right, length: 90}]}
        """,
        scale="N",
    )
    assert 'beyond the end of "main"' in told and "routes > branch > points" in told


def test_points_that_reach_the_end_of_their_route_are_told_all_the_same() -> None:
    work = built(
        """
        main: {path: [straight: 100]}
        branch: {leaves: main, at: 96, hand: left, path: [curve: {radius: 300, turn: left, length: 80}]}
        """
    )
    ((_, made),) = work.works()
    assert all(point.first_tie is None or point.first_tie in {tie.id for tie in work.ties} for point in made.points)
