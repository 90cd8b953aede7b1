"""Turn what is tied already, and the tracks ahead, into the turn from square of each further tie of a route.

A tie lies square to its route unless a tie that carries another track has to lie askew. From there the ties come back
to square as a fan does: all point to a pivot that lies a tie's length beside the centre of the track, so that they
stand half as close at one end as in the middle.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.ties.carrying import EASY, Carrying

_FAN_CLEAR = 2.2
"""Ties of a fan stand this many widths apart in the middle at least, so that their ends stand just clear."""

Turned = tuple[float, float]
"""A station of a route, and how far the tie there is turned from square (radians, left positive)."""
Fan = tuple[float, float]
"""The tangent of a turn to follow, and how far along the route it is (mm)."""


class Turn(Struct, frozen=True):
    """How far a tie is turned from square (radians, left positive), and the least distance to the next in its fan."""

    angle: float
    room: float


class Turning:
    """The turns that ties want, looked up once for every space of a route."""

    def __init__(self, carrying: Carrying, rules: TieRules) -> None:
        self.carrying = carrying
        self.rules = rules
        self._wanted: dict[str, list[Turned]] = {}

    def fans(self, route: LaidRoute, station: float, carried: Sequence[Turned]) -> list[Fan]:
        """Return the turns that a tie at `station` has to follow: those of ties that carry the route, and those wanted.

        What is wanted where tracks lean much holds half a space either way.
        """
        given = [(math.tan(turn), abs(at - station)) for at, turn in self._near(carried, station)]
        wanted = self._near(self._wanted_along(route), station)
        space = self.rules.spacing / 2
        here = math.tan(self.carrying.wanted(route, station)), 0.0
        return [*given, here, *((math.tan(turn), max(0.0, abs(at - station) - space)) for at, turn in wanted)]

    def turn(self, fans: Sequence[Fan], length: float) -> Turn:
        """Return the least turn of a tie that follows all `fans`; `length` is twice its longer arm from the track."""
        eased = [(math.copysign(max(0.0, abs(slope) - away / length), slope), away) for slope, away in fans]
        slope, away = max(eased, key=lambda fan: abs(fan[0]), default=(0.0, 0.0))
        angle = math.atan(slope)
        fanned = slope != 0.0 and away > 0.0
        clear = max(_FAN_CLEAR * self.rules.switch_width, 2.0 * (self.rules.switch_width + self.rules.gap))
        return Turn(angle, clear / math.cos(angle) if fanned else 0.0)

    def _near(self, turned: Sequence[Turned], station: float) -> Sequence[Turned]:
        """Return those of `turned`, in order of station, that may matter to a tie."""
        reach = self.carrying.nearby.reach
        low, high = (bisect_left(turned, (at, -math.inf)) for at in (station - reach, station + reach))
        return turned[low:high]

    def _wanted_along(self, route: LaidRoute) -> list[Turned]:
        """Return the turns wanted where tracks lean much on a route, looked up once in every space."""
        if route.name not in self._wanted:
            count = int(route.path.length / self.rules.spacing)
            stations = [i * self.rules.spacing for i in range(count + 1)]
            turned = [(at, self.carrying.wanted(route, at, EASY)) for at in stations]
            self._wanted[route.name] = [(at, turn) for at, turn in turned if turn]
        return self._wanted[route.name]
