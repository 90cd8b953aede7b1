"""Turn the words of a diamond or a slip into two tracks that cross, and the slip roads that lead from one to the other.

diamond: {frog: 6, hand: left}
slip: {frog: 6, hand: left, sides: double}

The second track crosses to the `hand` side. Both cross at the same station, halfway along.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal, Self

from pydantic import Field, model_validator

from turnout_templates.geometry.path import Shape, join
from turnout_templates.geometry.pose import Pose, wrapped
from turnout_templates.spec import scalars as s
from turnout_templates.spec.path_forms import Points
from turnout_templates.spec.shorthands.formation import Asked, CrossingForm, MainForm, Routes
from turnout_templates.spec.shorthands.lengths import TOE_HEADS, Measures
from turnout_templates.spec.shorthands.nodes import Written, degrees

_INSIDE = 0.8
"""Tips of an inside slip lie this far from the middle toward the end frogs: ours, no source; it leaves them room."""


class DiamondForm(CrossingForm):
    """Two tracks that cross; their centre lines make the angle, and on curved tracks every frog has its own."""

    main: MainForm | None = Field(default=None, description="the main's curve: {radius, turn}; straight unsaid")
    second: MainForm | None = Field(default=None, description="the second track's curve: {radius, turn}")
    gauges: list[s.Text] | None = Field(
        default=None, min_length=1, description="gauges of the second track; all unsaid"
    )


class SlipForm(CrossingForm):
    """Two tracks that cross, and one or two curves by which trains pass from one to the other."""

    sides: s.Sides = Field(default="double", description="single: one slip road; double: one on either side")
    points: Points | None = Field(default=None, description="tangent, {length, spread, tip}, or {entry: ANGLE}")
    tips: s.Tips = Field(default="inside", description="inside: between the end frogs of the diamond; or outside them")
    radius: s.Radius = Field(default=0.0, description="of the slip roads; one that suits the tips, unsaid")
    gauges: list[s.Text] | None = Field(default=None, min_length=1, description="gauges of the slip roads; all unsaid")

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.points is not None and not self.points.tangent:
            s.fail("A slip road is one curve, which its points leave tangent.", "Leave it out.", ("points",))
        return self


def diamond_routes(asked: Asked[DiamondForm]) -> Routes:
    """Return the two tracks."""
    form, writer, measures = asked.form, asked.writer, asked.measures
    middle = measures.rounded_up(_to_end_frog(asked.form.angle, measures) + _heel(form.angle, measures))
    return {
        "main": {**writer.free(), "path": [writer.track("main", 2 * middle)]},
        "second": {
            **writer.free(_start(asked, middle, _curvature(form.main), _curvature(form.second))),
            **writer.copied("gauges"),
            "path": [writer.track("second", 2 * middle)],
        },
    }


def slip_routes(asked: Asked[SlipForm]) -> Routes:
    """Return the two tracks and the slip roads."""
    form, writer, measures = asked.form, asked.writer, asked.measures
    tangent = _tangent(asked)
    ends = max(_to_end_frog(form.angle, measures) + _heel(form.angle, measures), float(tangent + measures.end))
    middle = measures.rounded_up(ends)
    routes: dict[str, dict[str, Written]] = {
        "main": {**writer.free(), "path": [{"straight": 2 * middle}]},
        "second": {**writer.free(_start(asked, middle, 0.0, 0.0)), "path": [{"straight": 2 * middle}]},
        "slip": _road(asked, "main", "second", middle - tangent),
    }
    if form.sides == "double":
        routes["other slip"] = _road(asked, "second", "main", middle - tangent)
    return routes


def _road(asked: Asked[SlipForm], leaves: str, joins: str, tip: Fraction) -> dict[str, Written]:
    at: Written = float(tip) if asked.form.given("radius") else tip
    curve: Written = {"curve": {"radius": s.OPEN, "length": s.OPEN}}
    more = asked.writer.copied("gauges", "points")
    return {"leaves": leaves, "at": at, "joins": joins, **more, "path": [curve]}


def _tangent(asked: Asked[SlipForm]) -> Fraction:
    """Return how far from the middle the tips lie: R tan(F/2) for a radius, else what suits the end frogs."""
    form, measures = asked.form, asked.measures
    frogs = _to_end_frog(form.angle, measures)
    slope = math.tan(form.angle / 2)
    if form.given("radius"):
        tangent = form.radius * slope
        _check_tips(asked, tangent, frogs)
        return Fraction(tangent)
    if form.tips == "inside":
        return measures.rounded_down(_INSIDE * frogs)
    # Outside, the end frog lies beyond the heel, where the slip road has parted by a head and a flangeway: about
    # y = s^2 / 2R behind the tip, with R = T / tan(F/2) and s = T - frogs.
    swing = math.sqrt(2 * TOE_HEADS * measures.head / slope)
    return measures.rounded_up(((swing + math.sqrt(swing * swing + 4 * frogs)) / 2) ** 2)


def _check_tips(asked: Asked[SlipForm], tangent: float, frogs: float) -> None:
    inside: Literal["inside", "outside"] = "inside" if tangent < frogs else "outside"
    if inside != asked.form.tips:
        limit = asked.said(frogs / math.tan(asked.form.angle / 2))
        word = "under" if asked.form.tips == "inside" else "over"
        sentence = f"With this radius the tips come to lie {inside} the end frogs."
        asked.refuse("radius", sentence, f'Take {word} {limit}, or write "tips: {inside}".')


def _to_end_frog(angle: float, measures: Measures) -> float:
    """Return the way from the middle of a diamond to beside its end frogs, along either track: g/2 cot(F/2)."""
    return measures.gauge / 2 / math.tan(angle / 2)


def _heel(angle: float, measures: Measures) -> float:
    return measures.reach_of(angle, None, None).behind


def _curvature(curve: MainForm | None) -> float:
    return 0.0 if curve is None else (1 if curve.turn == "left" else -1) / curve.radius


def _start(
    asked: Asked[DiamondForm] | Asked[SlipForm], middle: Fraction, main: float, second: float
) -> dict[str, Written]:
    """Return where the second track starts that crosses the main in the middle of both, from their curvatures."""
    length = float(middle)
    turn = asked.form.side * asked.form.angle
    crossing = join(Pose(0.0, 0.0, 0.0), [Shape(length, main, main)]).end
    back = join(crossing.turned(turn + math.pi), [Shape(length, -second, -second)]).end
    return {"x": back.x, "y": back.y, "heading": degrees(math.degrees(wrapped(back.heading + math.pi)))}
