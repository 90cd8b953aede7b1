"""Find every place where two parallels cross and change side.

The curve B is followed and its signed distance g from curve A is watched. Between two stations g can have a root only
where bounds on its slope and bend allow one, so that intervals without are dropped, intervals with exactly one are
refined, and the rest are halved: none is missed and none is invented. Contact without change of side, and stretches
where the curves coincide, are no crossings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from turnout_templates.geometry.parallel import Chunk, Parallel
from turnout_templates.geometry.pose import Point, wrapped
from turnout_templates.geometry.tolerances import CONTACT, SAME_POINT

_GRAZE = 1e-9
"""Where g can bend by no more than this (mm) over an interval, the signs at its ends decide."""
_STEP_GROWTH = 2.0


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two curves cross at `point` (mm): at station `s` on the first and `t` on the second.

    `angle` is the heading of the second less that of the first there, in radians, within (-pi, pi].
    """

    s: float
    t: float
    point: Point
    angle: float


def find_crossings(a: Parallel, b: Parallel) -> list[Crossing]:
    """Return all crossings of `a` and `b` in order of station on `a`, refined to about 1e-12 mm.

    Only crossings strictly inside both curves count: one that lies on an end shows no change of side.
    """
    chunks_b = [(chunk, chunk.box()) for chunk in b.chunks()]
    found: list[tuple[float, float]] = []
    for chunk_a in a.chunks():
        box_a = chunk_a.box()
        for chunk_b, box_b in chunks_b:
            if _overlap(box_a, box_b):
                found.extend(_chunk_roots(chunk_a, chunk_b))
    refined = [_refine(a, b, s, t) for s, t in found]
    distinct: list[tuple[float, float]] = []
    for s, t in sorted(refined):
        if not any(abs(s - p) < SAME_POINT and abs(t - q) < SAME_POINT for p, q in distinct):
            distinct.append((s, t))
    return [_crossing(a, b, s, t) for s, t in distinct if _changes_side(a, b, s, t)]


def _overlap(p: tuple[float, float, float, float], q: tuple[float, float, float, float]) -> bool:
    return p[0] <= q[2] and q[0] <= p[2] and p[1] <= q[3] and q[1] <= p[3]


def _chunk_roots(a: Chunk, b: Chunk) -> Iterator[tuple[float, float]]:
    """Yield (station on a's path, station on b's path) of roots of the distance of `b` from `a`."""
    slack = SAME_POINT
    distance = _Distance(a, b)
    for t in _roots(distance, b.low - slack, b.high + slack):
        s = a.piece.foot(b.point_at(t), distance.middle)[0]
        if a.low - slack <= s <= a.high + slack:
            yield a.begin + s, b.begin + t


class _Distance:
    """The signed distance g(t) of chunk B from chunk A's parallel, with its slope and a bound on its bend."""

    def __init__(self, a: Chunk, b: Chunk) -> None:
        self.a, self.b = a, b
        self.middle = 0.5 * (a.low + a.high)
        self.known: dict[float, tuple[float, float, float]] = {}
        fastest = max(abs(1.0 - b.offset * b.piece.curvature_at(t)) for t in (b.low, b.high))
        self.speed = fastest + 1e-12
        self.bend_b = max(abs(b.piece.curvature_at(t)) for t in (b.low, b.high))
        self.bend_a = max(abs(a.piece.curvature_at(s)) for s in (a.low, a.high))
        self.widening = abs(b.offset * b.piece.sharpness)

    def at(self, t: float) -> tuple[float, float, float]:
        """Return (g, dg/dt, curvature of A at the foot times the distance from A's path)."""
        if t not in self.known:
            pose = self.b.piece.pose_at(t)
            s, left = self.a.piece.foot(pose.beside(self.b.offset), self.middle)
            slope = (1.0 - self.b.offset * self.b.piece.curvature_at(t)) * math.sin(
                pose.heading - self.a.piece.heading_at(s)
            )
            self.known[t] = (left - self.a.offset, slope, self.a.piece.curvature_at(s) * left)
        return self.known[t]

    def bend(self, low: float, high: float) -> float:
        """Return a bound on |g''| between `low` and `high`, infinite where the foot may wander."""
        reach = max(abs(self.at(low)[2]), abs(self.at(high)[2])) + self.bend_a * self.speed * (high - low)
        if reach > 0.8:
            return math.inf
        along_a = self.bend_a * self.speed / (1.0 - reach)
        return self.widening + self.speed * (self.bend_b + along_a)


def _roots(g: _Distance, low: float, high: float) -> Iterator[float]:
    """Yield the roots of `g` between `low` and `high`, one at least for every change of sign."""
    pending = [(low, high)]
    while pending:
        t0, t1 = pending.pop()
        (g0, d0, _), (g1, d1, _) = g.at(t0), g.at(t1)
        width = t1 - t0
        if abs(g0) + abs(g1) > g.speed * width and g0 * g1 > 0:
            continue
        swing = g.bend(t0, t1) * width
        if g0 * g1 > 0 and min(abs(g0), abs(g1)) > swing * width / 8:
            continue
        if max(abs(d0), abs(d1)) > swing or swing * width / 8 < _GRAZE:
            if g0 * g1 <= 0:
                yield _bisect(g, t0, t1)
        elif not _coincident(g, t0, t1):
            middle = 0.5 * (t0 + t1)
            pending += [(t0, middle), (middle, t1)]


def _coincident(g: _Distance, low: float, high: float) -> bool:
    """Tell whether the curves run together from `low` to `high`: five points in contact leave no other way."""
    return all(abs(g.at(low + (high - low) * i / 4)[0]) < CONTACT / 10 for i in range(5))


def _bisect(g: _Distance, low: float, high: float) -> float:
    """Return the root between two stations with different signs, near enough for Newton's method."""
    g_low = g.at(low)[0]
    for _ in range(60):
        middle = 0.5 * (low + high)
        g_middle = g.at(middle)[0]
        if g_middle == 0.0 or high - low < 1e-9:
            return middle
        if (g_middle > 0) == (g_low > 0):
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


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
