"""Ties: none on another, each long enough for the rails it carries, none missing where a rail would hang free."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot
from trackwork.building import all_faces, built, face_line, plain
from trackwork.sites import SITES

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.model import RouteFace, Tie, Trackwork

CARRIED = math.radians(50)
"""Tracks that meet more steeply share no ties (common practice, no source)."""


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


def test_a_tie_is_square_to_its_route_and_as_large_as_the_rules_say(work: Trackwork) -> None:
    rules = work.spec.ties
    for tie in work.ties:
        pose = work.layout.route(tie.route).path.pose_at(tie.station)
        assert abs(math.cos(tie.angle - pose.heading)) < 1e-12
        assert abs(pose.local(tie.centre)[0]) < 1e-9
        assert tie.width == (rules.width if tie.role == "plain" else rules.switch_width)
        steps = (tie.length - (rules.headblock_overhang if tie.role == "headblock" else 0.0)) / rules.length_step
        assert abs(steps - round(steps)) < 1e-6


def test_a_tie_reaches_past_every_rail_that_it_carries(work: Trackwork) -> None:
    """By the overhang on both sides; the rails of a track that crosses steeply find what tie there is."""
    for tie in work.ties:
        line, own = axis(tie), work.layout.route(tie.route)
        heading = own.path.heading_at(tie.station)
        ends = [Spot(corner) for corner in line.coords]
        for owner in all_faces(work):
            path = work.layout.route(owner.route).path
            for x, y in shapely.get_coordinates(line.intersection(whole_face(work, owner))).tolist():
                lean = abs(math.remainder(path.heading_at(nearest_station(path, (x, y))[0]) - heading, math.pi))
                if lean < CARRIED - 0.01:
                    reach = min(end.distance(Spot(x, y)) for end in ends)
                    assert reach >= work.spec.ties.overhang - 0.05, (tie.id, owner.label)
        for face in own.faces:
            at = Spot(own.path.point_at(tie.station, face.offset))
            assert min(at.distance(end) for end in ends) >= work.spec.ties.overhang - 1e-6


def test_no_rail_hangs_free(work: Trackwork) -> None:
    """Between ties a rail is free over less than two spaces, and where tracks cross, over their slant as well."""
    regions = [Polygon(tie.corners()) for tie in work.ties]
    tree = shapely.STRtree(regions)
    slants = [frog.angle for frog in work.frogs if frog.switch is None]
    widest = max(gauge.width for gauge in work.spec.gauges.values())
    slant = max((widest * math.tan(min(a, CARRIED)) for a in slants), default=0.0)
    steep = any(a > CARRIED for a in slants)
    for owner in all_faces(work):
        line = whole_face(work, owner)
        held = [(0.0, 0.0), (line.length, line.length)]
        for i in tree.query(line, predicate="intersects").tolist():
            for part in shapely.get_parts(line.intersection(regions[i])).tolist():
                held.append(tuple(sorted(line.project(Spot(c)) for c in (part.coords[0], part.coords[-1]))))
        held.sort()
        free = max(low - at for at, low in zip(_reached(held), [low for low, _ in held][1:], strict=False))
        # A steep crossing leaves out the ties that would run into the other track's, which are as long as a plain tie.
        longest = min(tie.length for tie in work.ties) if steep else slant
        assert free < 2 * work.spec.ties.spacing + longest, owner.label


def _reached(intervals: list[tuple[float, float]]) -> list[float]:
    """Return how far the intervals up to each one reach."""
    reached: list[float] = []
    for _, high in intervals:
        reached.append(max(high, reached[-1] if reached else high))
    return reached


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
    assert [b - a for a, b in pairwise(stations)] == pytest.approx([work.spec.ties.spacing] * (len(stations) - 1))
    assert 200 - stations[-1] < 1.25 * work.spec.ties.spacing
    # 8 ft 6 in at 1:87.1 (MIL-HDBK-1005/6, read), rounded up to steps of 6 in: 29.73 mm.
    step = 152.4 / 87.1
    for tie in work.ties:
        assert 8.5 * 304.8 / 87.1 - 1e-6 <= tie.length < 8.5 * 304.8 / 87.1 + step


@pytest.mark.parametrize(("copper", "material"), [("all", "copper-clad"), ("none", "wood")])
def test_what_ties_are_made_of(copper: str, material: str) -> None:
    assert {tie.material for tie in built(plain(), ties=f"{{copper: {copper}}}").ties} == {material}


def test_every_second_tie_of_copper_and_every_switch_tie() -> None:
    ties = built(plain(), ties="{copper: every second}").ties
    assert {tie.material for tie in ties if tie.role != "plain"} == {"copper-clad"}
    plain_ties = [tie.material for tie in ties if tie.role == "plain"]
    assert 0.3 < plain_ties.count("wood") / len(plain_ties) < 0.7
