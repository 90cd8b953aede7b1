"""Turn ties and the places that they must hold into ties of which none is missing, as few as can be having moved.

Where a tie that lies beside a place is too short to reach it, it is made longer. Where none lies near enough, the
nearest is moved up to it, and those on both sides of it move with it, each by less than the one before, so that their
spaces stay even. Where they cannot, one more tie is laid; where that finds no room either, it is said what is missing.
"""

from __future__ import annotations

import math
from bisect import bisect_left, insort
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.ties.holding import Held, bound
from turnout_templates.trackwork.ties.tie_parts import MissingTie, Tie
from turnout_templates.trackwork.ties.tier import Tier

_FOLLOWING = (5, 3, 2, 1)
"""So many ties on each side share in a shift, the more the better: common practice, no source."""
_WELL_WITHIN = 0.9
"""A tie that is moved comes so near, as a share of the bound, for what it lies askew and curves take of its way."""
_LOOKED_AT = 5.0
"""Ties whose stations are further than this many spaces from a place's do not hold it, however askew they lie."""
_CLOSEST = 0.501
"""Ties of one route whose stations are nearer than this many spaces leave no room to pack ballast between them
(common practice, no source)."""
_ROUNDING = 1e-6
"""Places that differ by less than this (mm) are one."""


class _Grip(Struct, frozen=True):
    """How a tie lies to a place: the place is `away` mm from its middle line, ahead of it when positive."""

    tie: Tie
    away: float

    def lies(self, inward: float | None) -> bool:
        """Tell whether the tie lies on the side of the place that the heading `inward` leads to, where one is given."""
        return inward is None or self.away * math.sin(self.tie.angle - inward) <= _ROUNDING


class Holders:
    """Tells which tie holds a place, and moves ties to hold what none does."""

    def __init__(self, layout: Layout, tier: Tier) -> None:
        self.layout = layout
        self.tier = tier
        self.bound = bound(tier.rules)
        self._held: dict[tuple[int, int], list[Held]] = {}
        self._along: dict[str, list[tuple[float, Tie]]] = {}
        for tie in tier.ties:
            self._note(tie)
        for ties in self._along.values():
            ties.sort(key=_station)

    def _note(self, tie: Tie) -> None:
        insort(self._along.setdefault(tie.route, []), (tie.station, tie), key=_station)

    def holder(self, held: Held) -> tuple[Tie | None, float]:
        """Return the tie that holds a place, and how far (mm) its middle lies from it: that of the nearest if none."""
        grips = (grip for grip in self._grips(held.at) if grip.lies(held.inward))
        near = min(grips, key=_nearness, default=None)
        if near is None:
            return None, math.inf
        return near.tie if abs(near.away) <= self.bound + _ROUNDING else None, abs(near.away)

    def under(self, at: Point, reach: float) -> Iterator[Tie]:
        """Yield the ties that lie under a place or within `reach` mm of it along the track."""
        for grip in self._grips(at):
            if abs(grip.away) < reach + grip.tie.width / 2:
                yield grip.tie

    def held_by(self, places: Sequence[Held]) -> dict[Tie, list[Held]]:
        """Return the places by the tie that holds them."""
        held_by: dict[Tie, list[Held]] = {}
        for held in places:
            tie = self.holder(held)[0]
            if tie is not None:
                held_by.setdefault(tie, []).append(held)
        return held_by

    def hold(self, places: Sequence[Held]) -> Iterator[MissingTie]:
        """Move or lay ties for the places that none holds, the furthest from any first; yield those that remain.

        How far a tie lies from these is told once all have been moved.
        """
        for held in places:
            if self.holder(held)[0] is not None:
                self._note_held(held)
        missed: list[Held] = []
        for held in sorted(places, key=lambda held: -_evened(self.holder(held)[1])):
            if self.holder(held)[0] is None:
                if self._longer(held) or self._shifted(held) or self._one_more(held):
                    self._note_held(held)
                else:
                    missed.append(held)
        for held in missed:
            tie, away = self.holder(held)
            if tie is None:
                yield MissingTie(held.what, held.at, away, self.bound)

    def _note_held(self, held: Held) -> None:
        self._held.setdefault(self._cell(held.at), []).append(held)

    def _cell(self, at: Point) -> tuple[int, int]:
        reach = self.tier.carrying.nearby.reach
        return math.floor(at[0] / reach), math.floor(at[1] / reach)

    def _held_near(self, at: Point) -> list[Held]:
        """Return the places held within reach of one, and some further off."""
        x, y = self._cell(at)
        return [p for i in (-1, 0, 1) for j in (-1, 0, 1) for p in self._held.get((x + i, y + j), ())]

    def _grips(self, at: Point, *, all_near: bool = False) -> Iterator[_Grip]:
        """Yield the ties near a place: those that are long enough to reach it, unless `all_near` are asked for."""
        for route, station in self.tier.carrying.nearby.stations(at):
            for tie in self._near(route.name, station):
                x, y = at[0] - tie.centre[0], at[1] - tie.centre[1]
                along = x * math.cos(tie.angle) + y * math.sin(tie.angle)
                if all_near or abs(along) <= tie.length / 2:
                    yield _Grip(tie, x * math.sin(tie.angle) - y * math.cos(tie.angle))

    def _near(self, route: str, station: float) -> Iterable[Tie]:
        ties = self._along.get(route, [])
        reach = _LOOKED_AT * 2 * self.bound
        low, high = (bisect_left(ties, at, key=_station) for at in (station - reach, station + reach))
        return (tie for _, tie in ties[low:high])

    def _longer(self, held: Held) -> bool:
        """Make a tie that lies beside a place long enough to hold it; tell whether one could be."""
        near = (grip for grip in self._grips(held.at, all_near=True) if grip.lies(held.inward))
        beside = (grip for grip in near if abs(grip.away) <= self.bound)
        for grip in sorted(beside, key=_nearness):
            if grip.tie.role != "headblock" and self._relaid([grip.tie], [0.0], held, also=held.route):
                return True
        return False

    def _shifted(self, held: Held) -> bool:
        """Move the nearest tie that can be moved so that it holds a place; tell whether one could."""
        for grip in sorted(self._grips(held.at), key=_nearness)[:2]:
            by = math.copysign(abs(grip.away) - _WELL_WITHIN * self.bound, grip.away)
            for count in _FOLLOWING:
                shares = dict([*self._following(grip.tie, 1, count), *self._following(grip.tie, -1, count)])
                if shares and self._relaid(list(shares), [by * share for share in shares.values()], held):
                    return True
        return False

    def _following(self, tie: Tie, step: int, count: int) -> Iterator[tuple[Tie, float]]:
        """Yield a tie and `count` - 1 of those to one side of it, each with its share of a shift.

        A headblock stays where it is, so that those before it share what there is; a rail's end ends the row.
        """
        ties = self._along[tie.route]
        i = ties.index((tie.station, tie), bisect_left(ties, tie.station, key=_station))
        row = [other for _, other in (ties[i : i + count] if step > 0 else ties[max(0, i - count + 1) : i + 1][::-1])]
        free = next((i for i, other in enumerate(row) if other.role == "headblock"), len(row))
        whole = free if free < len(row) else count
        yield from ((other, 1 - i / whole) for i, other in enumerate(row[:free]))

    def _relaid(self, ties: Sequence[Tie], shifts: Sequence[float], held: Held, also: str = "") -> bool:
        """Lay ties anew, each moved along its route, if all find room and hold a place and all that they held."""
        route = self.layout.route(ties[0].route)
        stations = [tie.station + shift for tie, shift in zip(ties, shifts, strict=True)]
        if not all(0.0 <= station <= route.path.length for station in stations):
            return False
        kept = [place for place in self._held_near(held.at) if self.holder(place)[0] in ties]
        self._take_up(ties)
        laid: list[Tie] = []
        for station in stations:
            tie = self.tier.tie_at(route, station, also)
            if not self._finds_room(tie):
                break
            self._put(tie)
            laid.append(tie)
        if len(laid) == len(ties) and all(self.holder(place)[0] is not None for place in (held, *kept)):
            return True
        self._take_up(laid)
        for tie in ties:
            self._put(tie)
        return False

    def _one_more(self, held: Held) -> bool:
        """Lay one more tie under a place, if it finds room."""
        for route, station in sorted(self.tier.carrying.nearby.stations(held.at), key=lambda n: _away(n, held.at)):
            tie = self.tier.tie_at(route, station)
            if self._finds_room(tie):
                self._put(tie)
                if self.holder(held)[0] is not None:
                    return True
                self._take_up([tie])
        return False

    def _finds_room(self, tie: Tie) -> bool:
        """Tell whether a tie lies clear of all others, and far enough from those of its own route."""
        ties = self._along.get(tie.route, [])
        least = _CLOSEST * self.tier.rules.spacing
        after = bisect_left(ties, tie.station, key=_station)
        beside = ties[max(0, after - 1) : after + 1]
        return self.tier.is_free(tie) and all(abs(station - tie.station) >= least for station, _ in beside)

    def _put(self, tie: Tie) -> None:
        self.tier.put(tie)
        self._note(tie)

    def _take_up(self, ties: Iterable[Tie]) -> None:
        for tie in ties:
            self.tier.take_up(tie)
            self._along[tie.route].remove((tie.station, tie))


def _evened(distance: float) -> float:
    """Return a distance without the rounding that would put alike ones in an order."""
    return distance if math.isinf(distance) else round(distance, 6)


def _nearness(grip: _Grip) -> tuple[float, float]:
    """Return what ties are preferred by: how near they lie, of those alike the one first along its route."""
    return _evened(abs(grip.away)), grip.tie.station


def _station(entry: tuple[float, Tie]) -> float:
    return entry[0]


def _away(near: tuple[LaidRoute, float], at: Point) -> float:
    route, station = near
    return math.dist(route.path.point_at(station), at)
