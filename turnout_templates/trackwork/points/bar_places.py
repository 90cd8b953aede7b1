"""Find where the throw bar of each switch lies: between two ties, its headblocks, which it lies alongside.

By itself it lies half a tie space behind the filed tip, or nearer where the points are short. Where it or its
headblocks would lie on those of another switch, it lies between that one's headblock and the next tie, or one further
on: as a second pair of points at one tip is thrown, or those of two tracks on the same ties.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.alignment.model import Layout, View
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, Room, rectangle
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.points.switch_model import Headblock, Switch
from turnout_templates.trackwork.rails.across import station_at

_WIDTH = 0.6
"""Width of the throw bar in clear spaces between the headblocks (common practice, no source: room to either side)."""
_MORE_SPACES = 2
"""A bar is moved on by so many tie spaces at the most from that of another switch (common practice, no source)."""
_HALVES = (-0.5, 0.5)
"""Where the headblocks lie, in tie spaces from the bar."""


class BarPlace(Struct, frozen=True):
    """Where a throw bar lies: at `station` of the parent, turned by `turn` from square to it (radians, left positive).

    Its headblocks lie half a space before and behind the distance `at` (mm) on the track of the switch `on`, as seen
    from that one's tip.
    """

    station: float
    turn: float
    pose: Pose
    on: Switch
    at: float


class BarPlaces:
    """Where the throw bars of a layout lie, one after another in the order of the switches."""

    def __init__(self, spec: Spec, layout: Layout) -> None:
        self.spec, self.layout = spec, layout
        self.space = spec.ties.switch_spacing
        self.bars, self.beds = Room(4 * self.space), Room(4 * self.space)
        self.placed: dict[Outline, BarPlace] = {}

    def place(self, switch: Switch, to_bar: float, last: float, travel: float) -> BarPlace:
        """Return where the bar of a switch lies: `to_bar` mm behind the filed tip, or at most `last` mm behind it.

        `travel` is about how far (mm) it moves, over which it keeps clear of the bars that were placed before.
        """
        own = self._by_itself(switch, switch.filed_station + switch.way * to_bar)
        met = [self.placed[bed] for bed in self.beds.overlapped(self._bed(switch, own))]
        further = (place for other in met for place in self._along_from(switch, own, other))
        clear = (place for place in further if self._is_clear(switch, place, last, travel))
        chosen = next(clear, own)
        self.bars.take(self._swept(switch, chosen, travel))
        bed = self._bed(switch, chosen)
        self.beds.take(bed)
        self.placed[bed] = chosen
        return chosen

    def headblocks(self, switch: Switch, place: BarPlace) -> Iterator[Headblock]:
        """Yield the two ties beside a bar, longer on the side to which it reaches out."""
        for half in _HALVES:
            view, u = self._track(place.on, place.at + half * self.space)
            alike = math.cos(view.path.heading_at(u) - place.pose.heading) > 0.0
            yield Headblock(view.name, view.station(u), switch.bar_side * view.way * (1 if alike else -1))

    def _track(self, switch: Switch, u: float) -> tuple[View, float]:
        """Return the route on which ties lie at the distance `u` on the parent's view, and the distance on its own.

        That is the parent, or beyond its end the route that goes on straight from the tip.
        """
        parent = self._parent(switch)
        beyond = u - parent.path.length
        if switch.onward[0] == switch.parent or beyond < 0.0:
            return parent, u
        route = self.layout.route(switch.onward[0])
        here = switch.end_of(route)
        return (parent, u) if here is None else (View(route, here[0]), beyond)

    def _parent(self, switch: Switch) -> View:
        return View(self.layout.route(switch.parent), switch.way)

    def _by_itself(self, switch: Switch, station: float) -> BarPlace:
        """Return where a bar lies that no other is in the way of: square to the track that its ties lie on."""
        u = self._parent(switch).station(station)
        return self._square_to(switch, station, switch, u)

    def _square_to(self, switch: Switch, station: float, on: Switch, at: float) -> BarPlace:
        """Return the place of a bar at a station of its switch's parent, alongside ties at `at` on the track `on`."""
        track, u = self._track(on, at)
        heading, pose = track.path.heading_at(u), switch.pose_on(self.layout.route(switch.parent).path, station)
        turn = 0.0 if track.name == switch.parent else _turn(heading - pose.heading)
        return BarPlace(station, turn, pose.turned(turn), on, at)

    def _along_from(self, switch: Switch, own: BarPlace, other: BarPlace) -> Iterator[BarPlace]:
        """Yield where a bar may lie along the ties of another, nearer places first."""
        places = (self._alongside(switch, own, other, count) for count in range(1, _MORE_SPACES + 1))
        yield from (place for place in places if place is not None)

    def _is_clear(self, switch: Switch, place: BarPlace, last: float, travel: float) -> bool:
        """Tell whether a bar there lies behind the filed tip, at most `last` mm, and clear of the bars so far."""
        within = 0.0 < (place.station - switch.filed_station) * switch.way <= last
        return within and self.bars.is_free(self._swept(switch, place, travel))

    def _alongside(self, switch: Switch, own: BarPlace, other: BarPlace, count: int) -> BarPlace | None:
        """Return the place `count` spaces further toward the frog than another bar, None where no such track is."""
        way = 1 if math.cos(other.pose.heading - own.pose.heading) > 0.0 else -1
        at = other.at + way * count * self.space
        track, u = self._track(other.on, at)
        if not 0.0 < u < track.path.length - self.space / 2:
            return None
        parent = self._parent(switch)
        near = parent.station(own.station)
        beside = station_at(parent.path, 0.0, track.path.pose_at(u), 0.0, near)
        return self._square_to(switch, parent.station(beside), other.on, at)

    def _swept(self, switch: Switch, place: BarPlace, travel: float) -> Outline:
        """Return what a bar covers somewhere in its travel."""
        right, left = bar_reach(self.spec, self.layout, switch)
        half = bar_width(self.spec) / 2
        return rectangle(place.pose, half, half, travel / 2 - right, left + travel / 2)

    def _bed(self, switch: Switch, place: BarPlace) -> Outline:
        """Return what a bar's headblocks and the space between them cover."""
        right, left = bar_reach(self.spec, self.layout, switch)
        half = (self.space + self.spec.ties.switch_width) / 2
        return rectangle(place.pose, half, half, -right, left)


def bar_width(spec: Spec) -> float:
    """Return how wide (mm) throw bars are."""
    return _WIDTH * (spec.ties.switch_spacing - spec.ties.switch_width)


def bar_reach(spec: Spec, layout: Layout, switch: Switch) -> tuple[float, float]:
    """Return from where to where (mm to the left of its pose) the bar of a switch reaches."""
    reach = spec.ties.overhang + spec.ties.headblock_overhang
    offsets = [switch.way * face.offset for face in layout.route(switch.parent).faces]
    right = min(offsets) - (reach if switch.bar_side < 0 else spec.rail.base)
    return right, max(offsets) + (reach if switch.bar_side > 0 else spec.rail.base)


def _turn(angle: float) -> float:
    """Return the turn (radians, left positive) from one line to another, whichever way either is looked along."""
    return math.remainder(angle, math.pi)
