"""Paths that end on another route: what is found, against independent arithmetic, and what is said where nothing is."""

from __future__ import annotations

import math

import mpmath as mp
import pytest
import shapely
from trackwork.building import TWO_GAUGES, built, refusal

from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace

G = 0.649 * 25.4
"""HO gauge in NMRA S-3.2 (2010), read."""
PARALLEL = "up: {path: [{straight: 900}]}\ndown: {start: {x: 0, y: -52}, path: [{straight: 900}]}\n"
LINK = "link: {leaves: up, at: 150, hand: right, joins: down, path: [%s]}\n"
WHOLE = "{frog: 6}, {straight: open}, {frog: 6}"


def angle_of(number: float) -> float:
    return 2 * math.atan(0.5 / number)


@pytest.mark.parametrize("number", [4.5, 6, 8.25])
def test_a_crossover_is_as_long_as_its_spacing_and_frogs_make_it(number: float) -> None:
    """Derived: the link's faces lie g apart and at F to both tracks, so that between the theoretical points, along the
    track, there are (spacing - g)/tan F - g/sin F.
    """
    work = built(PARALLEL + LINK % WHOLE.replace("6", str(number)))
    first, second = work.frogs
    f = angle_of(number)
    assert second.point[0] - first.point[0] == pytest.approx((52 - G) / math.tan(f) - G / math.sin(f), abs=1e-9)
    assert (first.number, second.number) == pytest.approx((number, number), abs=1e-9)
    assert first.lead == pytest.approx(second.lead or 0, abs=1e-9)
    assert [(s.parent, s.hand, s.way, len(s.points)) for s in work.switches] == [
        ("up", "right", 1, 2),
        ("down", "right", -1, 2),
    ]


def test_a_crossover_looks_the_same_from_either_end() -> None:
    """Turned half round about its middle, a crossover between two equal frogs is itself: rails, points, guards."""
    work = built(PARALLEL + LINK % WHOLE)
    path = work.layout.route("link").path

    def turned(point: Point) -> Point:
        return path.start.x + path.end.x - point[0], path.start.y + path.end.y - point[1]

    first, second = work.frogs
    assert turned(first.point) == pytest.approx(second.point, abs=1e-9)
    assert turned(first.practical or (0, 0)) == pytest.approx(second.practical, abs=1e-9)
    one, two = work.switches
    for name in ("tip", "full_head", "heel", "clear"):
        mine, theirs = (sorted(place(work, p.owner, getattr(p, name)) for p in s.points) for s in (one, two))
        for here, there in zip(mine, reversed(theirs), strict=True):
            assert turned(here) == pytest.approx(there, abs=1e-8)
    assert (one.throw, one.least_opening) == pytest.approx((two.throw, two.least_opening), abs=1e-9)
    near, far = ([g for g in work.guards if g.frogs == (frog.id,)] for frog in (first, second))
    assert len(near) == len(far) == 2
    corners = sorted(turned(corner) for guard in near for corner in guard.ring)
    for here, there in zip(corners, sorted(corner for guard in far for corner in guard.ring), strict=True):
        assert here == pytest.approx(there, abs=1e-6)


def place(work: Trackwork, owner: RouteFace, station: float) -> Point:
    return work.layout.route(owner.route).path.point_at(station, owner.face.offset)


OUTER, INNER, SPACING = 900, 848, 52
CONCENTRIC = f"""
    outer: {{path: [{{curve: {{radius: {OUTER}, turn: left, angle: 100 deg}}}}]}}
    inner: {{start: {{x: 0, y: {SPACING}}}, path: [{{curve: {{radius: {INNER}, turn: left, angle: 100 deg}}}}]}}
    link: {{leaves: outer, at: 200, hand: left, joins: inner, path: [
"""


def test_a_crossover_between_curves_against_independent_arithmetic() -> None:
    """Seven unknowns in fifty digits: arc and frog at both ends, the curve between, and where it comes to the other."""
    work = built(CONCENTRIC.rstrip() + " {frog: 6}, {curve: {radius: open, turn: left, length: open}}, {frog: 7}]}")
    head = work.spec.rail.head
    pieces = work.layout.route("link").path.pieces
    end = work.layout.route("link").path.end
    with mp.workdps(50):
        g, centre = mp.mpf(G), mp.mpc(0, OUTER)
        f6, f7 = (2 * mp.atan(mp.mpf(1) / (2 * n)) for n in (6, 7))
        k6, k7 = (mp.mpf("2.5") * mp.mpf(head) / (2 * mp.sin(f / 2)) for f in (f6, f7))

        def e(heading: mp.mpf) -> mp.mpc:
            return mp.mpc(mp.cos(heading), mp.sin(heading))

        def on(place: mp.mpc, heading: mp.mpf, length: mp.mpf, bend: mp.mpf) -> tuple[mp.mpc, mp.mpf]:
            turn = length * bend
            chord = e(heading) * length * (mp.mpf(1) if turn == 0 else (e(turn) - 1) / (mp.mpc(0, 1) * turn))
            return place + chord, heading + turn

        def misses(*x: mp.mpf) -> list[mp.mpf]:
            bend1, long1, bend2, long2, bend3, long3, round_ = x
            begin = mp.mpf(200) / OUTER
            z, h = on(centre - mp.mpc(0, 1) * e(begin) * OUTER, begin, long1, bend1)
            z, h = on(z, h, k6, mp.mpf(0))
            tip = z - mp.mpc(0, 1) * e(h) * g / 2  # the right face, over the left face of the outer track
            near = [abs(tip - centre) - (OUTER - g / 2), h - f6 - mp.arg((tip - centre) * mp.mpc(0, 1))]
            z, h = on(z, h, long2, bend2)
            # Back from where it meets the inner track.
            y, b = on(centre - mp.mpc(0, 1) * e(round_) * INNER, round_ + mp.pi, long3, -bend3)
            y, b = on(y, b, k7, mp.mpf(0))
            # Looked at from there the branch parts to the left, away from the centre.
            toe = y - mp.mpc(0, 1) * e(b) * g / 2
            far = [abs(toe - centre) - (INNER + g / 2), b - mp.pi - f7 - mp.arg((toe - centre) * mp.mpc(0, 1))]
            return [*near, *far, (z - y).real, (z - y).imag, h - b + mp.pi]

        (_, arc1), (_, arc2), (_, arc3) = ((p.kind, p) for p in pieces if p.kind == "arc")
        start = [arc1.from_curvature, arc1.length, arc2.from_curvature, arc2.length, arc3.from_curvature, arc3.length]
        start = [mp.mpf(v) * mp.mpf("1.001") for v in start] + [mp.mpf(end.heading) * mp.mpf("0.9995")]
        root = mp.findroot(misses, start, tol=1e-40)
    found = [arc1.from_curvature, arc1.length, arc2.from_curvature, arc2.length, arc3.from_curvature, arc3.length]
    for mine, theirs in zip(found, root, strict=False):
        assert mine == pytest.approx(float(theirs), rel=1e-9)
    for arc, bend in zip((arc1, arc2, arc3), (root[0], root[2], root[4]), strict=True):
        assert 1 / arc.from_curvature == pytest.approx(float(1 / bend), abs=1e-6)
    assert end.heading == pytest.approx(float(root[6]), abs=1e-9)
    assert [frog.number for frog in work.frogs] == pytest.approx([6, 7], abs=1e-9)


def test_an_open_number_is_the_same_at_both_ends() -> None:
    """Between parallel straights a link with a straight of given length has one number: (spacing - g)/tan F - g/sin F
    is then what toes and straight are long along the track.
    """
    work = built(PARALLEL + LINK % "{frog: open}, {straight: 90}, {frog: open}")
    first, second = work.frogs
    assert first.number == pytest.approx(second.number, abs=1e-9)
    f = float(mp.findroot(lambda f: (52 - G) / mp.tan(f) - G / mp.sin(f) - mid(f, 90), 0.15))
    assert first.angle == pytest.approx(f, abs=1e-9)


def mid(f: float, straight: float) -> float:
    """Along the track between two theoretical points: the straight, and what lies between foot and point of each.

    The foot of the theoretical point on the centre line lies g/2 off it, square to the link.
    """
    return straight * mp.cos(f) - G * mp.sin(f)


def test_a_passing_siding_returns_to_its_main() -> None:
    """Spacing by the curves: the return curve of given radius starts where the heel of given length ends."""
    sides = "{frog: 6}, {straight: 20}, {curve: {radius: 900, turn: right, length: open}}, {straight: 300}, "
    sides += "{curve: {radius: 900, turn: right, length: open}}, {straight: 20}, {frog: 6}"
    work = built(
        "main: {path: [{straight: 1600}]}\n"
        f"loop: {{leaves: main, at: 150, hand: left, joins: main, path: [{sides}]}}"
    )
    path = work.layout.route("loop").path
    bends = [piece for piece in path.pieces if piece.kind == "arc" and piece.from_curvature == -1 / 900]
    assert [bend.length for bend in bends] == pytest.approx([900 * angle_of(6)] * 2, abs=1e-6)
    standing = path.pose_at(path.length / 2)
    assert standing.heading == pytest.approx(0, abs=1e-9)
    lead, foot = 184.434, angle_of(6)
    rise = G / 2 + G / 2 * math.cos(foot) + 20 * math.sin(foot) + 900 * (1 - math.cos(foot))
    assert standing.y == pytest.approx(rise, abs=1e-6), lead
    assert [(s.hand, s.way) for s in work.switches] == [("left", 1), ("right", -1)]
    assert [(f.kind, f.switch) for f in work.frogs] == [("V", "S1"), ("V", "S2")]


@pytest.mark.parametrize("gauges", ["standard: HO", TWO_GAUGES])
def test_it_does_not_matter_which_way_the_other_route_is_written(gauges: str) -> None:
    """The same track with the route joined written from its other end, and joined against its direction."""
    rail = "common_rail: left, "
    back = "common_rail: right, "
    bend = "{curve: {radius: 900, turn: left, length: 200}}"
    down = f"down: {{start: {{x: 0, y: -52}}, {rail}path: [{{straight: 700}}, {bend}]}}"
    one = built(
        PARALLEL.splitlines()[0].replace("{path", f"{{{rail}path") + f"\n{down}\n" + LINK % WHOLE, gauges=gauges
    )
    end = one.layout.route("down").path.end
    turn = f"start: {{x: {end.x!r}, y: {end.y!r}, heading: {math.degrees(end.heading) - 180!r} deg}}"
    turned = f"down: {{{turn}, {back}path: [{bend.replace('left', 'right')}, {{straight: 700}}]}}"
    two = built(
        PARALLEL.splitlines()[0].replace("{path", f"{{{rail}path")
        + f"\n{turned}\n"
        + LINK.replace("joins: down", "joins: down, facing: against") % WHOLE,
        gauges=gauges,
    )
    for here, there in zip(by_place(one.frogs), by_place(two.frogs), strict=True):
        assert here.point == pytest.approx(there.point, abs=1e-7)
        assert (here.kind, here.angle) == (there.kind, pytest.approx(there.angle, abs=1e-9))
        assert here.lead == pytest.approx(there.lead, abs=1e-7)
    for mine, theirs in zip(one.switches, two.switches, strict=True):
        assert (mine.hand, len(mine.points)) == (theirs.hand, len(theirs.points))
        assert (mine.throw, mine.least_opening) == pytest.approx((theirs.throw, theirs.least_opening), abs=1e-7)
    assert len(one.guards) == len(two.guards) and len(one.rails) == len(two.rails)
    area = [sum(shapely.Polygon(ring).area for head in w.heads for ring in head.rings) for w in (one, two)]
    assert area[0] == pytest.approx(area[1], rel=1e-6)


def by_place(frogs: tuple[Frog, ...]) -> list[Frog]:
    return sorted(frogs, key=lambda frog: (round(frog.point[0], 6), round(frog.point[1], 6)))


EVERY_WAY_TO_PART = [
    "tangent",
    "{length: 45, spread: 2.2, tip: 0.15}",
    "{entry: 1 deg}",
    "fixed",
    "{stub: 2.2}",
    "{stub: 2.2, length: 60}",
]


@pytest.mark.parametrize("points", EVERY_WAY_TO_PART)
@pytest.mark.parametrize("hand", ["left", "right"])
def test_joining_is_leaving_seen_from_the_other_side(points: str, hand: str) -> None:
    """A branch written from its far end, joining, has the rails of one that leaves against the main's direction."""
    turn = "left" if hand == "right" else "right"
    main = "main: {path: [{curve: {radius: 1100, turn: left, length: 700}}]}\n"
    leaves = built(
        main
        + f"branch: {{leaves: {{route: main, at: 600, facing: against}}, hand: {hand}, points: {points}, "
        + "path: [{frog: 6}, {straight: 200}]}"
    )
    start = leaves.layout.route("branch").path.end
    pose = f"x: {start.x!r}, y: {start.y!r}, heading: {math.degrees(start.heading) - 180!r} deg"
    joins = built(
        main + f"branch: {{start: {{{pose}}}, joins: main, points: {points}, path: [{{straight: open}}, {{frog: 6}}]}}"
    )
    assert joins.layout.route("branch").path.pieces[0].length > 199
    (mine,), (theirs,) = leaves.switches, joins.switches
    assert (mine.hand, mine.way, mine.station) == (theirs.hand, theirs.way, pytest.approx(theirs.station, abs=1e-6))
    assert mine.switching == theirs.switching
    assert (mine.filed_station, mine.throw) == pytest.approx((theirs.filed_station, theirs.throw), abs=1e-6)
    assert sorted(bar.role for bar in leaves.bars) == sorted(bar.role for bar in joins.bars)
    assert [f.lead for f in leaves.frogs] == pytest.approx([f.lead for f in joins.frogs], abs=1e-6)
    assert len(leaves.rails) == len(joins.rails)
    assert turn != hand


def test_two_ends_that_meet_go_on_as_one_track() -> None:
    """At the start of the other route there is nothing to part: no switch, and each rail runs through."""
    work = built(
        "a: {path: [{straight: 300}]}\n"
        "b: {start: {x: 900, y: 100}, path: [{straight: 300}]}\n"
        "c: {leaves: a, at: end, joins: {route: b, at: 0}, path: "
        "[{curve: {radius: 800, turn: left, length: open}}, {straight: open}, "
        "{curve: {radius: 800, turn: right, length: open}}]}"
    )
    assert not work.switches and not work.frogs
    assert [[s.owner.route for s in rail.stretches] for rail in work.rails] == [["a", "c", "b"]] * 2
    whole = sum(work.layout.route(name).path.length for name in "abc")
    for rail in work.rails:
        offset = rail.stretches[0].owner.face.offset
        length = sum(
            work.layout.route(s.owner.route).parallel(s.owner.face).length_between(s.low, s.high)
            for s in rail.stretches
        )
        assert length == pytest.approx(whole - offset * 0.0, abs=1e-6)  # left and right turns are equal


def test_what_is_said_where_no_path_closes() -> None:
    over = refusal(PARALLEL + LINK % "{frog: 6}, {straight: 30}, {frog: 6}")
    assert "the nearest that it comes is" in over and "takes three values" in over
    gap = (52 - G) / math.tan(angle_of(6)) - G / math.sin(angle_of(6)) - mid(angle_of(6), 30)
    assert f"{float(gap) * math.sin(angle_of(6)) / math.cos(angle_of(6)):.1f} mm" in over
    free = refusal(PARALLEL + LINK % "{frog: open}, {straight: open}, {frog: open}")
    assert "in more than one way" in free and "the length of the 2nd piece" in free and "the frog" in free
    near = refusal(PARALLEL.replace("-52", "-20") + LINK % WHOLE)
    assert "would meet" in near and "the length of the 2nd piece at -77" in near
    off = refusal(PARALLEL.replace("-52}, path: [{straight: 900", "-52}, path: [{straight: 400") + LINK % WHOLE)
    assert "off the 400 mm" in off
    beyond = refusal(PARALLEL + LINK.replace("joins: down", "joins: {route: down, at: 2000}") % WHOLE)
    assert '"down" is only 900 mm' in beyond
    two = refusal(PARALLEL + LINK % "{frog: 6}, {straight: open}, {frog: 8}")
    assert "2.375 deg off" in two  # No. 6 and No. 8 differ by 9.527 - 7.153 degrees


def test_a_loop_turns_back_into_its_own_line() -> None:
    """Derived: out by 180 deg + B, straight on, and back by B; the straight is 2 R cot B long, and the loop comes back
    2 R/sin B before the place where it begins.
    """
    radius, stem = 300.0, 38.0 * 300.0 / 15.0
    work = built(
        "main: {path: [{straight: 1000}]}\n"
        "loop: {leaves: main, at: end, joins: {route: main, at: %r, facing: against}, path: ["
        "{curve: {radius: 300, turn: left, length: open}}, {straight: open}, "
        "{curve: {radius: 300, turn: right, length: open}}]}" % (1000 - stem)
    )
    b = math.asin(2 * radius / stem)
    lengths = [piece.length for piece in work.layout.route("loop").path.pieces]
    assert lengths == pytest.approx([radius * (math.pi + b), 2 * radius / math.tan(b), radius * b], abs=1e-6)


def test_a_curve_that_should_turn_the_other_way_never_goes_all_but_round() -> None:
    """To end at 20 deg, past a chord of 10 deg, both curves must turn left; 353 deg to the right do as well."""
    curves = "{curve: {radius: 500, turn: left, length: open}}, {straight: open}, "
    curves += "{curve: {radius: 500, turn: right, length: open}}"
    said = refusal(
        "a: {path: [{straight: 100}]}\nb: {start: {x: 700, y: 120, heading: 20 deg}, path: [{straight: 100}]}\n"
        f"c: {{leaves: a, at: end, joins: {{route: b, at: 0}}, path: [{curves}]}}"
    )
    assert "only with the length of the 3rd piece at -" in said


BEND = "{curve: {radius: 700, turn: left, length: 400}}"


@pytest.mark.parametrize("end", ["a, at: end", "a, at: 100", "{route: a, at: 0, facing: against}"])
def test_branches_that_part_make_the_frog_with_each_other_at_either_end(end: str) -> None:
    """A route may end in branches at both ends, and its end may be said as a station; each frog is that asked for."""
    work = built(
        f"a: {{path: [straight: 100]}}\nb: {{leaves: {end}, path: [{BEND}]}}\n"
        f"c: {{leaves: {end}, hand: right, path: [{{frog: 6}}, {{straight: 60}}]}}\n"
        "d: {leaves: {route: a, at: %s}, path: [{straight: 400}]}\n"
        "e: {leaves: {route: a, at: %s}, hand: left, path: [{frog: 5}, {straight: 60}]}"
        % ((("0, facing: against",) if "against" not in end else ("end",)) * 2)
    )
    frogs = {(frog.first.route, frog.second.route): frog.number for frog in work.frogs}
    assert frogs == {("b", "c"): pytest.approx(6, abs=1e-9), ("d", "e"): pytest.approx(5, abs=1e-9)}


def test_a_route_that_joins_where_another_ends_makes_its_frog_with_the_one_that_goes_on() -> None:
    """Written from the far end, joining where the other route begins, the branch meets the one that leaves there."""
    head = "a: {path: [straight: 100]}\nb: {leaves: {route: a, at: 0, facing: against}, path: [" + BEND + "]}\n"
    leaves = built(
        head + "c: {leaves: {route: a, at: 0, facing: against}, hand: right, path: [{frog: 6}, {straight: 60}]}"
    )
    start = leaves.layout.route("c").path.end
    pose = f"x: {start.x!r}, y: {start.y!r}, heading: {math.degrees(start.heading) - 180!r} deg"
    joins = built(
        head + f"c: {{start: {{{pose}}}, joins: {{route: a, at: 0}}, path: [{{straight: open}}, {{frog: 6}}]}}"
    )
    for work in (leaves, joins):
        assert [frog.number for frog in work.frogs] == pytest.approx([6], abs=1e-9)
    assert joins.layout.route("c").path.pieces[0].length == pytest.approx(60, abs=1e-6)


def test_a_frog_is_made_with_a_branch_that_joins_a_route_laid_late() -> None:
    """`b` waits for `z`, which waits for `y`; `c`, though it waits for nothing else, makes its frog with `b`."""
    back = f"{{curve: {{radius: 900, turn: left, angle: {math.degrees(angle_of(6))!r} deg}}}}"
    way = "{curve: {radius: 700, turn: left, angle: 20 deg}}, {straight: open}, "
    way += "{curve: {radius: 800, turn: right, length: open}}, {straight: 40}, {frog: 5}"
    work = built(
        "a: {path: [straight: 100]}\n"
        "c: {leaves: a, at: end, hand: right, path: [{frog: 6}, {straight: 60}]}\n"
        "y: {start: {x: 0, y: 200}, path: [straight: 1900]}\n"
        f"z: {{leaves: y, at: 100, hand: right, path: [{{frog: 6}}, {{straight: 60}}, {back}, {{straight: 1200}}]}}\n"
        f"b: {{leaves: a, at: end, joins: z, path: [{way}]}}"
    )
    numbers = {frozenset((frog.first.route, frog.second.route)): frog.number for frog in work.frogs}
    assert {key: pytest.approx(number, abs=1e-9) for key, number in numbers.items()} == {
        frozenset("yz"): 6,
        frozenset("zb"): 5,
        frozenset("bc"): 6,
    }
