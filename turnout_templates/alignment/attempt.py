"""Turn trial values for what a path leaves open into the path that they make, and the place that it has to come to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.alignment.allowed import angle_of
from turnout_templates.alignment.closing import Closing, Unknown, Vector
from turnout_templates.alignment.ends import BranchEnd, check_on_parent, turned_shapes
from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.frog_end import Along, far_piece, frog_task, line_along
from turnout_templates.alignment.lead import LeadTask
from turnout_templates.alignment.leaving import shift_of
from turnout_templates.alignment.model import LaidRoute, View
from turnout_templates.alignment.open_pieces import end_of, shape_of, solved_shape, unknowns_of, without_whole_turns
from turnout_templates.alignment.solving import (
    FrogCurve,
    FrogTask,
    curve_near,
    curve_of_radius,
    curves_to_angle,
    gentlest,
    parting,
)
from turnout_templates.errors import KeyPath
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.path import Shape
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Hand, OpenPiece, Route, Spec, ToFrog

_FIRST_NUMBERS = (6.0, 4.0, 9.0)
"""An open frog number is sought from these."""
_STATIONS = 8
"""A meeting anywhere is sought from this many places of the route joined."""
_LEAST_NUMBER, _MOST_NUMBER = 1.0, 100.0


class NearEnd(Struct, frozen=True):
    """Where a path that joins begins: at `start` with the shapes `planed`, and the branch's end, None of a free one."""

    start: Pose
    planed: list[Shape]
    end: BranchEnd | None
    along: Along | None


class JoinedPath(Struct, frozen=True):
    """A path that meets the other route: all its `shapes`, the far `end`, and where its frogs' straight toes lie.

    `near_toe` is the station at which the toe of the near frog begins, `far_toe` that at which the far frog's ends;
    None without such a frog.
    """

    shapes: list[Shape]
    end: BranchEnd
    near_toe: float | None
    far_toe: float | None


class _FrogCurves(Struct):
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
        if piece.lead is not None:
            return LeadTask(task, angle, 2.0 * abs(task.offset)).curve(piece.lead)
        curve = None
        if self.last is not None:
            if self.last[:2] == (u, angle):
                return self.last[2]
            curve = curve_near(task, angle, self.last[2].station + u - self.last[0])
        if curve is None:
            curves = curves_to_angle(task, angle) if afresh else []
            if not curves:
                return None
            curve = gentlest(parting(task, curves, curvature), curvature)
        self.last = (u, angle, curve)
        return curve


class Attempt:
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
        self.far_index = far_piece(route)
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
        shapes = list(start.planed)
        if self.far_index is None:
            return start.pose, shapes, None
        piece = self.route.path[self.far_index]
        assert isinstance(piece, ToFrog)
        if piece.curvature is not None:
            piece = replace(piece, curvature=-piece.curvature)
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

    def reduced(self, values: Vector) -> Vector:
        """Return the values that make the same path without whole circles."""
        return np.array(without_whole_turns(self.route.path, values.tolist()))

    def length(self, values: Vector) -> float:
        """Return the length of the path, by which solutions are compared."""
        before = self.before(values, afresh=False)
        behind = self.behind(self.far_end(values), values, afresh=False)
        if before is None or behind is None:
            return math.inf
        return sum(abs(shape.length) for shape in (*before[0], *behind[1]))

    def memory(self) -> object:
        """Return the frog curves of the last trial."""
        return self.near_curves.last, self.far_curves.last

    def path(self, closing: Closing) -> JoinedPath:
        """Return the path that closes."""
        self.near_curves.last, self.far_curves.last = closing.memory  # type: ignore[misc]
        values = np.array(closing.values)
        end = self.far_end(values)
        check_on_parent(end, "joins", self.spec.units)
        before, behind = self.before(values, afresh=False), self.behind(end, values, afresh=False)
        assert before is not None and behind is not None
        shapes = [shape for shape in before[0] if shape.length > 0.0]
        length = sum(shape.length for shape in shapes)
        far_toe = None if behind[2] is None else length + behind[2]
        return JoinedPath([*shapes, *turned_shapes(behind[1])], end, before[1], far_toe)
