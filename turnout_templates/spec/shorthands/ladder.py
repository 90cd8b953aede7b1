"""Turn the words of a ladder into a main, the lead that leaves it at an angle, and the yard tracks that leave the lead.

ladder: {tracks: 4, spacing: 52 mm, frog: 6, hand: right}

The yard tracks lie beside the main. Each is written from its far end, where its place is known in round figures, and
joins the lead.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Self

from pydantic import Field, model_validator

from turnout_templates.spec import scalars as s
from turnout_templates.spec.path_forms import FrogKeys
from turnout_templates.spec.shorthands.formation import Asked, BranchingForm, Routes
from turnout_templates.spec.shorthands.lengths import Reach, exact
from turnout_templates.spec.shorthands.nodes import Written

_ALIKE = 1e-12
"""Frogs whose angles differ by less than this (radians) are alike: rounding of the same number."""


class LadderForm(BranchingForm):
    """A lead that leaves the main, and yard tracks that leave the lead and lie beside the main."""

    tracks: s.Count = Field(description="how many yard tracks")
    spacing: s.TrackLength = Field(description="between the centre lines of neighbouring tracks")
    frogs: list[s.KnownFrogNumber] = Field(
        default_factory=list, min_length=1, description="frog number of each yard track; that of the lead unsaid"
    )
    radius: s.Radius = Field(
        default=0.0, description="of the curve behind a frog unlike the lead's; like that of a turnout, unsaid"
    )
    length: s.TrackLength = Field(default=0.0, description="of the straight of the last track; a few ties unsaid")

    @model_validator(mode="after")
    def _check(self) -> Self:
        self.check_frog()
        if self.frogs and len(self.frogs) != self.tracks:
            sentence = f"The list holds {len(self.frogs)}, and the tracks are {self.tracks}."
            s.fail(sentence, "Give each track its frog, or leave the list out.", ("frogs",))
        return self


def ladder_routes(asked: Asked[LadderForm]) -> Routes:
    """Return the main, the lead and the yard tracks."""
    form, writer, measures = asked.form, asked.writer, asked.measures
    asked.check_spacing(form.spacing)
    lead = measures.reach(form, form.points)
    reaches = _reaches(asked, lead)
    least = _least_spacing(asked, lead, reaches)
    if form.spacing < least:
        sentence = f"The switches of the lead would lie in one another: the tracks need {asked.said(least)}."
        asked.refuse("spacing", sentence, "Take a wider spacing, or a smaller frog number.")
    deep = form.tracks * form.spacing + _rise(asked, lead, reaches[-1])
    last = deep / math.tan(lead.angle)
    begin = float(measures.end) + lead.lead - lead.bend
    end = measures.rounded_up(begin + last + reaches[-1].bend + _behind(asked, lead, reaches[-1]))
    onward = deep / math.sin(lead.angle) - lead.bend + reaches[-1].bend + reaches[-1].behind
    routes: dict[str, dict[str, Written]] = {
        "main": {**writer.free(), "path": [{"straight": end}]},
        "lead": {
            "leaves": "main",
            "at": measures.end,
            **writer.copied("hand", "gauges", "points"),
            "path": [writer.copied(*FrogKeys.model_fields), {"straight": measures.rounded_up(onward)}],
        },
    }
    for index, reach in enumerate(reaches):
        start: dict[str, Written] = {"x": end, "y": asked.form.side * (index + 1) * exact(form.spacing)}
        routes[f"track {index + 1}"] = {
            **writer.free({**start, "heading": "180 deg"}, turned=True),
            **writer.copied("gauges", "points"),
            "joins": "lead",
            "facing": "against",
            "path": _track(asked, index, lead, reach),
        }
    return routes


def _reaches(asked: Asked[LadderForm], lead: Reach) -> list[Reach]:
    form = asked.form
    if not form.frogs:
        return [lead] * form.tracks
    angles = [2 * math.atan(1 / (2 * number)) for number in form.frogs]
    return [asked.measures.reach_of(angle, form.points, form.through) for angle in angles]


def _least_spacing(asked: Asked[LadderForm], lead: Reach, reaches: list[Reach]) -> float:
    """Return the spacing at which each switch of the lead begins where the frog of the one before it lies (mm).

    A track's switch has its bend (spacing + rise)/sin F further along than the one before, its frog a `bend` behind
    that, and its tip a lead before its frog.
    """
    sine = math.sin(lead.angle)
    rises = [0.0, *(_rise(asked, lead, reach) for reach in reaches)]
    return max(
        (after.lead + before.bend - after.bend) * sine + rises[i] - rises[i + 1]
        for i, (before, after) in enumerate(pairwise([lead, *reaches]))
    )


def _rise(asked: Asked[LadderForm], lead: Reach, reach: Reach) -> float:
    """Return how much nearer to the main a track lies than where it bends from the lead (mm).

    With a frog unlike the lead's it comes back toward the main, or goes on away from it, as far as the curve behind the
    heel, and its switch lies that much further along the lead, or less far.
    """
    turn = reach.angle - lead.angle
    if abs(turn) < _ALIKE:
        return 0.0
    curve = float(_radius(asked, lead)) * math.tan(abs(turn) / 2)
    return (reach.bend + float(asked.measures.rounded_heel(reach)) + curve) * math.sin(turn)


def _behind(asked: Asked[LadderForm], lead: Reach, reach: Reach) -> float:
    """Return what the last track takes up behind its frog."""
    curve = float(_radius(asked, lead)) * abs(reach.angle - lead.angle)
    return reach.behind + max(asked.form.length, curve and float(asked.measures.end)) + curve


def _radius(asked: Asked[LadderForm], lead: Reach) -> float:
    return asked.form.radius or float(asked.measures.rounded_up(lead.closure_radius))


def _track(asked: Asked[LadderForm], index: int, lead: Reach, reach: Reach) -> list[Written]:
    """Return the path of a yard track from its far end to the lead."""
    form, writer = asked.form, asked.writer
    if not form.frogs:
        return [{"straight": s.OPEN}, writer.copied(*FrogKeys.model_fields)]
    frogs = writer.origin.entries["frogs"]
    frog: Written = {"frog": frogs.items[index], **writer.copied("through")}  # type: ignore[union-attr]
    if abs(reach.angle - lead.angle) < _ALIKE:
        return [{"straight": s.OPEN}, frog]
    back = -asked.form.side if reach.angle > lead.angle else asked.form.side
    radius = writer.copied("radius").get("radius", exact(_radius(asked, lead)))
    turn = "left" if back > 0 else "right"
    heel: Written = {"straight": asked.measures.rounded_heel(reach)}
    return [{"straight": s.OPEN}, {"curve": {"radius": radius, "turn": turn, "length": s.OPEN}}, heel, frog]
