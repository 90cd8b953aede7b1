"""How bars are fitted at frogs, against formulas for straight track and against lines sampled finely."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from trackwork.building import (
    TWO_GAUGES,
    all_faces,
    built,
    heads,
    is_thin,
    job,
    plain,
    spec,
    splice_of,
    two_gauge,
    whole_head,
)

from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.reports.figures import figures
from turnout_templates.trackwork.frogs.contacts import bar_ends
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.frogs.knuckles import heel_of, knuckle_of, toe_of, unguided
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace

CROSSING = "a: {{path: [straight: 400]}}\nb: {{start: {{x: 200, y: -60, heading: {angle} deg}}, path: [straight: 330]}}"


def crossing(angle: float) -> Trackwork:
    """Two straight HO tracks that cross at an angle."""
    return built(CROSSING.format(angle=angle))


def fits(work: Trackwork, frog: Frog, what: str) -> list[Fit]:
    return [fit for fit in work.fits if fit.frog == frog.id and fit.what == what]


@pytest.mark.parametrize("angle", [24, 30, 44, 60, 75, 120, 150])
def test_straight_frogs_are_filed_over_head_by_tangent(angle: float) -> None:
    """All by trigonometry: a head h is whole h/tan F from where its face ends, a groove f wide reaches f/sin F.

    The point is blunt at p/(2 sin F/2) and whole at h/tan F from where the faces cross; the splice begins at h/sin F.
    """
    work = crossing(angle)
    h, p = work.spec.rail.head, work.spec.frog_point
    folded = math.radians(min(angle, 180 - angle))
    sine, tangent = math.sin(folded), math.tan(folded)
    assert len(work.frogs) == 4
    for frog in work.frogs:
        f = frog.first.face.flangeway
        at = {frog.first: frog.s, frog.second: frog.t}
        if frog.kind == "V":
            (point,), (spliced,) = fits(work, frog, "point"), fits(work, frog, "spliced")
            assert point.owner == frog.first and spliced.owner == frog.second
            assert point.whole is not None and spliced.whole is not None
            assert abs(point.whole - frog.s) == pytest.approx(h / tangent, abs=1e-9)
            assert point.length == pytest.approx(h / tangent - p / (2 * math.sin(folded / 2)), abs=1e-9)
            assert abs(spliced.end - frog.t) == pytest.approx(h / sine, abs=1e-9)
            assert spliced.length == pytest.approx(h / tangent, abs=1e-9)
            knuckle = knuckle_of(work.layout, frog)
            assert knuckle is not None
            # The noses lie f/sin F from the crossing on either face, which is 2 sin(F/2) times that apart.
            assert knuckle.throat == pytest.approx(f / math.cos(folded / 2), abs=1e-9)
            for end, times in ((toe_of(work.layout, frog, h), 2.5), (heel_of(work.layout, frog, h), 3.8)):
                assert end is not None
                assert end.length == pytest.approx(times * h / (2 * math.sin(folded / 2)), abs=1e-9)
            assert unguided(work.layout, frog) == pytest.approx([f / sine + p / (2 * math.sin(folded / 2))] * 2)
        else:
            for nose in fits(work, frog, "nose"):
                assert abs(nose.end - at[nose.owner]) == pytest.approx(f / sine, abs=1e-9)
                assert nose.length == pytest.approx(h / tangent, abs=1e-9)
            elbows = fits(work, frog, "elbow" if folded < math.radians(45) else "mitre")
            assert len(fits(work, frog, "nose")) == len(elbows) == 2
            for elbow in elbows:
                assert elbow.end == pytest.approx(at[elbow.owner], abs=1e-9)
                assert elbow.length == pytest.approx(h * math.tan(folded / 2), abs=1e-9)
            assert unguided(work.layout, frog) == pytest.approx([f / sine] * 2)
        assert all(fit.angle == pytest.approx(folded, abs=1e-9) for fit in work.fits if fit.frog == frog.id)
        assert all(fit.bar is not None for fit in work.fits if fit.frog == frog.id)


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("case", ["both", "wide", "narrow"])
@pytest.mark.parametrize("common", ["left", "right"])
def test_a_curved_point_is_whole_where_its_outer_edge_leaves_the_other_face(case: str, common: str, hand: str) -> None:
    """On lines sampled to 1e-4 mm: both bars of a V, and the noses of a K along the other flangeway's far edge."""
    work = built(two_gauge(case, common, hand), gauges=TWO_GAUGES)
    h = work.spec.rail.head
    for fit in work.fits:
        frog = work.frog(fit.frog)
        against = fit.against.face
        if fit.what == "spliced":
            assert fit.end == pytest.approx(splice_of(work, frog), abs=2e-3)
        out = {"point": 0.0, "spliced": h, "nose": -against.flangeway}.get(fit.what)
        if out is None:
            continue
        own, other = work.layout.route(fit.owner.route), work.layout.route(fit.against.route)
        lines = [
            Parallel(route.path, face.offset + face.outward * far, 0.0, route.path.length)
            for route, face, far in ((own, fit.owner.face, h), (other, against, out))
        ]
        edges = [LineString(flatten(line, sagitta=1e-4)) for line in lines]
        meetings = [
            nearest_station(own.path, (p.x, p.y))[0]
            for p in shapely.get_parts(edges[0].intersection(edges[1])).tolist()
        ]
        assert fit.whole is not None
        assert min(abs(station - fit.whole) for station in meetings) < 5e-3
        assert (fit.whole - fit.end) * fit.way >= 0


def test_a_filed_bar_is_whole_behind_its_filing_and_not_before() -> None:
    """A head is what it was rolled beyond the station given, and less just before it."""
    work = built(plain(6, "left"))
    (frog,) = work.frogs
    for what in ("point", "spliced"):
        (fit,) = fits(work, frog, what)
        assert fit.whole is not None
        metal = shapely.union_all([part.region for part in heads(work) if part.owner == fit.owner])
        beyond = whole_head(work, fit.owner, *sorted((fit.whole + fit.way * 0.05, fit.whole + fit.way * 3)))
        before = whole_head(work, fit.owner, *sorted((fit.whole - fit.way * 1.0, fit.whole - fit.way * 0.2)))
        assert is_thin(beyond.difference(metal), 0.01)
        assert not is_thin(before.difference(metal), 0.01)


def test_a_crossing_of_two_bars_names_its_contacts() -> None:
    """Of a diamond at 30 degrees: a splice and two wings at each V, an elbow at each K; every end is accounted for."""
    work = crossing(30)
    kinds = {frog.id: frog.kind for frog in work.frogs}
    found: dict[str, list[str]] = {}
    for contact in work.contacts:
        found.setdefault(contact.at, []).append(contact.kind)
    for frog, kind in kinds.items():
        assert sorted(found[frog]) == (["elbow"] if kind == "K" else ["splice", *["wing at knuckle"] * 2])
    ends = bar_ends(work.rails, work.switches, work.bars, work.fits)
    prepared = sorted(end.prepared for pair in ends.values() for end in pair)
    assert prepared == sorted(
        ["square"] * 8 + ["point", "spliced", "nose", "nose", "elbow", "elbow"] * 2 + ["knuckle"] * 4
    )


def test_points_are_declared_behind_their_stock_rails() -> None:
    work = built(plain(6, "left"))
    behind = [(c.first, c.second) for c in work.contacts if c.kind == "point behind stock rail"]
    roles = {bar.id: bar.role for bar in work.bars}
    assert [(roles[a], roles[b]) for a, b in behind] == [("point and closure rail", "stock rail")] * 2


@pytest.mark.parametrize("text", [plain(6, "left"), two_gauge("both", "left", "left"), CROSSING.format(angle=25)])
def test_all_metal_of_the_heads_can_be_told_from_the_figures(text: str) -> None:
    """What is whole and what is filed of all bars together is what is left of all heads; each bar is one piece."""
    whole_job = job(spec(text, gauges=TWO_GAUGES) if "narrow" in text else spec(text))
    work = whole_job.trackwork
    bars = figures(work, whole_job.findings)["rails"]
    rebuilt = []
    for bar in bars:
        parts = [Polygon(filed["outline"], filed["holes"]).buffer(0) for filed in bar["filed"]]
        for piece in bar["whole"]:
            (owner,) = (o for o in all_faces(work) if _is_face(o, piece))
            parts.append(whole_head(work, owner, piece["from_mm"], piece["to_mm"]))
        metal = shapely.union_all(parts)
        assert shapely.get_num_geometries(metal.buffer(0.01)) == 1, bar["id"]
        rebuilt.append(metal)
    told, left = shapely.union_all(rebuilt), shapely.union_all([part.region for part in heads(work)])
    assert is_thin(told.symmetric_difference(left), 0.01)


def _is_face(owner: RouteFace, named: dict[str, str]) -> bool:
    return (owner.route, owner.face.gauge, owner.face.hand) == (named["route"], named["gauge"], named["hand"])


def test_a_bar_is_filed_to_the_end_of_its_route_where_the_lines_have_crossed_before() -> None:
    """A curve dips into a straight line and out again: at the second frog its route ends 1 mm behind the splice's tip.

    The outer edges of the two bars meet at the first frog as well, which tells nothing of the second.
    """
    text = """
        main: {common_rail: left, path: [straight: 508]}
        dip: {gauges: [narrow], start: {x: 101.6, y: -101.6, heading: 40 deg}, path: [curve: {%s}]}
    """
    work = built(text % "radius: 381, turn: right, length: 304.8", gauges=TWO_GAUGES)
    first, second = work.frogs
    (before,), (behind,) = fits(work, first, "spliced"), fits(work, second, "spliced")
    assert before.whole is not None and before.way < 0
    end = work.layout.route("dip").path.length
    assert behind.whole is None and behind.way > 0 and 0.5 < end - behind.end < 1.5
    # Length along a face `offset` mm left of a curve to the right of 381 mm.
    offset = behind.owner.face.offset
    assert behind.length == pytest.approx((end - behind.end) * (1 + offset / 381), rel=1e-9)
