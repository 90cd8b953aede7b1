"""Frogs: which kind, how many, at what angle, with gaps and practical points where they belong."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

import pytest
from trackwork.building import TWO_GAUGES, built, gap_at
from trackwork.sites import SITES, crossing

from turnout_templates.trackwork.model import Trackwork


@pytest.fixture(params=SITES, scope="module")
def work(request: pytest.FixtureRequest) -> Trackwork:
    routes, keys = SITES[request.param]
    return built(routes, **keys)


def test_a_gap_is_where_the_other_face_is_a_flangeway_off(work: Trackwork) -> None:
    for frog in work.frogs:
        for owner, other in ((frog.first, frog.second), (frog.second, frog.first)):
            nose, _ = gap_at(frog, owner)
            if nose is not None:
                place = work.layout.route(owner.route).path.point_at(nose, owner.face.offset)
                path = work.layout.route(other.route).path
                station = frog.s if other == frog.first else frog.t
                left = path.foot_near(place, station)[1]
                inside = (other.face.offset - left) * other.face.outward
                assert inside == pytest.approx(other.face.flangeway, abs=1e-6)


def test_the_gap_of_a_v_lies_before_its_point_and_the_blunt_behind(work: Trackwork) -> None:
    for frog in (frog for frog in work.frogs if frog.kind == "V"):
        for i, owner in enumerate((frog.first, frog.second)):
            way, station = frog.heel_directions[i], (frog.s, frog.t)[i]
            nose, far = gap_at(frog, owner)
            if nose is not None and frog.practical is not None:
                assert (station - nose) * way > 0 < (far - station) * way


def test_a_v_is_blunt_where_its_faces_are_a_frog_point_apart(work: Trackwork) -> None:
    for frog in work.frogs:
        if frog.practical is None or frog.practical_stations is None:
            continue
        ends = [
            work.layout.route(o.route).path.point_at(s, o.face.offset)
            for o, s in zip((frog.first, frog.second), frog.practical_stations, strict=True)
        ]
        assert math.dist(*ends) == pytest.approx(work.spec.frog_point, abs=1e-9)
        assert frog.practical == pytest.approx(((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2), abs=1e-9)


def test_the_heads_of_a_v_meet_between_its_faces(work: Trackwork) -> None:
    """At the heel both heads lie between the two faces: each on the side of the other face."""
    for frog in (frog for frog in work.frogs if frog.kind == "V" and frog.practical_stations):
        assert frog.practical_stations is not None
        poses = [
            work.layout.route(o.route).path.pose_at(s).shifted(o.face.offset)
            for o, s in zip((frog.first, frog.second), frog.practical_stations, strict=True)
        ]
        for i, owner in enumerate((frog.first, frog.second)):
            left = poses[i].local(poses[1 - i].point)[1]
            assert left * owner.face.outward > 0


@pytest.mark.parametrize("degrees", [14, 30, 45, 60, 85, 95, 120, 150, 166, -30, -150])
def test_a_diamond_has_two_v_and_two_k(degrees: float) -> None:
    y = -120 if degrees > 0 else 120
    work = built(crossing(degrees, y=y, length=1100))
    assert Counter(frog.kind for frog in work.frogs) == {"V": 2, "K": 2}
    folded = min(abs(degrees), 180 - abs(degrees))
    for frog in work.frogs:
        assert math.degrees(frog.angle) == pytest.approx(folded, abs=1e-9)
        assert frog.number == pytest.approx(0.5 / math.tan(math.radians(folded) / 2), rel=1e-12)
        assert frog.switch is None and frog.lead is None
    # The V frogs are the sharp corners of the rhombus between the rails: further apart than the K frogs.
    across = {kind: math.dist(*(frog.point for frog in work.frogs if frog.kind == kind)) for kind in ("V", "K")}
    gauge = work.spec.gauges["standard"].width
    half = math.radians(folded) / 2
    assert across["V"] == pytest.approx(gauge / math.sin(half), rel=1e-9)
    assert across["K"] == pytest.approx(gauge / math.cos(half), rel=1e-9)


@pytest.mark.parametrize("degrees", [30, 150, 45, 135])
def test_a_diamond_of_two_gauges_crosses_nine_times(degrees: float) -> None:
    """Three rails over three; of the common and third rails' crossings the hands tell which are V."""
    both = "[standard, narrow], common_rail: left"
    work = built(crossing(degrees, main=both, over=both, length=900), gauges=TWO_GAUGES)
    kinds = Counter(frog.kind for frog in work.frogs)
    # One left and two right rails each: left with left and right with right make 1 + 4, left with right 2 + 2.
    opposed = degrees > 90
    assert kinds == ({"V": 5, "K": 4} if opposed else {"K": 5, "V": 4})
    for frog in work.frogs:
        same = frog.first.face.hand == frog.second.face.hand
        assert (frog.kind == "K") == (same != opposed)


def test_routes_that_cross_twice_have_frogs_at_both_places() -> None:
    work = built(*(SITES["crossing twice"][0],))
    assert Counter(frog.kind for frog in work.frogs) == {"V": 4, "K": 4}
    stations = [frog.s for frog in work.frogs]
    assert stations == sorted(stations)
    gaps = [b - a for a, b in pairwise(stations)]
    assert gaps.index(max(gaps)) == 3
    for pair in {(f.first, f.second) for f in work.frogs}:
        assert sum((f.first, f.second) == pair for f in work.frogs) == 2


def test_frogs_are_named_by_pair_of_routes_then_along_the_first(work: Trackwork) -> None:
    assert [frog.id for frog in work.frogs] == [f"F{i}" for i in range(1, len(work.frogs) + 1)]
    order = {route.name: i for i, route in enumerate(work.layout)}
    pairs = [tuple(sorted((order[f.first.route], order[f.second.route]))) for f in work.frogs]
    assert pairs == sorted(pairs)
    for pair in set(pairs):
        stations = [f.s for f, p in zip(work.frogs, pairs, strict=True) if p == pair]
        assert stations == sorted(stations)


@pytest.mark.parametrize("number", [3, 4.5, 7, 11])
def test_a_frog_of_a_turnout_belongs_to_its_switch(number: float) -> None:
    work = built(
        f"""
        main: {{path: [straight: 700]}}
        branch: {{leaves: main, at: 60, hand: left, path: [{{frog: {number}}}, {{straight: 100}}]}}
        """
    )
    (frog,) = work.frogs
    assert frog.switch == "S1" and frog.lead == pytest.approx(frog.s - 60, abs=1e-12)
    assert frog.number == pytest.approx(number, rel=1e-12)
