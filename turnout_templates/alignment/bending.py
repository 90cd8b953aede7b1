"""Turn routes laid out on straight track into the same routes bent to a main of a given radius, keeping legs and angle.

A piece is looked at as its two end tangents, which meet t from either end and turn by a: a straight of length L has
t = L/2 and a = 0, an arc of radius R0 has t = |R0| tan(|a|/2). Bent, the piece keeps its legs t and turns by a + b,
where b is what the main of radius Rm turns over the same legs, tan(b/2) = t/Rm, all signed, left positive. Its radius:

    R = t/tan((a + b)/2) = (Rm R0 - t^2)/(Rm + R0),

which is 1/R = 1/R0 + 1/Rm but for t^2/(R0 Rm) of it; a straight comes to Rm.

Exact are every leg, every turning a + b, the station of every tip on the main, and the angle between the tangents at
the end of a branch and of the main where it has turned by the same b. So that this place is the main's end where both
ended level in legs, the main is 2 Rm atan(t/Rm) long in place of 2 t beside each piece of its last branch, shorter by
about 2 t^3/(3 Rm^2). Of that third order in the legs are the places that move besides: stations on a branch (a branch
of it leaves at the same part of the same piece) and of frogs. A frog is where the faces then cross, and its number
differs a little from the one that was asked for; a lead by as little from the one that was given.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.alignment.faces import outermost
from turnout_templates.alignment.leaving import face_begin, shift_of, start_branch
from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.errors import KeyPath, LayoutError
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Curve, Easement, PathPiece, Route, Spec, other
from turnout_templates.units import format_length

_STRAIGHT = 1e-12
"""A piece that turns by less than this (rad) is straight."""


class Legs(Struct, frozen=True):
    """A piece by its end tangents: the `length` t of each (mm), and the signed `turn` a from one to the other (rad)."""

    length: float
    turn: float

    def shape(self) -> Shape:
        """Return the arc or straight between the tangents."""
        if abs(self.turn) < _STRAIGHT:
            return Shape(2.0 * self.length)
        curvature = math.tan(self.turn / 2) / self.length
        return Shape(self.turn / curvature, curvature, curvature)

    def bent(self, curvature: float) -> Legs:
        """Return the same legs where a main of signed `curvature` (1/mm) turns along."""
        return Legs(self.length, self.turn + 2.0 * math.atan(self.length * curvature))


def legs_of(piece: Piece) -> Legs:
    """Return the legs of a straight or an arc that turns by less than half a circle."""
    turn = piece.length * piece.from_curvature
    if abs(turn) < _STRAIGHT:
        return Legs(0.5 * piece.length, turn)
    return Legs(math.tan(turn / 2) / piece.from_curvature, turn)


class _Bent(Struct, frozen=True):
    """A route that is bent: as it was `before`, as it is `laid`, and the signed `curvature` of its straight pieces."""

    before: LaidRoute
    laid: LaidRoute
    curvature: float

    def station(self, s: float) -> float:
        """Return the station that `s` of a branch becomes: on the same piece, at the same part of its length."""
        index = self.before.path.index_at(s)
        was, now = self.before.path.pieces[index], self.laid.path.pieces[index]
        return self.laid.path.starts[index] + (s - self.before.path.starts[index]) * now.length / was.length


def bend_routes(spec: Spec, layout: Layout) -> Layout:
    """Return `layout` with the routes that `spec` bends, and everything that leaves them, bent.

    Raises LayoutError, which names the bend, where a curve would become tighter than its gauge.
    """
    mains = [route for route in spec.routes if route.bend_curvature is not None]
    if not mains:
        return layout
    bent: dict[str, LaidRoute] = {}
    for main in mains:
        _refuse_joined(layout, main)
        for name, done in _Bending(spec, layout, main, main.bend_curvature or 0.0).bend().items():
            bent[name] = done.laid
    return Layout(tuple(bent.get(route.name, route) for route in layout))


def _refuse_joined(layout: Layout, main: Route) -> None:
    """Raise LayoutError where something joins what is bent, or leaves it against its direction.

    Bent, the far end of such a path would no longer meet the route that it joins.
    """
    bent = {main.name}
    for route in layout:
        if route.departure is not None and route.departure.parent in bent:
            bent.add(route.name)
    for route in layout:
        ends = [departure for way, departure in route.departures if way < 0 or departure.way < 0]
        if any(end.parent in bent for end in ends) or (ends and route.name in bent):
            raise LayoutError(
                f'"{main.name}" is bent with all that leaves it, but "{route.name}" joins, or leaves against its way.',
                f'Lay "{main.name}" out as a curve, and let "{route.name}" join that.',
                ("routes", main.name, "bend"),
            )


class _Bending(Struct, frozen=True):
    """The bending of one free route, `main`, and of what leaves it, to the signed `curvature` in 1/mm."""

    spec: Spec
    layout: Layout
    main: Route
    curvature: float

    def bend(self) -> Mapping[str, _Bent]:
        """Return all routes that are bent, by name, parents first."""
        before = self.layout.route(self.main.name)
        done = {before.name: self._bend_main(before)}
        waiting = [before.name]
        while waiting:
            parent = waiting.pop(0)
            for branch in _branches(self.layout, parent):
                done[branch.name] = self._bend_branch(branch, done[parent])
                waiting.append(branch.name)
        return done

    def _bend_main(self, before: LaidRoute) -> _Bent:
        """Return the main as one arc, as long as before but for the stretches beside the pieces of its last branch."""
        path = _arc(before.path.start, before.path.length, self.curvature)
        last = max(_branches(self.layout, before.name), key=_station, default=None)
        if last is not None and last.departure is not None and not last.departure.parting:
            shift = shift_of(before.faces, last.faces)
            start = self._start(last, path, last.departure.station, shift)
            begin = _begins_beside(path, start, last)
            length = begin + self._length_beside(before, last, shift)
            path = _arc(before.path.start, length, self.curvature)
        return _Bent(before, replace(before, path=path, bent=True), self.curvature)

    def _length_beside(self, main: LaidRoute, last: LaidRoute, shift: float) -> float:
        """Return the length in mm of the bent `main` from beside the start of the branch `last` to its end."""
        remaining = main.path.length - _begins_beside(main.path, last.path.start, last)
        length = 0.0
        for piece in last.path.pieces:
            if remaining <= 0.0:
                break
            legs = self._legs(last, piece).length
            line = _line_beside(self.curvature, shift)
            share = min(1.0, remaining / (2.0 * legs))
            length += share * 2.0 * math.atan(legs * line) / self.curvature
            remaining -= 2.0 * legs
        return length + max(remaining, 0.0)

    def _bend_branch(self, before: LaidRoute, parent: _Bent) -> _Bent:
        departure = before.departure
        if departure is None:
            raise TypeError("only a branch leaves another route")
        shift = shift_of(parent.before.faces, before.faces)
        curvature = _line_beside(parent.curvature, shift)
        station = self._tip(departure.station, parent, parting=departure.parting)
        start = self._start(before, parent.laid.path, station, shift)
        path = join(start, [self._bent_shape(before, piece, curvature) for piece in before.path.pieces])
        gone = replace(
            departure,
            station=station,
            tip=parent.laid.path.pose_at(station),
            along_station=departure.along_station if departure.parting else station,
        )
        laid = replace(
            before,
            path=path,
            departure=gone,
            begins=tuple(face_begin(path, face.offset, parent.laid.path, station, shift) for face in before.faces),
            bent=True,
        )
        done = _Bent(before, laid, curvature)
        if before.heel_start is None:
            return done
        return replace(done, laid=replace(laid, heel_start=done.station(before.heel_start)))

    def _tip(self, station: float, parent: _Bent, *, parting: bool) -> float:
        """Return the station of a tip on the bent `parent`: on the main itself it stays where it was."""
        if parting:
            return parent.laid.path.length
        return station if parent.before.name == self.main.name else parent.station(station)

    def _start(self, branch: LaidRoute, parent: Path, station: float, shift: float) -> Pose:
        route = self._route(branch)
        return start_branch(parent, station, shift, branch.faces, route.hand, route.points).pose

    def _route(self, branch: LaidRoute) -> Route:
        return next(route for route in self.spec.routes if route.name == branch.name)

    def _legs(self, branch: LaidRoute, piece: Piece) -> Legs:
        if piece.kind == "easement":
            raise LayoutError(
                f'"{branch.name}" has an easement, whose tangents are not alike, so that it cannot be bent.',
                f'Write arcs in its place, or lay "{self.main.name}" out as a curve.',
                self._where(branch, lambda written: isinstance(written, Easement)),
            )
        if abs(piece.length * piece.from_curvature) >= math.pi:
            raise LayoutError(
                f'A curve in "{branch.name}" turns through half a circle or more, so that its tangents never meet.',
                "Write it as two curves.",
                self._where(branch, lambda written: isinstance(written, Curve) and written.length == piece.length),
            )
        return legs_of(piece)

    def _where(self, branch: LaidRoute, fits: Callable[[PathPiece], bool]) -> KeyPath:
        """Return the key path of the first piece of `branch` that `fits`, that of the bend where none was written."""
        for index, written in enumerate(self._route(branch).path):
            if fits(written):
                return ("routes", branch.name, "path", index)
        return ("routes", self.main.name, "bend")

    def _bent_shape(self, branch: LaidRoute, piece: Piece, curvature: float) -> Shape:
        legs = self._legs(branch, piece).bent(curvature)
        gauge = outermost(branch.faces, "left").offset - outermost(branch.faces, "right").offset
        if abs(legs.turn) < math.pi:
            shape = legs.shape()
            if abs(shape.from_curvature) * gauge < 1.0:
                return shape
        radius = format_length(abs(1.0 / self.curvature), self.spec.units)
        raise LayoutError(
            f'Bent to a radius of {radius}, a curve in "{branch.name}" becomes tighter than its gauge.',
            "Take a larger radius, bend it the other way, or take a larger frog number.",
            ("routes", self.main.name, "bend", "radius"),
        )


def _arc(start: Pose, length: float, curvature: float) -> Path:
    return join(start, [Shape(length, curvature, curvature)])


def _line_beside(curvature: float, shift: float) -> float:
    """Return the curvature of the line `shift` mm to the left of one of signed `curvature`."""
    return curvature / (1.0 - shift * curvature)


def _branches(layout: Layout, parent: str) -> list[LaidRoute]:
    return [route for route in layout if route.departure is not None and route.departure.parent == parent]


def _begins_beside(main: Path, start: Pose, branch: LaidRoute) -> float:
    """Return the station of `main` beside the place where the face that is planed of `branch` begins at `start`.

    Points that have an angle turn about that place.
    """
    hand = branch.departure.hand if branch.departure is not None else None
    planed = outermost(branch.faces, other(hand or "left"))
    return main.foot_near(start.beside(planed.offset), _station(branch))[0]


def _station(branch: LaidRoute) -> float:
    return branch.departure.station if branch.departure is not None else 0.0
