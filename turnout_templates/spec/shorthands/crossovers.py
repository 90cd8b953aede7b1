"""Turn the words of a crossover, single or double, into two tracks side by side and the links between them.

crossover: {spacing: 52 mm, frog: 6, hand: right}
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Self

from msgspec import Struct
from pydantic import Field, model_validator

from turnout_templates.spec import scalars as s
from turnout_templates.spec.model import other
from turnout_templates.spec.path_forms import FrogKeys, one_of
from turnout_templates.spec.shorthands.formation import Asked, BranchingForm, MainForm, Routes
from turnout_templates.spec.shorthands.lengths import exact
from turnout_templates.spec.shorthands.nodes import Written


class CrossoverForm(BranchingForm):
    """Two tracks side by side and a link from the first to the second, for trains that run with the main."""

    spacing: s.TrackLength = Field(description="between the centre lines of the two tracks")
    length: s.TrackLength = Field(
        default=0.0, description="from tip to tip along the main, with frog: open; the frog number follows"
    )
    main: MainForm | None = Field(default=None, description="the main's curve: {radius, turn}; straight unsaid")

    @model_validator(mode="after")
    def _check(self) -> Self:
        one_of(self, "frog", "frog_angle", "frog_ratio")
        if self.frog == s.OPEN and not self.given("length"):
            s.fail("Nothing tells this frog number.", 'Add "length: LENGTH", from tip to tip.', ("frog",))
        if self.frog != s.OPEN and self.given("length"):
            s.fail("The frog tells how long the link is.", 'Leave it out, or write "frog: open".', ("length",))
        return self


class _Tracks(Struct, frozen=True):
    """The two tracks: how much longer the second is than the first, their lengths, and where the links begin and end.

    Stations are those of the main; the second's are `ratio` times as large.
    """

    ratio: Fraction
    main: Fraction
    second: Fraction
    tip: Fraction
    far_tip: Fraction | None

    def on_second(self, station: Fraction) -> Fraction | float:
        """Return the station of the second track beside one of the main."""
        return station if self.ratio == 1 else float(station * self.ratio)


def crossover_routes(asked: Asked[CrossoverForm]) -> Routes:
    """Return the main, the second track, and the link from the one to the other."""
    tracks = _tracks(asked)
    return {**_both(asked, tracks), "crossover": _link(asked, tracks, "main", "second")}


def double_crossover_routes(asked: Asked[CrossoverForm]) -> Routes:
    """Return the main, the second track, and two links that cross each other between them."""
    tracks = _tracks(asked)
    there = _link(asked, tracks, "main", "second")
    back = _link(asked, tracks, "second", "main")
    return {**_both(asked, tracks), "crossover": there, "crossover back": back}


def _tracks(asked: Asked[CrossoverForm]) -> _Tracks:
    form, measures = asked.form, asked.measures
    asked.check_spacing(form.spacing)
    ratio = _ratio(asked)
    tip = measures.end
    length = exact(form.length) or Fraction(_tip_to_tip(asked))
    room = (2 * tip + length) / min(Fraction(1), ratio)
    main = measures.rounded_up(float(room))
    return _Tracks(
        ratio=ratio,
        main=main,
        second=main if ratio == 1 else measures.rounded_up(float(main * ratio)),
        tip=tip,
        far_tip=tip + length if form.frog == s.OPEN else None,
    )


def _ratio(asked: Asked[CrossoverForm]) -> Fraction:
    """Return the radius of the second track by that of the main."""
    form = asked.form
    if form.main is None:
        return Fraction(1)
    if _second_radius(form) < 2 * asked.measures.gauge:
        asked.refuse("spacing", "The second track would have no room inside the main's curve.", "Take a larger radius.")
    return exact(_second_radius(form)) / exact(form.main.radius)


def _second_radius(form: CrossoverForm) -> float:
    assert form.main is not None
    return form.main.radius + (-form.spacing if form.main.turn == form.hand else form.spacing)


def _tip_to_tip(asked: Asked[CrossoverForm]) -> float:
    """Return the length of the link along straight tracks: two leads, and between the frogs (s - g)/tan F - g/sin F."""
    form, measures = asked.form, asked.measures
    reach = measures.reach(form, form.points)
    across = form.spacing - measures.gauge
    between = across / math.tan(reach.angle) - measures.gauge / math.sin(reach.angle)
    return 2 * reach.lead + max(between, 0.0)


def _both(asked: Asked[CrossoverForm], tracks: _Tracks) -> dict[str, dict[str, Written]]:
    writer, form = asked.writer, asked.form
    beside = asked.form.side * exact(form.spacing)
    second: dict[str, Written] = {"straight": tracks.second}
    if form.main is not None:
        radius = exact(_second_radius(form))
        second = {"curve": {"radius": radius, "turn": form.main.turn, "length": tracks.second}}
    return {
        "main": {**writer.free(), "path": [writer.track("main", tracks.main)]},
        "second": {**writer.free({"x": Fraction(0), "y": beside}), "path": [second]},
    }


def _link(asked: Asked[CrossoverForm], tracks: _Tracks, start: str, end: str) -> dict[str, Written]:
    """Return the link from the track `start` to the track `end`."""
    writer, hand = asked.writer, asked.form.hand
    frog = writer.copied(*FrogKeys.model_fields)
    middle: list[Written] = [{"straight": s.OPEN}]
    if asked.form.main is not None:
        heel = _heel(asked)
        middle = [*heel, {"curve": {"radius": s.OPEN, "length": s.OPEN}}, *heel]
    ahead = start == "main"
    joins: Written = end
    if tracks.far_tip is not None:
        joins = {"route": end, "at": tracks.on_second(tracks.far_tip) if ahead else tracks.far_tip}
    return {
        "leaves": start,
        "at": tracks.tip if ahead else tracks.on_second(tracks.tip),
        "hand": hand if ahead else other(hand),
        "joins": joins,
        **writer.copied("gauges", "points"),
        "path": [frog, *middle, frog],
    }


def _heel(asked: Asked[CrossoverForm]) -> list[Written]:
    """Return the straight behind a frog of a curved link; none where the frogs lie too near for two of them.

    On straight tracks, (s - g - g cos F)/sin F lies between the frogs along the link.
    """
    form, measures = asked.form, asked.measures
    if form.frog == s.OPEN:
        return []
    reach = measures.reach(form, form.points)
    between = (form.spacing - 2 * reach.foot[1]) / math.sin(reach.angle)
    return [{"straight": measures.rounded_heel(reach)}] if between > 3 * reach.heel else []
