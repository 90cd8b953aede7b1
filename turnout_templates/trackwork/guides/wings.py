"""Lay the wing rails of V frogs.

From the knuckle, where two approaching gauge faces are one flangeway apart, each closure rail is bent to run along the
other face at a flangeway, past the practical point until the V has a full head, and is flared from there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from turnout_templates.trackwork.frogs.frog_parts import BarredWing, Frog, Wing
from turnout_templates.trackwork.guides.field import Field, Obstacle, guide_obstacle, overlaid, pairs_that_meet
from turnout_templates.trackwork.guides.fitting import Fitted, Wish, fit
from turnout_templates.trackwork.guides.guides import FLARE_LENGTH, LEAST_FLARE, STEEP, guide_ring
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace

_ROUNDING = 1e-9
"""Lengths that differ by less than this (mm) are one."""


def lay_wings(field: Field, frogs: tuple[Frog, ...]) -> tuple[tuple[Wing, ...], tuple[BarredWing, ...]]:
    """Return two wing rails, W1, W2 ..., for each V frog with a knuckle and a practical point, and those without room.

    The wings of frogs that come first keep what they have, and later ones give way to them (see `fitting`). One that
    could be straight for less than two flangeways is left out, as a guard would be.
    """
    wished = [wing for frog in frogs for wing in _wished(field, frog)]
    near: dict[int, list[int]] = {}
    for i, j in pairs_that_meet([wing.ring for wing, _, _ in wished]):
        near.setdefault(j, []).append(i)
    laid: dict[int, tuple[Wing, Obstacle]] = {}
    barred: list[BarredWing] = []
    for j, (wing, wish, middle) in enumerate(wished):
        others = [laid[i][1] for i in near.get(j, []) if i in laid]
        fitted = fit(field, wish, middle, others)
        if fitted is None or fitted.straight[1] - fitted.straight[0] < _least(wish):
            barred.append(_barred(field, wing, wish, others, fitted))
            continue
        found = _laid(replace(wing, id=f"W{len(laid) + 1}"), wish, fitted)
        shape = field.shape(found.beside, found.flangeway, found.straight, found.ends)
        laid[j] = found, guide_obstacle(found.id, shape)
    return tuple(wing for wing, _ in laid.values()), tuple(barred)


def _least(wish: Wish) -> float:
    """Return how long (mm) a wing must be straight to be laid: to the practical point, or to guide a wheel at all."""
    low, high = wish.keeps or wish.straight
    return min(high - low - _ROUNDING, LEAST_FLARE * wish.flangeway)


def _barred(field: Field, wing: Wing, wish: Wish, others: Sequence[Obstacle], fitted: Fitted | None) -> BarredWing:
    """Return what is told of a wing that finds no room: how far it could reach, and what is in the way."""
    knuckle = wing.straight[0] if wish.closed[0] else wing.straight[1]
    reach = 0.0 if fitted is None else fitted.straight[1] - fitted.straight[0]
    names = fitted.shortened_by if fitted is not None else ()
    if not names:
        gap = wish.keeps or wish.straight
        found = [
            *field.blocked(wish.beside, wish.flangeway, gap, gap, wish.own),
            *overlaid(field.shape(wish.beside, wish.flangeway, gap, gap), others),
        ]
        names = tuple(dict.fromkeys(hit.met.label for hit in found))
    return BarredWing(wing.frog, wing.continues, wing.beside, knuckle, reach, names)


def _wished(field: Field, frog: Frog) -> Iterator[tuple[Wing, Wish, float]]:
    """Yield the wings of a frog as they would be with all the room, and a station that each surely covers."""
    if frog.kind != "V" or frog.practical_stations is None or frog.angle > STEEP:
        return
    owners = (frog.first, frog.second)
    for own, other in ((0, 1), (1, 0)):
        nose = frog.noses[own]
        if nose is not None:
            yield _wish(field, frog, owners[own], other, nose)


def _wish(field: Field, frog: Frog, own: RouteFace, other: int, nose: float) -> tuple[Wing, Wish, float]:
    """Return the wing rail that goes on from `own` beside the face `other` of the frog."""
    beside, station = ((frog.first, frog.s), (frog.second, frog.t))[other]
    way = frog.heel_directions[other]
    path = field.layout.route(beside.route).path
    knuckle_point = field.layout.route(own.route).path.point_at(nose, own.face.offset)
    knuckle = path.foot_near(knuckle_point, station)[0]
    practical = station if frog.practical_stations is None else frog.practical_stations[other]
    full_head = field.head / (2 * math.sin(frog.angle / 2))
    flangeway = beside.face.flangeway
    last = min(max(station + way * full_head, 0.0), path.length)
    end = min(max(last + way * FLARE_LENGTH * flangeway, 0.0), path.length)
    straight, ends = _ordered(knuckle, last), _ordered(knuckle, end)
    ring = guide_ring(path, beside.face, flangeway, field.head, straight, ends)
    closed = (way > 0, way < 0)
    wish = Wish(beside, flangeway, straight, ends, (own, beside), closed, _ordered(knuckle, practical))
    return Wing("", frog.id, own, beside, straight, end, flangeway, ring, end), wish, station


def _laid(wing: Wing, wish: Wish, fitted: Fitted) -> Wing:
    """Return a wing with what it could have."""
    end = fitted.ends[1] if wish.closed[0] else fitted.ends[0]
    return replace(wing, straight=fitted.straight, end=end, ring=fitted.ring, shortened_by=fitted.shortened_by)


def _ordered(a: float, b: float) -> Interval:
    return (a, b) if a <= b else (b, a)
