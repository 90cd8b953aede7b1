"""Fit a guiding rail into the room there is: one rule of giving way for wings and guards.

A rail wishes for its straight part and two flares. Where something is in its way it gives up at that end, in this
order: its flare down to the least that catches a wheel; then what its straight part has beyond the gap; then, a guard,
part of the gap itself. What is already laid, whether a head, a flangeway or a guiding rail, gives up nothing.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass

from turnout_templates.trackwork.field import Field, stations_overlaid
from turnout_templates.trackwork.guides import LEAST_FLARE, guide_ring
from turnout_templates.trackwork.rail_parts import Interval, Ring, RouteFace

_ROUNDS = 24
"""A flare that begins sooner stands further out, and may meet the same rail again a little sooner still; each round
halves what is left of that at least, where rails lean away from each other by more than a flare does."""
_STEP = 0.02
"""What a rail keeps (mm) from something in its way, so that rounding does not find it there again."""
_STUB = 0.1
"""What is left of a rail (mm) that something bars from where it grows on: it is told how much is missing."""
Named = tuple[str, Ring]


@dataclass(frozen=True, slots=True)
class Wish:
    """A guiding rail with all the room it could use, stations of the route of `beside`.

    `straight` and `ends` are its straight part and its ends with full flares; `own` the faces it belongs to or lies
    beside. An end that is `closed` has no flare: a wing at its knuckle, a bent guard at its bend. `keeps` is what the
    straight part of a wing gives up for no flare: all up to the practical point; None of a guard.
    """

    beside: RouteFace
    flangeway: float
    straight: Interval
    ends: Interval
    own: tuple[RouteFace, ...]
    closed: tuple[bool, bool] = (False, False)
    keeps: Interval | None = None

    @property
    def grown(self) -> tuple[bool, bool]:
        """Which end grows out of another rail, so that the rails it stands between there are not in its way."""
        return self.closed if self.keeps else (False, False)


@dataclass(frozen=True, slots=True)
class Fitted:
    """What a guiding rail could have: its straight part, its ends, its outline, and what is in the way of more."""

    straight: Interval
    ends: Interval
    ring: Ring
    shortened_by: tuple[str, ...]


@dataclass(slots=True)
class _Limits:
    """How far a rail may reach each way, and what sets that."""

    low: float = float("-inf")
    high: float = float("inf")
    low_by: str = ""
    high_by: str = ""

    def lower(self, station: float, name: str) -> None:
        if station < self.high:
            self.high, self.high_by = station, name

    def raise_(self, station: float, name: str) -> None:
        if station > self.low:
            self.low, self.low_by = station, name

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(name for name in (self.low_by, self.high_by) if name))


def fit(field: Field, wish: Wish, middle: float, others: Sequence[Named] = ()) -> Fitted | None:
    """Return what `wish` can have around the station `middle`, None where nothing can lie there.

    `others` are guiding rails, by name, that lie there already and give up nothing. What lies between `middle` and an
    end that is grown is left alone.
    """
    limits = _Limits()
    path = field.layout.route(wish.beside.route).path
    for _ in range(_ROUNDS):
        straight, ends = _within(wish, limits)
        if straight[1] <= straight[0]:
            return None
        ring = guide_ring(path, wish.beside.face, wish.flangeway, field.head, straight, ends)
        hits = list(field.blocked(wish.beside, wish.flangeway, straight, ends, wish.own))
        hits += [(over, name) for name, other in others for over in stations_overlaid(ring, other, path)]
        moved = _give_way(wish, limits, hits, middle, {name for name, _ in others})
        if not moved:
            return Fitted(straight, ends, ring, limits.names) if not _spanned(wish, hits, middle) else None
    if not any(wish.grown):
        return None
    straight, ends = _within(wish, _Limits(low=wish.ends[1]) if wish.grown[1] else _Limits(high=wish.ends[0]))
    ring = guide_ring(path, wish.beside.face, wish.flangeway, field.head, straight, ends)
    return Fitted(straight, ends, ring, limits.names)


def _give_way(
    wish: Wish, limits: _Limits, hits: Sequence[tuple[Interval, str]], middle: float, others: Set[str]
) -> bool:
    """Draw the limits in to what was hit on either side of `middle`; tell whether they moved.

    A rail that is grown gives way to another guiding rail even before `middle`.
    """
    before = (limits.low, limits.high)
    for (low, high), name in hits:
        if not wish.grown[1] and (low > middle or (wish.grown[0] and name in others)):
            limits.lower(low - _STEP, name)
        elif not wish.grown[0] and (high < middle or (wish.grown[1] and name in others)):
            limits.raise_(high + _STEP, name)
    return (limits.low, limits.high) != before


def _spanned(wish: Wish, hits: Sequence[tuple[Interval, str]], middle: float) -> bool:
    """Tell whether something lies across the middle of a rail that grows out of no other."""
    return not any(wish.grown) and any(low <= middle <= high for (low, high), _ in hits)


def _within(wish: Wish, limits: _Limits) -> tuple[Interval, Interval]:
    """Return straight part and ends of a rail that stays within limits."""
    least = LEAST_FLARE * wish.flangeway
    low, high = wish.straight
    if limits.high < wish.ends[1]:
        keep = wish.keeps[1] if wish.keeps else limits.high - least
        high = min(high, limits.high, max(keep, limits.high - least))
    if limits.low > wish.ends[0]:
        keep = wish.keeps[0] if wish.keeps else limits.low + least
        low = max(low, limits.low, min(keep, limits.low + least))
    ends = (max(wish.ends[0], limits.low), min(wish.ends[1], limits.high))
    if wish.grown[0] and high < low + _STUB:
        return (low, low + _STUB), (low, low + _STUB)
    if wish.grown[1] and low > high - _STUB:
        return (high - _STUB, high), (high - _STUB, high)
    return (low, high), ends
