"""Turn what is tied already, and the tracks ahead, into the turn from square of each further tie of a route.

A tie lies square to its route unless a tie that carries another track has to lie askew. From there the ties come back
to square as a fan does: all point to a pivot that lies a tie's length beside the centre of the track, so that they
stand half as close at one end as in the middle.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.carrying import Carrying

_STEEPEST = 1.0
"""No tie is turned further than half a right angle: the tangent of its turn."""
_FAN_CLEAR = 2.2
"""Ties of a fan stand this many widths apart in the middle, so that their ends stand just clear of each other."""

Turned = tuple[float, float]
"""A station of a route, and how far the tie there is turned from square (radians, left positive)."""


@dataclass(frozen=True, slots=True)
class Turn:
    """How far a tie is turned from square (radians, left positive), and the least distance to the next in its fan."""

    angle: float
    room: float


class Turning:
    """The turns that ties want, looked up once for every space of a route."""

    def __init__(self, carrying: Carrying, rules: TieRules) -> None:
        self.carrying = carrying
        self.rules = rules
        self._wanted: dict[tuple[str, int], float] = {}

    def reach(self, route: LaidRoute) -> float:
        """Return within how many mm along a route any turn has come back to square: the distance to the pivot."""
        offsets = [face.offset for face in route.faces]
        return _STEEPEST * (max(offsets) - min(offsets) + 2 * self.rules.overhang)

    def turn(self, route: LaidRoute, station: float, given: Sequence[Turned]) -> Turn:
        """Return the turn of a tie: the least that lets ties fan out from those `given` and from those wanted."""
        pivot = self.reach(route)
        fans = [(math.tan(turn), abs(at - station)) for at, turn in given]
        fans += self._wanted_near(route, station, pivot)
        slope, away = max(
            ((math.copysign(max(0.0, abs(slope) - away / pivot), slope), away) for slope, away in fans),
            key=lambda fan: abs(fan[0]),
            default=(0.0, 0.0),
        )
        angle = math.atan(slope)
        fanned = slope != 0.0 and away > 0.0
        return Turn(angle, _FAN_CLEAR * self.rules.switch_width / math.cos(angle) if fanned else 0.0)

    def _wanted_near(self, route: LaidRoute, station: float, reach: float) -> Iterator[tuple[float, float]]:
        """Yield the turns wanted nearby, as slopes, and how far away; what is wanted holds half a space either way."""
        space = self.rules.spacing
        for i in range(math.floor((station - reach) / space), math.ceil((station + reach) / space) + 1):
            if wanted := self._wanted_at(route, i):
                yield math.tan(wanted), max(0.0, abs(i * space - station) - 0.5 * space)

    def _wanted_at(self, route: LaidRoute, index: int) -> float:
        key = route.name, index
        if key not in self._wanted:
            at = index * self.rules.spacing
            self._wanted[key] = self.carrying.wanted(route, at) if 0.0 <= at <= route.path.length else 0.0
        return self._wanted[key]
