"""Turn a spec into laid routes: every reference line in its place, every open curve solved.

Routes are laid parents first, each after those that it leaves and joins.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct

from turnout_templates.alignment.bending import bend_routes
from turnout_templates.alignment.ends import BranchEnd, leaving_end, told_hand
from turnout_templates.alignment.faces import Face, faces_of
from turnout_templates.alignment.frog_end import (
    Along,
    far_piece,
    frog_task,
    heel_length,
    line_along,
    near_piece,
    solve_frog,
)
from turnout_templates.alignment.model import Departure, LaidRoute, Layout
from turnout_templates.alignment.open_pieces import shape_of
from turnout_templates.alignment.widening import widen_routes
from turnout_templates.errors import LayoutError
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Route, Spec, ToFrog


def lay_out_routes(spec: Spec) -> Layout:
    """Return all routes of `spec` in place, in the order of the file.

    Raises LayoutError, which names the key to change, where a route can't be laid.
    """
    laid: dict[str, LaidRoute] = {}
    for route in _parents_first(spec.routes):
        faces = faces_of(route.gauges, route.common_rail, spec.gauges)
        laid[route.name] = _lay(spec, route, faces, laid)
    return widen_routes(spec, bend_routes(spec, Layout(tuple(laid[route.name] for route in spec.routes))))


def _parents_first(routes: tuple[Route, ...]) -> Iterator[Route]:
    """Yield routes, each after those that it leaves and joins.

    Of branches that part, the open ones come last: their frogs are made with the others, even where those join a route
    that is itself laid late.
    """
    fixed: dict[tuple[object, ...], list[str]] = {}
    for route in routes:
        if near_piece(route) is None and route.leaves is not None:
            fixed.setdefault((route.leaves, route.facing, route.at), []).append(route.name)
    done: set[str | None] = {None}
    left = list(routes)

    def turn(route: Route) -> tuple[bool, bool]:
        is_open = near_piece(route) is not None
        beside = fixed.get((route.leaves, route.facing, route.at), []) if is_open else []
        return not done.issuperset(beside), is_open or far_piece(route) is not None

    while left:
        ready = [r for r in left if r.leaves in done and (r.joins is None or r.joins.route in done)]
        best = min(map(turn, ready))
        laid = [route for route in ready if turn(route) == best]
        yield from laid
        done.update(route.name for route in laid)
        left = [route for route in left if route.name not in done]


class _Laid(Struct, frozen=True):
    """A path found: its `shapes` from `start`, where its frogs' toes lie, and which piece turns to the near one.

    Stations and the index of the piece; None without such a frog.
    """

    start: Pose
    shapes: list[Shape]
    near_toe: float | None = None
    frog_curve: int | None = None
    far_toe: float | None = None
    far: BranchEnd | None = None


def _lay(spec: Spec, route: Route, faces: tuple[Face, ...], laid: Mapping[str, LaidRoute]) -> LaidRoute:
    """Return a route in its place."""
    near = leaving_end(spec, route, faces, laid) if route.leaves is not None else None
    along = line_along(spec, route, near, laid) if near is not None else None
    found = _joined(spec, route, faces, near, along, laid) if route.joins else _led(spec, route, near, along)
    path = join(found.start, found.shapes)
    departure = arrival = None
    begins: tuple[float, ...] = ()
    ends: tuple[float, ...] = ()
    if near is not None and along is not None:
        departure = _departure(route, near, along, path, laid)
        begins = near.begins(path)
    if found.far is not None:
        back = path.reversed()
        arrival = _departure(route, found.far, line_along(spec, route, found.far, laid), back, laid)
        ends = tuple(path.length - begin for begin in found.far.begins(back))
    return LaidRoute(
        name=route.name,
        faces=faces,
        path=path,
        departure=departure,
        heel_start=found.near_toe,
        begins=begins,
        arrival=arrival,
        heel_end=found.far_toe,
        ends=ends,
        frog_curve=found.frog_curve,
    )


def _led(spec: Spec, route: Route, near: BranchEnd | None, along: Along | None) -> _Laid:
    """Return the path of a route whose pieces are known, but for the one that runs to the frog."""
    if near is None or along is None:
        return _Laid(route.start or Pose(0.0, 0.0, 0.0), [shape_of(piece) for piece in route.path])
    start = near.start()
    shapes = list(start.planed)
    toe = frog_curve = None
    for i, piece in enumerate(route.path):
        if not isinstance(piece, ToFrog):
            shapes.append(shape_of(piece))
            continue
        begin = join(start.pose, shapes).end if shapes else start.pose
        task = frog_task(spec, near, piece.toe, begin, along)
        curve = solve_frog(task, near, piece, ("routes", route.name, "path", i), along, spec.units)
        frog_curve = sum(shape.length > 0.0 for shape in (*shapes, curve.shapes[0]))
        shapes += curve.shapes
        toe = sum(shape.length for shape in shapes) - curve.toe
        if i == len(route.path) - 1:
            shapes.append(Shape(heel_length(spec, join(start.pose, shapes).end, curve, along)))
    return _Laid(start.pose, shapes, toe, frog_curve)


def _joined(
    spec: Spec,
    route: Route,
    faces: tuple[Face, ...],
    near: BranchEnd | None,
    along: Along | None,
    laid: Mapping[str, LaidRoute],
) -> _Laid:
    """Return the path of a route whose end meets another."""
    from turnout_templates.alignment.attempt import NearEnd
    from turnout_templates.alignment.joining import join_path

    begin = NearEnd(route.start or Pose(0.0, 0.0, 0.0), [], None, None)
    if near is not None:
        start = near.start()
        begin = NearEnd(start.pose, list(start.planed), near, along)
    joined = join_path(spec, route, faces, begin, laid)
    return _Laid(begin.start, joined.shapes, joined.near_toe, None, joined.far_toe, joined.end)


def _departure(route: Route, end: BranchEnd, along: Along, path: Path, laid: Mapping[str, LaidRoute]) -> Departure:
    """Return how one end of a route meets its parent; `path` is looked at from the tip."""
    at_start = route.leaves is not None and end.key_path[-1] == "at"
    hand = (route.hand if at_start else None) or told_hand(path, along.path, along.station)
    if hand is None and (not end.parting or along.name in laid.keys() - {end.parent.name}):
        raise _never_parts(route)
    return end.departure(hand, along.name, along.station)


def _never_parts(route: Route) -> LayoutError:
    return LayoutError(
        f'"{route.name}" never parts from the route it leaves.',
        "Give it a curve, or another curvature.",
        ("routes", route.name, "path"),
    )
