"""Lay the wing rails of V frogs.

From the knuckle, where two approaching gauge faces are one flangeway apart, each closure rail is bent to run along the
other face at a flangeway, past the practical point until the V has a full head, and is flared from there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.alignment.model import Layout
from turnout_templates.trackwork.guides import FLARE_LENGTH, guide_ring
from turnout_templates.trackwork.model import Frog, RouteFace, Wing


def lay_wings(layout: Layout, frogs: tuple[Frog, ...], head: float) -> tuple[Wing, ...]:
    """Return two wing rails for each V frog that has both its knuckle and its practical point."""
    return tuple(wing for frog in frogs for wing in _wings(layout, frog, head))


def _wings(layout: Layout, frog: Frog, head: float) -> Iterator[Wing]:
    if frog.kind != "V" or frog.practical_stations is None:
        return
    owners = (frog.first, frog.second)
    stations = (frog.s, frog.t)
    for own, other in ((0, 1), (1, 0)):
        nose = frog.noses[own]
        if nose is not None:
            yield _wing(layout, frog, owners[own], owners[other], nose, stations[other], other, head)


def _wing(
    layout: Layout,
    frog: Frog,
    own: RouteFace,
    beside: RouteFace,
    nose: float,
    station: float,
    index: int,
    head: float,
) -> Wing:
    path = layout.route(beside.route).path
    knuckle_point = layout.route(own.route).path.point_at(nose, own.face.offset)
    knuckle = path.foot_near(knuckle_point, station)[0]
    way = frog.heel_directions[index]
    full_head = head / (2 * math.sin(frog.angle / 2))
    flangeway = beside.face.flangeway
    last = min(max(station + way * full_head, 0.0), path.length)
    end = min(max(last + way * FLARE_LENGTH * flangeway, 0.0), path.length)
    straight = (min(knuckle, last), max(knuckle, last))
    ends = (min(knuckle, end), max(knuckle, end))
    ring = guide_ring(path, beside.face, flangeway, head, straight, ends)
    return Wing(frog.id, own, beside, straight, end, flangeway, ring)
