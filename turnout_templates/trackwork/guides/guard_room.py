"""Find the room for one guard around a part of a gap, beside guards that lie there already."""

from __future__ import annotations

from collections.abc import Sequence

from turnout_templates.trackwork.frogs.frog_parts import Guard
from turnout_templates.trackwork.guides.field import Field, Obstacle, strip_obstacle
from turnout_templates.trackwork.guides.fitting import Fitted, Wish, fit
from turnout_templates.trackwork.guides.guide_shape import StripShape
from turnout_templates.trackwork.guides.guides import FLARE_OPENING, LEAST_FLARE
from turnout_templates.trackwork.rails.rail_parts import Interval
from turnout_templates.trackwork.rails.regions import overlap

ROUNDING = 1e-6
"""Stations and flangeways that differ by less than this (mm) are one."""


def best_fit(field: Field, wish: Wish, part: Interval, others: Sequence[Obstacle]) -> Fitted | None:
    """Return what can be had around a part of a gap: of its middle and its ends, where most of it can be covered."""
    best = None
    for u in (0.5, 0.1, 0.9):
        fitted = fit(field, wish, part[0] + u * (part[1] - part[0]), others)
        if fitted is not None and holds(fitted.straight, part):
            return fitted
        if fitted is not None and (best is None or _covered(fitted, part) > _covered(best, part) + ROUNDING):
            best = fitted
    return best


def _covered(fitted: Fitted, part: Interval) -> float:
    """Return how much (mm) of a part of a gap a guard covers."""
    over = overlap(fitted.straight, part)
    return over[1] - over[0] if over else 0.0


def is_worth_it(wish: Wish, fitted: Fitted, part: Interval) -> bool:
    """Tell whether a guard covers anything, and is straight for as long as its shortest flare at least.

    One that goes on round a bend is long enough.
    """
    length = fitted.straight[1] - fitted.straight[0]
    goes_on = any(wish.closed[k] and fitted.ends[k] == wish.ends[k] for k in (0, 1))
    return overlap(fitted.straight, part) is not None and (goes_on or length >= LEAST_FLARE * wish.flangeway)


def kept_clear(field: Field, guard: Guard) -> Obstacle:
    """Return the place of a guard with a head's width free beyond its ends, for another beside the same face.

    All of it beside the face, as far as the widest flare of any gauge there reaches: flares of two gauges begin at
    different distances, and would cross.
    """
    path, face = field.layout.route(guard.beside.route).path, guard.beside.face
    low, high = max(guard.ends[0] - field.head, 0.0), min(guard.ends[1] + field.head, path.length)
    widest = max(gauge.guard_flangeway for gauge in face.gauges) * (1.0 + FLARE_OPENING) + field.head
    far = face.offset - face.outward * widest
    return strip_obstacle(guard.id, StripShape(path, face.offset, far, (low, high)))


def holds(whole: Interval, part: Interval) -> bool:
    """Tell whether one interval holds another, but for rounding."""
    return whole[0] <= part[0] + ROUNDING and whole[1] >= part[1] - ROUNDING
