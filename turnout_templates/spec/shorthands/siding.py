"""Turn the words of a passing siding into a main and a route that leaves it, stands beside it and joins it again.

passing_siding: {spacing: 52 mm, frog: 6, hand: right, length: 900 mm}
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Self

from msgspec import Struct
from pydantic import Field, model_validator

from turnout_templates.spec import scalars as s
from turnout_templates.spec.model import other
from turnout_templates.spec.path_forms import FrogKeys
from turnout_templates.spec.shorthands.formation import Asked, BranchingForm, Routes
from turnout_templates.spec.shorthands.lengths import Reach, exact
from turnout_templates.spec.shorthands.nodes import Written

_NOTHING = 1e-4
"""A straight shorter than this (mm) is left out."""


class SidingForm(BranchingForm):
    """A track that leaves the main, stands beside it, and joins it again."""

    spacing: s.TrackLength = Field(description="between the centre lines of main and siding")
    length: s.TrackLength = Field(description="of the straight on which trains stand")
    radius: s.Radius = Field(
        default=0.0, description="of the curves that lead to it; like that of the turnouts, unsaid"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        self.check_frog()
        return self


class _Turn(Struct, frozen=True):
    """The way from a frog to the standing track: the `straight` (mm), and the `radius` of the curve that follows."""

    straight: float
    radius: Fraction


def siding_routes(asked: Asked[SidingForm]) -> Routes:
    """Return the main and the siding."""
    form, writer, measures = asked.form, asked.writer, asked.measures
    asked.check_spacing(form.spacing)
    reach = measures.reach(form, form.points)
    turn = _turn(asked, reach)
    aside = reach.foot[0] + turn.straight * math.cos(reach.angle) + float(turn.radius) * math.sin(reach.angle)
    length = measures.rounded_up(2 * (float(measures.end) + aside) + form.length)
    frog = writer.copied(*FrogKeys.model_fields)
    straight: list[Written] = [{"straight": turn.straight}] if turn.straight > _NOTHING else []
    radius = writer.copied("radius").get("radius", turn.radius)
    curve: Written = {"curve": {"radius": radius, "turn": other(form.hand), "length": s.OPEN}}
    standing: Written = {"straight": writer.origin.entries["length"]}
    return {
        "main": {**writer.free(), "path": [{"straight": length}]},
        "siding": {
            "leaves": "main",
            "at": measures.end,
            **writer.copied("hand", "gauges", "points"),
            "joins": "main",
            "path": [frog, *straight, curve, standing, curve, *straight, frog],
        },
    }


def _turn(asked: Asked[SidingForm], reach: Reach) -> _Turn:
    """Return the way to the standing track: what remains of the spacing is S sin F + R (1 - cos F)."""
    form = asked.form
    left = form.spacing - reach.foot[1]
    most = left / (1 - math.cos(reach.angle))
    if form.radius > most:
        said = asked.said(max(most, 0.0))
        sentence = f"There is no room for this radius between frog and siding: {said} at most." if left > 0 else ""
        asked.refuse("radius", sentence or "The siding lies too near for this frog.", "Take a wider spacing.")
    if left <= asked.measures.gauge / 10:
        asked.refuse("spacing", "The siding lies too near to curve back behind this frog.", "Take a wider spacing.")
    heeled = most - reach.heel * math.sin(reach.angle) / (1 - math.cos(reach.angle))
    roomy = min(heeled if heeled > 0 else most, float(asked.measures.rounded_up(reach.closure_radius)))
    radius = exact(form.radius) or asked.measures.rounded_down(roomy)
    return _Turn((left - float(radius) * (1 - math.cos(reach.angle))) / math.sin(reach.angle), radius)
