"""Turn checked route forms into frozen routes: curvatures signed, frogs as angles, gauges and common rail inherited."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from turnout_templates import units
from turnout_templates.errors import KeyPath, ordinal
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec import model, path_forms
from turnout_templates.spec.complaints import Complaints
from turnout_templates.spec.mean_widening import mean_widening
from turnout_templates.spec.route_checks import check_gauges_apart, check_joined, check_points
from turnout_templates.spec.scalars import LONGEST_TRACK, SHORTEST

if TYPE_CHECKING:
    from turnout_templates.spec import forms

_ROUNDING = 1e-9
"""Lengths in mm that differ by less are one."""


def mean_routes(
    form: forms.SpecForm, gauges: dict[str, model.Gauge], head: float, ratio: Fraction, complaints: Complaints
) -> tuple[model.Route, ...]:
    """Return the routes of `form`, each parent ahead of its branches; what cannot be meant goes to `complaints`.

    `head` is the width of the rail's head in mm.
    """
    given = form.routes or {}
    made: dict[str, model.Route] = {}
    for name in _parents_first(given):
        made[name] = _route(name, given[name], made, gauges, ratio, complaints)
        check_gauges_apart(made[name], gauges, head, form, complaints)
        check_points(given[name], made, gauges, head, ("routes", name), complaints)
    return tuple(made.values())


def _parents_first(routes: dict[str, forms.RouteForm]) -> list[str]:
    """Return the route names in the order of the file, each moved behind the routes that it leaves and joins."""
    needs = {name: [end.name for end in (form.leaves, form.joins) if end is not None] for name, form in routes.items()}
    ordered: dict[str, None] = {}
    for name in routes:
        waiting = [name]
        while waiting:
            missing = [need for need in needs[waiting[-1]] if need not in ordered]
            if missing:
                waiting.append(missing[0])
            else:
                ordered[waiting.pop()] = None
    return list(ordered)


def _route(
    name: str,
    form: forms.RouteForm,
    made: dict[str, model.Route],
    gauges: dict[str, model.Gauge],
    ratio: Fraction,
    complaints: Complaints,
) -> model.Route:
    parent = made[form.leaves.name] if form.leaves is not None else None
    names = form.gauges or (parent.gauges if parent is not None else tuple(gauges))
    widest_first = tuple(sorted(names, key=lambda gauge: (-gauges[gauge].width, gauge)))
    reader = _PathReader(("routes", name, "path"), gauges[widest_first[0]].width, complaints)
    start = form.start
    common_rail = _common_rail(form, parent)
    joint = _joint(form)
    if joint is not None:
        check_joined(name, names, common_rail, joint, made[joint.route], complaints)
    return model.Route(
        name=name,
        gauges=widest_first,
        common_rail=common_rail,
        path=tuple(reader.piece(index, piece) for index, piece in enumerate(form.path)),
        start=_start(start) if parent is None else None,
        leaves=parent.name if parent is not None else None,
        at=_tip_station(form),
        hand=form.hand,
        points=_points(form.points),
        facing=form.leaves.facing if form.leaves is not None else "with",
        joins=joint,
        bend_curvature=None if form.bend is None else reader.bend(form, form.bend, ("routes", name, "bend")),
        widening=mean_widening(name, form.widening, [gauges[gauge] for gauge in widest_first], ratio, complaints),
    )


def _tip_station(form: forms.RouteForm) -> float | None:
    """Return the station of the tip on the route that is left, None for its end or where none is left."""
    if form.leaves is None:
        return None
    at = form.at if form.leaves.at is None else form.leaves.at
    return at if isinstance(at, float) else None


def _joint(form: forms.RouteForm) -> model.Joint | None:
    joins = form.joins
    if joins is None:
        return None
    at = joins.at
    if form.leaves is None and form.at is not None:
        at = form.at
    points = form.points if joins.points is None else joins.points
    return model.Joint(joins.name, at, joins.facing or form.facing or "with", _points(points))


def _common_rail(form: forms.RouteForm, parent: model.Route | None) -> model.Hand:
    """Return the side of the rail that gauges share; run against its parent, a branch has it on the other side."""
    if parent is None:
        return form.common_rail or "left"
    against = form.leaves is not None and form.leaves.facing == "against"
    return model.other(parent.common_rail) if against else parent.common_rail


def _start(form: path_forms.StartForm | None) -> Pose:
    return Pose(0.0, 0.0, 0.0) if form is None else Pose(form.x, form.y, form.heading)


def _points(form: path_forms.PointsForm | None) -> model.Points:
    if form is None or form.word == "tangent":
        return model.TangentPoints()
    if form.word:
        return model.FixedPoints()
    if form.given("stub"):
        return model.StubPoints(form.stub, form.length if form.given("length") else None)
    hinge = form.hinge if form.given("hinge") else None
    if form.given("entry"):
        return model.EntryPoints(form.entry, hinge)
    if form.given("spread"):
        return model.StraightPoints(form.length, form.spread, form.tip, hinge)
    return model.TangentPoints(hinge)


def frog_angle(form: path_forms.FrogKeys) -> float | None:
    """Return the angle in radians of the frog that `form` gives, None where it gives none.

    A number is N = 1/2 cot(F/2); a ratio 1:n is tan F = 1/n.
    """
    if form.frog == "open":
        return None
    if form.given("frog"):
        return 2 * math.atan(1 / (2 * form.frog))
    if form.given("frog_ratio"):
        return math.atan(1 / form.frog_ratio)
    return form.frog_angle if form.given("frog_angle") else None


class _PathReader(Struct, frozen=True):
    """Reads the pieces of the path under `path`, for a route whose widest gauge is `gauge` mm."""

    path: KeyPath
    gauge: float
    complaints: Complaints

    def piece(self, index: int, form: path_forms.PieceForm) -> model.PathPiece:
        where = (*self.path, index)
        if form.straight == "open":
            return model.OpenPiece(None, 0.0, 0.0)
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
        if form.radius == "open" or "open" in (form.length, form.angle):
            return self._open_curve(form, where)
        curvature = self._curvature(form.radius, form.turn, (*where, "radius"))
        if form.given("to"):
            return self._to_frog(form, curvature)
        assert form.length != "open" and form.angle != "open"
        length = form.length if form.given("length") else form.angle * form.radius
        self._check_length(length, abs(curvature), where)
        return model.Curve(length, curvature)

    def _open_curve(self, form: path_forms.CurveForm, where: KeyPath) -> model.OpenPiece:
        turn = (1 if form.turn == "left" else -1) if form.given("turn") else 0
        curvature = None
        if form.radius != "open":
            curvature = self._curvature(form.radius, form.turn, (*where, "radius"))
        length = form.length if form.given("length") and form.length != "open" else None
        angle = turn * form.angle if form.given("angle") and form.angle != "open" else None
        return model.OpenPiece(length, curvature, curvature, angle, turn)

    def _check_length(self, length: float, bend: float, where: KeyPath) -> None:
        if not SHORTEST <= length <= LONGEST_TRACK:
            sentence = f"This curve comes to a length of {length:g} mm."
            self.complaints.add((*where, "angle"), sentence, "Check its radius and angle.")
        elif length * bend > math.tau * (1 + 1e-9):
            sentence = f"This curve turns through {units.format_degrees(length * bend, 0)}, more than a whole circle."
            self.complaints.add((*where, "length"), sentence, "Check its radius and length.")

    def _easement(self, form: path_forms.EasementForm, where: KeyPath) -> model.PathPiece:
        ends = []
        for key, end in (("from", form.from_), ("to", form.to)):
            ends.append(0.0 if end.word else self._curvature(end.radius, end.turn, (*where, key, "radius")))
        if ends[0] == ends[1]:
            sentence = "Both ends of this easement have the same curvature."
            self.complaints.add(where, sentence, "Write a straight or a curve.")
        if form.length == "open":
            return model.OpenPiece(None, ends[0], ends[1])
        return model.Easement(form.length, ends[0], ends[1])

    def _to_frog(self, form: path_forms.FrogKeys, curvature: float | None) -> model.ToFrog:
        through = form.through
        toe = None if through is None else 0.0 if through.word else through.straight
        number = form.frog if form.given("frog") and form.frog != "open" else None
        lead = form.lead if form.given("lead") else None
        return model.ToFrog(frog_angle(form), curvature, number, toe, lead)

    def bend(self, form: forms.RouteForm, bend: path_forms.BendForm, where: KeyPath) -> float:
        """Return the signed curvature that the route `form` is bent to."""
        straights = [piece.straight if piece.given("straight") else None for piece in form.path]
        lengths = [straight for straight in straights if isinstance(straight, float)]
        bent = next((i for i, straight in enumerate(straights) if not isinstance(straight, float)), None)
        if bent is not None:
            sentence = f"Only a route that is straight all along can be bent, and its {ordinal(bent + 1)} piece is not."
            self.complaints.add(where, sentence, "Leave the bend out, or write its pieces as straights.")
        elif self.gauge <= bend.radius < (length := sum(lengths)) / math.tau:
            turn = units.format_degrees(length / bend.radius, 0)
            sentence = f"Bent to this radius the route turns through {turn}, more than a whole circle."
            self.complaints.add((*where, "radius"), sentence, "Check the radius and the length of the route.")
        return self._curvature(bend.radius, bend.turn, (*where, "radius"))

    def _curvature(self, radius: float, turn: model.Hand, where: KeyPath) -> float:
        if radius < self.gauge:
            sentence = f"A radius of {units.format_mm(radius)} is less than the gauge, {units.format_mm(self.gauge)}."
            self.complaints.add(where, sentence, "Check the figure and its unit.")
        return (1 if turn == "left" else -1) / radius
