"""What is to be measured at the bench: each thing in it, as it lies, within what the documents allow."""

from __future__ import annotations

import math
from functools import cache

import pytest
import samples
import shapely
from samples import SAMPLES
from trackwork.building import built, plain

from turnout_templates.pipeline import Job
from turnout_templates.trackwork.bench.gauging import readings
from turnout_templates.trackwork.bench.ordinates import curve_tests, middle_ordinate

IN = 25.4
every_sample = pytest.mark.parametrize("name", SAMPLES)

# Typed again from the tables: least and greatest of gauge, check gauge, span and flangeway.
PUBLISHED = {
    # NMRA S-3.2 (2010), row HO, targets .651, .607, .557 and .048 in with their tolerances
    ("HO", "NMRA S-3.2 (2010)"): [(0.649, 0.661), (0.605, 0.614), (0.555, 0.559), (0.035, 0.050)],
    # the older edition has one limit of each but the gauge
    ("HO", "NMRA S-3.2 (older)"): [(0.649, 0.672), (0.605, None), (None, 0.564), (None, 0.050)],
    # NEM 110 (2009), row 9 mm, in mm
    ("N", "MOROP NEM 110 (2009)"): [(None, 9.2 / IN), (8.1 / IN, 8.2 / IN), (7.2 / IN, 7.3 / IN), (0.8 / IN, 0.9 / IN)],
}
_COLUMNS = ("gauge", "check gauge", "span", "flangeway")


@cache
def done(name: str) -> Job:
    return samples.job(name)


@pytest.mark.parametrize(("scale", "standard"), PUBLISHED)
def test_limits_are_those_of_the_document(scale: str, standard: str) -> None:
    gauges, rail = ("standard: HO", "code 70") if scale == "HO" else ("standard: 9 mm", "code 55")
    work = built(plain("6"), scale=scale, gauges=gauges, rail=rail, clearances=standard)
    found = readings(work)
    for quantity, wanted in zip(_COLUMNS, PUBLISHED[scale, standard], strict=True):
        allowed = {r.allowed for r in found if r.quantity == quantity and not r.place.startswith("guard")}
        assert len(allowed) == 1, quantity
        for limit, figure in zip(allowed.pop(), wanted, strict=True):
            assert (limit is None) == (figure is None)
            assert limit is None or limit == pytest.approx((figure or 0.0) * IN, abs=1e-9)


def test_figures_of_the_spec_have_no_limits_of_a_document() -> None:
    own = "{from: NMRA S-3.2 (2010), standard: {flangeway: 1.0 mm}}"
    found = readings(built(plain("6"), clearances=own))
    assert {r.allowed for r in found if r.quantity == "flangeway"} == {(None, None)}
    assert all(r.allowed[0] is not None for r in found if r.quantity == "check gauge")


@every_sample
def test_every_frog_guard_wing_point_and_curve_is_in_it(name: str) -> None:
    work = done(name).trackwork
    words = " | ".join(f" {r.place} ," for r in readings(work)).replace(",", " ")
    parts = [*(f.id for f in work.frogs), *(g.id for g in work.guards), *(w.id for w in work.wings)]
    assert [part for part in parts if f" {part} " not in words] == []
    read = {(r.route, r.gauge.name) for r in readings(work) if r.quantity == "gauge"}
    assert read == {(route.name, g.name) for route in work.layout for face in route.faces for g in face.gauges}
    openings = [r for r in readings(work) if r.quantity == "opening"]
    assert len(openings) == sum(len(made.points) for made in work.switch_works)
    tested = {(test.owner.route, test.curve[0]) for test in curve_tests(work)}
    curves = {
        (route.name, begin)
        for route in work.layout
        for begin, piece in zip(route.path.starts, route.path.pieces, strict=True)
        if piece.kind != "straight"
    }
    assert curves == tested


@every_sample
def test_what_is_drawn_is_allowed(name: str) -> None:
    """But for openings and for gauges widened beyond what the document allows: findings tell of both."""
    job = done(name)
    told = {finding.rule for finding in job.findings}
    for reading in readings(job.trackwork):
        low, high = reading.allowed
        if reading.quantity == "opening" or (reading.quantity == "gauge" and "widening" in " ".join(told)):
            continue
        assert low is None or reading.drawn >= low - 1e-6, reading
        assert high is None or reading.drawn <= high + 1e-6, reading


@every_sample
def test_check_gauge_is_the_distance_from_the_face_to_the_guard(name: str) -> None:
    """Judged by the guard's outline: a line square to the track from the face meets its far side there."""
    work = done(name).trackwork
    guards = {guard.id: guard for guard in work.guards}
    for reading in readings(work):
        frog, _, guard = reading.place.partition(" to guard ")
        if reading.quantity != "check gauge" or guard not in guards:
            continue
        faces = [t.need.face for t in work.guarding if t.need.guarded == frog and t.need.face.route == reading.route]
        route = work.layout.route(reading.route)
        ring = shapely.Polygon(guards[guard].ring).buffer(1e-6)
        beside = route.offset_at(guards[guard].beside.face, reading.station)
        found = []
        for face in faces:
            offset = route.offset_at(face.face, reading.station)
            ends = [route.path.point_at(reading.station, at) for at in (offset, beside)]
            across = shapely.LineString(ends).intersection(ring)
            found += [] if across.is_empty else [shapely.hausdorff_distance(shapely.Point(ends[0]), across)]
        assert any(abs(distance - reading.drawn) < 0.01 for distance in found), (reading, found)


@every_sample
def test_a_straight_edge_finds_the_rise_that_is_told(name: str) -> None:
    """Points of the rail's hollow side, half a chord before and behind: the middle of their chord lies so far off."""
    work = done(name).trackwork
    for test in curve_tests(work):
        if test.chord is None:
            continue
        route, face = work.layout.route(test.owner.route), test.owner.face
        out = face.outward * work.spec.rail.head if test.side == "outer" else 0.0
        offset = route.offset_at(face, test.station) + out
        pieces = zip(route.path.starts, route.path.pieces, strict=True)
        piece = next(p for begin, p in pieces if begin <= test.station <= begin + p.length and p.kind != "straight")
        half = test.chord / 2 / (1 - offset * route.path.curvature_at(test.station))
        a, m, b = (route.path.point_at(test.station + s, offset) for s in (-half, 0.0, half))
        chord, area = math.dist(a, b), (b[0] - a[0]) * (m[1] - a[1]) - (b[1] - a[1]) * (m[0] - a[0])
        rise = abs(area) / chord * (test.chord / chord) ** 2
        # an easement's two halves differ in curvature, but by as much to either side
        assert rise == pytest.approx(test.rise, rel=2e-3 if piece.kind == "arc" else 5e-2), test
        if piece.kind == "arc":
            assert test.rise == pytest.approx(test.radius - math.sqrt(test.radius**2 - (test.chord / 2) ** 2), rel=1e-9)


def test_the_middle_ordinate_is_the_rise_of_a_circle() -> None:
    """A chord of 200 mm in a circle of 600 mm: 600 - sqrt(360000 - 10000) = 8.392 mm."""
    assert middle_ordinate(600.0, 200.0) == pytest.approx(8.3920216, abs=1e-6)
