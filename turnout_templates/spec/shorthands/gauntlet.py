"""Turn the words of a gauntlet into two tracks that are drawn together for a while, without points.

gauntlet: {spacing: 52 mm, offset: 4 mm, length: 300 mm, frog: 6, hand: left}

Each track keeps its own rails. The second one comes in from the `hand` side until it lies `offset` beside the main, and
goes out again; a frog at either end is all that it takes.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Self

from pydantic import Field, model_validator

from turnout_templates.spec import scalars as s
from turnout_templates.spec.model import other
from turnout_templates.spec.shorthands.formation import Asked, CrossingForm, Routes
from turnout_templates.spec.shorthands.lengths import exact
from turnout_templates.spec.shorthands.nodes import Written, degrees

_SHARE = 0.8
"""A curve takes up this much of the room before the frog, unless its radius is given: ours, no source."""


class GauntletForm(CrossingForm):
    """Two tracks drawn together without points: each keeps its own rails, side by side."""

    spacing: s.TrackLength = Field(description="between the centre lines where the tracks lie apart")
    offset: s.Size = Field(description="between the centre lines where they are drawn together")
    length: s.TrackLength = Field(description="over which they are drawn together")
    radius: s.Radius = Field(default=0.0, description="of the second track's curves; as large as has room, unsaid")

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.offset >= self.spacing:
            s.fail("The tracks would not be drawn together.", "The offset is less than the spacing.", ("offset",))
        return self


def gauntlet_routes(asked: Asked[GauntletForm]) -> Routes:
    """Return the main and the second track."""
    form, writer, measures = asked.form, asked.writer, asked.measures
    asked.check_spacing(form.spacing)
    radius = _radius(asked)
    bend = float(radius) * (1 - math.cos(form.angle))
    slope = (form.spacing - form.offset - 2 * bend) / math.sin(form.angle)
    aside = 2 * float(radius) * math.sin(form.angle) + slope * math.cos(form.angle)
    length = measures.rounded_up(2 * (float(measures.end) + aside) + form.length)
    end: Written = {"straight": measures.end}
    inward, outward = (_curve(asked, radius, turn) for turn in (other(form.hand), form.hand))
    between: Written = {"straight": slope}
    together: Written = {"straight": writer.origin.entries["length"]}
    path = [end, inward, between, outward, together, outward, between, inward, end]
    start: dict[str, Written] = {"x": Fraction(0), "y": asked.form.side * exact(form.spacing)}
    return {
        "main": {**writer.free(), "path": [{"straight": length}]},
        "second": {**writer.free(start), "path": path},
    }


def _radius(asked: Asked[GauntletForm]) -> Fraction:
    """Return the radius of the curves, which must leave the frog straight on both sides."""
    form, gauge = asked.form, asked.measures.gauge
    if form.offset >= gauge:
        asked.refuse("offset", "Tracks that lie so far apart need no frogs.", "Take less than the gauge.")
    room = min(gauge - form.offset, form.spacing - gauge)
    most = room / (1 - math.cos(form.angle))
    if form.radius > most:
        asked.refuse("radius", "With this radius the frog would lie in a curve.", f"Take {asked.said(most)} at most.")
    return exact(form.radius) or asked.measures.rounded_down(_SHARE * most)


def _curve(asked: Asked[GauntletForm], radius: Fraction, turn: str) -> Written:
    written = asked.writer.copied("radius").get("radius", radius)
    angle = asked.writer.copied("frog_angle").get("frog_angle", degrees(math.degrees(asked.form.angle)))
    return {"curve": {"radius": written, "turn": turn, "angle": angle}}
