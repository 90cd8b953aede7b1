"""Turn a path that is to end on another route into the shapes that take it there.

Whatever the near end of the path is (free, or a branch with a frog), its pieces run up to the far end, which is looked
at from its own tip like any branch: there begin the points, and the curve from the frog where the path has one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from turnout_templates.alignment.allowed import angle_of, number_of
from turnout_templates.alignment.closing import Closing, Unknown, Vector, close_path
from turnout_templates.alignment.ends import BranchEnd, check_on_parent, joining_view, turned_shapes
from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.frog_end import Along, far_piece, frog_task, line_along, near_piece
from turnout_templates.alignment.leaving import angled, shift_of
from turnout_templates.alignment.model import LaidRoute, View
from turnout_templates.alignment.open_pieces import end_of, shape_of, solved_shape, unknowns_of
from turnout_templates.alignment.solving import (
    FrogCurve,
    FrogTask,
    curve_near,
    curve_of_radius,
    curves_to_angle,
    gentlest,
)
from turnout_templates.errors import KeyPath, LayoutError
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.path import Shape
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Hand, OpenPiece, Route, Spec, ToFrog
from turnout_templates.units import format_length

_FIRST_NUMBERS = (6.0, 4.0, 9.0)
"""An open frog number is sought from these."""
_STATIONS = 8
"""A meeting anywhere is sought from this many places of the route joined."""
_LEAST_NUMBER, _MOST_NUMBER = 1.0, 100.0


@dataclass(frozen=True, slots=True)
class NearEnd:
    """Where a path that joins begins: at `start` with the shapes `planed`, and the branch's end, None of a free one."""

    start: Pose
    planed: list[Shape]
    end: BranchEnd | None
    along: Along | None


@dataclass(frozen=True, slots=True)
class JoinedPath:
    """A path that meets the other route: all its `shapes`, the far `end`, and where its frogs' straight toes lie.

    `near_toe` is the station at which the toe of the near frog begins, `far_toe` that at which the far frog's ends;
    None without such a frog.
    """

    shapes: list[Shape]
    end: BranchEnd
    near_toe: float | None
    far_toe: float | None


def join_path(
    spec: Spec, route: Route, faces: tuple[Face, ...], near: NearEnd, laid: Mapping[str, LaidRoute]
) -> JoinedPath:
    """Return the path of `route` from its near end to the route that it joins.

    Raises LayoutError that says what is free, what is over-determined, or by how much the nearest path misses.
    """
    view = joining_view(route, laid)
    attempts = [_Attempt(spec, route, faces, near, view, laid, hand) for hand in _hands(spec, route, near, view)]
    closings = [close_path(attempt.unknowns, attempt.ends, attempt.length) for attempt in attempts]
    attempt, closing = min(zip(attempts, closings, strict=True), key=lambda pair: _badness(*pair))
    if closing is None or not closing.closes or closing.refused or closing.free:
        raise _cannot_join(attempt, closing)
    return attempt.path(closing)


def _hands(spec: Spec, route: Route, near: NearEnd, view: View) -> tuple[Hand, ...]:
    """Return the side from which the path comes to the route joined, as seen from there; both where it may be either.

    Only a path with a frog or angled points there needs to know.
    """
    station, _ = nearest_station(view.path, near.start.point)
    left = view.path.pose_at(station).local(near.start.point)[1]
    if abs(left) > max(gauge.width for gauge in spec.gauges.values()):
        return ("left",) if left > 0 else ("right",)
    joint = route.joins
    plain = far_piece(route) is None and joint is not None and angled(joint.points) is None
    return ("left",) if plain else ("left", "right")


def _badness(attempt: _Attempt, closing: Closing | None) -> tuple[bool, bool, int, float]:
    """Return what the better of two attempts has less of."""
    if closing is None:
        return True, True, 0, math.inf
    length = attempt.length(np.array(closing.values)) if closing.closes else closing.miss + closing.turn
    return False, not closing.closes, len(closing.refused), length


@dataclass(slots=True)
class _FrogCurves:
    """Curves to a frog for changing places and angles: each sought near the last that was found."""

    last: tuple[float, float, FrogCurve] | None = None

    def curve(
        self, task: FrogTask, piece: ToFrog, angle: float, u: float, curvature: float, *, afresh: bool
    ) -> FrogCurve | None:
        """Return the curve for a tip at `u` and a frog of `angle` radians; None where there is none.

        `curvature` is that of the track before the tip, by which the first one is chosen; `afresh` lets it be sought
        everywhere, which takes longer, where there is none near the last.
        """
        if piece.curvature is not None:
            return curve_of_radius(task, piece.curvature)
        curve = None
        if self.last is not None:
            if self.last[:2] == (u, angle):
                return self.last[2]
            curve = curve_near(task, angle, self.last[2].station + u - self.last[0])
        if curve is None:
            curves = curves_to_angle(task, angle) if afresh else []
            if not curves:
                return None
            curve = gentlest(task, curves, curvature)
        self.last = (u, angle, curve)
        return curve


class _Attempt:
    """The unknowns of a path that joins, and what it comes to with figures for them."""

    def __init__(
        self,
        spec: Spec,
        route: Route,
        faces: tuple[Face, ...],
        near: NearEnd,
        view: View,
        laid: Mapping[str, LaidRoute],
        hand: Hand,
    ) -> None:
        self.hand = hand
        self.spec, self.route, self.near, self.view, self.laid = spec, route, near, view, laid
        self.faces = tuple(face.turned() for face in faces)
        self.near_index, self.far_index = near_piece(route), far_piece(route)
        self.near_curves, self.far_curves = _FrogCurves(), _FrogCurves()
        self.widest = max(gauge.width for gauge in spec.gauges.values())
        begin = near.start
        self.foot, away = nearest_station(view.path, begin.point)
        self.distance = max(away, 8.0 * self.widest)
        self.unknowns = tuple(self._unknowns())

    def _unknowns(self) -> Iterator[Unknown]:
        joint = self.route.joins
        for index, piece in enumerate(self.route.path):
            if isinstance(piece, OpenPiece):
                yield from unknowns_of(index, piece, self.distance, self.widest)
        if any(isinstance(p, ToFrog) and p.angle is None and p.curvature is None for p in self.route.path):
            starts = tuple(angle_of(number) for number in _FIRST_NUMBERS)
            yield Unknown("the frog", "angle", starts, angle_of(_MOST_NUMBER), angle_of(_LEAST_NUMBER))
        if joint is not None and joint.at == "anywhere":
            whole = self.view.path.length
            starts = (self.foot, *(whole * (i + 0.5) / _STATIONS for i in range(_STATIONS)))
            yield Unknown("the station", "station", starts, 0.0, whole)

    def _angle(self, piece: ToFrog, values: Vector) -> float:
        if piece.angle is not None:
            return piece.angle
        found = [v for unknown, v in zip(self.unknowns, values, strict=True) if unknown.kind == "angle"]
        return float(found[0]) if found else 0.0

    def far_end(self, values: Vector) -> BranchEnd:
        """Return the far end for trial values, looked at from its tip."""
        joint = self.route.joins
        assert joint is not None
        if joint.at == "anywhere":
            u = float(values[-1])
        else:
            u = self.view.station(self.view.route.path.length if joint.at == "end" else joint.at)
        where: KeyPath = ("routes", self.route.name, "joins")
        shift = shift_of(self.view.faces, self.faces)
        return BranchEnd(self.route.name, self.view, u, self.faces, shift, self.hand, joint.points, where)

    def before(self, values: Vector, *, afresh: bool) -> tuple[list[Shape], float | None] | None:
        """Return the shapes up to the far end and the station of the near frog's toe; None where there is no path."""
        shapes, toe = list(self.near.planed), None
        figures = iter(values.tolist())
        for index, piece in enumerate(self.route.path):
            if index == self.far_index:
                continue
            if isinstance(piece, OpenPiece):
                shape = solved_shape(piece, figures)
                if shape is None:
                    return None
                shapes.append(shape)
            elif isinstance(piece, ToFrog):
                curve = self._near_curve(piece, end_of(self.near.start, shapes), values, afresh=afresh)
                if curve is None:
                    return None
                shapes += curve.shapes
                toe = sum(shape.length for shape in shapes) - curve.toe
            else:
                shapes.append(shape_of(piece))
        return shapes, toe

    def _near_curve(self, piece: ToFrog, begin: Pose, values: Vector, *, afresh: bool) -> FrogCurve | None:
        end, along = self.near.end, self.near.along
        if end is None or along is None:
            raise TypeError("only a branch has a frog where it begins")
        angle = self._angle(piece, values) * along.share
        if angle < 0.0:
            return None
        task = frog_task(self.spec, end, piece.toe, begin, along)
        curvature = along.path.curvature_at(along.station)
        return self.near_curves.curve(task, piece, angle, 0.0, curvature, afresh=afresh)

    def behind(self, end: BranchEnd, values: Vector, *, afresh: bool) -> tuple[Pose, list[Shape], float | None] | None:
        """Return (start, shapes, toe length) of the far end, looked at from its tip; None where it has no curve."""
        start = end.start()
        shapes = [start.planed] if start.planed else []
        if self.far_index is None:
            return start.pose, shapes, None
        piece = self.route.path[self.far_index]
        assert isinstance(piece, ToFrog)
        if piece.curvature is not None:
            piece = ToFrog(None, -piece.curvature, None, piece.toe)
        along = line_along(self.spec, self.route, end, self.laid)
        task = frog_task(self.spec, end, piece.toe, end_of(start.pose, shapes), along)
        curvature = along.path.curvature_at(along.station)
        angle = self._angle(piece, values)
        if angle < 0.0:
            return None
        curve = self.far_curves.curve(task, piece, angle, end.u, curvature, afresh=afresh)
        return None if curve is None else (start.pose, [*shapes, *curve.shapes], curve.toe)

    def ends(self, values: Vector, afresh: bool) -> tuple[Pose, Pose] | None:
        """Return where the path comes to and where it has to come to."""
        before = self.before(values, afresh=afresh)
        end = self.far_end(values)
        behind = self.behind(end, values, afresh=afresh)
        if before is None or behind is None:
            return None
        goal = end_of(behind[0], behind[1])
        return end_of(self.near.start, before[0]), goal.turned(math.pi)

    def length(self, values: Vector) -> float:
        """Return the length of the path, by which solutions are compared."""
        before = self.before(values, afresh=True)
        behind = self.behind(self.far_end(values), values, afresh=True)
        if before is None or behind is None:
            return math.inf
        return sum(abs(shape.length) for shape in (*before[0], *behind[1]))

    def path(self, closing: Closing) -> JoinedPath:
        """Return the path that closes."""
        values = np.array(closing.values)
        end = self.far_end(values)
        check_on_parent(end, "joins")
        before, behind = self.before(values, afresh=True), self.behind(end, values, afresh=True)
        assert before is not None and behind is not None
        shapes = [shape for shape in before[0] if shape.length > 0.0]
        length = sum(shape.length for shape in shapes)
        far_toe = None if behind[2] is None else length + behind[2]
        return JoinedPath([*shapes, *turned_shapes(behind[1])], end, before[1], far_toe)


def _cannot_join(attempt: _Attempt, closing: Closing | None) -> LayoutError:
    """Return the error that tells what is free, over-determined or out of reach."""
    route, joined = attempt.route.name, attempt.view.name
    where: KeyPath = ("routes", route, "joins")
    if closing is None:
        return LayoutError(
            f'No curve of "{route}" comes to "{joined}".',
            f'Check the side and the direction in which it joins, or lengthen "{joined}".',
            where,
        )
    if not closing.closes:
        return LayoutError(_missing(attempt, closing), _what_is_open(attempt), where)
    if closing.free:
        names = " and ".join(closing.free)
        return LayoutError(
            f'"{route}" meets "{joined}" in more than one way: nothing fixes {names}.',
            "Give one of these a figure.",
            where,
        )
    spoken = [_spoken(attempt, unknown, closing) for unknown in closing.refused]
    return LayoutError(
        f'"{route}" would meet "{joined}" only with {" and ".join(spoken)}.',
        "Move the two apart, or take a sharper curve or a smaller frog number where there is one.",
        where,
    )


def _missing(attempt: _Attempt, closing: Closing) -> str:
    unit = attempt.spec.units
    with_what = [_spoken(attempt, unknown, closing) for unknown in attempt.unknowns]
    found = f", with {' and '.join(with_what)}" if with_what else ""
    return (
        f'"{attempt.route.name}" does not meet "{attempt.view.name}": the nearest that it comes is '
        f"{format_length(closing.miss, unit)} and {math.degrees(closing.turn):.3f} deg off{found}."
    )


def _what_is_open(attempt: _Attempt) -> str:
    count = len(attempt.unknowns)
    values = ", ".join(unknown.name for unknown in attempt.unknowns) or "nothing"
    if count < 3:
        return (
            f"To meet a route in place and direction takes three values to be found, and here there "
            f"{'is' if count == 1 else 'are'} {count}: {values}. Leave another one open, or give other figures."
        )
    return f"It was sought with {values}. Give other figures, or leave another one open."


def _spoken(attempt: _Attempt, unknown: Unknown, closing: Closing) -> str:
    """Return an unknown with its figure in words."""
    value = closing.values[attempt.unknowns.index(unknown)]
    unit = attempt.spec.units
    match unknown.kind:
        case "curvature":
            if abs(value) < 1e-9:
                return f"{unknown.name} straight"
            return f"{unknown.name} at {format_length(abs(1 / value), unit)} to the {'left' if value > 0 else 'right'}"
        case "angle":
            return f"{unknown.name} at No. {number_of(value):.4g}" if value > 0 else f"{unknown.name} at no number"
        case "station":
            length = attempt.view.path.length
            off = "" if unknown.allows(value) else f', off the {format_length(length, unit)} of "{attempt.view.name}"'
            return f"{unknown.name} at {format_length(attempt.view.station(value), unit)}{off}"
        case _:
            return f"{unknown.name} at {format_length(value, unit)}"
