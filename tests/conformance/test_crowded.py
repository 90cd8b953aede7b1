"""Crowded specs, written by hand, in which metal once stood where wheels pass: swept like those drawn by chance."""

from __future__ import annotations

import pytest

from turnout_templates.pipeline import measure, work_out
from turnout_templates.spec.load import read_spec

from . import sweeps
from .metal import Metal

FLAT_DIAMOND = """
spec: 1
name: guards that meet no other round their elbows
scale: N
units: mm
gauges: {wide: N, narrow: Nn3}
rail: code 70
diamond: {frog_angle: 11.17 deg, hand: left, main: {radius: 411 mm, turn: right}, common_rail: right}
"""


@pytest.mark.parametrize("text", [FLAT_DIAMOND])
def test_no_guard_stands_where_wheels_pass(text: str) -> None:
    metal = Metal(measure(work_out(read_spec(text, file="crowded.yaml", folder=None))))
    assert any(not guard["one_bar_with"] for guard in metal.figures["guards"])
    assert list(sweeps.metal_in_flangeways(metal)) == []
