"""Turn the piece of a branch that runs to a frog into the curve that makes it, judged from the tip.

A branch is judged against the route that goes `along` from its tip: its parent, or where the parent ends there, the
first other branch that parts, or where that one is itself open, the line midway between.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.alignment.allowed import allowed_numbers, number_of
from turnout_templates.alignment.ends import NOTICED, BranchEnd, way_of
from turnout_templates.alignment.faces import outermost, side
from turnout_templates.alignment.lead import LeadTask, curve_at_lead
from turnout_templates.alignment.model import LaidRoute, View
from turnout_templates.alignment.solving import FrogCurve, FrogTask, curve_of_radius, curves_to_angle, gentlest
from turnout_templates.errors import KeyPath, LayoutError
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Curve, Easement, Hand, PathPiece, Route, Spec, ToFrog, other
from turnout_templates.units import Unit, format_length_with_mm

_HEEL_SPREAD_TIES = 1.0
"""A heel that nothing follows runs on until the tracks are this many tie lengths apart (practice, no source)."""


class Along(Struct, frozen=True):
    """The line a branch is judged against from its tip, and how much of the frog angle is the branch's share."""

    name: str
    path: Path
    station: float
    offset: float
    share: float

    @property
    def room(self) -> float:
        """How much of the line lies after the tip (mm)."""
        return self.path.length - self.station


def near_piece(route: Route) -> int | None:
    """Return the index of the piece that runs to the frog where a route leaves another, None where there is none."""
    far = far_piece(route)
    found = (i for i, piece in enumerate(route.path) if isinstance(piece, ToFrog) and i != far)
    return next(found, None) if route.leaves is not None else None


def far_piece(route: Route) -> int | None:
    """Return the index of the piece that runs from the frog to where a route joins another, None where none does.

    It is the last of the path; one that is the whole path of a branch belongs to the frog where that leaves.
    """
    last = len(route.path) - 1
    if route.joins is None or not isinstance(route.path[last], ToFrog) or (route.leaves is not None and last == 0):
        return None
    return last


def line_along(spec: Spec, route: Route, end: BranchEnd, laid: Mapping[str, LaidRoute]) -> Along:
    """Return the line that the open face of a branch must cross, with the face offset on its side."""
    parent = end.parent
    hand: Hand = end.hand or "left"
    offset = outermost(parent.faces, hand).offset
    if not end.parting:
        return Along(parent.name, parent.path, end.u, offset, 1.0)
    curvature = parent.path.curvature_at(parent.path.length)
    siblings = [r for r in spec.routes if r is not route and _leaves_at(r, end)]
    for other_route in spec.routes:
        line = None if other_route is route else _part_of(other_route, end, laid)
        if line is not None and not (_gives_lead(route) and _mirrors(route, other_route, curvature)):
            if other_route in siblings and _leaves_at(route, end):
                _check_one_frog(route, other_route)
            return Along(line.name, line.path, 0.0, outermost(line.faces, hand).offset, 1.0)
    onward = join(parent.path.end, [Shape(_onward_length(spec), curvature, curvature)])
    name = siblings[0].name if siblings else parent.name
    mirrored = bool(siblings) and _leaves_at(route, end) and _mirrors(route, siblings[0], curvature)
    return Along(name, onward, 0.0, 0.0 if mirrored else offset, 0.5 if mirrored else 1.0)


def _leaves_at(route: Route, end: BranchEnd) -> bool:
    """Tell whether a route leaves the parent of `end` where that ends, as `end` lies there."""
    parent = end.parent
    if route.leaves != parent.name or way_of(route.facing) != parent.way:
        return False
    length = parent.path.length
    return parent.station(length if route.at is None else route.at) >= length - NOTICED


def _part_of(route: Route, end: BranchEnd, laid: Mapping[str, LaidRoute]) -> View | None:
    """Return a route as it lies from where it parts together with `end`, None where it does not or is not yet laid."""
    if route.name not in laid:
        return None
    parent, line = end.parent, laid[route.name]
    ways = (way for way, d in line.departures if d.parting and (d.parent, d.way) == (parent.name, parent.way))
    return next((View(line, way) for way in ways), None)


def _check_one_frog(route: Route, sibling: Route) -> None:
    """Raise LayoutError where two branches that part ask for different frogs: they make one between them."""
    asked, there = (_near_angle(r) for r in (route, sibling))
    if asked is not None and there is not None and asked != there:
        raise LayoutError(
            f'"{route.name}" and "{sibling.name}" part here and make one frog between them, but each asks for another.',
            "Give the frog in one of them, and the pieces of the other with their lengths.",
            ("routes", route.name, "path", near_piece(route) or 0, "frog"),
        )


def _near_angle(route: Route) -> float | None:
    """Return the angle asked of the frog where a route leaves another, None where none is asked."""
    index = near_piece(route)
    piece = None if index is None else route.path[index]
    return piece.angle if isinstance(piece, ToFrog) else None


def _gives_lead(route: Route) -> bool:
    """Tell whether the frog of a branch is placed by its lead: of branches that mirror each other, on their axis."""
    return any(isinstance(piece, ToFrog) and piece.lead is not None for piece in route.path)


def _onward_length(spec: Spec) -> float:
    """Return a length that surely reaches a frog beyond the end of a route."""
    return 150.0 * max(gauge.width for gauge in spec.gauges.values())


def _mirrors(route: Route, sibling: Route, curvature: float) -> bool:
    """Tell whether two open branches of straight track are mirror images, so that each takes half the frog."""
    mine, theirs = near_piece(route), near_piece(sibling)
    return (
        mine is not None
        and theirs is not None
        and curvature == 0.0
        and route.hand != sibling.hand
        and len(route.gauges) == 1
        and (route.gauges, route.points) == (sibling.gauges, sibling.points)
        and route.path[: mine + 1] == tuple(_mirrored(piece) for piece in sibling.path[: theirs + 1])
    )


def _mirrored(piece: PathPiece) -> PathPiece:
    """Return a piece as its mirror shows it."""
    match piece:
        case Curve(length, curvature):
            return Curve(length, -curvature)
        case Easement(length, first, last):
            return Easement(length, -first, -last)
        case ToFrog(curvature=float(curvature)):
            return replace(piece, curvature=-curvature)
        case _:
            return piece


def frog_task(spec: Spec, end: BranchEnd, toe: float | None, begin: Pose, along: Along) -> FrogTask:
    """Return what a curve from `begin` must do to make the frog of one end of a branch."""
    if end.hand is None:
        raise TypeError("only a branch with a hand can be led to a frog")
    target = Parallel(along.path, along.offset, along.station, along.path.length)
    face = outermost(end.faces, other(end.hand))
    return FrogTask(begin, face.offset, target, side(end.hand), spec.rail.head, toe, along.share)


def solve_frog(
    task: FrogTask, end: BranchEnd, piece: ToFrog, key_path: KeyPath, along: Along, units: Unit
) -> FrogCurve:
    """Return the curve of a piece that runs to the frog, looked at from the tip.

    Raises LayoutError that says what the site allows; `key_path` leads to the piece.
    """
    if piece.angle is None:
        solved = curve_of_radius(task, piece.curvature or 0.0)
        if solved is None:
            raise _no_frog(end.name, along, piece.curvature or 0.0, units, (*key_path, "radius"))
        return solved
    if piece.lead is not None:
        lead = LeadTask(task, piece.angle * along.share, 2.0 * abs(task.offset))
        return curve_at_lead(lead, piece.lead, end.name, along.name, units, (*key_path, "lead"))
    curves = curves_to_angle(task, piece.angle * along.share)
    if not curves:
        raise _no_such_number(end.name, along, task, piece.angle, units, (*key_path, "frog"))
    return gentlest(curves, along.path.curvature_at(along.station))


def _no_frog(route: str, along: Along, curvature: float, units: Unit, key_path: KeyPath) -> LayoutError:
    radius, room = (format_length_with_mm(mm, units) for mm in (abs(1 / curvature), along.room))
    return LayoutError(
        f'A curve of radius {radius} in "{route}" does not reach a frog with "{along.name}" before '
        f'"{along.name}" ends, {room} after the tip.',
        f'Take a smaller radius, lengthen "{along.name}", or turn the curve to the other side.',
        key_path,
    )


def _no_such_number(
    route: str, along: Along, task: FrogTask, angle: float, units: Unit, key_path: KeyPath
) -> LayoutError:
    """Return the error for a frog that no curve makes, with the numbers that this site does allow."""
    ranges = allowed_numbers(task)
    where = f'The curve in "{route}" cannot give a No. {number_of(angle):.4g} frog here;'
    if not ranges:
        return LayoutError(
            f'{where} no frog number fits in the {format_length_with_mm(along.room, units)} of "{along.name}" after '
            "the tip.",
            f'Lengthen "{along.name}", or let "{route}" leave earlier.',
            key_path,
        )
    spoken = " or ".join(f"{math.ceil(low * 10) / 10:.1f} to {math.floor(high * 10) / 10:.1f}" for low, high in ranges)
    return LayoutError(
        f"{where} this site allows {spoken}.",
        f'Use a number in that range, a larger main radius, or a longer "{along.name}".',
        key_path,
    )


def heel_length(spec: Spec, end: Pose, curve: FrogCurve, along: Along) -> float:
    """Return how far a straight heel that nothing follows runs on: level with the end of the other line at most.

    Long enough for the switch ties to part, so that the paper covers what is special about the turnout.
    """
    tie = max(gauge.width for gauge in spec.gauges.values()) + 2 * spec.ties.overhang
    apart = _HEEL_SPREAD_TIES * tie / (2.0 * math.tan(curve.angle / along.share / 2)) - curve.toe
    level = along.path.end.local(end.point)[0]
    return max(min(max(apart, curve.toe), -level), 2.0 * spec.rail.head)
