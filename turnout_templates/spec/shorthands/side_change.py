"""Turn the words of a common rail that changes its side into two tracks, and a way between them for each gauge.

side_change: {radius: 600 mm, common_rail: left}

The narrower gauge leaves the common rail by a point, crosses over between the rails of the wider one, and joins its
other rail. No rails cross, so there are no frogs.
"""

from __future__ import annotations

import math
from fractions import Fraction

from pydantic import Field

from turnout_templates.spec import scalars as s
from turnout_templates.spec.model import other
from turnout_templates.spec.path_forms import Points
from turnout_templates.spec.shorthands.formation import Asked, FormationForm, Routes
from turnout_templates.spec.shorthands.lengths import exact
from turnout_templates.spec.shorthands.nodes import Written

_ROOM = 1.1
"""The gauge that crosses over has this much more length than two curves alone take: ours, no source."""


class SideChangeForm(FormationForm):
    """A track of two gauges whose common rail, said as it is at the start, changes to the other side."""

    radius: s.Radius = Field(description="of the curves by which the narrower gauge crosses over")
    length: s.TrackLength = Field(
        default=0.0, description="over which it crosses; as short as the curves let it, unsaid"
    )
    points: Points | None = Field(default=None, description="tangent, {length, spread, tip}, or {entry: ANGLE}")


def side_change_routes(asked: Asked[SideChangeForm]) -> Routes:
    """Return the track before, the track behind (run from its far end), and the way of each gauge between them."""
    writer, measures = asked.writer, asked.measures
    if len(measures.widths) != 2:
        asked.refuse("common_rail", "It takes two gauges to share a rail.", "Name them in gauges: {NAME: GAUGE, ...}.")
    wide, narrow = sorted(measures.widths, key=lambda name: -measures.widths[name])
    between = _length(asked, measures.widths[wide] - measures.widths[narrow])
    start: dict[str, Written] = {"x": 2 * measures.end + between, "y": Fraction(0), "heading": "180 deg"}
    side = asked.form.common_rail or "left"
    ends: dict[str, Written] = {
        "leaves": "west",
        "at": "end",
        "joins": {"route": "east", "at": "end", "facing": "against"},
    }
    curves: list[Written] = [
        {"curve": {**writer.copied("radius"), "turn": turn, "length": s.OPEN}} for turn in (other(side), side)
    ]
    return {
        "west": {**writer.free(), "path": [{"straight": measures.end}]},
        "east": {**writer.free(start), "path": [{"straight": measures.end}]},
        "wide": {**ends, "gauges": [wide], "path": [{"straight": s.OPEN}]},
        "narrow": {
            **ends,
            "hand": other(side),
            "gauges": [narrow],
            **writer.copied("points"),
            "path": [curves[0], {"straight": s.OPEN}, curves[1]],
        },
    }


def _length(asked: Asked[SideChangeForm], across: Fraction) -> Fraction:
    """Return the length over which the gauge crosses; two curves alone move it by `across` in 2 sqrt(a R - (a/2)^2)."""
    form, shift = asked.form, float(across)
    least = 2 * math.sqrt(max(shift * form.radius - shift * shift / 4, 0.0))
    if form.given("length") and form.length < least:
        asked.refuse("length", "The two curves do not fit in here.", f"They take at least {asked.said(least)}.")
    return exact(form.length) or asked.measures.rounded_up(_ROOM * least)
