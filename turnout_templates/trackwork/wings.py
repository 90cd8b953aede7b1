"""Lay the wing rails of V frogs.

From the knuckle, where two approaching gauge faces are one flangeway apart, each closure rail is bent to run along the
other face at a flangeway, past the practical point until the V has a full head, and is flared from there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from turnout_templates.trackwork.field import Field, pairs_that_meet, stations_overlaid
from turnout_templates.trackwork.guides import FLARE_LENGTH, STEEP, guide_ring
from turnout_templates.trackwork.model import Frog, Interval, RouteFace, Wing


def lay_wings(field: Field, frogs: tuple[Frog, ...]) -> tuple[Wing, ...]:
    """Return two wing rails, W1, W2 ..., for each V frog that has both its knuckle and its practical point."""
    wings = [wing for frog in frogs for wing in _wings(field, frog)]
    for i, j in pairs_that_meet([wing.ring for wing in wings]):
        wings[j] = _cut_short(field, wings[j], wings[i])
    return tuple(replace(wing, id=f"W{i}") for i, wing in enumerate(wings, start=1))


def _wings(field: Field, frog: Frog) -> Iterator[Wing]:
    if frog.kind != "V" or frog.practical_stations is None or frog.angle > STEEP:
        return
    owners = (frog.first, frog.second)
    stations = (frog.s, frog.t)
    for own, other in ((0, 1), (1, 0)):
        nose = frog.noses[own]
        if nose is not None:
            yield _wing(field, frog, owners[own], owners[other], nose, stations[other], frog.heel_directions[other])


def _wing(field: Field, frog: Frog, own: RouteFace, beside: RouteFace, nose: float, station: float, way: int) -> Wing:
    """Return the wing rail that goes on from `own`, cut short where another rail or its flangeway begins."""
    path = field.layout.route(beside.route).path
    knuckle_point = field.layout.route(own.route).path.point_at(nose, own.face.offset)
    knuckle = path.foot_near(knuckle_point, station)[0]
    full_head = field.head / (2 * math.sin(frog.angle / 2))
    flangeway = beside.face.flangeway
    last = min(max(station + way * full_head, 0.0), path.length)
    end = min(max(last + way * FLARE_LENGTH * flangeway, 0.0), path.length)
    straight, ends = _ordered(knuckle, last), _ordered(knuckle, end)
    for blocked, _ in field.blocked(beside, flangeway, straight, ends, (own, beside)):
        limit = blocked[0] if way > 0 else blocked[1]
        if (limit - station) * way > 0:
            end = min(end, limit) if way > 0 else max(end, limit)
    last = min(last, end) if way > 0 else max(last, end)
    straight, ends = _ordered(knuckle, last), _ordered(knuckle, end)
    ring = guide_ring(path, beside.face, flangeway, field.head, straight, ends)
    return Wing("", frog.id, own, beside, straight, end, flangeway, ring)


def _cut_short(field: Field, wing: Wing, other: Wing) -> Wing:
    """Return `wing` ended where `other` lies in its way."""
    path = field.layout.route(wing.beside.route).path
    onward = wing.end >= wing.straight[1]
    end = wing.end
    for low, high in stations_overlaid(wing.ring, other.ring, path):
        end = min(end, low) if onward else max(end, high)
    if end == wing.end:
        return wing
    knuckle, last = wing.straight if onward else (wing.straight[1], wing.straight[0])
    last = min(last, end) if onward else max(last, end)
    straight, ends = _ordered(knuckle, last), _ordered(knuckle, end)
    ring = guide_ring(path, wing.beside.face, wing.flangeway, field.head, straight, ends)
    return replace(wing, straight=straight, end=end, ring=ring)


def _ordered(a: float, b: float) -> Interval:
    return (a, b) if a <= b else (b, a)
