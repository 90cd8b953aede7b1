"""The figures that `measure` prints: the contract's keys, finite numbers, and agreement with one another."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest
from trackwork.building import job, spec
from trackwork.sites import SITES

from turnout_templates.pipeline import measure

Figures = dict[str, Any]
FACE = {"route", "gauge", "hand"}
POSE = {"x_mm", "y_mm", "heading_deg"}
PLACE = {"x_mm", "y_mm"}
CONTRACT: dict[str, set[str]] = {
    "switches": {
        "id",
        "main",
        "branch",
        "hand",
        "points",
        "station_mm",
        "tip",
        "filed_tip",
        "throw_mm",
        "least_opening_mm",
    },
    "frogs": {"id", "kind", "switch", "faces", "number", "angle_deg", *PLACE, "stations_mm", "lead_mm", "practical"},
    "guards": {"id", "gauge", "guards", "beside", "flangeway_mm", "straight", "ends"},
    "rails": {"id", "length_mm", "pieces"},
    "ties": {"id", "material", "role", "length_mm", "width_mm", *PLACE, "angle_deg"},
    "findings": {"rule", "level", "where", "measured", "limit", "source", "remedy"},
}
"""Copied from the design's contract; more keys may stand beside these."""


@pytest.fixture(params=SITES, scope="module")
def figures(request: pytest.FixtureRequest) -> Figures:
    routes, keys = SITES[request.param]
    return measure(job(spec(routes, **keys)))


def numbers(value: Any, path: str = "") -> Iterator[tuple[str, float]]:
    """Yield every number with the way to it."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from numbers(item, f"{path}.{key}")
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from numbers(item, f"{path}[{i}]")
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path, value


def test_the_keys_of_the_contract_are_there(figures: Figures) -> None:
    assert figures["format"] == 1
    assert {"name", "fingerprint", "scale_ratio", "routes", *CONTRACT} <= figures.keys()
    for name, keys in CONTRACT.items():
        for entry in figures[name]:
            assert keys <= entry.keys(), name
    for route in figures["routes"].values():
        assert {"length_mm", "least_radius_mm", "pieces", "end"} <= route.keys()
        assert route["end"].keys() >= POSE
        for piece in route["pieces"]:
            assert piece.keys() >= {"kind", "length_mm", "start"} and piece["start"].keys() >= POSE
            assert ("radii_mm" in piece) == (piece["kind"] == "easement")
            assert ("radius_mm" in piece) == (piece["kind"] != "easement")
    for switch in figures["switches"]:
        assert switch["tip"].keys() >= POSE and switch["filed_tip"].keys() >= POSE | {"station_mm"}
    for frog in figures["frogs"]:
        assert frog["kind"] in "VK" and len(frog["faces"]) == 2
        assert all(face.keys() >= FACE for face in frog["faces"])
        assert frog["stations_mm"].keys() == {face["route"] for face in frog["faces"]}


def test_numbers_are_finite_and_come_back_from_json(figures: Figures) -> None:
    text = json.dumps(figures, allow_nan=False)
    assert json.loads(text) == figures
    assert all(math.isfinite(value) for _, value in numbers(figures))


def test_lengths_are_positive_and_angles_folded(figures: Figures) -> None:
    for path, value in numbers(figures):
        if path.endswith(("length_mm", "width_mm", "flangeway_mm", "throw_mm", "head_mm")):
            assert value > 0, path
    for frog in figures["frogs"]:
        assert 0 < frog["angle_deg"] <= 90
        assert frog["number"] == pytest.approx(0.5 / math.tan(math.radians(frog["angle_deg"]) / 2), rel=1e-12)


def test_a_route_is_the_sum_of_its_pieces(figures: Figures) -> None:
    for route in figures["routes"].values():
        assert sum(piece["length_mm"] for piece in route["pieces"]) == pytest.approx(route["length_mm"], abs=1e-9)
        for before, after in pairwise([*route["pieces"], {"start": route["end"]}]):
            radii = before.get("radii_mm", [before.get("radius_mm")] * 2)
            turn = before["length_mm"] * sum(1 / r for r in radii if r is not None) / 2
            heading = after["start"]["heading_deg"] - before["start"]["heading_deg"]
            assert heading == pytest.approx(math.degrees(turn), abs=1e-9)
        bends = [r for p in route["pieces"] for r in (p.get("radii_mm") or [p["radius_mm"]]) if r is not None]
        least = min((abs(r) for r in bends), default=None)
        assert route["least_radius_mm"] == (None if least is None else pytest.approx(least, rel=1e-12))


def test_a_bar_is_the_sum_of_its_pieces_each_on_its_face(figures: Figures) -> None:
    for bar in figures["rails"]:
        assert sum(piece["length_mm"] for piece in bar["pieces"]) == pytest.approx(bar["length_mm"], abs=1e-9)
        for piece in bar["pieces"]:
            if piece["kind"] == "straight":
                chord = math.dist(
                    [piece["start"][k] for k in ("x_mm", "y_mm")], [piece["end"][k] for k in ("x_mm", "y_mm")]
                )
                assert chord == pytest.approx(piece["length_mm"], abs=1e-9)
                assert piece["length_mm"] == pytest.approx(piece["to_mm"] - piece["from_mm"], abs=1e-9)
            if piece["kind"] == "arc":
                turn = math.radians(piece["end"]["heading_deg"] - piece["start"]["heading_deg"])
                assert piece["radius_mm"] * turn == pytest.approx(piece["length_mm"], abs=1e-9)
        for before, after in pairwise(bar["pieces"]):
            assert before["end"]["x_mm"] == pytest.approx(after["start"]["x_mm"], abs=1e-6)
            assert before["end"]["y_mm"] == pytest.approx(after["start"]["y_mm"], abs=1e-6)


def test_everything_that_is_named_is_there(figures: Figures) -> None:
    frogs = {frog["id"] for frog in figures["frogs"]}
    switches = {switch["id"] for switch in figures["switches"]}
    assert {frog["switch"] for frog in figures["frogs"]} - {None} <= switches
    for guard in figures["guards"]:
        fixed = {switch["id"] for switch in figures["switches"] if switch["switching"] == "fixed"}
        assert guard["guards"] in frogs | fixed and set(guard["guards_all"]) <= frogs | fixed
        assert guard["beside"]["route"] in figures["routes"]
        assert guard["ends"][0] <= guard["straight"][0] < guard["straight"][1] <= guard["ends"][1]
    for switch in figures["switches"]:
        assert {switch["main"], switch["branch"]} <= figures["routes"].keys()
        assert len(switch["point_rails"]) == switch["points"]
        moves = switch["switching"] == "points"
        assert moves == (switch["points"] > 0) == (switch["least_opening_mm"] is not None)
        assert (
            (switch["switching"] == "fixed") == (switch["throw_mm"] is None) == (switch["throw_bar_station_mm"] is None)
        )
        assert moves != (len(switch["fixed_rails"]) > 0)


def test_the_common_rail_is_called_common() -> None:
    routes, keys = SITES["both, common left, left"]
    measured = measure(job(spec(routes, **keys)))
    names = {(face["gauge"], face["hand"]) for frog in measured["frogs"] for face in frog["faces"]}
    assert names == {("common", "left"), ("standard", "right"), ("narrow", "right")}


def test_what_a_plain_turnout_measures() -> None:
    """Numbers that can be followed by hand: (R + g/2)(1 - cos F) + k sin F = g with g = 0.649 in, F of No. 6."""
    routes, keys = SITES["plain left"]
    measured = measure(job(spec(routes, **keys)))
    f, g = 2 * math.atan(1 / 12), 0.649 * 25.4
    k = 2.5 * 0.889 / (2 * math.sin(f / 2))
    outer = (g - k * math.sin(f)) / (1 - math.cos(f))
    lead = outer * math.sin(f) + k * math.cos(f)
    (frog,) = measured["frogs"]
    assert (frog["lead_mm"], frog["x_mm"], frog["y_mm"]) == pytest.approx((lead, 60 + lead, g / 2), abs=1e-7)
    assert frog["stations_mm"] == pytest.approx({"main": 60 + lead, "branch": (outer - g / 2) * f + k}, abs=1e-7)
    # Blunt at 1/2 in scale between straight faces: N p beyond the point, along the bisector.
    away = math.hypot(frog["practical"]["x_mm"] - frog["x_mm"], frog["practical"]["y_mm"] - frog["y_mm"])
    assert away == pytest.approx(6 * 12.7 / 87.1, abs=1e-9)
    assert math.atan2(
        frog["practical"]["y_mm"] - frog["y_mm"], frog["practical"]["x_mm"] - frog["x_mm"]
    ) == pytest.approx(f / 2, abs=1e-7)
    assert measured["routes"]["branch"]["least_radius_mm"] == pytest.approx(outer - g / 2, abs=1e-7)
    assert measured["scale_ratio"] == 87.1
