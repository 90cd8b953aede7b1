"""What is left of the heads: nothing in a flangeway, nothing on another head but where rails are meant to meet."""

from __future__ import annotations

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from trackwork.building import (
    THIN,
    all_faces,
    built,
    face_line,
    flangeway,
    gap_at,
    heads,
    is_thin,
    overlaps,
    plain,
    splice_of,
    station_beside,
)
from trackwork.sites import N_KEYS, SITES, two_gauge

from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace


@pytest.fixture(params=SITES, scope="module")
def work(request: pytest.FixtureRequest) -> Trackwork:
    routes, keys = SITES[request.param]
    return built(routes, **keys)


def test_no_two_heads_overlap(work: Trackwork) -> None:
    """Points lie against their stock rails, spliced bars against the point of a V, and elbows are mitred."""
    assert [(a.owner.label, b.owner.label, common.area) for a, b, common in overlaps(work)] == []


def pairs_behind(work: Trackwork) -> dict[tuple[RouteFace, RouteFace], PointRail]:
    return {(p.owner, outside): p for switch in work.switches for p in switch.points for outside in p.outside}


def test_no_head_stands_in_a_flangeway_of_another_route(work: Trackwork) -> None:
    behind = pairs_behind(work)
    for part in heads(work):
        for owner in all_faces(work):
            if owner.route == part.owner.route:
                continue
            route = work.layout.route(owner.route)
            low = route.begin_of(owner.face)
            # Between tip and heel a point moves away from the rails that it lies behind.
            if (point := behind.get((part.owner, owner))) is not None:
                low = station_beside(work, owner.route, point.owner, point.clear)
            elif (point := behind.get((owner, part.owner))) is not None:
                low = point.clear
            if low < route.path.length - 1.0 and not in_front(work, part.owner, owner):
                groove = flangeway(work, owner, low, route.path.length)
                assert is_thin(part.region.intersection(groove), THIN), (part.owner.label, owner.label)


def in_front(work: Trackwork, a: RouteFace, b: RouteFace) -> bool:
    """Say whether one of two faces is a point behind a rail that is itself a point behind the other, near by."""
    behind = pairs_behind(work)
    return any(
        (first, middle) in behind and (middle, last) in behind
        for first, last in ((a, b), (b, a))
        for middle in all_faces(work)
    )


def test_a_gauge_face_is_missing_at_frogs_only(work: Trackwork) -> None:
    for head in work.heads:
        owner, stretch = head.stretch.owner, head.stretch
        frogs = [frog for frog in work.frogs if owner in (frog.first, frog.second)]
        allowed = []
        for frog in frogs:
            nose, far = gap_at(frog, owner)
            if nose is None:
                onward = frog.heel_directions[(frog.first, frog.second).index(owner)]
                nose = stretch.low if onward > 0 else stretch.high
            if frog.kind == "V" and owner == frog.second:
                spliced = splice_of(work, frog)
                assert spliced is not None
                far = spliced
            allowed.append(LineString([(min(nose, far) - 3e-3, 0), (max(nose, far) + 3e-3, 0)]))
        there = [LineString([(low, 0), (high, 0)]) for low, high in head.faces]
        missing = LineString([(stretch.low, 0), (stretch.high, 0)]).difference(shapely.union_all(there))
        assert missing.difference(shapely.union_all(allowed)).length < 1e-3, (head.rail, owner.label)
        # And it is missing there: no face reaches into a gap.
        for gap in allowed:
            inside = gap.intersection(LineString([(stretch.low, 0), (stretch.high, 0)]))
            assert shapely.union_all(there).intersection(inside).length < 7e-3, (head.rail, owner.label)


def test_a_face_lies_on_the_metal_of_its_head(work: Trackwork) -> None:
    for head, part in zip(work.heads, heads(work), strict=True):
        for low, high in head.faces:
            line = face_line(work, head.stretch.owner, low, high)
            assert line.difference(part.region.buffer(THIN)).length < 0.1, (head.rail, head.stretch.owner.label)


def test_what_has_lost_its_gauge_face_is_gone(work: Trackwork) -> None:
    for head in work.heads:
        faces = [face_line(work, head.stretch.owner, low, high) for low, high in head.faces]
        for ring in head.rings:
            assert min(Polygon(ring).distance(face) for face in faces) < 2 * THIN, (head.rail, head.stretch.owner.label)


def test_of_a_rail_whose_face_is_lost_nothing_stays() -> None:
    """Two tracks far too close: the face of b's right rail lies 0.9 mm inside a's left, and half of its head beyond."""
    routes = "a: {path: [straight: 200]}\nb: {start: {x: 40, y: 15.54, heading: 0 deg}, path: [straight: 100]}"
    work = built(routes)
    (lost,) = [h for h in work.heads if h.stretch.owner.route == "b" and h.stretch.owner.face.hand == "right"]
    assert lost.faces == () and lost.rings == ()
    assert sum(high - low for low, high in lost.edges) < 0.1


def test_the_tip_of_a_v_is_blunt(work: Trackwork) -> None:
    """Nothing is left of either head between the theoretical point and where the faces are a frog point apart."""
    for frog in (frog for frog in work.frogs if frog.practical_stations is not None):
        assert frog.practical_stations is not None
        owners = (frog.first, frog.second)
        ends = [
            work.layout.route(o.route).path.point_at(s, o.face.offset)
            for o, s in zip(owners, frog.practical_stations, strict=True)
        ]
        tip = Polygon([frog.point, *ends])
        assert tip.area > 0.001 * frog.number * work.spec.frog_point**2
        for part in heads(work):
            if part.owner in owners:
                assert is_thin(part.region.intersection(tip), THIN), (frog.id, part.owner.label)


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("points", ["tangent", "{length: 45, spread: 2.2, tip: 0.15}", "{entry: 1.2 deg}"])
def test_a_filed_point_fills_what_its_stock_rail_leaves(points: str, hand: str) -> None:
    """Across the rail a point is as wide as its face is apart from the stock rail's, until that is its whole head."""
    work = built(plain(6, hand, points=points))
    checked = 0
    for point in (point for switch in work.switches for point in switch.points):
        (stock,) = point.outside
        region = shapely.union_all([part.region for part in heads(work) if part.owner == point.owner])
        path = work.layout.route(point.owner.route).path
        stock_path = work.layout.route(stock.route).path
        for u in (0.05, 0.3, 0.6, 0.9, 1.05):
            s = point.tip + u * (point.full_head - point.tip)
            pose = path.pose_at(s).shifted(point.owner.face.offset)
            near = station_beside(work, stock.route, point.owner, s)
            apart = (stock.face.offset - stock_path.foot_near(pose.point, near)[1]) * stock.face.outward
            across = LineString([pose.beside(-1.0), pose.beside(0.0), pose.beside(point.owner.face.outward * 3.0)])
            width = across.intersection(region).length
            # The cut across is square to the point, not to the stock rail: as good as the same at so small an angle.
            assert width == pytest.approx(min(apart, work.spec.rail.head), rel=2e-3, abs=0.006)
            checked += 1
    assert checked == 10


def test_the_n_nn3_turnout_of_the_design() -> None:
    """Code 55, No. 6, flangeway 0.9: third rail cut from 30.5, nose at 40.9, heel at 41.1, from the tangent point."""
    for hand in ("left", "right"):
        work = built(two_gauge("both", "left", hand), **N_KEYS)
        (k,) = [frog for frog in work.frogs if frog.kind == "K"]
        # The third rail is the K's rail of narrow gauge that is stock at the switch.
        (third,) = [o for o in (k.first, k.second) if o.face.gauge == "narrow"]
        begin = 80 if third.route == "main" else 0
        (head,) = [h for h in work.heads if h.stretch.owner == third and h.stretch.high > begin + 1]
        assert head.filed[0][0] - begin == pytest.approx(30.5, abs=0.1)
        nose = gap_at(k, third)[0]
        assert nose is not None and nose - begin == pytest.approx(40.9, abs=0.05)
        # The heel is that of the point that crosses it, measured along the route whose rail lies in front of it.
        (point,) = [p for s in work.switches for p in s.points if p.owner in (k.first, k.second)]
        assert third not in point.outside
        stock = point.outside[0].route
        begins = 80 if stock == "main" else 0
        heel = station_beside(work, stock, point.owner, point.heel) - begins
        assert heel == pytest.approx(41.1, abs=0.1)
        if stock == "main":
            # On straight stock: sqrt(2 R y - y^2), R = (9 - k sin F)/(1 - cos F) of the outer face, k = 10.706,
            # F = 9.5273 deg, y = 0.7112 + 0.9.
            assert heel == pytest.approx(41.062, abs=1e-3)
