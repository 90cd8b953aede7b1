"""Turn a line across a route into what a tie on it carries: the route itself and every other that it must reach."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.nearby import Nearby

_FAN = math.radians(15)
"""The next tie of another route is turned away from one that carries it by no more than this."""
EASY = math.radians(20)
"""A track that leans on another by less than this is carried on ties square to that (common practice, no source): the
sharpest turnouts that are built."""
_STEEP = math.radians(55)
"""Tracks that lean further than this on a tie are not carried by it: half a right angle, and what curves add."""
_UNDECIDED = math.radians(75)
"""Of tracks steeper than this to each other, curves may ask here for one mean, there for the other: the first holds."""
_SQUARE = 1e-6
"""A station is beside a tie when it lies this near (mm) to its centre line; angles (radians) this near are equal."""


@dataclass(frozen=True, slots=True)
class Span:
    """What a tie carries of a route: its faces lie from `low` to `high` (mm to the left), at `station` of the route.

    `turn` is how far the tie is turned from square to the route, left positive; `reach` is how much further the route's
    own ties come toward this one for not lying alongside it (mm).
    """

    route: str
    low: float
    high: float
    station: float
    turn: float
    reach: float


class Carrying:
    """Tells what a tie carries, by the route that it lies on, its station there and its turn from square."""

    def __init__(self, rules: TieRules, nearby: Nearby) -> None:
        self.rules = rules
        self.nearby = nearby
        self._means: dict[frozenset[str], list[Pose]] = {}

    def carried(self, route: LaidRoute, station: float, turn: float, *, tight: bool = False) -> list[Span]:
        """Return what a tie carries: the route itself first, then all others whose own ties would run into it.

        A `tight` one counts no room for ties of theirs that would lie askew: others' ties carry them there.
        """
        pose = route.path.pose_at(station).turned(turn)
        across = [route.offset_at(face, station) / math.cos(turn) for face in route.faces]
        spans = [Span(route.name, min(across), max(across), station, turn, 0.0)]
        others = [(other, near) for other, near in self.nearby.stations(pose.point) if other is not route]
        waiting = [span for other, near in others for span in _spans(other, near, pose, self.rules)]
        reach = self.rules.overhang + self.rules.length_step / 2
        grown = True
        while grown:
            low = min(span.low for span in spans) - reach
            high = max(span.high for span in spans) + reach
            near = [s for s in waiting if s.low - _own(s, reach, tight) < high and s.high + _own(s, reach, tight) > low]
            spans += near
            waiting = [span for span in waiting if span not in near]
            grown = bool(near)
        return spans

    def wanted(self, route: LaidRoute, station: float) -> float:
        """Return how far a tie wants to be turned from square for the tracks that it carries, left positive.

        By what they lean on the route beyond `EASY`, but no further than to the mean of both.
        """
        pose = route.path.pose_at(station)
        wanted = 0.0
        for other, near in self.nearby.leaning(pose, EASY):
            lean = folded(other.path.heading_at(near) - pose.heading)
            means = self._means.setdefault(frozenset((route.name, other.name)), [])
            turn = _as_decided(means, pose, lean, self.nearby.reach)
            if abs(turn) > abs(wanted) + _SQUARE and self._carries(route, station, turn, other):
                wanted = turn
                means.append(pose.turned(turn))
        return wanted

    def _carries(self, route: LaidRoute, station: float, turn: float, other: LaidRoute) -> bool:
        return any(span.route == other.name for span in self.carried(route, station, turn))


def _own(span: Span, reach: float, tight: bool) -> float:
    """Return how far a route's own ties would come toward another tie beyond its rails (mm)."""
    return reach if tight else reach + span.reach


def _as_decided(means: Sequence[Pose], pose: Pose, lean: float, reach: float) -> float:
    """Return the turn of a tie for a track that leans so much: to that one of their `means` taken before nearby."""
    mean = next((m for m in means if math.dist(m.point, pose.point) < reach), None)
    if mean is None or abs(lean) < _UNDECIDED:
        return _shared(lean)
    direction = mean.heading - pose.heading
    turns = _shared(lean), _shared(lean - math.copysign(math.pi, lean))
    return min(turns, key=lambda turn: abs(folded(turn - direction)))


def _shared(lean: float) -> float:
    """Return how far ties turn for a track that leans so much: beyond `EASY`, and no further than to the mean."""
    return math.copysign(min(abs(lean) / 2, max(0.0, abs(lean) - EASY)), lean)


def folded(angle: float) -> float:
    """Return the angle between two lines without direction, at most a right angle to either side.

    At a right angle the side is the one that the directions say, whatever rounding does.
    """
    turn = math.remainder(angle, math.tau)
    return turn - math.copysign(math.pi, turn) if abs(turn) > math.pi / 2 + _SQUARE else turn


def _spans(other: LaidRoute, station: float, pose: Pose, rules: TieRules) -> Iterator[Span]:
    """Yield where the rails of another route, `station` of it nearby, cross the line square to `pose`.

    Nothing where it does not run the same way there.
    """
    ahead = math.inf
    for _ in range(8):
        there = other.path.pose_at(station)
        lean = math.cos(there.heading - pose.heading)
        if abs(lean) < math.cos(_STEEP):
            return
        ahead, centre = pose.local(there.point)
        if abs(ahead) < _SQUARE:
            break
        station -= ahead / lean
    if not 0.0 <= station <= other.path.length or abs(ahead) > 1.0:
        return
    across = [centre + other.offset_at(face, station) / lean for face in other.faces]
    turn = folded(pose.heading - there.heading)
    askew = 2.0 * rules.switch_width * math.sin(min(abs(turn), _FAN))
    yield Span(other.name, min(across), max(across), station, turn, askew)
