"""Which rails hang together as conductors: frozen values that tell the polarity of every place on every rail.

Said of the metal as it is laid: point rails count as joined to their stock rails, and rails as going on through frogs.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Literal

from msgspec import Struct, field

from turnout_templates.alignment.model import Departure, Way
from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import Hand, other

Turn = Literal[1, -1]
"""+1 where left goes over into left, -1 where it goes over into right."""

_WAYS: tuple[Way, Way] = (1, -1)
_AT_GAP = 1e-3
"""A rail that ends within this (mm) of a gap ends at it."""


class Meeting(Struct, frozen=True):
    """One end of the route `branch` on its parent; `way` is the direction on the branch from the tip to the frog."""

    branch: str
    way: Way
    departure: Departure

    @property
    def parent(self) -> str:
        """The route that the branch meets."""
        return self.departure.parent

    @property
    def turn(self) -> Turn:
        """Whether the branch's left rail goes over into the parent's left one: both run the same way from the tip."""
        return 1 if self.way == self.departure.way else -1

    def beyond(self, route: str) -> str:
        """Return the route that one comes to from `route`."""
        return self.parent if route == self.branch else self.branch


class Ring(Struct, frozen=True):
    """A ring of `routes` that comes back to its beginning with left and right exchanged.

    Taken round from the first route of the file; `meetings` lead from each to the next. Left meets right at `broken`,
    where both rails need gaps; from there the route `section` gives a `length` of ring (mm) to the next meeting.
    """

    routes: tuple[str, ...]
    meetings: tuple[Meeting, ...]
    broken: Meeting
    section: str
    length: float


class Crossing(Struct, frozen=True):
    """Two routes cross at `point`: the `frogs` of that place, and whether left lies by left there (`turn`).

    `judged` is False where the routes cross so squarely that V and K are the same.
    """

    first: str
    second: str
    frogs: tuple[str, ...]
    point: Point
    turn: Turn
    judged: bool


class Group(Struct, frozen=True):
    """Routes that are connected by rail, and how they are fed.

    Rails of the group `fed_with` and of this one have the same polarity names where the two agree at their crossings;
    that is this group itself where no earlier group is crossed. `turns` tells for each route whether its left rail
    has the polarity "left".
    """

    routes: tuple[str, ...]
    fed_with: str
    turns: Mapping[str, Turn]


class Circuit(Struct, frozen=True):
    """All that is known of polarity: `groups` in the order of the file, `rings`, and the crossings that do not agree.

    `opposed` are crossings whose V join one polarity and whose K join two. `reach` holds for the two ends of routes
    (by name and the way on from there) at which left meets right the station up to which rails still belong to the
    parent's polarity: there the gaps lie, behind the frogs of that switch. `far` holds for the same ends the station of
    the next frog or tip on the route: up to there it is plain track that can be reversed, if it has gaps there too.
    """

    groups: tuple[Group, ...]
    rings: tuple[Ring, ...]
    crossings: tuple[Crossing, ...]
    opposed: tuple[Crossing, ...]
    turns: Mapping[str, Turn]
    reach: Mapping[tuple[str, Way], float]
    far: Mapping[tuple[str, Way], float] = field(default_factory=dict)

    def polarity_at(self, route: str, hand: Hand, station: float) -> Hand:
        """Return the polarity, called left or right, of a rail of `route` at a station (mm)."""
        turn: int = self.turns[route]
        for way in _WAYS:
            end = self.reach.get((route, way))
            if end is not None and (end - station) * way > 0.0:
                turn = -turn
        return hand if turn > 0 else other(hand)

    def lengths(self, route: str, hand: Hand, low: float, high: float) -> tuple[tuple[float, float, Hand], ...]:
        """Return the stretches of a rail of `route` between two stations that are of one polarity, with that."""
        ends = [self.reach[route, way] for way in _WAYS if (route, way) in self.reach]
        inside = [end for end in ends if low + _AT_GAP < end < high - _AT_GAP]
        marks = sorted([low, *inside, high])
        return tuple((a, b, self.polarity_at(route, hand, (a + b) / 2)) for a, b in pairwise(marks))

    def polarities(self, route: str, hand: Hand, low: float, high: float) -> tuple[Hand, ...]:
        """Return the polarities of a rail of `route` from station `low` to `high`: two where it runs over a gap."""
        return tuple(dict.fromkeys(found for _, _, found in self.lengths(route, hand, low, high)))
