"""Ties: none on another, each long enough for the rails it carries, square unless tracks lean much on each other."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot
from trackwork.building import all_faces, built, face_line, plain
from trackwork.sites import SITES, crossing

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace
from turnout_templates.trackwork.ties.tie_parts import Tie

CARRIED = math.radians(55)
"""A tie carries no track that leans further on it."""
EASY = math.radians(20)
"""A track that leans on another by less is carried on ties square to that (common practice, no source)."""


@pytest.fixture(params=SITES, scope="module")
def work(request: pytest.FixtureRequest) -> Trackwork:
    routes, keys = SITES[request.param]
    return built(routes, **keys)


def axis(tie: Tie) -> LineString:
    """Return a tie's long axis from end to end."""
    x, y = tie.length / 2 * math.cos(tie.angle), tie.length / 2 * math.sin(tie.angle)
    return LineString([(tie.centre[0] - x, tie.centre[1] - y), (tie.centre[0] + x, tie.centre[1] + y)])


def whole_face(work: Trackwork, owner: RouteFace) -> LineString:
    return face_line(work, owner, 0.0, work.layout.route(owner.route).path.length)


def test_no_two_ties_overlap(work: Trackwork) -> None:
    regions = [Polygon(tie.corners()) for tie in work.ties]
    tree = shapely.STRtree(regions)
    for i, j in tree.query(regions, predicate="intersects").T.tolist():
        if i < j:
            assert regions[i].intersection(regions[j]).area < 1e-6, (work.ties[i].id, work.ties[j].id)


def test_the_first_tie_of_a_branch_does_not_all_but_touch_the_last_that_carries_it() -> None:
    """Two gauges part, the narrow one along a curve of 762 mm: its first own tie stood 0.165 mm from a switch tie."""
    work = built(
        """
        both: {gauges: [standard, narrow], common_rail: left, path: [straight: 101.6]}
        wide: {leaves: both, at: end, gauges: [standard], path: [straight: 304.8]}
        narrow: {leaves: both, at: end, gauges: [narrow], path: [curve: {radius: 762, turn: left, length: 304.8}]}
        """,
        gauges="standard: HO, narrow: HOn3",
    )
    ties = [Polygon(tie.corners()) for tie in work.ties]
    near = shapely.STRtree(ties).query(ties, predicate="dwithin", distance=0.1 * work.spec.ties.width).T.tolist()
    assert all(i == j for i, j in near)


def turn_of(work: Trackwork, tie: Tie) -> float:
    """Return how far a tie is turned from square to its route, left positive."""
    heading = work.layout.route(tie.route).path.heading_at(tie.station)
    return math.remainder(tie.angle - math.pi / 2 - heading, math.pi)


def test_a_tie_lies_where_its_route_says_and_is_as_large_as_the_rules_say(work: Trackwork) -> None:
    rules = work.spec.ties
    for tie in work.ties:
        place = Spot(work.layout.route(tie.route).path.point_at(tie.station))
        assert axis(tie).distance(place) < 1e-9
        assert abs(turn_of(work, tie)) < math.radians(53)
        assert tie.role != "headblock" or abs(turn_of(work, tie)) < 1e-12
        assert tie.width == (rules.width if tie.role == "plain" else rules.switch_width)
        steps = (tie.length - (rules.headblock_overhang if tie.role == "headblock" else 0.0)) / rules.length_step
        assert abs(steps - round(steps)) < 1e-6


def test_ties_of_the_first_route_are_square_where_nothing_leans_much(work: Trackwork) -> None:
    """The headblocks of other routes aside, which may carry the first one askew."""
    first = work.layout.routes[0]
    if max((frog.angle for frog in work.frogs), default=0.0) < EASY and {s.parent for s in work.switches} <= {
        first.name
    }:
        turns = [turn_of(work, tie) for tie in work.ties if tie.route == first.name]
        assert turns and max(map(abs, turns)) < 1e-12


@pytest.mark.parametrize("degrees", [40, 45, 60, 75, 90, 105, 140])
def test_through_a_steep_crossing_ties_are_square_to_the_mean(degrees: int) -> None:
    work = built(crossing(degrees, y=-180))
    over = work.layout.route("over")
    for frog in work.frogs:
        nearest = min(work.ties, key=lambda tie: math.dist(tie.centre, frog.point))
        leans = [
            abs(math.remainder(nearest.angle - math.pi / 2 - heading, math.pi))
            for heading in (0.0, over.path.heading_at(0.0))
        ]
        assert leans[0] == pytest.approx(leans[1], abs=1e-9)
        assert sum(leans) == pytest.approx(frog.angle, abs=1e-9)


def test_a_tie_reaches_past_every_rail_that_it_carries(work: Trackwork) -> None:
    """By the overhang on both sides; the rails of a track that leans further find what tie there is."""
    for tie in work.ties:
        line, own = axis(tie), work.layout.route(tie.route)
        heading = tie.angle - math.pi / 2
        ends = [Spot(corner) for corner in line.coords]
        for owner in all_faces(work):
            path = work.layout.route(owner.route).path
            for x, y in shapely.get_coordinates(line.intersection(whole_face(work, owner))).tolist():
                lean = abs(math.remainder(path.heading_at(nearest_station(path, (x, y))[0]) - heading, math.pi))
                if lean < CARRIED - 0.01:
                    reach = min(end.distance(Spot(x, y)) for end in ends)
                    assert reach >= work.spec.ties.overhang - 0.05, (tie.id, owner.label)
        away = math.cos(turn_of(work, tie))
        square = own.path.pose_at(tie.station).turned(turn_of(work, tie))
        for face in own.faces:
            at = Spot(square.beside(face.offset / away))
            assert min(at.distance(end) for end in ends) >= work.spec.ties.overhang - 1e-6


def test_headblocks_lie_on_either_side_of_the_throw_bar(work: Trackwork) -> None:
    for switch in work.switches:
        host = switch.parent
        blocks = sorted(
            tie.station - switch.bar_station
            for tie in work.ties
            if tie.role == "headblock" and tie.route in (host, *switch.onward)
            if tie.route == host and abs(tie.station - switch.bar_station) < work.spec.ties.switch_spacing
        )
        if not switch.parting:
            half = work.spec.ties.switch_spacing / 2
            assert blocks == pytest.approx([-half, half], abs=1e-9), switch.id


@pytest.mark.parametrize("hand", ["left", "right"])
def test_headblocks_are_longer_where_the_points_are_thrown(hand: str) -> None:
    """They stick out by the headblock's overhang on the side away from the branch."""
    work = built(plain(6, hand))
    blocks = [tie for tie in work.ties if tie.role == "headblock"]
    assert len(blocks) == 2
    plain_tie = next(tie for tie in work.ties if tie.role == "plain" and tie.station < 50)
    for tie in blocks:
        reach = {"left": tie.centre[1] + tie.length / 2, "right": -tie.centre[1] + tie.length / 2}
        away = "right" if hand == "left" else "left"
        assert reach[away] - reach[hand] == pytest.approx(work.spec.ties.headblock_overhang, abs=1.0)
        assert reach[hand] >= plain_tie.length / 2 - work.spec.ties.length_step


@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_branch_lays_no_ties_where_its_parent_carries_it(hand: str) -> None:
    work = built(
        f"""
        main: {{path: [straight: 460]}}
        branch: {{leaves: main, at: 60, hand: {hand}, path: [{{frog: 6}}, {{straight: 200}}]}}
        """
    )
    (frog,) = work.frogs
    own = [tie.station for tie in work.ties if tie.route == "branch"]
    assert own and min(own) > frog.t
    long_ties = [tie.station for tie in work.ties if tie.route == "main" and tie.role != "plain"]
    assert max(long_ties) > frog.s
    assert max(b - a for a, b in pairwise(sorted(long_ties))) < 1.5 * work.spec.ties.switch_spacing


def test_no_tie_stands_closer_to_the_next_than_half_a_space_of_its_own_route() -> None:
    for routes, keys in SITES.values():
        work = built(routes, **keys)
        for route in work.layout:
            stations = [tie.station for tie in work.ties if tie.route == route.name]
            assert stations == sorted(stations)
            assert min((b - a for a, b in pairwise(stations)), default=99.0) > 0.5 * work.spec.ties.spacing


def test_ties_of_plain_track_are_a_space_apart() -> None:
    work = built("main: {path: [straight: 200]}")
    stations = [tie.station for tie in work.ties]
    assert stations[0] == pytest.approx(work.spec.ties.spacing / 2)
    # Stretched evenly, by less than half a space over all, to end half a space from the rails' end.
    space = (200 - work.spec.ties.spacing) / (len(stations) - 1)
    assert [b - a for a, b in pairwise(stations)] == pytest.approx([space] * (len(stations) - 1))
    assert abs(space - work.spec.ties.spacing) * (len(stations) - 1) <= work.spec.ties.spacing / 2
    # 8 ft 6 in at 1:87.1 (MIL-HDBK-1005/6, read), rounded up to steps of 6 in: 29.73 mm.
    step = 152.4 / 87.1
    for tie in work.ties:
        assert 8.5 * 304.8 / 87.1 - 1e-6 <= tie.length < 8.5 * 304.8 / 87.1 + step


@pytest.mark.parametrize(("copper", "material"), [("all", "copper-clad"), ("none", "wood")])
def test_what_ties_are_made_of(copper: str, material: str) -> None:
    assert {tie.material for tie in built(plain(), ties=f"{{copper: {copper}}}").ties} == {material}
