"""Find the curve that makes a frog: given its angle, or given its radius, on any parent.

A branch's open piece runs as an arc to the frog's toe, then straight for the toe length k, and ends at the foot of the
perpendicular from the theoretical point on the branch's reference line. For a trial station s on the face that it must
cross, the end of the branch is known in place and direction; an arc from the known start reaches it when its chord lies
along the mean of the two headings. That leaves one equation in s, whatever the parent is made of.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct

from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Shape, join
from turnout_templates.geometry.pose import Pose, wrapped
from turnout_templates.geometry.roots import root_between

_SAMPLES = 600
"""Trial stations: roots nearer than a six-hundredth of the parent's length are found by their turning point."""
_NEWTON_STEP = 1e-3
"""Step (mm) of the difference quotient in Newton's method."""
_TANGENT = 1e-9
"""Directions that differ by less than this (rad) are one."""
TOE_HEADS = 2.5
"""Toe length in heads of spread (common practice, no source; NMRA RP-12.7 lies between 2.2 and 2.6)."""


def practical_toe(head: float, angle: float) -> float:
    """Return the toe length k = 2.5 head / (2 sin(F/2)) in mm of a frog of `angle` radians in rail of `head` mm."""
    return TOE_HEADS * head / (2.0 * math.sin(angle / 2))


class FrogTask(Struct, frozen=True):
    """What a branch must do: from `start`, its face `offset` is to cross the curve `target` toward the side `turn`.

    `turn` is +1 for left and -1 for right; `head` is the width of the rail head; `toe` the straight length before the
    theoretical point, None for the default of practice. `share` is what part of the frog's angle lies between the face
    and the target: one half where the target is the line midway between two branches that mirror each other.
    """

    start: Pose
    offset: float
    target: Parallel
    turn: int
    head: float
    toe: float | None
    share: float = 1.0

    def toe_length(self, angle: float) -> float:
        """Return the straight length k in mm before the theoretical point, the target being met at `angle` radians."""
        return practical_toe(self.head, angle / self.share) if self.toe is None else self.toe

    def end_pose(self, s: float, angle: float) -> Pose:
        """Return the pose of the branch's reference line beside the theoretical point at station `s` of the target."""
        return self.end_from(self.target.pose_at(s), angle)

    def end_from(self, pose: Pose, angle: float) -> Pose:
        """Return the same where the target itself has the `pose`."""
        return pose.turned(self.turn * angle).shifted(-self.offset)


class FrogCurve(Struct, frozen=True):
    """A solution: an arc of `length` mm and signed `curvature`, then `toe` mm straight, to the target at `station`.

    `angle` is that between branch and target there, in radians. Where the lead is given, `before` or `after` is the
    length in mm of a straight beside the arc, the latter ahead of the toe.
    """

    length: float
    curvature: float
    toe: float
    angle: float
    station: float
    before: float = 0.0
    after: float = 0.0

    @property
    def shapes(self) -> tuple[Shape, Shape, Shape]:
        """The pieces of the branch's reference line: a straight, which may have no length, the arc, and the toe."""
        arc = Shape(self.length, self.curvature, self.curvature)
        return Shape(self.before), arc, Shape(self.after + self.toe)


class Trials(Struct, frozen=True):
    """Trial stations along a target with the poses there: what all angles that are tried on it have in common."""

    stations: tuple[float, ...]
    poses: tuple[Pose, ...]


def try_stations(target: Parallel, steps: int = _SAMPLES) -> Trials:
    """Return the trials of `target` at both ends and `steps` - 1 places between, evenly."""
    step = (target.high - target.low) / steps
    stations = tuple(target.low + i * step for i in range(steps + 1))
    return Trials(stations, tuple(target.pose_at(s) for s in stations))


def curves_to_angle(task: FrogTask, angle: float, trials: Trials | None = None) -> list[FrogCurve]:
    """Return every arc that first crosses the target after the tip at `angle` radians, gentlest first.

    Arcs of no more than half the gauge are none. `trials` are those of the task's target, where many angles are tried
    on it.
    """
    toe = task.toe_length(angle)

    def miss_from(pose: Pose) -> float:
        return _arc_to(task.start, task.end_from(pose, angle).ahead(-toe))[0]

    def miss(s: float) -> float:
        return miss_from(task.target.pose_at(s))

    trials = trials or try_stations(task.target)
    curves = []
    for s in _roots(miss, trials.stations, [miss_from(pose) for pose in trials.poses]):
        _, length, curvature = _arc_to(task.start, task.end_pose(s, angle).ahead(-toe))
        if math.isfinite(length):
            curve = FrogCurve(length, curvature, toe, angle, s)
            if not _is_too_tight(task, curvature) and is_first(task, curve):
                curves.append(curve)
    return sorted(curves, key=lambda curve: abs(curve.curvature))


def _is_too_tight(task: FrogTask, curvature: float) -> bool:
    """Tell whether a radius is half the branch's gauge or less: its inner face would be a point or run backward."""
    return abs(task.offset * curvature) >= 1.0


def curve_near(task: FrogTask, angle: float, near: float) -> FrogCurve | None:
    """Return the arc that crosses the target at `angle` radians and nearest to its station `near`, by Newton's method.

    None where there is none, or none that runs forward; whether it is the first crossing is not asked.
    """
    toe = task.toe_length(angle)

    def arc(s: float) -> tuple[float, float, float]:
        return _arc_to(task.start, task.end_pose(s, angle).ahead(-toe))

    s = near
    for _ in range(40):
        miss = arc(s)[0]
        slope = (arc(s + _NEWTON_STEP)[0] - arc(s - _NEWTON_STEP)[0]) / (2 * _NEWTON_STEP)
        if slope == 0.0:
            return None
        step = miss / slope
        s -= step
        if abs(step) < 1e-12 * (1.0 + abs(s)):
            break
    else:
        return None
    _, length, curvature = arc(s)
    return FrogCurve(length, curvature, toe, angle, s) if math.isfinite(length) else None


def gentlest(curves: list[FrogCurve], curvature: float) -> FrogCurve:
    """Return the curve whose curvature differs least from `curvature`, that of the track before the tip."""
    return min(curves, key=lambda curve: abs(curve.curvature - curvature))


def parting(task: FrogTask, curves: list[FrogCurve], curvature: float) -> list[FrogCurve]:
    """Return those of `curves` that part to the frog's side at once, or all where none does.

    A curve that starts tangent and bends away at first, relative to the track's own `curvature` before the tip, makes
    the branch lie on the wrong side of the track that it leaves before it crosses back to the frog.
    """
    tangent = abs(wrapped(task.start.heading - task.target.pose_at(task.target.low).heading)) < _TANGENT
    found = [curve for curve in curves if task.turn * (curve.curvature - curvature) > 0.0]
    return found if tangent and found else curves


def _arc_to(start: Pose, end: Pose) -> tuple[float, float, float]:
    """Return (miss, length, curvature) of the arc from `start` whose end has the heading of `end`.

    The miss is how far `end` lies to the left of the chord's line (mm); where it is zero the arc ends at `end`. The
    length is infinite where `end` lies behind.
    """
    turn = wrapped(end.heading - start.heading)
    ahead, left = start.turned(turn / 2).local(end.point)
    if ahead <= 0.0:
        return left, math.inf, 0.0
    length = ahead * ((turn / 2) / math.sin(turn / 2) if turn else 1.0)
    return left, length, turn / length


def is_first(task: FrogTask, curve: FrogCurve) -> bool:
    """Tell whether the frog is the first place where the branch's face crosses the target."""
    path = join(task.start, [*curve.shapes, Shape(max(1.0, curve.toe))])
    crossings = find_crossings(Parallel(path, task.offset, 0.0, path.length), task.target)
    return bool(crossings) and abs(crossings[0].t - curve.station) < 1e-4


def _roots(f: Callable[[float], float], stations: Sequence[float], values: Sequence[float]) -> Iterator[float]:
    """Yield the roots of a smooth function between stations at which its `values` are known, close pairs included."""
    for i in range(len(stations) - 1):
        if values[i] * values[i + 1] < 0.0:
            yield root_between(f, stations[i], stations[i + 1])
        elif values[i + 1] == 0.0:
            yield stations[i + 1]
        elif i and _dips(values[i - 1], values[i], values[i + 1]):
            at = _lowest(f, stations[i - 1], stations[i + 1], math.copysign(1.0, values[i]))
            if f(at) * values[i] < 0.0:
                yield root_between(f, stations[i - 1], at)
                yield root_between(f, at, stations[i + 1])


def _dips(a: float, b: float, c: float) -> bool:
    return a * b > 0 and b * c > 0 and abs(b) <= abs(a) and abs(b) <= abs(c)


def _lowest(f: Callable[[float], float], low: float, high: float, sign: float) -> float:
    """Return where sign * f is least between `low` and `high`, by golden section."""
    golden = (math.sqrt(5.0) - 1.0) / 2.0
    for _ in range(60):
        a, b = high - golden * (high - low), low + golden * (high - low)
        if sign * f(a) < sign * f(b):
            high = b
        else:
            low = a
    return 0.5 * (low + high)


def curve_of_radius(task: FrogTask, curvature: float) -> FrogCurve | None:
    """Return the arc of signed `curvature` that runs on to the frog, whatever its angle, or None where it meets none.

    Without a toe the frog is the first crossing. A toe depends on the angle that it makes, so the two conditions (the
    arc ends at the toe in both directions) are solved together by Newton's method from there.
    """
    reach = min(1.5 * math.pi / abs(curvature), 2.0 * task.target.high + 1.0)
    path = join(task.start, [Shape(reach, curvature, curvature)])
    crossings = find_crossings(Parallel(path, task.offset, 0.0, path.length), task.target)
    if not crossings:
        return None
    first = crossings[0]
    astray = 2.0 * (task.target.high - task.target.low)
    state = (first.t, abs(first.angle))
    for _ in range(60):
        step = _newton_step(task, curvature, state)
        if step is None:
            return None
        state = (state[0] + step[0], state[1] + step[1])
        if abs(state[0] - first.t) > astray:
            return None
        if abs(step[0]) < 1e-12 * (1.0 + abs(state[0])) and abs(step[1]) < 1e-15:
            break
    s, angle = state
    if not task.target.low < s < task.target.high or not 0.0 < angle < math.pi / 2:
        return None
    curve = FrogCurve(_turned_length(task, curvature, s, angle), curvature, task.toe_length(angle), angle, s)
    return curve if curve.length > 0.0 and is_first(task, curve) else None


def _turned_length(task: FrogTask, curvature: float, s: float, angle: float) -> float:
    """Return the length of arc that turns from the start to the frog's heading."""
    return wrapped(task.end_pose(s, angle).heading - task.start.heading) / curvature


def _gap(task: FrogTask, curvature: float, s: float, angle: float) -> tuple[float, float]:
    """Return the vector in mm from the end of the arc to where the toe must begin."""
    arc = join(task.start, [Shape(max(_turned_length(task, curvature, s, angle), 1e-9), curvature, curvature)]).end
    toe = task.end_pose(s, angle).ahead(-task.toe_length(angle))
    return toe.x - arc.x, toe.y - arc.y


def _newton_step(task: FrogTask, curvature: float, state: tuple[float, float]) -> tuple[float, float] | None:
    """Return the next step in (station, angle), None where the equations are singular."""
    s, angle = state
    ds, da = 1e-4, 1e-7
    x, y = _gap(task, curvature, s, angle)
    (xs1, ys1), (xs0, ys0) = _gap(task, curvature, s + ds, angle), _gap(task, curvature, s - ds, angle)
    (xa1, ya1), (xa0, ya0) = _gap(task, curvature, s, angle + da), _gap(task, curvature, s, angle - da)
    a, c = (xs1 - xs0) / (2 * ds), (ys1 - ys0) / (2 * ds)
    b, d = (xa1 - xa0) / (2 * da), (ya1 - ya0) / (2 * da)
    determinant = a * d - b * c
    if abs(determinant) < 1e-12:
        return None
    return (b * y - d * x) / determinant, (c * x - a * y) / determinant
