"""Each sweep can fail: a fault planted in figures that are clean is found, and told by the parts that it is of."""

from __future__ import annotations

import copy
import math
from functools import cache

import numpy as np
import pytest

from turnout_templates.pipeline import measure_text

from . import sweeps
from .bases import bases_on_parts
from .faults import faults
from .metal import Metal
from .running_faces import key_of
from .tracing import Figures

SPEC = """\
spec: 1
name: planted
units: mm
scale: HO
gauges: {standard: HO, narrow: HOn3}
rail: code 70
routes:
  main: {common_rail: left, path: [straight: 340]}
  branch: {leaves: main, at: 70, hand: right, path: [{frog: 6}, {straight: 60}]}
"""
"""Both gauges leave away from the common rail: a K and two V, so that every kind of part is there."""


@cache
def clean() -> Figures:
    return measure_text(SPEC)


@pytest.fixture
def figures() -> Figures:
    return copy.deepcopy(clean())


def moved(ring: list[list[float]], by: complex) -> list[list[float]]:
    return [[x + by.real, y + by.imag] for x, y in ring]


def toward_its_rail(figures: Figures, guide: Figures, distance: float) -> complex:
    """Return the move that brings a guiding rail nearer to the face it lies beside."""
    metal = Metal(figures)
    face = metal.whole[key_of(guide["beside"])]
    middle = np.array([sum(guide["straight"]) / 2])
    heading = float(metal.traces[face.route].headings(middle)[0])
    return distance * face.outward * 1j * complex(math.cos(heading), math.sin(heading))


def told(found: list[str], *words: str) -> bool:
    return any(all(word in fault for word in words) for fault in found)


def bar_before(figures: Figures, kind: str) -> Figures:
    """Return a bar whose last piece ends at the nose of a frog of some kind."""
    noses = [
        (nose["route"], nose["station_mm"])
        for frog in figures["frogs"]
        if frog["kind"] == kind
        for nose in frog["noses"]
        if nose
    ]
    return next(
        bar
        for bar in figures["rails"]
        for route, station in noses
        if bar["pieces"][-1]["route"] == route and abs(bar["pieces"][-1]["to_mm"] - station) < 1e-3
    )


def test_nothing_is_wrong_before(figures: Figures) -> None:
    assert list(faults(Metal(figures))) == []


def test_a_guard_three_tenths_into_a_flangeway(figures: Figures) -> None:
    for guard in figures["guards"]:
        spoilt = copy.deepcopy(figures)
        mine = next(g for g in spoilt["guards"] if g["id"] == guard["id"])
        mine["outline"] = moved(mine["outline"], toward_its_rail(figures, guard, 0.3))
        assert told(list(faults(Metal(spoilt))), f"{guard['id']} stands in its own flangeway"), guard["id"]


def test_a_wing_three_tenths_into_a_flangeway(figures: Figures) -> None:
    for wing in figures["wings"]:
        spoilt = copy.deepcopy(figures)
        mine = next(w for w in spoilt["wings"] if w["id"] == wing["id"])
        mine["outline"] = moved(mine["outline"], toward_its_rail(figures, wing, 0.3))
        assert told(list(faults(Metal(spoilt))), f"{wing['id']} stands in the flangeway"), wing["id"]


def test_a_wing_lengthened_across_a_rail(figures: Figures) -> None:
    """Lengthened in its own direction by 40 mm, past the flare: it meets a rail or guard in the end."""
    (wing, *_) = figures["wings"]
    corners = [complex(x, y) for x, y in wing["outline"]]
    tip = complex(*max(wing["outline"]))
    along = tip - complex(*min(wing["outline"]))
    far = sorted(range(len(corners)), key=lambda i: -(corners[i] / along).real)[:2]
    for i in far:
        end = corners[i] + 40 * along / abs(along)
        wing["outline"][i] = [end.real, end.imag]
    assert told(list(sweeps.heads_on_heads(Metal(figures))), wing["id"], "lies on")


@pytest.mark.parametrize("kind", ["V", "K"])
def test_a_bar_that_is_not_cut(figures: Figures, kind: str) -> None:
    """Its head goes on whole for 5 mm past the nose, where the other route's flanges pass."""
    bar = bar_before(figures, kind)
    last = bar["pieces"][-1]
    bar["whole"].append({**{k: last[k] for k in ("route", "gauge", "hand")}, "from_mm": last["to_mm"] - 9})
    bar["whole"][-1]["to_mm"] = last["to_mm"] + 5
    assert told(list(sweeps.metal_in_flangeways(Metal(figures))), f"{bar['id']} stands in the flangeway")


def test_a_bar_that_is_cut_too_soon(figures: Figures) -> None:
    """Nothing is left of the last 3 mm, face and head alike."""
    bar = max(figures["rails"], key=lambda bar: bar["length_mm"])
    for part in (bar["pieces"][-1], bar["whole"][-1]):
        part["to_mm"] -= 3
    found = list(faults(Metal(figures)))
    assert told(found, "nothing carries", bar["pieces"][-1]["route"])
    assert told(found, bar["id"], "mm long") and told(found, "the end of a piece lies 3.000000 mm off")


def test_a_point_that_is_not_filed(figures: Figures) -> None:
    """Whole from its tip on, it lies on its stock rail."""
    point = figures["switches"][0]["point_rails"][0]
    bar = next(b for b in figures["rails"] if any(key_of(p) == key_of(point) for p in b["pieces"]))
    low, high = sorted((point["tip_station_mm"], point["full_head_station_mm"]))
    bar["whole"].append({**{k: point[k] for k in ("route", "gauge", "hand")}, "from_mm": low, "to_mm": high})
    assert told(list(sweeps.heads_on_heads(Metal(figures))), f"{bar['id']} ") or told(
        list(sweeps.heads_on_heads(Metal(figures))), f"on {bar['id']}:"
    )


def test_a_wing_that_is_not_declared_to_be_its_bar(figures: Figures) -> None:
    figures["contacts"] = [contact for contact in figures["contacts"] if contact["kind"] != "wing at knuckle"]
    found = list(sweeps.heads_on_heads(Metal(figures)))
    assert [fault for wing in figures["wings"] if not told(found, f"lies on {wing['id']}") for fault in found] == []
    assert len(found) == len(figures["wings"])


def test_a_contact_of_parts_that_lie_apart(figures: Figures) -> None:
    first, last = figures["rails"][0]["id"], figures["guards"][-1]["id"]
    figures["contacts"].append({"kind": "splice", "parts": [first, last], "at": figures["frogs"][0]["id"]})
    assert told(list(faults(Metal(figures))), f"{first} and {last}", "apart")


def test_a_bar_said_longer_than_it_is(figures: Figures) -> None:
    figures["rails"][0]["length_mm"] += 0.001
    assert told(list(faults(Metal(figures))), figures["rails"][0]["id"], "mm long")


def test_bases_that_are_not_filed(figures: Figures) -> None:
    """Each cut that is left out is missed: the base that it takes lies on another part."""
    assert list(bases_on_parts(Metal(figures))) == []
    points = {bar["id"] for bar in figures["rails"] if bar["role"] == "point and closure rail"}
    figures["base_cuts"] = []
    found = list(bases_on_parts(Metal(figures)))
    assert all(told(found, f"the base of {bar} lies on") for bar in points)


def test_two_bars_on_one_stretch(figures: Figures) -> None:
    bar = bar_before(figures, "V")
    twin = copy.deepcopy(bar)
    twin["id"] = "R99"
    figures["rails"].append(twin)
    found = list(faults(Metal(figures)))
    assert told(found, "R99", "both claim") and told(found, "R99", "lies on")


def test_a_tie_shifted_onto_its_neighbour(figures: Figures) -> None:
    one, other = figures["ties"][3:5]
    one["x_mm"] += 0.8 * (other["x_mm"] - one["x_mm"])
    one["y_mm"] += 0.8 * (other["y_mm"] - one["y_mm"])
    assert told(list(faults(Metal(figures))), f"tie {one['id']} lies on tie {other['id']}")


def test_no_tie_under_a_frog(figures: Figures) -> None:
    frog = figures["frogs"][0]
    place = complex(frog["x_mm"], frog["y_mm"])
    figures["ties"] = [tie for tie in figures["ties"] if abs(complex(tie["x_mm"], tie["y_mm"]) - place) > 18]
    assert told(list(faults(Metal(figures))), frog["id"], "nearest tie")


def test_a_route_that_turns_more_than_its_rails(figures: Figures) -> None:
    """A wrong radius of one piece moves the faces rebuilt from it off the bars."""
    arc = next(piece for piece in figures["routes"]["branch"]["pieces"] if piece["kind"] == "arc")
    arc["radius_mm"] *= 1.01
    assert told(list(faults(Metal(figures))), "of a piece lies")
