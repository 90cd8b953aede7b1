"""A tie under whatever must be held, copper where a rail is soldered, the gap kept, and turns as the spec asks.

Places are worked out here from the figures of frogs, guards and switches, apart from the list that the program keeps.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import samples
import shapely
from msgspec.structs import replace
from samples import SAMPLES
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot
from trackwork.building import built, face_line, job, plain
from trackwork.chance import Chance
from trackwork.sites import SITES, crossing

from turnout_templates.checks.ties import check_missing_ties
from turnout_templates.errors import InputProblems
from turnout_templates.geometry.pose import Pose
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace
from turnout_templates.trackwork.ties.joiners import JOINER_LENGTH, Joint, notch_under
from turnout_templates.trackwork.ties.tie_parts import MissingTie, Tie

SPACES = 0.55
"""How far a tie's middle may lie from what it holds, in spaces: half of one, and what curves add on the outer rail."""
ORIENTATIONS = ("square", "mean", "fanned")


def axis(tie: Tie) -> LineString:
    x, y = tie.length / 2 * math.cos(tie.angle), tie.length / 2 * math.sin(tie.angle)
    return LineString([(tie.centre[0] - x, tie.centre[1] - y), (tie.centre[0] + x, tie.centre[1] + y)])


def places(work: Trackwork) -> dict[str, list[tuple[float, float]]]:
    """Return where ties must lie, by what for: frogs' points, guards' ends, points' heels, the ends of tracks."""
    found: dict[str, list[tuple[float, float]]] = {}
    for frog in work.frogs:
        found[f"{frog.id} point"] = [frog.practical or frog.point]
    for guard in work.guards:
        path = work.layout.route(guard.beside.route).path
        found[f"{guard.id} end"] = [path.point_at(end, guard.beside.face.offset) for end in guard.ends]
    for switch in work.switches:
        for point in switch.moving_points:
            path = work.layout.route(point.owner.route).path
            found.setdefault(f"{switch.id} heel", []).append(path.point_at(point.heel, point.owner.face.offset))
    for route in work.layout:
        if not route.departures:
            found[f"start of {route.name}"] = [route.path.point_at(0.0, face.offset) for face in route.faces]
    return found


def check_held(work: Trackwork) -> None:
    """Fail where the nearest tie lies too far from a place, unless the program says so."""
    tree = shapely.STRtree([axis(tie) for tie in work.ties])
    limit = SPACES * max(work.spec.ties.spacing, work.spec.ties.switch_spacing)
    missing = {tie.what for tie in work.missing_ties}
    for what, spots in places(work).items():
        for spot in spots:
            away = Spot(spot).distance(tree.geometries[tree.nearest(Spot(spot))])
            assert away <= limit + 1e-4 or what in missing, (what, away / limit)
        assert what in missing or any(what in tie.holds for tie in work.ties), what


def check_apart(work: Trackwork) -> None:
    """Fail where two ties come nearer than the gap that the spec asks for."""
    regions = [Polygon(tie.corners()) for tie in work.ties]
    tree = shapely.STRtree(regions)
    gap = work.spec.ties.gap
    for i, j in tree.query(regions, predicate="dwithin", distance=max(gap - 1e-6, 0.0)).T.tolist():
        if i < j:
            overlap = regions[i].intersection(regions[j]).area
            assert gap == 0.0 and overlap < 1e-6, (work.ties[i].id, work.ties[j].id, overlap)


@pytest.mark.parametrize("orientation", ORIENTATIONS)
@pytest.mark.parametrize("name", SITES)
def test_sites_are_held_and_their_ties_apart(name: str, orientation: str) -> None:
    routes, keys = SITES[name]
    work = built(routes, **keys, ties=f"{{orientation: {orientation}}}")
    check_held(work)
    check_apart(work)


@pytest.mark.parametrize("name", SAMPLES)
def test_samples_are_held_and_their_ties_apart(name: str) -> None:
    work = samples.job(name).trackwork
    check_held(work)
    check_apart(work)
    assert all(missing.what.startswith(("end of", "start of")) for missing in work.missing_ties)
    assert len(work.missing_ties) <= 1


@pytest.mark.parametrize("orientation", ORIENTATIONS)
def test_a_stated_gap_is_kept(orientation: str) -> None:
    for name in ("plain left", "wye", "diamond of 45 degrees", "fan", "N and Nn3", "bent with a branch of a branch"):
        routes, keys = SITES[name]
        work = built(routes, **keys, ties=f"{{orientation: {orientation}, gap: 0.6 mm}}")
        check_apart(work)
        check_held(work)


@pytest.mark.parametrize("start", range(0, 30, 10))
def test_specs_by_chance_are_held_and_their_ties_apart(start: int) -> None:
    for seed in range(start, start + 10):
        orientation = ORIENTATIONS[seed % 3]
        text = Chance(seed).text().replace("routes:", f"ties: {{orientation: {orientation}}}\nroutes:", 1)
        try:
            work = job(text).trackwork
        except InputProblems:
            continue
        check_held(work)
        check_apart(work)


def turns(work: Trackwork, route: str) -> list[tuple[float, float]]:
    """Return (station, turn from square in degrees) of the ties on a route."""
    path = work.layout.route(route).path
    return [
        (t.station, math.degrees(math.remainder(t.angle - math.pi / 2 - path.heading_at(t.station), math.pi)))
        for t in work.ties
        if t.route == route and t.role != "headblock"
    ]


@pytest.mark.parametrize("hand", ["left", "right"])
def test_ties_to_the_mean_halve_what_the_tracks_lean(hand: str) -> None:
    """On tangent points from x = 60 the branch is an arc of R up to the frog's toe: it leans by asin (x - 60)/R.

    A tie that is turned meets the branch a little elsewhere, by its turn times how far they are apart: at most 0.083 of
    14 mm, over which an arc of 500 mm turns by 0.13 degrees, and the tie by half of that.
    """
    work = built(plain(6, hand), ties="{orientation: mean}")
    radius = 1 / work.layout.route("branch").path.curvature_at(1.0)
    (switch,), (frog,) = work.switches, work.frogs
    for station, turn in turns(work, "main"):
        if 70 < station < frog.s - 30:
            assert turn == pytest.approx(math.degrees(math.asin((station - 60) / radius)) / 2, abs=0.07)
    behind = [turn for station, turn in turns(work, "main") if frog.s < station < frog.s + 15]
    half = math.copysign(math.degrees(frog.angle) / 2, radius)
    assert behind == pytest.approx([half] * len(behind), abs=1e-6) and len(behind) >= 2
    assert switch.station == 60


@pytest.mark.parametrize("points", ["tangent", "{length: 45, spread: 2.2, tip: 0.15}"])
def test_fanned_ties_turn_by_even_steps_up_to_the_mean_behind_the_frog(points: str) -> None:
    work = built(plain(6, "left", points=points), ties="{orientation: fanned}")
    (switch,), (frog,) = work.switches, work.frogs
    fan = [(s, turn) for s, turn in turns(work, "main") if switch.filed_station < s < frog.s]
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(fan)]
    even = math.degrees(frog.angle) / 2 / (frog.s - switch.filed_station)
    assert len(fan) > 15 and slopes == pytest.approx([even] * len(slopes), abs=1e-9)
    assert all(turn == 0 for s, turn in turns(work, "main") if s < switch.filed_station)
    assert next(turn for s, turn in turns(work, "main") if s > frog.s) == pytest.approx(math.degrees(frog.angle) / 2)


def test_a_symmetrical_three_way_stays_square() -> None:
    work = built(
        """
        main: {path: [straight: 330]}
        up: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 60}]}
        down: {leaves: main, at: 60, hand: right, path: [{frog: 6}, {straight: 60}]}
        """,
        ties="{orientation: mean}",
    )
    both = [turn for station, turn in turns(work, "main") if station < work.frogs[0].s]
    assert max(map(abs, both)) < 1e-9


def test_copper_only_where_a_rail_is_soldered() -> None:
    work = built(plain(), ties="{copper: where soldered}")
    for tie in work.ties:
        soldered = [what for what in tie.holds if not what.endswith("heel") or what.startswith("F")]
        assert (tie.material == "copper-clad") == bool(soldered or tie.role == "headblock"), tie.id
    assert 10 < sum(tie.material == "copper-clad" for tie in work.ties) < len(work.ties) / 2


@pytest.mark.parametrize(("word", "n"), [("every second", 2), ("every third", 3), ("every fourth", 4)])
def test_every_so_many_ties_of_copper_and_wherever_soldered(word: str, n: int) -> None:
    needed = {tie.id for tie in built(plain(), ties="{copper: where soldered}").ties if tie.material != "wood"}
    ties = [tie for tie in built(plain(), ties=f"{{copper: {word}}}").ties if tie.route == "main"]
    at = [i for i, tie in enumerate(ties) if tie.material == "copper-clad"]
    assert {ties[i].id for i in at} >= {tie.id for tie in ties if tie.id in needed}
    assert max(b - a for a, b in pairwise(at)) == n
    assert all(b - a == n or ties[b].id in needed for a, b in pairwise(at))


def test_points_lie_loose_on_the_ties_before_their_fix() -> None:
    """Of a No. 6 the point bends from the toe of the frog, 2.5 heads / (2 sin(F/2)) before its theoretical point."""
    work = built(plain())
    (switch,), (frog,) = work.switches, work.frogs
    point = next(p for p in switch.points if p.owner in (frog.first, frog.second))
    bar = next(b for b in work.bars for s in b.stretches if s.owner == point.owner and abs(s.low - point.tip) < 1e-6)
    at = frog.s if point.owner == frog.first else frog.t
    fix = at - 2.5 * work.spec.rail.head / (2 * math.sin(frog.angle / 2))
    moving = face_line(work, point.owner, point.tip, fix)
    for tie in work.ties:
        under = moving.intersects(Polygon(tie.corners()))
        behind = not moving.intersects(axis(tie)) and tie.station > (point.tip + fix) / 2
        assert (bar.id in tie.loose) == (under and not behind), tie.id
    fixed = next(tie for tie in work.ties if "S1 fix" in tie.holds)
    assert fixed.material == "copper-clad" and not fixed.loose


def test_a_joiner_needs_a_notch_where_it_lies_on_a_tie() -> None:
    """A joiner 10 mm long at x = 0: it reaches the tie from 3.5 to 6.5 up to x = 5, and none from 5.5 on."""
    base = 10.0 / JOINER_LENGTH
    joint = Joint("start of main", "standard", "left", Pose(0.0, 8.0, 0.0))
    notch = notch_under(joint, Pose(5.0, 0.0, math.pi / 2), 3.0, base)
    assert notch is not None
    assert (notch.back, notch.ahead) == pytest.approx((-1.5, 0.0))
    assert (notch.low, notch.high) == pytest.approx((8 - 1.3, 8 + 1.3))  # 1.3 bases of 2 mm
    assert notch_under(joint, Pose(7.0, 0.0, math.pi / 2), 3.0, base) is None
    # A tenth of the base, 0.2 mm, is the least that is cut: the tie from 4.7 on meets 0.3 mm, that from 4.9 on 0.1 mm.
    assert notch_under(joint, Pose(6.2, 0.0, math.pi / 2), 3.0, base) is not None
    assert notch_under(joint, Pose(6.4, 0.0, math.pi / 2), 3.0, base) is None


def test_the_ends_of_a_turnout_are_notched_under_every_rail() -> None:
    work = built(plain())
    notched = {(notch.joint.what, notch.joint.hand) for tie in work.ties for notch in tie.notches}
    ends = ("start of main", "end of main", "end of branch")
    assert notched == {(end, hand) for end in ends for hand in ("left", "right")}
    for tie in work.ties:
        for notch in tie.notches:
            route = notch.joint.what.split(" of ")[1]
            face = next(f for f in work.layout.route(route).faces if f.hand == notch.joint.hand)
            length = work.layout.route(route).path.length
            line = face_line(work, RouteFace(route, face), 0.0, length)
            region = Polygon(notch.outline(tie.centre, tie.angle))
            # Where the tie lies beyond the rail's end, the joiner reaches over to it by half its length.
            assert line.distance(region) < JOINER_LENGTH * work.spec.rail.base / 2
            assert Polygon(tie.corners()).buffer(1e-6).contains(region)


def test_ties_stand_half_a_space_from_both_ends_of_plain_track() -> None:
    work = built("main: {path: [straight: 200]}")
    space, stations = work.spec.ties.spacing, [tie.station for tie in work.ties]
    assert stations[0] == pytest.approx(space / 2) and 200 - stations[-1] == pytest.approx(space / 2)
    steps = [b - a for a, b in pairwise(stations)]
    assert max(steps) - min(steps) < 1e-9 and steps[0] == pytest.approx(space, rel=0.5 / len(steps))


def test_what_no_tie_holds_is_reported() -> None:
    work = built(crossing(75))
    assert not list(check_missing_ties(work))
    spot = work.frogs[0].point
    (finding,) = check_missing_ties(replace(work, missing_ties=(MissingTie("F1 point", spot, 4.0, 3.2),)))
    assert (finding.rule, finding.level, finding.where, finding.at) == ("tie-missing", "warning", "F1 point", spot)
    assert "4 mm" in str(finding.measured) and "0.55 tie spaces" in str(finding.limit)


@pytest.mark.parametrize("angle", [30, 58, 80])
@pytest.mark.parametrize("copper", ["where soldered", "every fourth"])
def test_every_bar_is_soldered_somewhere(angle: int, copper: str) -> None:
    """Where two tracks cross, the short bars between the frogs lie on few ties."""
    routes = f"""
        one: {{path: [straight: 260]}}
        two: {{start: {{x: 90, y: -60, heading: {angle} deg}}, path: [straight: 160]}}
    """
    work = built(routes, ties=f"{{copper: {copper}}}")
    for bar in work.bars:
        lines = [face_line(work, s.owner, s.low, s.high) for s in bar.stretches]
        crossed = [tie for tie in work.ties if any(Polygon(tie.corners()).intersects(line) for line in lines)]
        assert not crossed or any(tie.material == "copper-clad" for tie in crossed), bar.id


def test_how_far_a_tie_is_missing_is_told_of_the_ties_as_they_lie_at_last() -> None:
    """A branch ends where the ties of its main alone begin; those before are moved for other places."""
    text = """
        main: {common_rail: left, path: [straight: 914.4]}
        branch: {leaves: main, at: 127, hand: right, path: [{frog: 6}, {straight: 101.6}]}
    """
    work = built(text, scale="O", gauges="standard: O, narrow: On30", rail="code 100")
    (missing,) = work.missing_ties
    assert missing.what == "end of branch"
    x, y = missing.at
    # Ties lie square to a main along x. One holds a rail's end that reaches it and lies on the rail's side of the end.
    reaching = [t for t in work.ties if abs(y - t.centre[1]) <= t.length / 2 and t.centre[0] <= x]
    assert missing.away == pytest.approx(x - max(tie.centre[0] for tie in reaching), abs=1e-6)
    assert missing.away > missing.limit
