"""Turn a spec into laid routes: every reference line in its place, every open curve solved.

Routes are laid parents first. A branch is judged against the route that goes `along` from its tip: its parent, or where
the parent ends there, the first other branch that parts, or where that one is itself open, the line midway between.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from turnout_templates.alignment.allowed import allowed_numbers, number_of
from turnout_templates.alignment.bending import bend_routes
from turnout_templates.alignment.faces import Face, faces_of, other, outermost, side
from turnout_templates.alignment.lead import LeadTask, curve_at_lead
from turnout_templates.alignment.leaving import face_begin, shift_of, start_branch, vertex_before_tip
from turnout_templates.alignment.model import Departure, LaidRoute, Layout
from turnout_templates.alignment.solving import FrogCurve, FrogTask, curve_of_radius, curves_to_angle, gentlest
from turnout_templates.errors import LayoutError
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Curve, Easement, Hand, PathPiece, Route, Spec, Straight, ToFrog

_NOTICED = 1e-6
"""Places that differ by less than this (mm) are one, and a branch that is nearer to the line it left is on it."""
_HEEL_SPREAD_TIES = 1.0
"""A heel that nothing follows runs on until the tracks are this many tie lengths apart (practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Along:
    """The line a branch is judged against from its tip, and how much of the frog angle is the branch's share."""

    name: str
    path: Path
    station: float
    offset: float
    share: float


def lay_out_routes(spec: Spec) -> Layout:
    """Return all routes of `spec` in place, in the order of the file.

    Raises LayoutError, which names the key to change, where a route can't be laid.
    """
    laid: dict[str, LaidRoute] = {}
    for route in _parents_first(spec.routes):
        faces = faces_of(route.gauges, route.common_rail, spec.gauges)
        if route.leaves is None:
            path = join(route.start or Pose(0.0, 0.0, 0.0), [_shape(piece) for piece in route.path])
            laid[route.name] = LaidRoute(route.name, faces, path, None, None)
        else:
            laid[route.name] = _lay_branch(spec, route, faces, laid)
    return bend_routes(spec, Layout(tuple(laid[route.name] for route in spec.routes)))


def _parents_first(routes: tuple[Route, ...]) -> Iterator[Route]:
    """Yield routes so that each comes after its parent, and of branches that part, the open ones last."""
    depth: dict[str, int] = {}
    by_name = {route.name: route for route in routes}

    def level(route: Route) -> int:
        if route.name not in depth:
            depth[route.name] = 0 if route.leaves is None else 1 + level(by_name[route.leaves])
        return depth[route.name]

    yield from sorted(routes, key=lambda route: (level(route), route.at is None and _open_piece(route) is not None))


def _open_piece(route: Route) -> int | None:
    """Return the index of the piece that runs to the frog, None where there is none."""
    return next((i for i, piece in enumerate(route.path) if isinstance(piece, ToFrog)), None)


def _shape(piece: PathPiece) -> Shape:
    """Return the shape of a piece that leaves nothing open."""
    match piece:
        case Straight(length):
            return Shape(length)
        case Curve(length, curvature):
            return Shape(length, curvature, curvature)
        case Easement(length, first, last):
            return Shape(length, first, last)
        case _:
            raise TypeError("an open piece has no shape before it is solved")


def _lay_branch(spec: Spec, route: Route, faces: tuple[Face, ...], laid: Mapping[str, LaidRoute]) -> LaidRoute:
    parent = laid[route.leaves or ""]
    station = parent.path.length if route.at is None else route.at
    _check_station(route, parent, station)
    shift = shift_of(parent.faces, faces)
    start = start_branch(parent.path, station, shift, faces, route.hand, route.points)
    along = _line_along(spec, route, parent, station, laid)
    shapes = [start.planed] if start.planed else []
    index = _open_piece(route)
    heel_start = frog_curve = None
    for i, piece in enumerate(route.path):
        if i != index:
            shapes.append(_shape(piece))
            continue
        begin = join(start.pose, shapes).end if shapes else start.pose
        curve = _solve(spec, route, i, begin, faces, along)
        frog_curve = sum(shape.length > 0.0 for shape in (*shapes, curve.shapes[0]))
        shapes += curve.shapes
        heel_start = sum(shape.length for shape in shapes) - curve.toe
        if i == len(route.path) - 1:
            shapes.append(Shape(_heel_length(spec, join(start.pose, shapes).end, curve, along)))
    path = join(start.pose, shapes)
    parting = station >= parent.path.length - _NOTICED
    hand = route.hand or _told_hand(path, along.path, along.station)
    if hand is None and (not parting or along.name in laid.keys() - {parent.name}):
        raise _never_parts(route)
    departure = Departure(
        parent.name, station, parent.path.pose_at(station), hand, along.name, along.station, parting, route.points
    )
    begins = tuple(face_begin(path, face.offset, parent.path, station, shift) for face in faces)
    return LaidRoute(route.name, faces, path, departure, heel_start, begins, frog_curve)


def _check_station(route: Route, parent: LaidRoute, station: float) -> None:
    """Raise LayoutError where the tip or the vertex before it lies off the parent."""
    if station > parent.path.length + _NOTICED:
        raise LayoutError(
            f'"{route.name}" leaves "{parent.name}" at {station:.2f} mm, but "{parent.name}" is only '
            f"{parent.path.length:.2f} mm long.",
            f'Lengthen "{parent.name}", or let "{route.name}" leave earlier.',
            ("routes", route.name, "at"),
        )
    before = vertex_before_tip(route.points)
    if station < before:
        raise LayoutError(
            f'The points of "{route.name}" bend from the stock rail {before:.2f} mm before their tip, but the tip is '
            f'only {station:.2f} mm from the start of "{parent.name}".',
            f'Let "{route.name}" leave at {math.ceil(before)} mm or later.',
            ("routes", route.name, "at"),
        )


def _line_along(spec: Spec, route: Route, parent: LaidRoute, station: float, laid: Mapping[str, LaidRoute]) -> _Along:
    """Return the line that the branch's open face must cross, with the face offset on its side."""
    hand: Hand = route.hand or "left"
    if station < parent.path.length - _NOTICED:
        return _Along(parent.name, parent.path, station, outermost(parent.faces, hand).offset, 1.0)
    siblings = [r for r in spec.routes if r.leaves == route.leaves and r.at is None and r.name != route.name]
    curvature = parent.path.curvature_at(parent.path.length)
    for sibling in siblings:
        if sibling.name in laid and not (_gives_lead(route) and _mirrors(route, sibling, curvature)):
            line = laid[sibling.name]
            _check_one_frog(route, sibling)
            return _Along(line.name, line.path, 0.0, outermost(line.faces, hand).offset, 1.0)
    onward = join(parent.path.end, [Shape(_onward_length(spec), curvature, curvature)])
    name = siblings[0].name if siblings else parent.name
    mirrored = bool(siblings) and _mirrors(route, siblings[0], curvature)
    offset = 0.0 if mirrored else outermost(parent.faces, hand).offset
    return _Along(name, onward, 0.0, offset, 0.5 if mirrored else 1.0)


def _check_one_frog(route: Route, sibling: Route) -> None:
    """Raise LayoutError where two branches that part ask for different frogs: they make one between them."""
    asked, there = (next((p.angle for p in r.path if isinstance(p, ToFrog)), None) for r in (route, sibling))
    if asked is not None and there is not None and asked != there:
        raise LayoutError(
            f'"{route.name}" and "{sibling.name}" part here and make one frog between them, but each asks for another.',
            "Give the frog in one of them, and the pieces of the other with their lengths.",
            ("routes", route.name, "path", _open_piece(route) or 0, "frog"),
        )


def _gives_lead(route: Route) -> bool:
    """Tell whether the lead is given: then branches that mirror each other both measure it between them."""
    return any(isinstance(piece, ToFrog) and piece.lead is not None for piece in route.path)


def _onward_length(spec: Spec) -> float:
    """Return a length that surely reaches a frog beyond the end of a route."""
    return 150.0 * max(gauge.width for gauge in spec.gauges.values())


def _mirrors(route: Route, sibling: Route, curvature: float) -> bool:
    """Tell whether two open branches of straight track are mirror images, so that each takes half the frog."""
    mine, theirs = _open_piece(route), _open_piece(sibling)
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


def _solve(spec: Spec, route: Route, index: int, begin: Pose, faces: tuple[Face, ...], along: _Along) -> FrogCurve:
    """Return the curve of the open piece `index`, or raise LayoutError that says what the site allows."""
    piece = route.path[index]
    if not isinstance(piece, ToFrog) or route.hand is None:
        raise TypeError("only an open piece of a route with a hand can be solved")
    target = Parallel(along.path, along.offset, along.station, along.path.length)
    face = outermost(faces, other(route.hand))
    task = FrogTask(begin, face.offset, target, side(route.hand), spec.rail.head, piece.toe, along.share)
    key_path = ("routes", route.name, "path", index)
    if piece.angle is None:
        solved = curve_of_radius(task, piece.curvature or 0.0)
        if solved is None:
            raise _no_frog(route, along, piece.curvature or 0.0, (*key_path, "radius"))
        return solved
    if piece.lead is not None:
        lead_task = LeadTask(task, piece.angle * along.share, spec.gauges[route.gauges[0]].width)
        return curve_at_lead(lead_task, piece.lead, route.name, along.name, spec.units, (*key_path, "lead"))
    curves = curves_to_angle(task, piece.angle * along.share)
    if not curves:
        raise _no_such_number(route, along, task, piece.angle, (*key_path, "frog"))
    return gentlest(curves, along.path.curvature_at(along.station))


def _no_frog(route: Route, along: _Along, curvature: float, key_path: tuple[str | int, ...]) -> LayoutError:
    return LayoutError(
        f'A curve of {abs(1 / curvature):.1f} mm radius in "{route.name}" does not reach a frog with "{along.name}" '
        f'before "{along.name}" ends, {along.path.length - along.station:.1f} mm after the tip.',
        f'Take a smaller radius, lengthen "{along.name}", or turn the curve to the other side.',
        key_path,
    )


def _no_such_number(
    route: Route, along: _Along, task: FrogTask, angle: float, key_path: tuple[str | int, ...]
) -> LayoutError:
    """Return the error for a frog that no curve makes, with the numbers that this site does allow."""
    ranges = allowed_numbers(task)
    where = f'The curve in "{route.name}" cannot give a No. {number_of(angle):.4g} frog here;'
    if not ranges:
        room = along.path.length - along.station
        return LayoutError(
            f'{where} no frog number fits in the {room:.1f} mm of "{along.name}" after the tip.',
            f'Lengthen "{along.name}", or let "{route.name}" leave earlier.',
            key_path,
        )
    spoken = " or ".join(f"{math.ceil(low * 10) / 10:.1f} to {math.floor(high * 10) / 10:.1f}" for low, high in ranges)
    return LayoutError(
        f"{where} this site allows {spoken}.",
        f'Use a number in that range, a larger main radius, or a longer "{along.name}".',
        key_path,
    )


def _heel_length(spec: Spec, end: Pose, curve: FrogCurve, along: _Along) -> float:
    """Return how far a straight heel that nothing follows runs on: level with the end of the other line at most.

    Long enough for the switch ties to part, so that the paper covers what is special about the turnout.
    """
    tie = max(gauge.width for gauge in spec.gauges.values()) + 2 * spec.ties.overhang
    apart = _HEEL_SPREAD_TIES * tie / (2.0 * math.tan(curve.angle / along.share / 2)) - curve.toe
    level = along.path.end.local(end.point)[0]
    return max(min(max(apart, curve.toe), -level), 2.0 * spec.rail.head)


def _told_hand(path: Path, along: Path, station: float) -> Hand | None:
    """Return the side to which `path` leaves `along` beyond `station`, None where the two never clearly part."""
    start = along.foot_near(path.start.point, station)[1]
    s = 0.5
    while s <= path.length:
        left = along.foot_near(path.point_at(s), station + s)[1] - start
        if abs(left) > _NOTICED:
            return "left" if left > 0 else "right"
        s *= 1.2
    return None


def _never_parts(route: Route) -> LayoutError:
    return LayoutError(
        f'"{route.name}" never parts from the route it leaves.',
        "Give it a curve, or another curvature.",
        ("routes", route.name, "path"),
    )
