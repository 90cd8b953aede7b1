"""Turn the tree of a spec into checked forms: which keys there are, what each takes, and what it is for.

One declaration serves reading, error messages, the JSON Schema and the documentation: every field says what it is.
Values are mm and radians; whatever needs another part of the spec is checked in `names` and `meaning`.
"""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    PlainValidator,
    PrivateAttr,
    ValidatorFunctionWrapHandler,
    WithJsonSchema,
    WrapValidator,
    model_validator,
)
from pydantic_core import CoreSchema

from turnout_templates import units
from turnout_templates.spec import scalars as s
from turnout_templates.spec.tree import Scalar
from turnout_templates.standards.rail import rail_names
from turnout_templates.standards.track import track_standard_named, track_standard_names


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


def _one_word(form: type[Form], *words: str, reader: Any = None) -> WrapValidator:
    """Let one of `words`, or any word that `reader` takes, stand in place of the mapping `form`."""

    def read(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
        if not isinstance(value, Scalar):
            return handler(value)
        if value.is_nothing:
            s.fail("Found nothing here.", "Leave the key out, or write its value after it.")
        if reader is not None:
            return form.of_word(reader(value.text))
        if value.text.strip() not in words:
            expected = " or ".join((*words, "a mapping"))
            s.fail(f"Found {s.described(value)} where {expected} is expected.", s.nearest(value.text, words))
        return form.of_word(value.text.strip())

    return WrapValidator(read)


class _Worded(Form):
    """A form whose schema also allows a word."""

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [{"type": "string"}, handler.resolve_ref_schema(handler(schema))]}


class StartForm(Form):
    """Where a free route begins."""

    x: s.Coordinate = Field(default=0.0, description="distance from the origin along +x")
    y: s.Coordinate = Field(default=0.0, description="distance from the origin along +y, which points up")
    heading: s.Heading = Field(default=0.0, description="direction, counter-clockwise from +x")


class ThroughForm(_Worded):
    """How a curve reaches its frog: `curved`, or straight for a length before the theoretical point."""

    straight: s.OptionalStraight = Field(description="length that is straight before the theoretical point")


Through = Annotated[ThroughForm, _one_word(ThroughForm, "curved")]


class ArcForm(Form):
    """A radius and the side it turns to."""

    radius: s.Radius = Field(description="radius of the route's reference line")
    turn: s.Side = Field(description="the side that the curve turns to: left or right")


class EaseEndForm(_Worded):
    """One end of an easement: `straight`, or a radius and a side."""

    radius: s.Radius = Field(description="radius of the reference line at this end")
    turn: s.Side = Field(description="the side that the curve turns to: left or right")


EaseEnd = Annotated[EaseEndForm, _one_word(EaseEndForm, "straight")]


class EasementForm(Form):
    """A piece whose curvature changes evenly."""

    length: s.TrackLength = Field(description="length along the reference line")
    from_: EaseEnd = Field(alias="from", description="curvature where it begins: straight, or {radius, turn}")
    to: EaseEnd = Field(description="curvature where it ends: straight, or {radius, turn}")


class FrogKeys(Form):
    """The keys that say which frog a piece runs to."""

    frog: s.FrogNumber = Field(default=0.0, description="frog number, 1/2 cot(F/2); the curve is found to suit")
    frog_angle: s.FrogAngle = Field(default=0.0, description="angle of the frog; the curve is found to suit")
    frog_ratio: s.FrogRatio = Field(default=0.0, description="frog as tan F, such as 1:9; the curve is found to suit")
    through: Through | None = Field(default=None, description="curved, or {straight: LENGTH} before the frog's point")

    @property
    def frog_keys(self) -> list[str]:
        """Which of the three keys that give a frog were written."""
        return self.given("frog", "frog_angle", "frog_ratio")


class CurveForm(FrogKeys):
    """A curve of a length or an angle, or one that runs to the frog."""

    radius: s.Radius = Field(default=0.0, description="radius of the route's reference line")
    turn: s.Side = Field(default="left", description="the side that the curve turns to: left or right")
    length: s.TrackLength = Field(default=0.0, description="length along the reference line")
    angle: s.CurveAngle = Field(default=0.0, description="angle that the curve turns through")
    to: s.ToFrogWord = Field(default="frog", description="frog: the curve runs on to the frog, whose number follows")

    @model_validator(mode="after")
    def _check(self) -> Self:
        ends = self.given("length", "angle", "to")
        if self.frog_keys:
            _one_of(self, "frog", "frog_angle", "frog_ratio")
            if extra := self.given("radius", "turn", "length", "angle", "to"):
                remedy = "Leave it out, or write {radius, turn, to: frog} for a curve whose frog follows."
                s.fail(f'A curve to a given frog takes no "{extra[0]}"; its radius is found.', remedy, (extra[0],))
        elif missing := [key for key in ("radius", "turn") if not self.given(key)]:
            s.fail(f'This curve has no "{missing[0]}".', "A curve is {radius, turn, length or angle}, or {frog: N}.")
        elif len(ends) != 1:
            s.fail(
                "A curve takes one of length, angle and to: frog.", f"It has {' and '.join(ends) or 'none of them'}."
            )
        elif self.through is not None and ends != ["to"]:
            s.fail('"through" says how a curve reaches its frog, and this one runs to none.', "", ("through",))
        return self


class PieceForm(FrogKeys):
    """One piece of a path: a straight, a curve, an easement, or the frog that it runs to."""

    straight: s.TrackLength = Field(default=0.0, description="a straight of this length")
    curve: CurveForm | None = Field(default=None, description="a curve: {radius, turn, length or angle}, or {frog: N}")
    easement: EasementForm | None = Field(default=None, description="an easement: {length, from, to}")

    @model_validator(mode="after")
    def _check(self) -> Self:
        _one_of(self, "straight", "curve", "easement", "frog", "frog_angle", "frog_ratio")
        if self.through is not None and self.given("straight", "curve", "easement"):
            remedy = "Write it beside frog, inside the same brackets."
            s.fail('"through" says how a curve reaches its frog, and does not belong here.', remedy, ("through",))
        return self


def _one_of(form: Form, *keys: str) -> None:
    """Fail unless exactly one of `keys` was written in `form`."""
    found = form.given(*keys)
    if not found:
        s.fail("This piece says nothing that it could be.", f"Write one of {', '.join(keys)}.")
    if len(found) > 1:
        s.fail(f'Both "{found[0]}" and "{found[1]}" stand here.', "Keep one of them.", (found[1],))


class PointsForm(_Worded):
    """How points leave the stock rail: `tangent`, {length, spread, tip}, or {entry: ANGLE}."""

    length: s.Size = Field(default=0.0, description="length of straight points")
    spread: s.Size = Field(default=0.0, description="distance between the faces at the heel of straight points")
    tip: s.Extra = Field(default=0.0, description="thickness of straight points at their tip")
    entry: s.EntryAngle = Field(default=0.0, description="angle at which points leave; the path gives their pieces")

    @model_validator(mode="after")
    def _check(self) -> Self:
        straight = self.given("length", "spread", "tip")
        if self.given("entry") and straight:
            s.fail('Points take either "entry" or {length, spread, tip}.', "Keep one of them.", (straight[0],))
        if not self.given("entry"):
            for key in ("length", "spread", "tip"):
                if key not in straight:
                    s.fail(f'These points have no "{key}".', "Straight points are {length, spread, tip}.")
            if not self.tip < self.spread < self.length:
                s.fail("Straight points are longer than their spread, and spread further than their tip is thick.")
        return self


Points = Annotated[PointsForm, _one_word(PointsForm, "tangent")]


class RouteForm(Form):
    """One way through the trackwork."""

    gauges: list[s.Text] = Field(
        default_factory=list, min_length=1, description="names of its gauges; all of them, or its parent's, unsaid"
    )
    common_rail: s.Side | None = Field(default=None, description="side of the rail that its gauges share")
    start: StartForm | None = Field(default=None, description="where a free route begins: {x, y, heading}")
    leaves: s.Text | None = Field(default=None, description="the route that it branches from")
    at: s.Station | None = Field(default=None, description="station of the tip on the parent, or end: where it ends")
    hand: s.Side | None = Field(default=None, description="side it leaves to, as seen from the tip")
    points: Points | None = Field(default=None, description="tangent, {length, spread, tip}, or {entry: ANGLE}")
    path: list[PieceForm] = Field(min_length=1, description="its pieces, in order")


class MainForm(ArcForm):
    """The main of a turnout on a curve."""


class TurnoutForm(FrogKeys):
    """One turnout in a few words: the shorthand for a main and a branch."""

    hand: s.Side = Field(description="side that the branch leaves to, as seen from the tip")
    radius: s.Radius = Field(default=0.0, description="radius of the branch, which turns to its hand; the frog follows")
    points: Points | None = Field(default=None, description="tangent, {length, spread, tip}, or {entry: ANGLE}")
    main: MainForm | None = Field(default=None, description="the main's curve: {radius, turn}; straight unsaid")
    common_rail: s.Side | None = Field(default=None, description="side of the rail that several gauges share")

    @model_validator(mode="after")
    def _check(self) -> Self:
        _one_of(self, "frog", "frog_angle", "frog_ratio", "radius")
        return self


class RailForm(_Worded):
    """A rail by its measures, or the name of one in the tables."""

    height: s.Size = Field(description="height of the rail")
    head: s.Size = Field(description="width of the head")
    base: s.Size = Field(description="width of the base")


def _rail_name(text: str) -> str:
    name = " ".join(text.split()).casefold()
    known = {rail.casefold(): rail for rail in rail_names()}
    if name not in known:
        s.fail(f"Found {units.quoted(text)} where the name of a rail is expected.", _near_rail(text))
    return known[name]


def _near_rail(text: str) -> str:
    names = rail_names()
    coded = f"code {text.strip()}"
    return f'Write "{coded}".' if coded in names else s.nearest(text, names)


class ClearanceForm(Form):
    """What the wheels of one gauge need."""

    flangeway: s.Size | None = Field(default=None, description="groove at the frog")
    check_gauge: s.Size | None = Field(default=None, description="from the face beside the frog's point to the guard's")
    span: s.Size | None = Field(default=None, description="the most that guard face and wing face may be apart")
    point_spread: s.Size | None = Field(default=None, description="the most that backs of open point and stock may be")


class TrackStandardForm(_Worded):
    """Clearances: a published standard by name, or each gauge's own, alone or over a named standard (`from`)."""

    model_config = ConfigDict(extra="allow")
    __pydantic_extra__: dict[str, ClearanceForm] = Field(init=False)
    from_: Annotated[str, PlainValidator(lambda value: _standard_of(value)), WithJsonSchema({"type": "string"})] = (
        Field(default="", alias="from", description="the published standard that gives what is not said here")
    )


def _standard_of(value: Any) -> str:
    return _standard_name(s.scalar_of(value, "the name of a track standard").text)


def _standard_name(text: str) -> str:
    name = track_standard_named(text)
    if name is None:
        sentence = f"Found {units.quoted(text)} where the name of a track standard is expected."
        editions = [known for known in track_standard_names() if known.casefold().startswith(text.strip().casefold())]
        s.fail(sentence, f"Write {' or '.join(editions)}." if editions else s.nearest(text, track_standard_names()))
    return name


class TiesForm(Form):
    """How ties are cut and spaced."""

    width: s.Size | None = Field(default=None, description="width of a plain tie")
    thickness: s.Size | None = Field(default=None, description="thickness of a tie")
    switch_width: s.Size | None = Field(default=None, description="width of a tie under switch and frog")
    spacing: s.Size | None = Field(default=None, description="centre to centre on plain track")
    switch_spacing: s.Size | None = Field(default=None, description="centre to centre under switch and frog")
    overhang: s.Extra | None = Field(default=None, description="from a rail's gauge face to the tie's end")
    headblock_overhang: s.Extra | None = Field(default=None, description="what headblocks are longer by, at the throw")
    length_step: s.Size | None = Field(default=None, description="cut lengths are rounded up to a multiple of this")
    copper: s.Copper | None = Field(default=None, description="which ties are copper-clad: all, every second or none")


class SpecForm(Form):
    """A spec: what the track must do."""

    spec: s.Version = Field(description="version of this form: 1")
    name: s.Text = Field(description="what the sheets are titled with")
    revision: s.Text = Field(default="1", description="which issue of the spec this is")
    notes: s.Notes = Field(default="", description="anything worth saying; it changes nothing")
    units: s.Units | None = Field(default=None, description="unit of bare numbers, and printed first: mm or in")
    base: s.Text | None = Field(
        default=None, description="a spec in the same folder or below whose values these extend"
    )
    scale: s.Text = Field(description="a scale by name, such as HO, or a ratio, such as 1:87.1")
    gauges: dict[str, s.Text] = Field(
        default_factory=dict, min_length=1, description="name -> a gauge by name, such as HOn3, or its width"
    )
    track_standard: Annotated[TrackStandardForm, _one_word(TrackStandardForm, reader=_standard_name)] | None = Field(
        default=None,
        description="a published standard by name, or gauge -> {flangeway, check_gauge, span, point_spread}",
    )
    rail: Annotated[RailForm, _one_word(RailForm, reader=_rail_name)] | None = Field(
        default=None, description="a rail by name, such as code 70, or {height, head, base}"
    )
    ties: TiesForm | None = Field(default=None, description="how ties are cut and spaced")
    tip: s.Size | None = Field(default=None, description="distance between the faces at a filed tip; 0.1 mm unsaid")
    frog_point: s.Size | None = Field(
        default=None, description="width of a frog's practical point; 1/2 in scale unsaid"
    )
    throw: s.Size | None = Field(default=None, description="travel of the points; from the clearances unsaid")
    turnout: TurnoutForm | None = Field(default=None, description="one turnout in a few words, in place of routes")
    routes: dict[str, RouteForm] | None = Field(default=None, description="name -> route")
