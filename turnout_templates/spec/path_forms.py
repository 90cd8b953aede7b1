"""Turn the path of a route into checked forms: its pieces, where it starts, how its points leave.

`forms` has the rest of a spec; `Form` is what all of them share.
"""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    PrivateAttr,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    model_validator,
)
from pydantic_core import CoreSchema

from turnout_templates.spec import scalars as s
from turnout_templates.spec.tree import Scalar


class Form(BaseModel):
    """A mapping with known keys. Where one word may stand for the whole of it, `word` is that word."""

    model_config = ConfigDict(strict=True, extra="forbid", populate_by_name=True)
    _word: str = PrivateAttr("")

    @property
    def word(self) -> str:
        """The word that was written in place of the mapping, empty where there is none."""
        return self._word

    @classmethod
    def of_word(cls, word: str) -> Self:
        """Return the form that a single `word` stands for."""
        form = cls.model_construct()
        form._word = word
        return form

    def given(self, *names: str) -> list[str]:
        """Return which of the keys `names` were written."""
        return [name for name in names if name in self.model_fields_set]


def one_word(form: type[Form], *words: str, reader: Any = None) -> WrapValidator:
    """Let one of `words`, or any word that `reader` takes, stand in place of the mapping `form`."""

    def read(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
        if not isinstance(value, Scalar):
            return handler(value)
        if value.is_nothing:
            s.fail("Found nothing here.", "Leave the key out, or write its value after it.")
        if reader is not None:
            return form.of_word(reader(value.text))
        if value.text.strip() not in words:
            expected = " or ".join((*words, "a block of `key: value` lines"))
            s.fail(f"Found {s.described(value)} where {expected} is expected.", s.nearest(value.text, words))
        return form.of_word(value.text.strip())

    return WrapValidator(read)


class Worded(Form):
    """A form whose schema also allows a word."""

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [{"type": "string"}, handler.resolve_ref_schema(handler(schema))]}


class StartForm(Form):
    """Where a free route begins."""

    x: s.Coordinate = Field(default=0.0, description="distance from the origin along +x")
    y: s.Coordinate = Field(default=0.0, description="distance from the origin along +y, which points up")
    heading: s.Heading = Field(default=0.0, description="direction, counter-clockwise from +x")


class ThroughForm(Worded):
    """How a curve reaches its frog: `curved`, or straight for a length before the theoretical point."""

    straight: s.OptionalStraight = Field(description="length that is straight before the theoretical point")


Through = Annotated[ThroughForm, one_word(ThroughForm, "curved")]


class ArcForm(Form):
    """A radius and the side it turns to."""

    radius: s.Radius = Field(description="radius of the route's reference line")
    turn: s.Side = Field(description="the side that the curve turns to: left or right")


class BendForm(ArcForm):
    """The curve that a straight route is bent to, with all that leaves it, once everything is laid out."""


class EaseEndForm(Worded):
    """One end of an easement: `straight`, or a radius and a side."""

    radius: s.Radius = Field(description="radius of the reference line at this end")
    turn: s.Side = Field(description="the side that the curve turns to: left or right")


EaseEnd = Annotated[EaseEndForm, one_word(EaseEndForm, "straight")]


class EasementForm(Form):
    """A piece whose curvature changes evenly."""

    length: s.OpenLength = Field(description="length along the reference line, or open")
    from_: EaseEnd = Field(alias="from", description="curvature where it begins: straight, or {radius, turn}")
    to: EaseEnd = Field(description="curvature where it ends: straight, or {radius, turn}")


class PointsForm(Worded):
    """How routes part: `tangent`, {length, spread, tip}, {entry: ANGLE}, {stub: THROW, length}; `fixed`: none moves.

    A `hinge` goes with the first three; alone it is that of tangent points.
    """

    length: s.Size = Field(default=0.0, description="length of straight points, or of a stub's rails thrown straight")
    spread: s.Size = Field(default=0.0, description="distance between the faces at the heel of straight points")
    tip: s.Extra = Field(default=0.0, description="thickness of straight points at their tip")
    entry: s.EntryAngle = Field(default=0.0, description="angle at which points leave; the path gives their pieces")
    stub: s.Size = Field(default=0.0, description="throw of a stub switch, at the toe of its swinging rails")
    hinge: s.Size = Field(default=0.0, description="where point bars are cut and hinged, from the filed tip")

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.given("stub"):
            self._check_stub()
            return self
        straight = self.given("length", "spread", "tip")
        if self.given("hinge") and not self.given("entry", "length", "spread", "tip"):
            return self
        if self.given("entry") and straight:
            s.fail('Points take either "entry" or {length, spread, tip}.', "Keep one of them.", (straight[0],))
        if not self.given("entry"):
            for key in ("length", "spread", "tip"):
                if key not in straight:
                    s.fail(f'These points have no "{key}".', "Straight points are {length, spread, tip}.")
            if not self.tip < self.spread < self.length:
                s.fail("Straight points are longer than their spread, and spread further than their tip is thick.")
        return self

    def _check_stub(self) -> None:
        other = self.given("spread", "tip", "entry", "hinge")
        if other:
            s.fail(f'A stub takes no "{other[0]}".', "A stub is {stub: THROW} or {stub: THROW, length}.", (other[0],))
        if self.given("length") and not self.stub < self.length:
            s.fail("The swinging rails of a stub are longer than their throw.")

    @property
    def tangent(self) -> bool:
        """Whether these points leave tangent, wherever they are hinged, or are a word."""
        return not self.given("entry", "spread", "stub")

    @property
    def straight(self) -> tuple[float, float, float] | None:
        """Length, spread and tip thickness of the straight piece that these points begin with, None without one."""
        if self.given("stub"):
            return (self.length, self.stub, 0.0) if self.given("length") else None
        return (self.length, self.spread, self.tip) if self.given("spread") else None


Points = Annotated[PointsForm, one_word(PointsForm, "tangent", "fixed")]


class LeavesForm(Worded):
    """The route that a branch leaves, and where and which way it does."""

    route: s.Text = Field(description="the route that it leaves")
    at: s.Station | None = Field(default=None, description="station of the tip on it, or end: where it ends")
    facing: s.Facing = Field(default="with", description="with its direction, or against it")

    @property
    def name(self) -> str:
        """The name of the route, written alone or in the mapping."""
        return self.word or self.route


class JoinsForm(Worded):
    """The route that the end of a path meets, tangent, and where and which way it does."""

    route: s.Text = Field(description="the route that it joins")
    at: s.Meeting = Field(default="anywhere", description="station on it, end, or anywhere: where the path comes to it")
    facing: s.Facing | None = Field(default=None, description="with the direction of the route joined, or against it")
    points: Points | None = Field(default=None, description="of the switch there; like those where it leaves, unsaid")

    @property
    def name(self) -> str:
        """The name of the route, written alone or in the mapping."""
        return self.word or self.route


Joins = Annotated[JoinsForm, one_word(JoinsForm, reader=str.strip)]
Leaves = Annotated[LeavesForm, one_word(LeavesForm, reader=str.strip)]


class FrogKeys(Form):
    """The keys that say which frog a piece runs to."""

    frog: s.FrogNumber = Field(
        default=0.0, description="frog number, 1/2 cot(F/2), or open; the curve is found to suit"
    )
    frog_angle: s.FrogAngle = Field(default=0.0, description="angle of the frog; the curve is found to suit")
    frog_ratio: s.FrogRatio = Field(default=0.0, description="frog as tan F, such as 1:9; the curve is found to suit")
    through: Through | None = Field(default=None, description="curved, or {straight: LENGTH} before the frog's point")

    lead: s.TrackLength = Field(
        default=0.0,
        description="from the tip to the frog's theoretical point, along the parent; one straight beside the curve "
        "makes it so",
    )

    @property
    def frog_keys(self) -> list[str]:
        """Which of the three keys that give a frog were written."""
        return self.given("frog", "frog_angle", "frog_ratio")

    def refuse_lead(self, sentence: str, remedy: str = "") -> None:
        """Fail where a lead was written."""
        if self.given("lead"):
            s.fail(sentence, remedy, ("lead",))

    def refuse_lead_with_radius(self) -> None:
        """Fail where a lead was written beside a radius."""
        if self.given("radius"):
            sentence = "Lead and radius together are over-determined: a radius says where its frog comes to lie."
            self.refuse_lead(sentence, "Leave the lead out, or give the frog in place of the radius.")


class CurveForm(FrogKeys):
    """A curve of a length or an angle, or one that runs to the frog."""

    radius: s.OpenRadius = Field(default=0.0, description="radius of the route's reference line, or open")
    turn: s.Side = Field(default="left", description="the side that the curve turns to: left or right")
    length: s.OpenLength = Field(default=0.0, description="length along the reference line, or open")
    angle: s.OpenAngle = Field(default=0.0, description="angle that the curve turns through, or open")
    to: s.ToFrogWord = Field(default="frog", description="frog: the curve runs on to the frog, whose number follows")

    @property
    def _needed(self) -> tuple[str, ...]:
        """The keys that it must have: a curve whose radius is open may turn to either side."""
        return ("radius",) if self.radius == "open" else ("radius", "turn")

    @model_validator(mode="after")
    def _check(self) -> Self:
        ends = self.given("length", "angle", "to")
        if self.frog_keys or ends == ["to"]:
            self.refuse_lead_with_radius()
        if self.frog_keys:
            one_of(self, "frog", "frog_angle", "frog_ratio")
            if extra := self.given("radius", "turn", "length", "angle", "to"):
                remedy = "Leave it out, or write {radius, turn, to: frog} for a curve whose frog follows."
                s.fail(f'A curve to a given frog takes no "{extra[0]}"; its radius is found.', remedy, (extra[0],))
        elif missing := [key for key in self._needed if not self.given(key)]:
            s.fail(f'This curve has no "{missing[0]}".', "A curve is {radius, turn, length or angle}, or {frog: N}.")
        elif len(ends) != 1:
            s.fail(
                "A curve takes one of length, angle and to: frog.", f"It has {' and '.join(ends) or 'none of them'}."
            )
        elif self.radius == "open" and ends == ["to"]:
            remedy = "Write {frog: open} for a curve whose radius and frog are both found."
            s.fail("A curve to a frog whose number follows needs a radius.", remedy, ("radius",))
        elif self.radius == "open" and ends == ["angle"] and self.angle != "open" and not self.given("turn"):
            s.fail('This curve has no "turn".', "An angle is turned through to the left or to the right.")
        elif self.through is not None and ends != ["to"]:
            s.fail('"through" says how a curve reaches its frog, and this one runs to none.', "", ("through",))
        else:
            self.refuse_lead('"lead" says where a frog lies, and this curve runs to none.', "Leave it out.")
        return self


class PieceForm(FrogKeys):
    """One piece of a path: a straight, a curve, an easement, or the frog that it runs to."""

    straight: s.OpenLength = Field(default=0.0, description="a straight of this length, or open")
    curve: CurveForm | None = Field(default=None, description="a curve: {radius, turn, length or angle}, or {frog: N}")
    easement: EasementForm | None = Field(default=None, description="an easement: {length, from, to}")

    @model_validator(mode="after")
    def _check(self) -> Self:
        one_of(self, "straight", "curve", "easement", "frog", "frog_angle", "frog_ratio")
        if self.through is not None and self.given("straight", "curve", "easement"):
            remedy = "Write it beside frog, inside the same brackets."
            s.fail('"through" says how a curve reaches its frog, and does not belong here.', remedy, ("through",))
        if self.given("straight", "curve", "easement"):
            remedy = "Write it beside frog, inside the same brackets."
            self.refuse_lead('"lead" says where a frog lies, and does not belong here.', remedy)
        return self


def one_of(form: Form, *keys: str) -> None:
    """Fail unless exactly one of `keys` was written in `form`."""
    found = form.given(*keys)
    if not found:
        s.fail("This piece says nothing that it could be.", f"Write one of {', '.join(keys)}.")
    if len(found) > 1:
        s.fail(f'Both "{found[0]}" and "{found[1]}" stand here.', "Keep one of them.", (found[1],))
