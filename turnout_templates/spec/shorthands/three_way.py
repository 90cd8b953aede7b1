"""Turn the words of a three-way turnout into a main and two branches, one to either side.

three_way: {frog: 6, hand: left}
three_way: {left: {frog: 6}, right: {radius: 24 in}, stagger: 2 in, hand: left}
"""

from __future__ import annotations

import math
from typing import Self

from pydantic import Field, model_validator

from turnout_templates.spec import scalars as s
from turnout_templates.spec.mean_routes import frog_angle
from turnout_templates.spec.path_forms import FrogKeys, one_of
from turnout_templates.spec.shorthands.formation import Asked, BranchingForm, Routes, check_known
from turnout_templates.spec.shorthands.lengths import STEPS, Reach, exact
from turnout_templates.spec.shorthands.nodes import Written
from turnout_templates.spec.tree import Table


class SideForm(FrogKeys):
    """One branch of a three-way turnout."""

    radius: s.Radius = Field(default=0.0, description="radius of the branch, which turns to its side; the frog follows")

    @model_validator(mode="after")
    def _check(self) -> Self:
        self.refuse_lead_with_radius()
        one_of(self, "frog", "frog_angle", "frog_ratio", "radius")
        check_known(self)
        return self


class ThreeWayForm(BranchingForm):
    """A main and two branches, one to either side; that of the `hand` comes first where their tips are staggered."""

    radius: s.Radius = Field(default=0.0, description="radius of both branches; the frogs follow")
    left: SideForm | None = Field(default=None, description="frog or radius of the left branch; that of both unsaid")
    right: SideForm | None = Field(default=None, description="frog or radius of the right branch; that of both unsaid")
    stagger: s.OptionalStraight = Field(
        default=0.0, description="how far the second tip lies behind the first; 0 unsaid"
    )

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.left is None or self.right is None:
            one_of(self, "frog", "frog_angle", "frog_ratio", "radius")
        elif said := self.given("frog", "frog_angle", "frog_ratio", "radius", "through", "lead"):
            s.fail("Both branches say this for themselves.", "Leave it out.", (said[0],))
        self.refuse_lead_with_radius()
        check_known(self)
        return self


def three_way_routes(asked: Asked[ThreeWayForm]) -> Routes:
    """Return the main and its two branches, the one with the first tip first."""
    form, writer, measures = asked.form, asked.writer, asked.measures
    hands = ("left", "right") if form.hand == "left" else ("right", "left")
    tips = {hands[0]: measures.end, hands[1]: measures.end + exact(form.stagger)}
    reaches = {hand: _reach(asked, hand) for hand in hands}
    length = measures.rounded_up(max(float(tips[hand]) + reaches[hand].lead + reaches[hand].behind for hand in hands))
    routes: dict[str, dict[str, Written]] = {"main": {**writer.free(), "path": [{"straight": length}]}}
    for hand in hands:
        reach = reaches[hand]
        heel = (float(length - tips[hand]) - reach.foot[0]) / math.cos(reach.angle) - float(STEPS[measures.unit]) / 2
        routes[hand] = {
            "leaves": "main",
            "at": tips[hand],
            "hand": hand,
            **writer.copied("gauges", "points"),
            "path": [_piece(asked, hand), {"straight": measures.rounded_up(heel)}],
        }
    return routes


def _side(form: ThreeWayForm, hand: str) -> SideForm | ThreeWayForm:
    return (form.left if hand == "left" else form.right) or form


def _reach(asked: Asked[ThreeWayForm], hand: str) -> Reach:
    side = _side(asked.form, hand)
    angle = frog_angle(side) or asked.measures.angle_of_radius(side.radius, 0.0, side.through)
    return asked.measures.reach_of(angle, asked.form.points, side.through, side.lead)


def _piece(asked: Asked[ThreeWayForm], hand: str) -> dict[str, Written]:
    origin: Table = asked.writer.origin.table(hand) or asked.writer.origin
    said: dict[str, Written] = {key: origin.entries[key] for key in FrogKeys.model_fields if key in origin.entries}
    if "radius" in origin.entries:
        return {"curve": {"radius": origin.entries["radius"], "turn": hand, "to": "frog", **said}}
    return said
