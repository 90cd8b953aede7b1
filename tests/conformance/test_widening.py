"""Widened gauge measured on the drawn rails, lengths against 30-digit arithmetic, and what must not matter."""

from __future__ import annotations

import json
import math
from decimal import Decimal
from functools import cache
from typing import Any

import mpmath
import pytest
import shapely
from drawing.shapes import points_along
from shapely.geometry import LineString, Point

from turnout_templates.drafting import styles
from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drawing.items import PathItem
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.pipeline import Job, measure, work_out
from turnout_templates.spec.load import read_spec

from .laws import (
    compare,
    enlarged_figures,
    enlarged_text,
    mirrored_figures,
    mirrored_text,
    moved_figures,
    moved_text,
)

PATHS = {
    "eased": """
      - straight: 127 mm
      - easement: {length: 101.6 mm, from: straight, to: {radius: 457.2 mm, turn: left}}
      - curve: {radius: 457.2 mm, turn: left, length: 254 mm}
      - easement: {length: 101.6 mm, from: {radius: 457.2 mm, turn: left}, to: straight}
      - straight: 127 mm
""",
    "compound, to both sides": """
      - straight: 130 mm
      - curve: {radius: 500 mm, turn: left, length: 120 mm}
      - straight: 40 mm
      - curve: {radius: 420 mm, turn: left, length: 150 mm}
      - straight: 260 mm
      - curve: {radius: 450 mm, turn: right, length: 180 mm}
      - curve: {radius: 900 mm, turn: right, length: 200 mm}
""",
}
WIDER = {"eased": (0.25, 127.0), "compound, to both sides": (0.3, 120.0)}
"""By how much (mm) and over which taper."""
FULL = {"eased": [(228.6, 482.6)], "compound, to both sides": [(130.0, 250.0), (290.0, 440.0), (700.0, 880.0)]}
"""The stations between which each of the curves lies, added up from the lengths above."""
GAUGES = {"one": ("standard: HO", ""), "two": ("standard: HO, narrow: HOn3", "common_rail: right")}
WIDTHS = {"standard": 16.4846, "narrow": 10.4902}  # 0.649 in and 0.413 in, the nominal gauges of the NMRA
CASES = [(name, gauges) for name in PATHS for gauges in GAUGES]


def text_of(name: str, gauges: str) -> str:
    by, taper = WIDER[name]
    carried, common = GAUGES[gauges]
    return (
        f"spec: 1\nname: Tamsin, a test\nunits: mm\nscale: HO\ngauges: {{{carried}}}\nrail: code 70\n"
        "tip: 0.1 mm\nfrog_point: 0.15 mm\n"
        "ties: {width: 2.6 mm, thickness: 2 mm, switch_width: 2.6 mm, spacing: 5.9 mm, "
        "switch_spacing: 5.8 mm, overhang: 6.6 mm, headblock_overhang: 22 mm, length_step: 1.75 mm}\n"
        f"routes:\n  main:\n    start: {{x: 0 mm, y: 0 mm, heading: 0 deg}}\n    {common}\n"
        f"    widening: {{by: {by} mm, below: 600 mm, taper: {taper} mm}}\n    path:{PATHS[name]}"
    )


@cache
def job(name: str, gauges: str) -> Job:
    return work_out(read_spec(text_of(name, gauges), file="a.yaml", folder=None))


@cache
def figures(text: str) -> Any:
    return measure(work_out(read_spec(text, file="a.yaml", folder=None)))


def wider_at(name: str, s: float) -> float:
    """Return what the gauge should be wider by: full on each curve, evenly less before and behind it."""
    by, taper = WIDER[name]
    return max(by * max(0.0, 1 - max(low - s, s - high, 0.0) / taper) for low, high in FULL[name])


@pytest.mark.parametrize(("name", "gauges"), CASES)
def test_the_gauge_on_the_drawn_rails(name: str, gauges: str) -> None:
    """At 400 stations a line square to the centre line meets the drawn gauge faces a gauge and the widening apart."""
    done = job(name, gauges)
    faces = [
        LineString([p for segment in item.segments for p in points_along(segment, 2000)])
        for item in draft_drawing(done.trackwork, done.findings).items
        if isinstance(item, PathItem) and item.stroke == styles.FACE
    ]
    route = done.layout.route("main")
    for k in range(1, 400):
        s = route.path.length * k / 400
        pose = route.path.pose_at(s)
        square = LineString([pose.beside(-14.0), pose.beside(14.0)])
        met = sorted(square.project(point) for face in faces for point in _points(square.intersection(face)))
        apart = [met[j] - met[i] for i in range(len(met)) for j in range(i + 1, len(met))]
        assert len(met) == (2 if gauges == "one" else 3)
        for width in [WIDTHS["standard"]] if gauges == "one" else WIDTHS.values():
            assert min(abs(a - width - wider_at(name, s)) for a in apart) < 5e-4, s


def _points(found: Any) -> list[Point]:
    return [part for part in shapely.get_parts(found) if isinstance(part, Point)]


@pytest.mark.parametrize(("name", "gauges"), CASES)
def test_the_outer_edges_of_the_heads_go_along(name: str, gauges: str) -> None:
    done = job(name, gauges)
    route, head = done.layout.route("main"), done.spec.rail.head
    edges = [
        item
        for item in draft_drawing(done.trackwork, done.findings).items
        if isinstance(item, PathItem) and item.stroke == styles.EDGE
    ]
    for item in edges:
        ends = [segment.start for segment in item.segments] + [item.segments[-1].end]
        for point in ends:
            near, left = route.path.foot_near(point, nearest_station(route.path, point)[0])
            wanted = [route.offset_at(face, near) + face.outward * head for face in route.faces]
            assert min(abs(left - w) for w in wanted) < 1e-7


@pytest.mark.parametrize(("name", "gauges"), CASES)
def test_the_lengths_of_rails_against_thirty_digits(name: str, gauges: str) -> None:
    """Each piece of `measure` again: the speed of p(s) + d(s) n(s), integrated; curvature by the pieces as written."""
    found = figures(text_of(name, gauges))
    pieces = [(p, route) for route in found["routes"].values() for p in _with_stations(route["pieces"])]
    for bar in found["rails"]:
        total = mpmath.mpf(0)
        for piece in bar["pieces"]:
            (under, begin), *_ = [
                (p, b)
                for (p, b), _ in pieces
                if b - 1e-9 <= (piece["from_mm"] + piece["to_mm"]) / 2 <= b + p["length_mm"]
            ]
            length = _length(piece, under, begin)
            assert abs(length - piece["length_mm"]) < 1e-9, piece
            total += length
        assert abs(total - bar["length_mm"]) < 1e-8


def _with_stations(pieces: list[Any]) -> list[tuple[Any, float]]:
    stations = [math.fsum(p["length_mm"] for p in pieces[:i]) for i in range(len(pieces))]
    return list(zip(pieces, stations, strict=True))


def _length(piece: Any, under: Any, begin: float) -> mpmath.mpf:
    """Return the length of a piece of gauge face beside the piece `under` it, which begins at a station."""
    first, last = (
        mpmath.mpf(0) if radius is None else 1 / mpmath.mpf(radius)
        for radius in (under.get("radii_mm") or [under["radius_mm"]] * 2)
    )
    low, high = mpmath.mpf(piece["from_mm"]), mpmath.mpf(piece["to_mm"])
    offset = mpmath.mpf(piece["offset_mm"])
    slope = (mpmath.mpf(piece.get("offset_to_mm", piece["offset_mm"])) - offset) / (high - low)

    def speed(s: mpmath.mpf) -> mpmath.mpf:
        curvature = first + (last - first) * (s - begin) / mpmath.mpf(under["length_mm"])
        return mpmath.hypot(1 - (offset + slope * (s - low)) * curvature, slope)

    with mpmath.workdps(30):
        return mpmath.quad(speed, mpmath.linspace(low, high, 3))


@pytest.mark.parametrize(("name", "gauges"), CASES)
def test_ties_reach_as_far_beyond_a_rail_that_moved(name: str, gauges: str) -> None:
    done = job(name, gauges)
    route, overhang = done.layout.route("main"), done.spec.ties.overhang
    moved = 0
    for tie in done.trackwork.ties:
        middle = route.path.pose_at(tie.station).local(tie.centre)[1]
        offsets = [route.offset_at(face, tie.station) for face in route.faces]
        assert middle + tie.length / 2 - max(offsets) >= overhang - 1e-9
        assert min(offsets) - (middle - tie.length / 2) >= overhang - 1e-9
        moved += offsets != [face.offset for face in route.faces]
    assert moved > 50


@pytest.mark.parametrize(("name", "gauges"), CASES)
def test_a_mirrored_spec_mirrors_every_figure(name: str, gauges: str) -> None:
    text = text_of(name, gauges)
    compare(mirrored_figures(figures(text)), figures(mirrored_text(text)))


@pytest.mark.parametrize(("name", "gauges"), CASES)
def test_a_turned_start_turns_everything(name: str, gauges: str) -> None:
    text = text_of(name, gauges)
    moved = figures(moved_text(text, x="-310.5 mm", y="127.25 mm", heading="123.75 deg"))
    compare(moved_figures(figures(text), x=-310.5, y=127.25, turn=math.radians(123.75)), moved)


def test_every_length_scales() -> None:
    text = text_of("eased", "one").replace("standard: HO", "standard: 16.5 mm")
    text = text.replace("rail: code 70", "rail: {height: 1.8 mm, head: 0.9 mm, base: 1.8 mm}").replace(
        "routes:",
        "longest_rail: 1000 mm\n"
        "track_standard:\n  standard: {flangeway: 1.2 mm, check_gauge: 15.4 mm, span: 14.2 mm, point_spread: 14.9 mm}\n"
        "routes:",
        1,
    )
    compare(enlarged_figures(figures(text), 2.0), figures(enlarged_text(text, Decimal(2))), place=2e-6)


def test_without_widening_nothing_is_said_of_it() -> None:
    text = text_of("eased", "two")
    plain = "\n".join(line for line in text.splitlines() if "widening" not in line)
    found, wider = figures(plain), figures(text)
    assert found["routes"]["main"]["widening"] == [] and "taper" not in json.dumps(found)
    assert found["fingerprint"] != wider["fingerprint"]
    assert found["routes"]["main"]["pieces"] == wider["routes"]["main"]["pieces"]
    # The common rail lies right, and the curve to the left: it is the outer rail, and is as it was.
    (outer,) = [bar for bar in found["rails"] if bar["pieces"][0]["hand"] == "right"]
    (same,) = [bar for bar in wider["rails"] if bar["pieces"][0]["hand"] == "right"]
    assert same["length_mm"] == pytest.approx(outer["length_mm"], abs=1e-9)
