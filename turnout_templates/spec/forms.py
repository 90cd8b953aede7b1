"""Turn the tree of a spec into checked forms: which keys there are, what each takes, and what it is for.

One declaration serves reading, error messages, the JSON Schema and the documentation: every field says what it is.
Values are mm and radians; whatever needs another part of the spec is checked in `names` and `meaning`.
"""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, Self

from pydantic import ConfigDict, Field, PlainValidator, WithJsonSchema, create_model, model_validator

from turnout_templates import units
from turnout_templates.spec import scalars as s
from turnout_templates.spec.path_forms import (
    BendForm,
    Form,
    Joins,
    Leaves,
    PieceForm,
    Points,
    StartForm,
    Worded,
    one_word,
)
from turnout_templates.spec.shorthands.table import FORMATIONS, formation
from turnout_templates.standards.rail import rail_names
from turnout_templates.standards.track import track_standard_named, track_standard_names
from turnout_templates.standards.widening import PROTOTYPE, widening_rule_named, widening_rule_names


def _rule_name(text: str) -> str:
    name = widening_rule_named(text)
    if name is None:
        sentence = f"Found {units.quoted(text)} where a rule of gauge widening is expected."
        s.fail(sentence, s.nearest(text, (PROTOTYPE, *widening_rule_names())))
    return name


class WideningForm(Worded):
    """How the gauge is widened on curves: by figures of one's own, or by a published rule."""

    by: s.Size = Field(default=0.0, description="what the gauge is widened by on curves")
    below: s.Radius = Field(default=0.0, description="curves tighter than this radius are widened")
    from_: Annotated[
        str,
        PlainValidator(lambda value: _rule_name(s.scalar_of(value, "a rule of gauge widening").text)),
        WithJsonSchema({"type": "string", "examples": ["prototype"]}),
    ] = Field(default="", alias="from", description="the published rule that gives by and below")
    taper: s.TrackLength = Field(
        default=0.0, description="length over which the gauge widens before a curve and comes back behind it"
    )

    @property
    def rule(self) -> str:
        """The published rule, written alone or in the mapping; empty where there is none."""
        return self.word or self.from_

    @model_validator(mode="after")
    def _check(self) -> Self:
        own = self.given("by", "below")
        if self.given("from_") and own:
            s.fail('Gauge widening is either by figures or "from" a rule.', "Keep one of them.", (own[0],))
        if not self.given("from_") and len(own) < 2:
            missing = "below" if own == ["by"] else "by"
            remedy = "Write {by: LENGTH, below: RADIUS}, or prototype for the published rule."
            s.fail(f'This gauge widening has no "{missing}".', remedy)
        return self


class RouteForm(Form):
    """One way through the trackwork."""

    gauges: list[s.Text] = Field(
        default_factory=list, min_length=1, description="names of its gauges; all of them, or its parent's, unsaid"
    )
    common_rail: s.Side | None = Field(default=None, description="side of the rail that its gauges share")
    start: StartForm | None = Field(default=None, description="where a free route begins: {x, y, heading}")
    leaves: Leaves | None = Field(default=None, description="the route that it branches from, or {route, at, facing}")
    at: s.Meeting | None = Field(
        default=None,
        description="station of the tip on the parent, or end: where it ends; of a route that only joins, the far one",
    )
    hand: s.Side | None = Field(default=None, description="side it leaves to, as seen from the tip")
    points: Points | None = Field(default=None, description="tangent, {length, spread, tip}, or {entry: ANGLE}")
    joins: Joins | None = Field(
        default=None, description="the route that its end meets, or {route, at, facing, points}"
    )
    facing: s.Facing | None = Field(default=None, description="way it joins: with the other's direction, or against it")
    path: list[PieceForm] = Field(min_length=1, description="its pieces, in order")
    bend: BendForm | None = Field(
        default=None, description="what it and all that leaves it is bent to once laid out straight: {radius, turn}"
    )
    widening: Annotated[WideningForm, one_word(WideningForm, reader=_rule_name)] | None = Field(
        default=None,
        description="of the gauge on curves: {by, below, taper}, or a published rule: prototype, {from, taper}",
    )


class RailForm(Worded):
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
    flangeway_depth: s.Size | None = Field(default=None, description="the least depth of a groove; may stay unsaid")


class TrackStandardForm(Worded):
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
    strip: s.Size | None = Field(default=None, description="length in which strip for ties is sold; one yard unsaid")
    gap: s.Size | None = Field(default=None, description="the least left between two ties, sides and ends; none unsaid")
    copper: s.Copper | None = Field(
        default=None,
        description="which ties are copper-clad: all, none, where soldered (only where a rail must be soldered), or "
        "every second, third or fourth and where a rail must be soldered",
    )
    orientation: s.Orientation | None = Field(
        default=None,
        description="how ties under two tracks are turned: square to the first, to the mean of both, or fanned from "
        "square at the points to the mean behind the frog",
    )


class SpecForm(Form):
    """A spec: what the track must do."""

    spec: s.Version = Field(description="version of this form: 1")
    name: s.Text = Field(description="what the sheets are titled with")
    revision: s.Text = Field(default="1", description="which issue of the spec this is")
    notes: s.Notes = Field(default="", description="anything worth saying; it changes nothing")
    units: s.Units | None = Field(
        default=None,
        description="unit of bare numbers, and printed first: mm or in; that of most lengths unsaid, else of the scale",
    )
    base: s.Text | None = Field(
        default=None, description="a spec in the same folder or below whose values these extend"
    )
    scale: s.Text = Field(description="a scale by name, such as HO, or a ratio, such as 1:87.1")
    gauges: dict[str, s.Text] = Field(
        default_factory=dict, min_length=1, description="name -> a gauge by name, such as HOn3, or its width"
    )
    track_standard: Annotated[TrackStandardForm, one_word(TrackStandardForm, reader=_standard_name)] | None = Field(
        default=None,
        description="a published standard by name, or gauge -> {flangeway, check_gauge, span, point_spread} and depth",
    )
    rail: Annotated[RailForm, one_word(RailForm, reader=_rail_name)] | None = Field(
        default=None, description="a rail by name, such as code 70, or {height, head, base}"
    )
    ties: TiesForm | None = Field(default=None, description="how ties are cut and spaced")
    tip: s.Size | None = Field(default=None, description="distance between the faces at a filed tip; 0.1 mm unsaid")
    frog_point: s.Size | None = Field(
        default=None, description="width of a frog's practical point; 1/2 in scale unsaid"
    )
    throw: s.Size | None = Field(default=None, description="travel of the points; from the clearances unsaid")
    longest_rail: s.Size | None = Field(
        default=None, description="the longest piece of rail that can be had; 914.4 mm (one yard) unsaid"
    )
    offset_step: s.Size | None = Field(
        default=None, description="step of the tables of offsets; 10 mm or 1/2 in unsaid, more where gauges are wide"
    )
    routes: dict[str, RouteForm] | None = Field(default=None, description="name -> route")


@cache
def spec_form(formations: frozenset[str]) -> type[SpecForm]:
    """Return the form of a spec that has the keys of these formations beside its own."""
    fields: dict[str, Any] = {
        key: (
            formation(key).form | None,
            Field(default=None, description=f"{formation(key).purpose}, in place of routes"),
        )
        for key in FORMATIONS
        if key in formations
    }
    return create_model("SpecForm", __base__=SpecForm, __doc__=SpecForm.__doc__, **fields)


def whole_spec() -> type[SpecForm]:
    """Return the form of a spec with all formations."""
    return spec_form(frozenset(FORMATIONS))
