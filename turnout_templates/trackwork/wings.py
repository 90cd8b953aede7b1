"""Lay the wing rails of V frogs.

From the knuckle, where two approaching gauge faces are one flangeway apart, each closure rail is bent to run along the
other face at a flangeway, past the practical point until the V has a full head, and is flared from there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from turnout_templates.trackwork.field import Field, pairs_that_meet
from turnout_templates.trackwork.fitting import Fitted, Wish, fit
from turnout_templates.trackwork.frog_parts import Frog, Wing
from turnout_templates.trackwork.guides import FLARE_LENGTH, STEEP, guide_ring
from turnout_templates.trackwork.rail_parts import Interval, RouteFace


def lay_wings(field: Field, frogs: tuple[Frog, ...]) -> tuple[Wing, ...]:
    """Return two wing rails, W1, W2 ..., for each V frog that has both its knuckle and its practical point.

    The wings of frogs that come first keep what they have, and later ones give way to them (see `fitting`).
    """
    wished = [wing for frog in frogs for wing in _wished(field, frog)]
    near: dict[int, list[int]] = {}
    for i, j in pairs_that_meet([wing.ring for wing, _, _ in wished]):
        near.setdefault(j, []).append(i)
    laid: list[Wing] = []
    for j, (wing, wish, middle) in enumerate(wished):
        others = [(laid[i].id, laid[i].ring) for i in near.get(j, [])]
        laid.append(_laid(replace(wing, id=f"W{j + 1}"), wish, fit(field, wish, middle, others)))
    return tuple(laid)


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


def _laid(wing: Wing, wish: Wish, fitted: Fitted | None) -> Wing:
    """Return a wing with what it could have."""
    if fitted is None:
        raise ArithmeticError(f"the wing rail {wing.id} of {wing.frog} finds no end")
    end = fitted.ends[1] if wish.closed[0] else fitted.ends[0]
    ring, by = fitted.ring, fitted.shortened_by
    return replace(wing, straight=fitted.straight, end=end, ring=ring, shortened_by=by)


def _ordered(a: float, b: float) -> Interval:
    return (a, b) if a <= b else (b, a)
