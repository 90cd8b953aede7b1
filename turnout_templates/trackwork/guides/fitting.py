"""Fit a guiding rail into the room there is: one rule of giving way for wings and guards.

A rail wishes for its straight part and two flares. Where something is in its way it gives up at that end, in this
order: its flare down to the least that catches a wheel; then what its straight part has beyond the gap; then, a guard,
part of the gap itself. What is already laid, whether a head, a flangeway or a guiding rail, gives up nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.trackwork.guides.field import Field, Hit, Obstacle, overlaid
from turnout_templates.trackwork.guides.guide_shape import GuideShape
from turnout_templates.trackwork.guides.guides import LEAST_FLARE
from turnout_templates.trackwork.guides.touching import touching_end
from turnout_templates.trackwork.rails.rail_parts import Interval, Ring, RouteFace

_ROUNDS = 24
"""A flare that begins sooner stands further out, and may meet the same rail again a little sooner still; each round
halves what is left of that at least, where rails lean away from each other by more than a flare does."""
_STEP = 0.02
"""What a rail keeps (mm) from something in its way, so that rounding does not find it there again."""


class Wish(Struct, frozen=True):
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
    def bends(self) -> bool:
        """Whether the rail goes on round an elbow."""
        return self.keeps is None and any(self.closed)

    @property
    def grown(self) -> tuple[bool, bool]:
        """Which end grows out of another rail, so that the rails it stands between there are not in its way."""
        return self.closed if self.keeps else (False, False)


class Fitted(Struct, frozen=True):
    """What a guiding rail could have: its straight part, its ends, its outline, and what is in the way of more."""

    straight: Interval
    ends: Interval
    ring: Ring
    shortened_by: tuple[str, ...]


class _Limits(Struct):
    """How far a rail may reach each way, and what sets that."""

    low: float = float("-inf")
    high: float = float("inf")
    low_by: Hit | None = None
    high_by: Hit | None = None

    def lower(self, station: float, hit: Hit) -> None:
        if station < self.high:
            self.high, self.high_by = station, hit

    def raise_(self, station: float, hit: Hit) -> None:
        if station > self.low:
            self.low, self.low_by = station, hit

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(hit.met.label for hit in (self.low_by, self.high_by) if hit is not None))


def fit(field: Field, wish: Wish, middle: float, others: Sequence[Obstacle] = ()) -> Fitted | None:
    """Return what `wish` can have around the station `middle`, None where nothing can lie there.

    `others` are guiding rails that lie there already and give up nothing.
    """
    limits = _Limits()
    for _ in range(_ROUNDS):
        straight, ends = _within(wish, limits)
        if straight[1] <= straight[0]:
            return None
        shape = field.shape(wish.beside, wish.flangeway, straight, ends)
        barred = field.blocked(wish.beside, wish.flangeway, straight, ends, wish.own, bends=wish.bends)
        hits = [*barred, *overlaid(shape, others)]
        if not _give_way(wish, limits, hits, middle):
            return None if _spanned(wish, hits, middle) else _exact(field, wish, limits)
    return None


def _exact(field: Field, wish: Wish, limits: _Limits) -> Fitted | None:
    """Return a rail whose ends just touch what they give way to."""

    def ended(station: float, out: int) -> GuideShape:
        moved = replace(limits, high=station) if out > 0 else replace(limits, low=station)
        return field.shape(wish.beside, wish.flangeway, *_within(wish, moved))

    if limits.high_by is not None:
        hit = limits.high_by
        limits.high = touching_end(limits.high, 1, lambda station: ended(station, 1), hit.shape, hit.clear)
    if limits.low_by is not None:
        hit = limits.low_by
        limits.low = touching_end(limits.low, -1, lambda station: ended(station, -1), hit.shape, hit.clear)
    straight, ends = _within(wish, limits)
    if straight[1] <= straight[0]:
        return None
    return Fitted(straight, ends, field.shape(wish.beside, wish.flangeway, straight, ends).ring, limits.names)


def _give_way(wish: Wish, limits: _Limits, hits: Sequence[Hit], middle: float) -> bool:
    """Draw the limits in to what was hit on either side of `middle`; tell whether they moved.

    A rail that is grown gives way at its free end, wherever it is hit.
    """
    before = (limits.low, limits.high)
    for hit in hits:
        low, high = hit.over
        if not wish.grown[1] and (low > middle or wish.grown[0]):
            limits.lower(low - _STEP, hit)
        elif not wish.grown[0] and (high < middle or wish.grown[1]):
            limits.raise_(high + _STEP, hit)
    return (limits.low, limits.high) != before


def _spanned(wish: Wish, hits: Sequence[Hit], middle: float) -> bool:
    """Tell whether something lies across the middle of a rail that grows out of no other."""
    return not any(wish.grown) and any(hit.over[0] <= middle <= hit.over[1] for hit in hits)


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
    return (low, high), (max(wish.ends[0], limits.low), min(wish.ends[1], limits.high))
