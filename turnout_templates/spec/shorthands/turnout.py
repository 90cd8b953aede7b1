"""Turn the words of a turnout into a main, long enough to hold it, and a branch that leaves it.

turnout: {hand: left, frog: 6}
"""

from __future__ import annotations

import math
from typing import Self

from pydantic import Field, model_validator

from turnout_templates.spec import scalars as s
from turnout_templates.spec.mean_routes import frog_angle
from turnout_templates.spec.path_forms import BendForm, FrogKeys, one_of
from turnout_templates.spec.shorthands.formation import Asked, BranchingForm, MainForm, Routes, check_known
from turnout_templates.spec.shorthands.lengths import STEPS, Measures, Reach
from turnout_templates.spec.shorthands.nodes import Writer, Written


class TurnoutForm(BranchingForm):
    """One turnout in a few words: the shorthand for a main and a branch."""

    radius: s.Radius = Field(default=0.0, description="radius of the branch, which turns to its hand; the frog follows")
    main: MainForm | None = Field(default=None, description="the main's curve: {radius, turn}; straight unsaid")
    bend: BendForm | None = Field(
        default=None, description="the curve that the turnout is bent to once laid out straight: {radius, turn}"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        self.refuse_lead_with_radius()
        one_of(self, "frog", "frog_angle", "frog_ratio", "radius")
        check_known(self)
        if self.given("main") and self.given("bend"):
            sentence = "A turnout is laid out on its curved main or bent to one, and this says both."
            s.fail(sentence, "Keep main to solve it on the curve, or bend to keep its legs.", ("bend",))
        return self


def turnout_routes(asked: Asked[TurnoutForm]) -> Routes:
    """Return a main and the branch that leaves it."""
    measures, writer = asked.measures, asked.writer
    reach = _reach(asked.form, measures)
    tip = measures.end
    length = measures.rounded_up(float(tip) + reach.lead + reach.behind)
    heel = (float(length - tip) - reach.foot[0]) / math.cos(reach.angle) - float(STEPS[measures.unit]) / 2
    return {
        "main": {**writer.free(), **writer.copied("bend"), "path": [writer.track("main", length)]},
        "branch": {
            "leaves": "main",
            "at": tip,
            **writer.copied("hand", "gauges", "points"),
            "path": [piece_to_frog(writer, asked.form.hand), {"straight": measures.rounded_up(heel)}],
        },
    }


def _reach(form: TurnoutForm, measures: Measures) -> Reach:
    angle = frog_angle(form)
    if angle is None:
        main = form.main
        bend = 0.0 if main is None else (1 if main.turn == form.hand else -1) / main.radius
        angle = measures.angle_of_radius(form.radius, bend, form.through)
    return measures.reach_of(angle, form.points, form.through, form.lead)


def piece_to_frog(writer: Writer, turn: str) -> dict[str, Written]:
    """Return the piece that runs to the frog which the shorthand gives, or with its radius to the frog that follows."""
    said = writer.copied(*FrogKeys.model_fields)
    if "radius" in writer.origin.entries:
        return {"curve": {**writer.copied("radius"), "turn": turn, "to": "frog", **said}}
    return said
