"""Rails followed past tips: every face of every route is laid once, and the bars are what its frogs leave."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest
from trackwork.building import all_faces, built, plain, station_beside
from trackwork.formations import FORMATIONS
from trackwork.sites import SITES

from turnout_templates.trackwork.model import Trackwork


@pytest.fixture(params=SITES, scope="module")
def work(request: pytest.FixtureRequest) -> Trackwork:
    routes, keys = SITES[request.param]
    return built(routes, **keys)


def test_every_face_is_laid_once(work: Trackwork) -> None:
    """From where a face begins to the end of its route; a point alone begins later, at its filed tip.

    Where routes part that bend, the parent's rail is done where its stock rail bends off, a little before its end.
    """
    tips = {(point.owner, point.tip) for switch in work.switches for point in switch.points}
    for owner in all_faces(work):
        route = work.layout.route(owner.route)
        laid = sorted(
            (s.low, s.high) for rail in work.rails for s in rail.stretches if s.owner == owner and s.high > s.low
        )
        at = route.begin_of(owner.face)
        for low, high in laid:
            if low != pytest.approx(at, abs=1e-6):
                assert low > at and any(o == owner and low == pytest.approx(tip, abs=1e-9) for o, tip in tips), (
                    owner.label
                )
            at = high
        end = route.path.length
        for rail in work.rails:
            for before, after in pairwise(rail.stretches):
                if before.owner == owner and any(s.parting and s.parent == owner.route for s in work.switches):
                    end = min(end, station_beside(work, owner.route, after.owner, after.low))
        assert at == pytest.approx(end, abs=1e-6), owner.label


@pytest.mark.parametrize("name", FORMATIONS)
def test_every_face_of_routes_that_join_is_laid_once(name: str) -> None:
    """Also those that are stock rail at both ends, and those of closed rings, which begin nowhere."""
    work = FORMATIONS[name].job.trackwork
    points = [point for switch in work.switches for point in switch.points]
    for owner in all_faces(work):
        route = work.layout.route(owner.route)
        tips = [point.tip for point in points if point.owner == owner]
        laid = sorted((s.low, s.high) for rail in work.rails for s in rail.stretches if s.owner == owner)
        begin, end = route.begin_of(owner.face), route.end_of(owner.face)
        for (_, before), (after, _) in pairwise([(begin, begin), *laid, (end, end)]):
            gap = after - before
            # Between a tip and the filed tip of the point that begins there nothing is laid of that point.
            near_a_tip = any(min(abs(before - tip), abs(after - tip)) < 1e-6 for tip in tips)
            assert abs(gap) < 1e-6 or (0.0 < gap < 40.0 and near_a_tip), owner.label


def test_a_rail_goes_on_where_it_left_off(work: Trackwork) -> None:
    for rail in work.rails:
        for before, after in pairwise([s for s in rail.stretches if s.high > s.low]):
            ends = [
                work.layout.route(s.owner.route).path.point_at(station, s.owner.face.offset)
                for s, station in ((before, before.high), (after, after.low))
            ]
            assert ends[0] == pytest.approx(ends[1], abs=1e-6), rail.id


def test_points_begin_rails_and_nothing_else_does(work: Trackwork) -> None:
    free = sum(len(route.faces) for route in work.layout if route.departure is None)
    points = [point for switch in work.switches for point in switch.points]
    assert len(work.rails) == free + len(points)
    assert Counter(point for rail in work.rails for point in rail.points) == Counter(points)
    for rail in work.rails:
        if rail.first:
            assert (rail.stretches[0].owner, rail.stretches[0].low) == (rail.first.owner, rail.first.tip)


def test_bars_are_the_gauge_faces_between_breaks(work: Trackwork) -> None:
    faces = sorted((h.stretch.owner.label, low, high) for h in work.heads for low, high in h.faces)
    bars = sorted((s.owner.label, s.low, s.high) for bar in work.bars for s in bar.stretches)
    assert bars == faces
    assert len({bar.id for bar in work.bars}) == len(work.bars)


def test_the_bars_of_a_plain_turnout() -> None:
    """Two stock rails without a joint, two points that run to the knuckle, and the two bars of the V."""
    for hand in ("left", "right"):
        roles = Counter(bar.role for bar in built(plain(6, hand)).bars)
        assert roles == {"stock rail": 2, "point and closure rail": 2, "frog rail": 2}


def test_the_points_of_a_three_way_lie_behind_one_another() -> None:
    """Three routes from one tip: of three left rails the outermost is stock, each other behind all outside it."""
    switches = built(SITES["three ways"][0]).switches
    behind = {(p.owner.route, p.owner.face.hand): [o.route for o in p.outside] for s in switches for p in s.points}
    assert behind == {
        ("right", "left"): ["main", "left"],
        ("main", "left"): ["left"],
        ("left", "right"): ["main", "right"],
        ("main", "right"): ["right"],
    }
    for point in (point for switch in switches for point in switch.points):
        assert point.tip < point.full_head <= point.heel <= point.clear
