"""Turn a formation's few words into checked forms: the keys that most formations share, and what a formation is.

A formation is a declaration, its form, and a function that writes its routes. No formation knows another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Generic, NoReturn, Self, TypeVar, cast

from msgspec import Struct
from pydantic import Field, model_validator

from turnout_templates import units
from turnout_templates.errors import InputProblems
from turnout_templates.spec import scalars as s
from turnout_templates.spec.mean_routes import frog_angle
from turnout_templates.spec.path_forms import ArcForm, Form, FrogKeys, Points, one_of
from turnout_templates.spec.shorthands.lengths import Measures
from turnout_templates.spec.shorthands.nodes import Writer, Written
from turnout_templates.spec.tree import problem_at

Routes = Mapping[str, Mapping[str, Written]]


class MainForm(ArcForm):
    """The curve of a track."""


class FormationForm(Form):
    """What every formation takes."""

    common_rail: s.Side | None = Field(default=None, description="side of the rail that several gauges share")


class HandedForm(FormationForm):
    """A formation that lies to one side of its main."""

    hand: s.Side = Field(description="side that it lies on or leaves to, as seen from the start of the main")

    @property
    def side(self) -> int:
        """+1 where the formation lies to the left, -1 to the right."""
        return 1 if self.hand == "left" else -1


class BranchingForm(FrogKeys, HandedForm):
    """A formation whose branches run to frogs that are all alike."""

    gauges: list[s.Text] | None = Field(default=None, min_length=1, description="gauges that leave; all unsaid")
    points: Points | None = Field(default=None, description="tangent, {length, spread, tip}, or {entry: ANGLE}")

    def check_frog(self) -> None:
        """Fail unless the form says one frog that is not left open."""
        one_of(self, "frog", "frog_angle", "frog_ratio")
        check_known(self)


class CrossingForm(HandedForm):
    """A formation in which two tracks cross at an angle."""

    frog: s.FrogNumber = Field(default=0.0, description="frog number of the crossing, 1/2 cot(F/2)")
    frog_angle: s.CrossingAngle = Field(default=0.0, description="angle at which the tracks cross, 90 deg at most")
    frog_ratio: s.FrogRatio = Field(default=0.0, description="crossing as tan F, such as 1:9")

    @model_validator(mode="after")
    def _check_crossing(self) -> Self:
        one_of(self, "frog", "frog_angle", "frog_ratio")
        check_known(self)
        return self

    @property
    def angle(self) -> float:
        """The angle at which the tracks cross, in radians."""
        return frog_angle(cast(FrogKeys, self)) or 0.0


def check_known(form: Form) -> None:
    """Fail where the frog of `form` is left open and nothing would tell it."""
    if getattr(form, "frog", None) == s.OPEN:
        s.fail("Nothing here would tell this frog number.", "Give it a figure.", ("frog",))


F = TypeVar("F", bound=FormationForm)


class Asked(Struct, Generic[F], frozen=True):
    """What the routes of a formation are written from: its checked `form`, the spec's `measures`, and a `writer`."""

    form: F
    measures: Measures
    writer: Writer

    def check_spacing(self, spacing: float) -> None:
        """Raise InputProblems where tracks `spacing` mm apart would lie in one another."""
        gauge = self.measures.gauge
        if spacing <= gauge:
            sentence = f"Tracks {self.said(spacing)} apart would lie in one another: the gauge is {self.said(gauge)}."
            self.refuse("spacing", sentence, "It is measured from centre line to centre line.")

    def said(self, mm: float) -> str:
        """Return a length in the unit of the spec, for a message."""
        return units.format_length(mm, self.measures.unit)

    def refuse(self, key: str, sentence: str, remedy: str) -> NoReturn:
        """Raise InputProblems at `key` of the formation, or at the formation where it was not written."""
        origin = self.writer.origin
        node = origin.entries.get(key, origin)
        raise InputProblems([problem_at(origin.keys.get(key, node.place), node.path, sentence, remedy)])


class Formation(Struct, frozen=True):
    """A formation: the `form` of its keys, the function that writes its routes, and what it is for."""

    form: type[FormationForm]
    routes: Callable[[Asked[Any]], Routes]
    purpose: str
