"""Complain of routes whose gauges, joints or points cannot be as they are written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from turnout_templates import units
from turnout_templates.errors import KeyPath
from turnout_templates.spec import model, path_forms
from turnout_templates.spec.complaints import Complaints

if TYPE_CHECKING:
    from turnout_templates.spec import forms

_ROUNDING = 1e-9
"""Lengths in mm that differ by less are one."""


def check_gauges_apart(
    route: model.Route, gauges: dict[str, model.Gauge], head: float, form: forms.SpecForm, complaints: Complaints
) -> None:
    """Complain of two gauges of a route whose rails opposite the common one would lie on each other."""
    for wide, narrow in pairwise(route.gauges):
        apart = gauges[wide].width - gauges[narrow].width
        if apart <= head:
            said = (form.routes or {})[route.name].gauges
            path: KeyPath = ("routes", route.name, "gauges") if said else ("gauges", narrow)
            sentence = (
                f"Gauges {wide} and {narrow} differ by {units.format_mm(apart)}, so that their rails lie on each "
            )
            sentence += f"other: a head is {units.format_mm(head)} wide."
            complaints.add(path, sentence, f'Run one of the two on "{route.name}", or check their widths.')
            return


def check_joined(
    name: str,
    names: Sequence[str],
    common_rail: model.Hand,
    joint: model.Joint,
    joined: model.Route,
    complaints: Complaints,
) -> None:
    """Complain of gauges that the route joined does not carry, and of a common rail that lies on its other side."""
    where = ("routes", name, "joins")
    for gauge in names:
        if gauge not in joined.gauges:
            sentence = f'The gauge "{gauge}" runs on to "{joined.name}", which does not carry it.'
            complaints.add(where, sentence, f"It carries {', '.join(joined.gauges)}.")
    side = joined.common_rail if joint.facing == "with" else model.other(joined.common_rail)
    if len(names) > 1 and side != common_rail:
        sentence = (
            f'The rail that gauges share lies {common_rail} in "{name}", but {side} where it joins "{joined.name}".'
        )
        complaints.add(where, sentence, "Let one gauge alone run over it, or turn one of the two round.")


def check_points(
    form: forms.RouteForm,
    made: dict[str, model.Route],
    gauges: dict[str, model.Gauge],
    head: float,
    where: KeyPath,
    complaints: Complaints,
) -> None:
    """Complain of points at either end that spread too far, and of a stub thrown too little or to no side."""
    route = made[str(where[-1])]
    width = gauges[route.gauges[0]].width
    for points, other, path in _written_points(form, where):
        at_start = form.leaves is not None and path == (*where, "points")
        if at_start and form.hand is None and points.given("stub") and points.straight is not None:
            sentence = f'The side to which these rails are thrown is not said: "{route.name}" has no "hand".'
            complaints.add(path, sentence, 'Add "hand: left" or "hand: right", as seen from the tip.')
        key, apart = ("stub", points.stub) if points.given("stub") else ("spread", points.spread)
        carried = {*route.gauges, *made[other].gauges}
        bound = head + max(gauges[name].flangeway for name in carried)
        if apart >= width:
            sentence = f"This is not less than the gauge, {units.format_mm(width)}."
            complaints.add((*path, key), sentence, "Check the figure and its unit.")
        elif key == "stub" and apart < bound - _ROUNDING:
            sentence = (
                f"A stub must be thrown at least {units.format_mm(bound, 2)} here, a rail's head and a flangeway: with "
                f"{units.format_mm(apart, 2)} the butt of one rail stands in the way of wheels on the one beside it."
            )
            complaints.add((*path, key), sentence, "Give it a longer throw.")


def _written_points(form: forms.RouteForm, where: KeyPath) -> Iterator[tuple[path_forms.PointsForm, str, KeyPath]]:
    """Yield the points that a route writes out, each with the route that it parts from there and their key path."""
    leaves, joins = form.leaves, form.joins
    own = leaves or joins
    if form.points is not None and not form.points.word and own is not None:
        yield form.points, own.name, (*where, "points")
    if joins is not None and joins.points is not None and not joins.points.word:
        yield joins.points, joins.name, (*where, "joins", "points")
