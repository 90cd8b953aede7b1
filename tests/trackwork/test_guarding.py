"""What guards every gap, held against gaps, room and cover found again from faces and outlines alone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from trackwork.building import TWENTY, TWO_GAUGES, built, heads, plain, two_gauge
from trackwork.sites import crossing, ladder

from turnout_templates.checks.guarding import check_guarding
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace

NEM = "MOROP NEM 110 (2009)"
PAIRS: dict[str, tuple[float, dict[str, str]]] = {
    "HO, HOn3": (420, {"gauges": TWO_GAUGES}),
    "N, Nn3": (420, {"gauges": "standard: N, narrow: Nn3", "scale": "N", "rail": "code 55", "clearances": NEM}),
    "O, On30": (800, {"gauges": "standard: O, narrow: On30", "scale": "O", "rail": "code 100"}),
    "H0, H0e": (420, {"gauges": "standard: H0, narrow: H0e", "scale": "H0", "rail": "code 83", "clearances": NEM}),
}
STEP = 0.05
"""Everything is looked at in steps of this (mm)."""
Spans = list[tuple[float, float]]


@pytest.fixture(params=[(pair, case) for pair in PAIRS for case in TWENTY], ids=str, scope="module")
def work(request: pytest.FixtureRequest) -> Trackwork:
    pair, case = request.param
    length, keys = PAIRS[pair]
    return built(two_gauge(*case, length=length), **keys)


def apart(work: Trackwork, owner: RouteFace, station: float, other: RouteFace) -> float:
    """Return how far (mm) to the left of `other` a place on a face lies, by walking its route in small steps."""
    place = work.layout.route(owner.route).path.point_at(station, owner.face.offset)
    path = work.layout.route(other.route).path
    low, high = 0.0, path.length
    for _ in range(80):  # the heading turns one way only, so that the distance along has one least
        a, b = low + 0.382 * (high - low), low + 0.618 * (high - low)
        if math.dist(path.point_at(a), place) < math.dist(path.point_at(b), place):
            high = b
        else:
            low = a
    pose = path.pose_at((low + high) / 2)
    left = -math.sin(pose.heading) * (place[0] - pose.x) + math.cos(pose.heading) * (place[1] - pose.y)
    return left - other.face.offset


def root(work: Trackwork, owner: RouteFace, other: RouteFace, distance: float, low: float, high: float) -> float:
    """Return the station of a face at which it lies `distance` mm to the left of another, between two stations."""
    below = apart(work, owner, low, other) < distance
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if (apart(work, owner, middle, other) < distance) == below else (low, middle)
    return (low + high) / 2


def gap_by_hand(work: Trackwork, frog: Frog, which: int) -> tuple[float, float]:
    """Return the gap in one face of a frog: from where the other's groove breaks it to the point, or the crossing.

    The groove lies on the gauge side of the other face, which is away from its head. The practical point is where both
    faces are a frog point apart, at equal distances from the crossing.
    """
    faces, stations = (frog.first, frog.second), (frog.s, frog.t)
    owner, other, station = faces[which], faces[1 - which], stations[which]
    groove = -other.face.outward * other.face.flangeway
    reach = 2.0 * other.face.flangeway / math.sin(frog.angle)
    sides = ((station - reach, station), (station, station + reach))
    before, after = (apart(work, owner, s, other) * groove > 0 for s in (station - reach, station + reach))
    assert before != after
    nose = root(work, owner, other, groove, *sides[0 if before else 1])
    if frog.kind == "K":
        return min(nose, station), max(nose, station)
    # The V opens on the other side; at so small an angle its legs are straight to 0.01 mm. A mm along the
    # face is 1/(1 - offset x curvature) of a mm along the route.
    along_face = work.spec.frog_point / (2 * math.sin(frog.angle / 2))
    bend = work.layout.route(owner.route).path.curvature_at(station)
    far = along_face / (1 - owner.face.offset * bend) * (1 if before else -1)
    return min(nose, station + far), max(nose, station + far)


def all_gaps(work: Trackwork) -> Iterator[tuple[Frog, RouteFace, str, tuple[float, float]]]:
    """Yield (frog, face, gauge, gap): each V, its faces and their gauges; each nose of each K and its gauges."""
    for frog in work.frogs:
        for which, owner in enumerate((frog.first, frog.second)):
            for gauge in owner.face.gauges:
                yield frog, owner, gauge.name, gap_by_hand(work, frog, which)


def guided(work: Trackwork, owner: RouteFace, gauge_name: str, gap: tuple[float, float]) -> Spans:
    """Return where within a gap something holds the wheels of a gauge: metal at check gauge from the guarded face.

    Looked for on the outlines that are drawn, just behind the line where a guard's face belongs and nowhere before it.
    """
    gauge = work.spec.gauges[gauge_name]
    path = work.layout.route(owner.route).path
    toward = -owner.face.outward  # from the guarded face to the other rail of the gauge
    metal = shapely.union_all(
        [
            *(Polygon(guard.ring) for guard in work.guards),
            *(part.region for part in heads(work) if part.owner.route != owner.route),
        ]
    )
    near = metal.intersection(Polygon(_around(work, owner, gap)).buffer(gauge.width + 5.0))
    shapely.prepare(near)
    spans: Spans = []
    count = int((gap[1] - gap[0]) / STEP)
    for i in range(count + 1):
        station = gap[0] + (i + 0.5) * STEP
        line = [path.point_at(station, owner.face.offset + toward * (gauge.check_gauge + d)) for d in (-0.004, -0.01)]
        free = [
            path.point_at(station, owner.face.offset + toward * (gauge.check_gauge + d))
            for d in (0.02, gauge.width - gauge.check_gauge - 0.01)
        ]
        if near.contains(LineString(line)) and not near.intersects(LineString(free)):
            if spans and station - spans[-1][1] < 1.5 * STEP:
                spans[-1] = (spans[-1][0], station)
            else:
                spans.append((station, station))
    return spans


def _around(work: Trackwork, owner: RouteFace, gap: tuple[float, float]) -> list[tuple[float, float]]:
    path = work.layout.route(owner.route).path
    ends = [path.point_at(s, owner.face.offset) for s in gap]
    return [*ends, (ends[1][0], ends[1][1] + 1e-3)]


def total(spans: Spans) -> float:
    return sum(high - low for low, high in spans)


def test_each_gap_is_the_one_worked_out_by_hand_and_none_is_left_out(work: Trackwork) -> None:
    told = {(t.need.guarded, t.need.face, t.need.gauge.name): t for t in work.guarding}
    by_hand = list(all_gaps(work))
    assert len(told) == len(work.guarding) == len(by_hand)
    for frog, owner, gauge, gap in by_hand:
        need = told[frog.id, owner, gauge].need
        assert need.gap == pytest.approx(gap, abs=0.01), (frog.id, owner.label)
        assert need.beside.route == owner.route and need.beside.face.hand != owner.face.hand
        assert abs(need.beside.face.offset - owner.face.offset) == pytest.approx(work.spec.gauges[gauge].width)


def test_what_is_said_to_be_covered_is_and_what_is_said_to_be_open_is(work: Trackwork) -> None:
    """No false cover and no false alarm, to a few hundredths of a mm; a tighter guard of another gauge covers too."""
    for told in work.guarding:
        need = told.need
        tight = {g.flangeway for g in work.guards if g.beside == need.beside} - {need.gauge.guard_flangeway}
        found = guided(work, need.face, need.gauge.name, need.gap)
        if any(flangeway < need.gauge.guard_flangeway - 1e-6 for flangeway in tight):
            assert total(found) <= total(list(told.covered)) + 3 * STEP
            continue
        assert total(found) == pytest.approx(total(list(told.covered)), abs=4 * STEP), (need.guarded, need.face.label)
        assert total(list(told.covered)) + total(list(told.missing)) == pytest.approx(
            need.gap[1] - need.gap[0], abs=0.01
        )


@pytest.mark.parametrize("degrees", [5.0, 9.5, 14.25, 20.0, 30.0])
def test_a_flat_diamond_has_a_length_that_no_check_rail_covers(degrees: float) -> None:
    """By hand: the gap of a K is f/sin F; the bent rail covers G tan(F/2) less w tan(F/2) of it, up to its bend.

    With G the gauge, f its frog flangeway and w its guard flangeway. From about 22 degrees on nothing is left open.
    """
    angle = math.radians(degrees)
    work = built(crossing(degrees, y=-225 * math.sin(angle)))
    (gauge,) = work.spec.gauges.values()
    open_length = gauge.flangeway / math.sin(angle) - (gauge.width - gauge.guard_flangeway) * math.tan(angle / 2)
    needs = [told for told in work.guarding if work.frog(told.need.guarded).kind == "K"]
    assert len(needs) == 4
    for told in needs:
        assert total(list(told.missing)) == pytest.approx(max(open_length, 0.0), abs=2e-3)
    bent = [guard for guard in work.guards if guard.bent_at]
    assert len(bent) == 4
    for guard in bent:
        ((name, _),) = guard.bent_at
        (other,) = (g for g in bent if g.id == name)
        shared = Polygon(guard.ring).boundary.intersection(Polygon(other.ring).boundary.buffer(1e-6))
        assert shared.length == pytest.approx(work.spec.rail.head / math.cos(angle / 2), abs=1e-3)  # the mitre
        assert Polygon(guard.ring).intersection(Polygon(other.ring)).area < 1e-3


def crossed(at: float) -> str:
    """Return a plain turnout whose guard beside the main's right rail another track's square crossing may bar."""
    return (
        plain(6)
        + f"""
        across: {{start: {{x: {at}, y: -40, heading: 90 deg}}, path: [straight: 80]}}
    """
    )


def test_a_guard_just_fits_and_just_does_not() -> None:
    """Another track comes nearer along the main: first the flare gives, then what is beyond the gap, then the gap."""
    free = built(plain(6))
    (whole,) = (guard for guard in free.guards if guard.beside.route == "main")
    (gauge,) = free.spec.gauges.values()
    groove, head = gauge.guard_flangeway, free.spec.rail.head
    (need,) = (told.need for told in free.guarding if told.need.beside == whole.beside)
    assert whole.straight == pytest.approx((need.gap[0] - groove, need.gap[1] + groove))
    assert whole.ends == pytest.approx((whole.straight[0] - 10 * groove, whole.straight[1] + 10 * groove))

    def beside(clear: float) -> Trackwork:
        """Return the turnout crossed so that the other track's left head begins `clear` mm behind the gap."""
        return built(crossed(need.gap[1] + clear + head + gauge.width / 2))

    def laid(work: Trackwork) -> tuple[float, float, float]:
        """Return flare, what is straight beyond the gap, and what of the gap is missing."""
        (guard,) = (g for g in work.guards if g.beside == whole.beside and g.straight[0] < need.gap[1] < g.ends[1] + 9)
        (told,) = (t for t in work.guarding if t.need.beside == whole.beside and t.need.guarded == need.guarded)
        return guard.ends[1] - guard.straight[1], guard.straight[1] - need.gap[1], total(list(told.missing))

    assert laid(beside(11.2 * groove)) == pytest.approx((10 * groove, groove, 0.0), abs=0.01)
    assert laid(beside(6 * groove)) == pytest.approx((5 * groove, groove, 0.0), abs=0.05)
    assert laid(beside(2.5 * groove)) == pytest.approx((2 * groove, 0.5 * groove, 0.0), abs=0.05)
    just = beside(2 * groove + 0.05)
    assert laid(just)[2] == 0.0 and not [f for f in check_guarding(just) if f.where.startswith(need.guarded)]
    short = beside(2 * groove - 0.1)
    assert laid(short)[2] == pytest.approx(0.1, abs=0.05)
    assert [f for f in check_guarding(short) if f.where.startswith(f"{need.guarded} (V)")]
    (named,) = (g for g in short.guards if g.beside == whole.beside and g.straight[0] < need.gap[1] < g.ends[1])
    assert any("across" in name for name in named.shortened_by)
    assert named.full_ends == pytest.approx(whole.ends)


def figures_of(work: Trackwork) -> list[tuple[float, ...]]:
    """Return what is laid and what is missing, in numbers that a mirror leaves as they are."""
    guards = [(*g.straight, *g.ends, g.flangeway) for g in work.guards]
    wings = [(*sorted(w.straight), w.end) for w in work.wings]
    told = [(*t.need.gap, total(list(t.covered)), total(list(t.missing))) for t in work.guarding]
    sides = [(*s.guides, *s.cut) for s in work.sides]
    return sorted([*guards, *wings, *told, *sides])


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("case", ["both", "wide", "narrow", "parting narrow", "parting wide"])
def test_a_mirrored_turnout_is_guarded_alike(pair: str, case: str) -> None:
    length, keys = PAIRS[pair]
    for common, hand in (("left", "left"), ("left", "right")):
        other = {"left": "right", "right": "left"}
        one = built(two_gauge(case, common, hand, length=length), **keys)
        two = built(two_gauge(case, other[common], other[hand], length=length), **keys)
        assert len(figures_of(one)) == len(figures_of(two))
        for a, b in zip(figures_of(one), figures_of(two), strict=True):
            assert a == pytest.approx(b, abs=5e-3)


def scaled(times: float) -> Trackwork:
    """Return a crowded turnout with every length so many times as long."""

    def of(mm: float) -> str:
        return f"{mm * times:.9f} mm"

    clearances = ", ".join(
        f"{name}: {{flangeway: {of(f)}, check_gauge: {of(c)}, span: {of(s)}, point_spread: {of(p)}}}"
        for name, f, c, s, p in (("standard", 1.3, 15.2, 13.9, 14.8), ("narrow", 0.9, 8.1, 7.2, 7.9))
    )
    path = f"path: [{{frog: 6}}, {{straight: {of(60)}}}]"
    routes = f"""
        main: {{common_rail: left, path: [straight: {of(420)}]}}
        branch: {{leaves: main, at: {of(80)}, gauges: [standard, narrow], hand: left, {path}}}
    """
    keys: dict[str, Any] = {
        "gauges": f"standard: {of(16.5)}, narrow: {of(9)}",
        "clearances": f"{{{clearances}}}",
        "rail": f"{{height: {of(2.1)}, head: {of(1.0)}, base: {of(1.9)}}}",
        "frog_point": of(0.3),
    }
    return built(routes, **keys)


def test_twice_as_large_is_guarded_alike() -> None:
    one, two = figures_of(scaled(1.0)), figures_of(scaled(2.0))
    assert len(one) == len(two) > 12
    for a, b in zip(one, two, strict=True):
        # An overlap of 0.02 mm is let pass at any scale: 0.02 x 6 mm along a No. 6, once and twice; 0.02 is kept.
        assert [2 * x for x in a] == pytest.approx(list(b), abs=0.28)


def test_turnouts_of_a_ladder_have_their_guards_whole() -> None:
    work = built(ladder(16))
    assert len(work.guards) == 32 and not work.unguarded
    assert all(not guard.merged_from and not guard.shortened_by for guard in work.guards)


def test_exactly_one_finding_for_each_frog_with_anything_unguarded(work: Trackwork) -> None:
    names = [finding.where.split(" ")[0] for finding in check_guarding(work)]
    assert sorted(names) == sorted({told.need.guarded for told in work.guarding if total(list(told.missing)) > 0})


def test_guards_of_one_k_do_not_lie_on_each_other() -> None:
    """Two gauges cross a narrow track at a slant in N: two guards of one K come so near that one must give way."""
    work = built(
        """
        main: {gauges: [standard, narrow], common_rail: left, path: [{curve: {radius: 1103, turn: right, length: 33}},
          {easement: {length: 82, from: {radius: 1103, turn: right}, to: straight}}, {straight: 49}]}
        feeder: {gauges: [narrow], start: {x: 13.8, y: -24.8, heading: 33.5 deg}, path: [straight: 154]}
        """,
        **PAIRS["N, Nn3"][1],
    )
    shapes = {guard.id: Polygon(guard.ring).buffer(0) for guard in work.guards}
    bent = {frozenset((guard.id, name)) for guard in work.guards for name, _ in guard.bent_at}
    assert len(shapes) > 5
    for a, b in combinations(shapes, 2):
        if frozenset((a, b)) not in bent:
            assert shapes[a].intersection(shapes[b]).buffer(-0.005).is_empty, (a, b)


def test_a_gap_is_no_longer_than_a_groove_where_the_other_route_begins_within_it() -> None:
    """The second branch leaves 1 mm before the first one's rail crosses the main: it crosses that one too, and no edge
    of its groove reaches there. A No. 6 breaks a face over flangeway / sin F and as far as its point is blunt.
    """
    first = "one: {leaves: main, at: 60, hand: right, path: [{frog: 6}, {straight: 60}]}"
    main = "main: {path: [straight: 700]}"
    (frog,) = built(f"{main}\n{first}").frogs
    second = f"two: {{leaves: main, at: {frog.s - 1.0}, hand: right, path: [{{frog: 8}}, {{straight: 60}}]}}"
    work = built(f"{main}\n{first}\n{second}")
    angle = 2 * math.atan(1 / 12)
    longest = 0.048 * 25.4 / math.sin(angle) + work.spec.frog_point / (2 * math.sin(angle / 2)) + 1.0
    between = [frog.id for frog in work.frogs if {frog.first.route, frog.second.route} == {"one", "two"}]
    gaps = [one.need.gap for one in work.guarding if one.need.guarded in between]
    assert gaps and all(high - low < longest for low, high in gaps)
