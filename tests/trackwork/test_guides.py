"""Guard and wing rails: at their distance, over the gap they are for, and on nothing else."""

from __future__ import annotations

from itertools import combinations, product

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot
from trackwork.building import TWENTY, TWO_GAUGES, built, face_line, gap_at, heads, is_thin, plain, two_gauge
from trackwork.sites import SITES

from turnout_templates.trackwork.frogs.frog_parts import Guard
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace

TOUCH = 0.05
"""A guiding rail may lie on another by this (mm): the program lets 0.02 pass, and ends a flare square to the rail."""


@pytest.fixture(params=SITES, scope="module")
def work(request: pytest.FixtureRequest) -> Trackwork:
    routes, keys = SITES[request.param]
    return built(routes, **keys)


def guarded_faces(work: Trackwork, guard: Guard) -> list[tuple[str, RouteFace]]:
    """Return each (frog, face of it) that a guard is for: on its route, opposite the rail it lies beside."""
    return [
        (frog.id, owner)
        for frog in (work.frog(name) for name in guard.frogs)
        for owner in (frog.first, frog.second)
        if owner.route == guard.beside.route and owner.face.hand != guard.beside.face.hand
        if {g.name for g in owner.face.gauges} & {g.name for g in guard.beside.face.gauges}
    ]


def missing_of(work: Trackwork, frog: str, owner: RouteFace) -> list[tuple[float, float]]:
    """Return the stations of a frog's face at which the program says that something is unguided."""
    return [
        part for case in work.unguarded if (case.need.guarded, case.need.face) == (frog, owner) for part in case.missing
    ]


def test_a_guard_stands_at_gauge_less_check_gauge(work: Trackwork) -> None:
    for guard in work.guards:
        gauge = work.spec.gauges[guard.gauge]
        assert guard.flangeway == pytest.approx(gauge.width - gauge.check_gauge, abs=1e-12)
        assert any(g.name == guard.gauge for g in guard.beside.face.gauges)
        ring, face = Polygon(guard.ring), face_line(work, guard.beside, *guard.straight)
        assert ring.is_valid
        assert ring.distance(face) == pytest.approx(guard.flangeway, abs=0.003)
        # All along its straight part, and on the gauge side: a rail's head away from the face it guides beside.
        for u in (0.0, 0.5, 1.0):
            at = face.interpolate(u, normalized=True)
            assert ring.distance(at) == pytest.approx(guard.flangeway, abs=0.003)
        inside = guard.beside.face.offset - guard.beside.face.outward * (guard.flangeway + work.spec.rail.head / 2)
        middle = work.layout.route(guard.beside.route).path.point_at(sum(guard.straight) / 2, inside)
        assert ring.intersects(Polygon([middle, (middle[0] + 1e-6, middle[1]), (middle[0], middle[1] + 1e-6)]))


def test_a_guard_is_straight_over_the_whole_gap_and_flared_beyond(work: Trackwork) -> None:
    for guard in work.guards:
        assert guard.ends[0] <= guard.straight[0] < guard.straight[1] <= guard.ends[1]
        faces = guarded_faces(work, guard)
        assert {name for name, _ in faces} == set(guard.frogs)
        for name, owner in faces:
            missing = missing_of(work, name, owner)
            for station in gap_at(work.frog(name), owner):
                if station is not None and not any(low - 1e-6 <= station <= high + 1e-6 for low, high in missing):
                    assert guard.straight[0] <= station <= guard.straight[1], (guard.id, name)


def test_a_guard_lies_on_nothing(work: Trackwork) -> None:
    for guard in work.guards:
        ring = Polygon(guard.ring)
        for part in heads(work):
            assert is_thin(ring.intersection(part.region), TOUCH), (guard.id, part.owner.label)
        for wing in work.wings:
            assert is_thin(ring.intersection(Polygon(wing.ring)), TOUCH), (guard.id, wing.frog)
    for a, b in combinations(work.guards, 2):
        assert is_thin(Polygon(a.ring).intersection(Polygon(b.ring)), TOUCH), (a.id, b.id)


def test_every_gap_is_guarded_or_reported(work: Trackwork) -> None:
    """One guard for each V, face and gauge on that face, and for each nose of a K."""
    wanted = {
        (frog.id, owner.route, owner.face.hand, gauge.name)
        for frog in work.frogs
        for owner in (frog.first, frog.second)
        for gauge in owner.face.gauges
    }
    opposite = {"left": "right", "right": "left"}
    laid = {
        (name, owner.route, owner.face.hand, gauge.name)
        for guard in work.guards
        for name, owner in guarded_faces(work, guard)
        for gauge in owner.face.gauges
        if gauge.name in {g.name for g in guard.beside.face.gauges}
    }
    told = {
        (u.need.guarded, u.need.beside.route, opposite[u.need.beside.face.hand], u.need.gauge.name)
        for u in work.unguarded
    }
    assert wanted <= laid | told


def test_a_wing_stands_a_flangeway_off_the_other_face(work: Trackwork) -> None:
    for wing in work.wings:
        frog = work.frog(wing.frog)
        assert frog.kind == "V" and {wing.continues, wing.beside} == {frog.first, frog.second}
        assert wing.flangeway == wing.beside.face.flangeway
        ring, face = Polygon(wing.ring), face_line(work, wing.beside, *wing.straight)
        assert ring.is_valid
        assert ring.distance(face) == pytest.approx(wing.flangeway, abs=0.003)
        # It begins at the knuckle, where its own face ends.
        nose, _ = gap_at(frog, wing.continues)
        assert nose is not None
        knuckle = work.layout.route(wing.continues.route).path.point_at(nose, wing.continues.face.offset)
        ends = [face.interpolate(0.0), face.interpolate(1.0, normalized=True)]
        assert min(((e.x - knuckle[0]) ** 2 + (e.y - knuckle[1]) ** 2) ** 0.5 for e in ends) == pytest.approx(
            wing.flangeway, abs=0.02
        )


def test_a_wing_lies_on_no_rail_but_the_one_it_goes_on_from(work: Trackwork) -> None:
    for wing in work.wings:
        ring = Polygon(wing.ring)
        for part in heads(work):
            if part.owner != wing.continues:
                assert is_thin(ring.intersection(part.region), TOUCH), (wing.frog, part.owner.label)
    for a, b in combinations(work.wings, 2):
        assert is_thin(Polygon(a.ring).intersection(Polygon(b.ring)), TOUCH), (a.frog, b.frog)


@pytest.mark.parametrize("number", [4, 6, 8])
def test_wings_of_a_plain_turnout_run_on_past_the_point(number: int) -> None:
    work = built(plain(number))
    (frog,) = work.frogs
    assert len(work.wings) == 2
    for wing in work.wings:
        _, far = gap_at(frog, wing.beside)
        # Past the practical point until the V has a full head: head/(2 sin(F/2)) = N head nearly; then the flare.
        assert wing.straight[1] - far == pytest.approx(number * (work.spec.rail.head - work.spec.frog_point), rel=0.02)
        assert wing.end > wing.straight[1] + 5.0


@pytest.mark.parametrize(("case", "common", "hand"), TWENTY)
def test_the_span_of_guard_and_wing_is_within_the_standards(case: str, common: str, hand: str) -> None:
    """Measured on the drawn outlines, square to the track where both are straight, guiding side to guiding side."""
    work = built(two_gauge(case, common, hand), gauges=TWO_GAUGES)
    measured = 0
    for guard, wing in product(work.guards, work.wings):
        gauge = work.spec.gauges[guard.gauge]
        low, high = max(guard.straight[0], wing.straight[0]), min(guard.straight[1], wing.straight[1])
        is_pair = wing.beside.route == guard.beside.route and wing.frog in guard.frogs and high > low + 1.0
        if not is_pair or gauge.name not in {g.name for g in wing.beside.face.gauges}:
            continue
        path, s = work.layout.route(guard.beside.route).path, (low + high) / 2
        across = LineString([path.point_at(s, face.offset) for face in (guard.beside.face, wing.beside.face)])
        assert across.length == pytest.approx(gauge.width, abs=1e-9)
        rails = across.intersection(Polygon(guard.ring).union(Polygon(wing.ring)))
        corners = [Spot(corner) for corner in shapely.get_coordinates(rails)]
        span = max(a.distance(b) for a, b in combinations(corners, 2))
        assert span == pytest.approx(gauge.check_gauge - wing.flangeway, abs=0.005)
        assert span <= gauge.span + 1e-6
        measured += 1
    assert measured >= 2
