"""Turn checked route forms into frozen routes: curvatures signed, frogs as angles, gauges and common rail inherited."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from turnout_templates import units
from turnout_templates.errors import KeyPath, ordinal
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec import forms, model, path_forms
from turnout_templates.spec.scalars import LONGEST_TRACK, SHORTEST


@dataclass(slots=True)
class Complaints:
    """What cannot be meant, by key path: (key path, sentence, remedy)."""

    found: list[tuple[KeyPath, str, str]] = field(default_factory=list)

    def add(self, path: KeyPath, sentence: str, remedy: str = "") -> None:
        """Note one."""
        self.found.append((path, sentence, remedy))


def mean_routes(
    form: forms.SpecForm, gauges: dict[str, model.Gauge], complaints: Complaints
) -> tuple[model.Route, ...]:
    """Return the routes of `form`, each parent ahead of its branches; what cannot be meant goes to `complaints`."""
    given = form.routes or {}
    made: dict[str, model.Route] = {}
    for name in _parents_first(given):
        made[name] = _route(name, given[name], made, gauges, complaints)
    return tuple(made.values())


def _parents_first(routes: dict[str, forms.RouteForm]) -> list[str]:
    """Return the route names in the order of the file, each parent moved ahead of its branches."""
    ordered: dict[str, None] = {}
    for name in routes:
        chain: list[str] = []
        step: str | None = name
        while step is not None and step not in ordered:
            chain.append(step)
            step = routes[step].leaves
        ordered.update(dict.fromkeys(reversed(chain)))
    return list(ordered)


def _route(
    name: str,
    form: forms.RouteForm,
    made: dict[str, model.Route],
    gauges: dict[str, model.Gauge],
    complaints: Complaints,
) -> model.Route:
    parent = made[form.leaves] if form.leaves is not None else None
    names = form.gauges or (parent.gauges if parent is not None else tuple(gauges))
    widest_first = tuple(sorted(names, key=lambda gauge: (-gauges[gauge].width, gauge)))
    reader = _PathReader(("routes", name, "path"), gauges[widest_first[0]].width, complaints)
    start = form.start
    _check_points(form, gauges[widest_first[0]].width, ("routes", name, "points", "spread"), complaints)
    return model.Route(
        name=name,
        gauges=widest_first,
        common_rail=parent.common_rail if parent is not None else form.common_rail or "left",
        path=tuple(reader.piece(index, piece) for index, piece in enumerate(form.path)),
        start=_start(start) if parent is None else None,
        leaves=form.leaves,
        at=None if form.at == "end" else form.at,
        hand=form.hand,
        points=_points(form.points),
        bend_curvature=None if form.bend is None else reader.bend(form, form.bend, ("routes", name, "bend")),
    )


def _start(form: path_forms.StartForm | None) -> Pose:
    return Pose(0.0, 0.0, 0.0) if form is None else Pose(form.x, form.y, form.heading)


def _check_points(form: forms.RouteForm, gauge: float, where: KeyPath, complaints: Complaints) -> None:
    if form.points is not None and not form.points.word and form.points.spread >= gauge:
        sentence = f"This is not less than the gauge, {units.format_mm(gauge)}."
        complaints.add(where, sentence, "Check the figure and its unit.")


def _points(form: path_forms.PointsForm | None) -> model.Points:
    if form is None or form.word:
        return model.TangentPoints()
    if form.given("entry"):
        return model.EntryPoints(form.entry)
    return model.StraightPoints(form.length, form.spread, form.tip)


def frog_angle(form: path_forms.FrogKeys) -> float | None:
    """Return the angle in radians of the frog that `form` gives, None where it gives none.

    A number is N = 1/2 cot(F/2); a ratio 1:n is tan F = 1/n.
    """
    if form.given("frog"):
        return 2 * math.atan(1 / (2 * form.frog))
    if form.given("frog_ratio"):
        return math.atan(1 / form.frog_ratio)
    return form.frog_angle if form.given("frog_angle") else None


@dataclass(frozen=True, slots=True)
class _PathReader:
    """Reads the pieces of the path under `path`, for a route whose widest gauge is `gauge` mm."""

    path: KeyPath
    gauge: float
    complaints: Complaints

    def piece(self, index: int, form: path_forms.PieceForm) -> model.PathPiece:
        where = (*self.path, index)
        if form.given("straight"):
            return model.Straight(form.straight)
        if form.easement is not None:
            return self._easement(form.easement, (*where, "easement"))
        if form.curve is not None:
            return self._curve(form.curve, (*where, "curve"))
        return self._to_frog(form, None)

    def _curve(self, form: path_forms.CurveForm, where: KeyPath) -> model.PathPiece:
        if form.frog_keys:
            return self._to_frog(form, None)
        curvature = self._curvature(form.radius, form.turn, (*where, "radius"))
        if form.given("to"):
            return self._to_frog(form, curvature)
        length = form.length if form.given("length") else form.angle * form.radius
        self._check_length(length, abs(curvature), where)
        return model.Curve(length, curvature)

    def _check_length(self, length: float, bend: float, where: KeyPath) -> None:
        if not SHORTEST <= length <= LONGEST_TRACK:
            sentence = f"This curve comes to a length of {length:g} mm."
            self.complaints.add((*where, "angle"), sentence, "Check its radius and angle.")
        elif length * bend > math.tau * (1 + 1e-9):
            sentence = f"This curve turns through {units.format_degrees(length * bend, 0)}, more than a whole circle."
            self.complaints.add((*where, "length"), sentence, "Check its radius and length.")

    def _easement(self, form: path_forms.EasementForm, where: KeyPath) -> model.Easement:
        ends = []
        for key, end in (("from", form.from_), ("to", form.to)):
            ends.append(0.0 if end.word else self._curvature(end.radius, end.turn, (*where, key, "radius")))
        if ends[0] == ends[1]:
            sentence = "Both ends of this easement have the same curvature."
            self.complaints.add(where, sentence, "Write a straight or a curve.")
        return model.Easement(form.length, ends[0], ends[1])

    def _to_frog(self, form: path_forms.FrogKeys, curvature: float | None) -> model.ToFrog:
        through = form.through
        toe = None if through is None else 0.0 if through.word else through.straight
        number = form.frog if form.given("frog") else None
        lead = form.lead if form.given("lead") else None
        return model.ToFrog(frog_angle(form), curvature, number, toe, lead)

    def bend(self, form: forms.RouteForm, bend: forms.BendForm, where: KeyPath) -> float:
        """Return the signed curvature that the route `form` is bent to."""
        bent = next((index for index, piece in enumerate(form.path) if not piece.given("straight")), None)
        if bent is not None:
            sentence = f"Only a route that is straight all along can be bent, and its {ordinal(bent + 1)} piece is not."
            self.complaints.add(where, sentence, "Leave the bend out, or write its pieces as straights.")
        elif self.gauge <= bend.radius < (length := sum(piece.straight for piece in form.path)) / math.tau:
            turn = units.format_degrees(length / bend.radius, 0)
            sentence = f"Bent to this radius the route turns through {turn}, more than a whole circle."
            self.complaints.add((*where, "radius"), sentence, "Check the radius and the length of the route.")
        return self._curvature(bend.radius, bend.turn, (*where, "radius"))

    def _curvature(self, radius: float, turn: model.Hand, where: KeyPath) -> float:
        if radius < self.gauge:
            sentence = f"A radius of {units.format_mm(radius)} is less than the gauge, {units.format_mm(self.gauge)}."
            self.complaints.add(where, sentence, "Check the figure and its unit.")
        return (1 if turn == "left" else -1) / radius
