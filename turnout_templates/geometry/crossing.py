"""Find every place where two parallels cross and change side.

The curve B is followed and its signed distance g from curve A is watched. Between two stations g can have a root only
where bounds on its slope and bend allow one, so that intervals without are dropped, intervals with exactly one are
refined, and the rest are halved: none is missed and none is invented. Contact without change of side, and stretches
where the curves coincide, are no crossings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from msgspec import Struct

from turnout_templates.geometry.parallel import Chunk, Parallel, boxes_meet
from turnout_templates.geometry.pose import Point, wrapped
from turnout_templates.geometry.roots import root_between
from turnout_templates.geometry.tolerances import CONTACT, SAME_POINT

_GRAZE = 1e-9
"""Where g can bend by no more than this (mm) over an interval, the signs at its ends decide."""
_FINEST = 1e-6
"""Intervals shorter than this (mm) are not halved further: near the centre of a curve no bound on the bend holds."""
_STEP_GROWTH = 2.0
_NEARLY = 1e-9
"""Roots are found to this (mm), near enough for Newton's method."""


class Crossing(Struct, frozen=True):
    """Two curves cross at `point` (mm): at station `s` on the first and `t` on the second.

    `angle` is the heading of the second less that of the first there, in radians, within (-pi, pi].
    """

    s: float
    t: float
    point: Point
    angle: float

    @property
    def folded(self) -> float:
        """The angle between the two lines, whichever way they are run: radians, at most a right angle."""
        return min(abs(self.angle), math.pi - abs(self.angle))


def find_crossings(a: Parallel, b: Parallel) -> list[Crossing]:
    """Return all crossings of `a` and `b` in order of station on `a`, refined to about 1e-12 mm.

    Only crossings strictly inside both curves count: one that lies on an end shows no change of side.
    """
    chunks_b = [(chunk, chunk.box()) for chunk in b.chunks()]
    found: list[tuple[float, float]] = []
    for chunk_a in a.chunks():
        box_a = chunk_a.box()
        for chunk_b, box_b in chunks_b:
            if boxes_meet(box_a, box_b):
                found.extend(_chunk_roots(chunk_a, chunk_b))
    refined = [_refine(a, b, s, t) for s, t in found]
    distinct: list[tuple[float, float]] = []
    for s, t in sorted(refined):
        if not any(abs(s - p) < SAME_POINT and abs(t - q) < SAME_POINT for p, q in distinct):
            distinct.append((s, t))
    inside = [(s, t) for s, t in distinct if _is_inside(a, s) and _is_inside(b, t)]
    return [_crossing(a, b, s, t) for s, t in inside if _changes_side(a, b, s, t)]


def _is_inside(curve: Parallel, s: float) -> bool:
    return curve.low + SAME_POINT < s < curve.high - SAME_POINT


def _chunk_roots(a: Chunk, b: Chunk) -> Iterator[tuple[float, float]]:
    """Yield (station on a's path, station on b's path) of roots of the distance of `b` from `a`."""
    slack = SAME_POINT
    distance = _Distance(a, b)
    for t in _roots(distance, b.low - slack, b.high + slack):
        s = a.piece.foot(b.point_at(t), distance.middle)[0]
        if a.low - slack <= s <= a.high + slack:
            yield a.begin + s, b.begin + t


class _Look(NamedTuple):
    """The distance at one station: `g` itself, its `slope`, its `bend` dg'/dt, and A's curvature times the distance."""

    g: float
    slope: float
    bend: float
    reach: float


class _Distance:
    """The signed distance g(t) of chunk B from chunk A's parallel, with its slope and bounds on its bend.

    With v the speed of B, D its heading less A's, and l its distance from A's path: g' = v sin D, and the foot moves by
    s' = v cos D/(1 - k_A l), so that g'' = v' sin D + v cos D (k_B - k_A s').
    """

    def __init__(self, a: Chunk, b: Chunk) -> None:
        self.a, self.b = a, b
        self.middle = 0.5 * (a.low + a.high)
        self.known: dict[float, _Look] = {}
        fastest = max(abs(1.0 - b.offset * b.piece.curvature_at(t)) for t in (b.low, b.high))
        self.speed = fastest + 1e-12
        self.bend_b = max(abs(b.piece.curvature_at(t)) for t in (b.low, b.high))
        self.bend_a = max(abs(a.piece.curvature_at(s)) for s in (a.low, a.high))
        self.widening = abs(b.offset * b.piece.sharpness)

    def at(self, t: float) -> _Look:
        """Return what is known of the distance at station `t` of B."""
        if t not in self.known:
            self.known[t] = self._look(t)
        return self.known[t]

    def _look(self, t: float) -> _Look:
        a, b = self.a, self.b
        pose = b.piece.pose_at(t)
        s, left = a.piece.foot(pose.beside(b.offset), self.middle)
        curvature_a, curvature_b = a.piece.curvature_at(s), b.piece.curvature_at(t)
        speed, turn = 1.0 - b.offset * curvature_b, pose.heading - a.piece.heading_at(s)
        reach = curvature_a * left
        along = speed * math.cos(turn) / (1.0 - reach) if abs(1.0 - reach) > 1e-9 else math.inf
        bend = speed * math.cos(turn) * (curvature_b - curvature_a * along)
        bend -= b.offset * b.piece.sharpness * math.sin(turn)
        return _Look(left - a.offset, speed * math.sin(turn), bend, reach)

    def bend(self, low: float, high: float) -> float:
        """Return a bound on |g''| between `low` and `high`, infinite where the foot may wander.

        The lesser of two: one from the curvatures alone, and one from g'' at both ends and a bound on how fast it
        changes, which is what tells two curves that nearly coincide.
        """
        first, last = self.at(low), self.at(high)
        reach = max(abs(first.reach), abs(last.reach)) + self.bend_a * self.speed * (high - low)
        if reach > 0.8:
            return math.inf
        foot_speed = self.speed / (1.0 - reach)
        turning = self.bend_b + self.bend_a * foot_speed
        everywhere = self.widening + self.speed * turning
        sharpening = abs(self.b.piece.sharpness) + abs(self.a.piece.sharpness) * foot_speed * foot_speed
        change = self.speed * (6.0 * turning * turning + sharpening) + 4.0 * self.widening * turning
        return min(everywhere, max(abs(first.bend), abs(last.bend)) + change * (high - low))


def _roots(g: _Distance, low: float, high: float) -> Iterator[float]:
    """Yield the roots of `g` between `low` and `high`, one at least for every change of sign."""
    pending = [(low, high)]
    while pending:
        t0, t1 = pending.pop()
        first, last = g.at(t0), g.at(t1)
        width = t1 - t0
        same_side = first.g * last.g > 0
        if same_side and abs(first.g) + abs(last.g) > g.speed * width:
            continue
        swing = g.bend(t0, t1) * width
        if same_side and min(abs(first.g), abs(last.g)) > swing * width / 8:
            continue
        is_monotonous = max(abs(first.slope), abs(last.slope)) > swing
        if is_monotonous or swing * width / 8 < _GRAZE or width < _FINEST:
            if not same_side:
                yield root_between(lambda t: g.at(t).g, t0, t1, _NEARLY)
        elif not _coincident(g, t0, t1):
            middle = 0.5 * (t0 + t1)
            pending += [(t0, middle), (middle, t1)]


def _coincident(g: _Distance, low: float, high: float) -> bool:
    """Tell whether the curves run together from `low` to `high`: five points in contact leave no other way."""
    return all(abs(g.at(low + (high - low) * i / 4).g) < CONTACT / 10 for i in range(5))


def _refine(a: Parallel, b: Parallel, s: float, t: float) -> tuple[float, float]:
    """Polish a crossing by Newton's method in both stations."""
    for _ in range(4):
        pose_a, pose_b = a.pose_at(s), b.pose_at(t)
        dx, dy = pose_b.x - pose_a.x, pose_b.y - pose_a.y
        sine = math.sin(pose_b.heading - pose_a.heading)
        if abs(sine) < 1e-6:
            break
        along_a = (dx * math.sin(pose_b.heading) - dy * math.cos(pose_b.heading)) / sine
        along_b = (dx * math.sin(pose_a.heading) - dy * math.cos(pose_a.heading)) / sine
        s += along_a / (1.0 - a.offset * a.path.curvature_at(s))
        t += along_b / (1.0 - b.offset * b.path.curvature_at(t))
    return s, t


def _changes_side(a: Parallel, b: Parallel, s: float, t: float) -> bool:
    """Tell whether `b` lies clearly on different sides of `a` before and after station `t`."""
    before, after = _side(a, b, s, t, -1.0), _side(a, b, s, t, 1.0)
    return before * after < 0


def _side(a: Parallel, b: Parallel, s: float, t: float, direction: float) -> float:
    """Return the distance of `b` from `a` at the first station from `t` on that is out of contact, or 0 if none is."""
    step = 1e-6
    while True:
        at = t + direction * step
        if not b.low <= at <= b.high:
            return 0.0
        foot, left = a.path.foot_near(b.point_at(at), s)
        if not a.low <= foot <= a.high:
            return 0.0
        if abs(left - a.offset) > CONTACT:
            return left - a.offset
        step *= _STEP_GROWTH


def _crossing(a: Parallel, b: Parallel, s: float, t: float) -> Crossing:
    pose_a, pose_b = a.pose_at(s), b.pose_at(t)
    point = (0.5 * (pose_a.x + pose_b.x), 0.5 * (pose_a.y + pose_b.y))
    return Crossing(s, t, point, wrapped(pose_b.heading - pose_a.heading))
