"""Tell by formulas how a thrown point stands open: how far each place of it moves, and what throw holds an opening."""

from __future__ import annotations

import math

_HELD = 1e-9
"""A point that moves by less than this part of the throw is held there."""


def least_opening(
    stations: list[float], apart: list[float], *, bar: float, fix: float, throw: float, head: float, bent: bool
) -> tuple[float, float]:
    """Return (least opening in mm, its station) beside an open point.

    `apart` is the separation y of the faces at each of `stations`; the point is moved by `throw` D at `bar` and held at
    `fix`. With x = (s - bar)/(fix - bar) a rigid bar hinged at fix moves by d = D(1 - x); one that bends from there by
    d = D(1 - 1.5 x + 0.5 x^3) (a cantilever loaded at its end), and before the bar, where nothing bends it, goes on
    straight: d = D(1 - 1.5 x). The opening is d + max(0, y - head).
    """
    best = (math.inf, bar)
    for s, y in zip(stations, apart, strict=True):
        moved = throw * moved_share(s, bar=bar, fix=fix, bent=bent)
        best = min(best, (moved + max(0.0, y - head), s))
    return best


def moved_share(s: float, *, bar: float, fix: float, bent: bool) -> float:
    """Return by what part of the throw a point moves at station `s` (see `least_opening`): all where nothing holds."""
    if fix <= bar:
        return 1.0
    x = min((s - bar) / (fix - bar), 1.0)
    return 1 - 1.5 * x + 0.5 * max(x, 0.0) ** 3 if bent else 1 - x


def throw_to_hold(
    opening: float, stations: list[float], apart: list[float], *, bar: float, fix: float, head: float, bent: bool
) -> float | None:
    """Return the throw in mm that keeps an open point `opening` mm off its stock rail at all `stations`.

    The same formulas as `least_opening`, solved for D; None where no throw does, because the point is held where the
    faces have not opened that far.
    """
    throw = 0.0
    for s, y in zip(stations, apart, strict=True):
        missing = opening - max(0.0, y - head)
        if missing > 0.0:
            share = moved_share(s, bar=bar, fix=fix, bent=bent)
            if share < _HELD:
                return None
            throw = max(throw, missing / share)
    return throw
