"""What must not matter: the side that is called left, where the origin lies, and how large a millimetre is."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from .figures import measured
from .laws import (
    compare,
    enlarged_figures,
    enlarged_text,
    mirrored_figures,
    mirrored_text,
    moved_figures,
    moved_text,
)
from .scenes import Leg, Scene
from .test_against_oracle import MAINS, TWO, some_scene, turnout

EVERY_LENGTH_SAID = (
    "tip: 0.1 mm",
    "frog_point: 0.15 mm",
    "longest_rail: 914.4 mm",
    "offset_step: 10 mm",
    "ties: {width: 2.6 mm, thickness: 2 mm, switch_width: 2.6 mm, spacing: 5.9 mm, switch_spacing: 5.8 mm, "
    "overhang: 6.6 mm, gap: 0.8 mm, headblock_overhang: 22 mm, length_step: 1.75 mm}",
)
"""So that nothing is left to the scale's defaults."""

CROWDED = (6, 7, 8, 19, 20, 23, 25, 30, 32, 52, 55, 61, 62)
"""Scenes in which the ends of base cuts or guards lie at corners that chords alone mistake for others: a corner of a
head beside one of a groove, an edge that passes a corner by 0.005 mm, a guard that meets a rail by 0.006 mm."""


def with_points(scene: Scene, points: Any) -> Scene:
    """Return a scene of one branch with other points."""
    (leg,) = scene.legs
    return replace(scene, legs=(replace(leg, points=points),))


SCENES = {
    "on a straight": turnout("straight", "left", "tangent"),
    "two gauges on a curve": turnout(
        "curve to the left", "right", "tangent", carried=("standard", "narrow"), gauges=TWO
    ),
    "narrow leaves": turnout("straight", "left", "tangent", carried=("narrow",), gauges=TWO, common="right"),
    "straight points": turnout("curve to the right", "left", "straight"),
    "hinged": with_points(turnout("curve to the left", "left", "tangent"), {"hinge": "58 mm"}),
    "on an easement": turnout("easing into a curve", "left", "tangent", carried=("standard",), gauges=TWO),
    "bent stub": with_points(turnout("straight", "left", "tangent"), {"stub": "2.4 mm"}),
    "stub thrown straight": with_points(
        turnout("curve to the right", "left", "tangent"), {"stub": "2.4 mm", "length": "60 mm"}
    ),
    "fixed separation": Scene(
        ({"straight": "90 mm"},),
        (
            Leg("upper", ({"straight": "260 mm"},), at="end"),
            Leg(
                "lower",
                ({"curve": {"radius": "700 mm", "turn": "right", "length": "260 mm"}},),
                ("narrow",),
                at="end",
                points="fixed",
            ),
        ),
        gauges=TWO,
    ),
    "a crossing": Scene(
        MAINS["curve to the left"][1],
        (Leg("over", ({"straight": "420 mm"},), start=("90 mm", "-60 mm", "20 deg")),),
    ),
    "parting": Scene(
        ({"straight": "90 mm"},),
        (
            Leg("upper", ({"curve": {"radius": "800 mm", "turn": "left", "length": "260 mm"}},), at="end"),
            Leg(
                "lower", ({"curve": {"radius": "1100 mm", "turn": "right", "length": "260 mm"}},), ("narrow",), at="end"
            ),
        ),
        gauges=TWO,
    ),
    **{f"chance {seed}": some_scene(seed) for seed in (*range(6), *CROWDED)},
}
ALL = [pytest.param(replace(scene, more=EVERY_LENGTH_SAID), id=name) for name, scene in SCENES.items()]
ONE_START = [param for param in ALL if param.id != "a crossing"]


@pytest.mark.parametrize("scene", ALL)
def test_a_mirrored_spec_mirrors_every_figure(scene: Scene) -> None:
    compare(mirrored_figures(measured(scene.text)), measured(mirrored_text(scene.text)))


@pytest.mark.parametrize("scene", ONE_START)
def test_a_turned_start_turns_everything(scene: Scene) -> None:
    at_home = measured(moved_text(scene.text, x="0 mm", y="0 mm", heading="0 deg"))
    moved = measured(moved_text(scene.text, x="-310.5 mm", y="127.25 mm", heading="123.75 deg"))
    compare(moved_figures(at_home, x=-310.5, y=127.25, turn=math.radians(123.75)), moved)


@pytest.mark.parametrize("by", ["2", "0.5"])
@pytest.mark.parametrize("scene", ALL)
def test_every_length_scales(scene: Scene, by: str) -> None:
    factor = float(by)
    enlarged = measured(enlarged_text(scene.text, Decimal(by)))
    compare(enlarged_figures(measured(scene.text), factor), enlarged, place=1e-6 * max(1.0, factor))


def test_the_comparison_can_fail() -> None:
    figures = measured(SCENES["on a straight"].text)
    with pytest.raises(AssertionError, match="radius_mm"):
        compare(mirrored_figures(figures), figures)
    nudged = moved_figures(figures, x=2e-6, y=0.0, turn=0.0)
    with pytest.raises(AssertionError, match="x_mm"):
        compare(figures, nudged)
