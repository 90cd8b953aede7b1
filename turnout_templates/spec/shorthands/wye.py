"""Turn the words of a wye into a main, and two legs that lead from a tail to either end of it: a triangle.

wye: {radius: 600 mm, hand: right}

The tail stands square to the main, and at its own switch two curves part, tangent. The legs are mirror images, so that
every length but that of their straights is round.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Self

from msgspec import Struct
from pydantic import Field, model_validator

from turnout_templates.spec import scalars as s
from turnout_templates.spec.mean_routes import frog_angle
from turnout_templates.spec.model import other
from turnout_templates.spec.path_forms import FrogKeys
from turnout_templates.spec.shorthands.formation import Asked, BranchingForm, Routes, check_known
from turnout_templates.spec.shorthands.lengths import exact
from turnout_templates.spec.shorthands.nodes import Written


class WyeForm(BranchingForm):
    """A triangle: a main, and two legs from its ends to a tail, with a switch at every corner."""

    radius: s.Radius = Field(
        default=0.0, description="of the two legs; like that of a turnout with the frog given, unsaid"
    )
    tail: s.TrackLength = Field(default=0.0, description="of the tail before its switch; a few ties unsaid")

    @model_validator(mode="after")
    def _check(self) -> Self:
        if len(self.frog_keys) > 1:
            s.fail(f'Both "{self.frog_keys[0]}" and "{self.frog_keys[1]}" stand here.', "Keep one of them.")
        if not self.frog_keys and not self.given("radius"):
            s.fail("Nothing says how sharp the legs are.", "Write radius, or frog for the switches of the main.")
        if self.through is not None and not self.frog_keys:
            s.fail('"through" says how a curve reaches its frog, and no frog is given.', "", ("through",))
        if self.points is not None and not self.points.tangent and not self.frog_keys:
            sentence = "A leg of a given radius is one curve, which its points leave tangent."
            s.fail(sentence, "Give the frog as well, or leave the points out.", ("points",))
        if not self.frog_keys:
            self.refuse_lead('"lead" says where a frog lies, and no frog is given.', "Leave it out, or give the frog.")
        check_known(self)
        return self


class _Leg(Struct, frozen=True):
    """One leg: its `radius`, how far the tail's switch lies `below` the main, and the `reach` along the main (mm)."""

    radius: Fraction
    below: Fraction
    reach: float


def wye_routes(asked: Asked[WyeForm]) -> Routes:
    """Return the main and the two legs; the west one carries the tail."""
    form, writer, measures = asked.form, asked.writer, asked.measures
    _check_common_rail(asked)
    leg = _leg_to_frog(asked) if form.frog_keys else _leg(asked)
    tail = exact(form.tail) or measures.end
    half = measures.rounded_up(leg.reach + float(measures.end))
    start: dict[str, Written] = {"x": half, "y": asked.form.side * (leg.below + tail)}
    heading = "90 deg" if asked.form.side < 0 else "-90 deg"
    points = writer.copied("points")
    west: list[Written] = [{"straight": tail}, *_curve(asked, leg, other(form.hand))]
    return {
        "main": {**writer.free(), "path": [{"straight": 2 * half}]},
        "west": {
            **writer.free({**start, "heading": heading}, turned=True),
            **writer.copied("gauges", "points"),
            "joins": "main",
            "facing": "against",
            "path": west,
        },
        "east": {
            "leaves": "west",
            "at": tail,
            "hand": form.hand,
            "joins": {"route": "main", **points} if points else "main",
            "path": _curve(asked, leg, form.hand),
        },
    }


def _check_common_rail(asked: Asked[WyeForm]) -> None:
    """Refuse legs with several gauges: run round the triangle, their common rail would come to the other side."""
    carried = asked.form.gauges
    if asked.form.common_rail is not None and (carried is None or len(carried) > 1):
        sentence = "A triangle turns a train round, so the rail that its gauges share would come to their other side."
        asked.refuse("gauges", sentence, 'Let one gauge take the legs: "gauges: [NAME]".')


def _leg(asked: Asked[WyeForm]) -> _Leg:
    """Return a leg that is one curve from the tail to the main."""
    form = asked.form
    toward = 1 if form.hand == form.common_rail else -1
    below = exact(form.radius) + toward * asked.measures.aside(form.gauges)
    return _Leg(exact(form.radius), below, form.radius)


def _leg_to_frog(asked: Asked[WyeForm]) -> _Leg:
    """Return a leg that curves, runs straight, and comes to the main through the frog that is given."""
    form, measures = asked.form, asked.measures
    reach = measures.reach_of(frog_angle(form) or 0.0, form.points, form.through, form.lead)
    radius = exact(form.radius) or measures.rounded_up(reach.closure_radius)
    sine, cosine = math.sin(reach.angle), math.cos(reach.angle)
    curved = float(radius) * cosine + reach.foot[1]
    below = measures.rounded_up(curved + reach.heel * sine)
    straight = (float(below) - curved) / sine
    narrower = float(measures.aside(form.gauges)) / sine
    return _Leg(radius, below, float(radius) * (1 - sine) + straight * cosine + reach.foot[0] + narrower)


def _curve(asked: Asked[WyeForm], leg: _Leg, turn: str) -> list[Written]:
    writer = asked.writer
    radius = writer.copied("radius").get("radius", leg.radius)
    curve: Written = {"curve": {"radius": radius, "turn": turn, "length": s.OPEN}}
    if not asked.form.frog_keys:
        return [curve]
    return [curve, {"straight": s.OPEN}, writer.copied(*FrogKeys.model_fields)]
