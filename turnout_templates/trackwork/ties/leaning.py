"""Turn switches and frogs into how much one track is taken to lean on another where a tie carries both.

Ties that are square or turned to the mean go by what the tracks lean at each place. Fanned ones go by what they lean at
the frog, in the measure in which they have come there from the points: so that each is turned by as much more than the
one before it, whatever the branch is made of.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.points.switch_model import Switch


class Fanned(Struct, frozen=True):
    """A stretch of a route over which another comes to lean on it by `lean`: from `points` to `frog` (stations).

    From the `tip`, where the routes part, to the points, the filed tip, they are taken to lie alike.
    """

    tip: float
    points: float
    frog: float
    lean: float

    def lean_at(self, station: float) -> float | None:
        """Return the lean at a station of the route between tip and frog, None elsewhere."""
        if not min(self.tip, self.frog) <= station <= max(self.tip, self.frog):
            return None
        return max(0.0, (station - self.points) / (self.frog - self.points)) * self.lean


class Leaning:
    """Tells how much one route leans on another (radians, left positive)."""

    def __init__(self, rules: TieRules, layout: Layout, switches: Sequence[Switch], frogs: Sequence[Frog]) -> None:
        self._fanned: dict[tuple[str, str], list[Fanned]] = {}
        if rules.orientation == "fanned":
            for switch, frog in _turnouts(switches, frogs):
                self._add(layout, switch, (frog.first.route, frog.s), (frog.second.route, frog.t))
                self._add(layout, switch, (frog.second.route, frog.t), (frog.first.route, frog.s))

    def _add(self, layout: Layout, switch: Switch, on: tuple[str, float], other: tuple[str, float]) -> None:
        """Note how the second of two routes comes to lean on the first, whose stations at the frog are given."""
        one, another = layout.route(on[0]), layout.route(other[0])
        tip, points = (nearest_station(one.path, pose.point)[0] for pose in (switch.tip, switch.filed_tip))
        lean = folded(another.path.heading_at(other[1]) - one.path.heading_at(on[1]))
        if points != on[1]:
            self._fanned.setdefault((one.name, another.name), []).append(Fanned(tip, points, on[1], lean))

    def lean(self, route: LaidRoute, station: float, other: LaidRoute, near: float) -> float:
        """Return how much `other`, at its station `near`, leans on `route` for a tie at `station`."""
        for fanned in self._fanned.get((route.name, other.name), ()):
            lean = fanned.lean_at(station)
            if lean is not None:
                return lean
        return folded(other.path.heading_at(near) - route.path.heading_at(station))


def _turnouts(switches: Sequence[Switch], frogs: Sequence[Frog]) -> list[tuple[Switch, Frog]]:
    """Return for each switch and each two routes that part there the V that lies furthest from the tip."""
    by_id = {switch.id: switch for switch in switches}
    last: dict[tuple[str, frozenset[str]], tuple[Switch, Frog]] = {}
    for frog in frogs:
        switch = by_id.get(frog.switch or "")
        if switch is not None and frog.kind == "V":
            key = switch.id, frozenset((frog.first.route, frog.second.route))
            before = last.get(key)
            if before is None or _away(switch, frog) > _away(*before):
                last[key] = switch, frog
    return list(last.values())


def _away(switch: Switch, frog: Frog) -> float:
    return math.dist(switch.filed_tip.point, frog.point)


def folded(angle: float) -> float:
    """Return the angle between two lines without direction, at most a right angle to either side.

    At a right angle the side is the one that the directions say, whatever rounding does.
    """
    turn = math.remainder(angle, math.tau)
    return turn - math.copysign(math.pi, turn) if abs(turn) > math.pi / 2 + _SQUARE else turn


_SQUARE = 1e-6
"""Angles (radians) this near are equal."""
