"""Turn a line across a route into what a tie on it carries: the route itself and every other that it must reach."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.rails.nearby import Nearby
from turnout_templates.trackwork.ties.leaning import Leaning, folded

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


class Span(Struct, frozen=True):
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

    def __init__(self, rules: TieRules, nearby: Nearby, leaning: Leaning) -> None:
        self.rules = rules
        self.nearby = nearby
        self.leaning = leaning
        self.easy = EASY if rules.orientation == "square" else 0.0
        self._means: dict[frozenset[str], list[Pose]] = {}

    def carried(
        self, route: LaidRoute, station: float, turn: float, *, tight: bool = False, also: str = ""
    ) -> list[Span]:
        """Return what a tie carries: the route itself first, then all others whose own ties would run into it.

        A `tight` one counts no room for ties of theirs that would lie askew: others' ties carry them there. The route
        named by `also` is carried in any case.
        """
        pose = route.path.pose_at(station).turned(turn)
        across = [route.offset_at(face, station) / math.cos(turn) for face in route.faces]
        spans = [Span(route.name, min(across), max(across), station, turn, 0.0)]
        others = [(other, near) for other, near in self.nearby.stations(pose.point) if other is not route]
        waiting = [span for other, near in others for span in self._spans(other, near, pose, also)]
        reach = self.rules.overhang + self.rules.length_step / 2
        grown = True
        while grown:
            low = min(span.low for span in spans) - reach
            high = max(span.high for span in spans) + reach
            near = [s for s in waiting if s.route == also or _meets(s, low, high, 0.0 if tight else s.reach, reach)]
            spans += near
            waiting = [span for span in waiting if span not in near]
            grown = bool(near)
        return spans

    def _spans(self, other: LaidRoute, station: float, pose: Pose, also: str) -> Iterator[Span]:
        """Yield what a line across carries of another route: of `also` even just past its end, where a tie holds it."""
        return _span(other, station, pose, self.rules, self.rules.spacing if other.name == also else 0.0)

    def wanted(self, route: LaidRoute, station: float, beyond: float | None = None, also: str = "") -> float:
        """Return how far a tie wants to be turned from square for the tracks that it carries, left positive.

        By what they lean on the route beyond what its ties bear, but no further than to the mean of both; of tracks
        that lean to both sides, by both. Only tracks that lean by more than `beyond` are asked, where that is given;
        the one named by `also` counts as carried.
        """
        pose = route.path.pose_at(station)
        left = right = 0.0
        for other, near in self.nearby.leaning(pose, self.easy if beyond is None else beyond):
            lean = self.leaning.lean(route, station, other, near)
            means = self._means.setdefault(frozenset((route.name, other.name)), [])
            turn = self._as_decided(means, pose, lean)
            if not right - _SQUARE <= turn <= left + _SQUARE and (
                other.name == also or self._carries(route, station, turn, other)
            ):
                left, right = max(left, turn), min(right, turn)
                if abs(lean) > EASY:
                    means.append(pose.turned(turn))
        return left + right

    def _as_decided(self, means: Sequence[Pose], pose: Pose, lean: float) -> float:
        """Return the turn of a tie for a track that leans so much: to that one of their `means` taken before nearby."""
        if abs(lean) < _UNDECIDED:
            return self._shared(lean)
        mean = next((m for m in means if math.dist(m.point, pose.point) < self.nearby.reach), None)
        if mean is None:
            return self._shared(lean)
        direction = mean.heading - pose.heading
        turns = self._shared(lean), self._shared(lean - math.copysign(math.pi, lean))
        return min(turns, key=lambda turn: abs(folded(turn - direction)))

    def _shared(self, lean: float) -> float:
        """Return how far ties turn for a track that leans so much: beyond what they bear, at most to the mean."""
        return math.copysign(min(abs(lean) / 2, max(0.0, abs(lean) - self.easy)), lean)

    def _carries(self, route: LaidRoute, station: float, turn: float, other: LaidRoute) -> bool:
        return any(span.route == other.name for span in self.carried(route, station, turn))


def _meets(span: Span, low: float, high: float, askew: float, reach: float) -> bool:
    """Tell whether a route's own ties, beyond its rails by `reach` and what they lie `askew`, come between two ends."""
    own = reach + askew
    return span.low - own < high and span.high + own > low


def _span(other: LaidRoute, station: float, pose: Pose, rules: TieRules, beyond: float) -> Iterator[Span]:
    """Yield where the rails of another route, `station` of it nearby, cross the line square to `pose`.

    Nothing where it does not run the same way there, or has ended more than `beyond` mm before.
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
    if not -beyond <= station <= other.path.length + beyond or abs(ahead) > 1.0:
        return
    across = [centre + other.offset_at(face, station) / lean for face in other.faces]
    turn = folded(pose.heading - there.heading)
    askew = 2.0 * rules.switch_width * math.sin(min(abs(turn), _FAN))
    yield Span(other.name, min(across), max(across), station, turn, askew)
