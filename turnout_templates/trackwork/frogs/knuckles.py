"""Tell of a V frog its knuckle and throat, and where its toe and its heel lie; of any frog what runs unguided."""

from __future__ import annotations

import math

from msgspec import Struct

from turnout_templates.alignment.model import Layout
from turnout_templates.alignment.solving import TOE_HEADS
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.frogs.frogs import stations_apart

HEEL_HEADS = 3.8
"""Spread at a frog's heel in heads: NMRA RP-12.7, No. 6: heel spread 0.107 in with the 0.028 in head of code 55
rail. That the table is for code 55 is our reading, not printed in it."""


class Knuckle(Struct, frozen=True):
    """Where two faces approach a V: `throat` is the least distance (mm) between them, `middle` the middle of it."""

    middle: Point
    throat: float


class FrogEnd(Struct, frozen=True):
    """The toe or the heel of a V: faces `spread` mm apart at `stations`, `length` mm of gauge face from the point.

    The theoretical point is meant.
    """

    spread: float
    stations: tuple[float, float]
    length: float


def knuckle_of(layout: Layout, frog: Frog) -> Knuckle | None:
    """Return the knuckle of a V: between its noses, or from one of them square to the other face where that is less.

    None of a K, and where a face has no nose.
    """
    first, second = frog.noses
    if frog.kind == "K" or first is None or second is None:
        return None
    a, b = (layout.route(owner.route).parallel(owner.face) for owner in (frog.first, frog.second))
    p, q = a.point_at(first), b.point_at(second)
    spans = [(p, q)]
    for point, other, nose, heel in ((p, b, second, frog.heel_directions[1]), (q, a, first, frog.heel_directions[0])):
        foot = other.path.foot_near(point, nose)[0]
        if (foot - nose) * heel < 0 and other.low <= foot <= other.high:
            spans.append((point, other.point_at(foot)))
    p, q = min(spans, key=lambda span: math.dist(*span))
    return Knuckle(((p[0] + q[0]) / 2, (p[1] + q[1]) / 2), math.dist(p, q))


def toe_of(layout: Layout, frog: Frog, head: float) -> FrogEnd | None:
    """Return the toe of a V, `TOE_HEADS` heads wide; None of a K and where a face begins after it."""
    first, second = frog.heel_directions
    return _end(layout, frog, TOE_HEADS * head, (-first, -second))


def heel_of(layout: Layout, frog: Frog, head: float) -> FrogEnd | None:
    """Return the heel of a V, `HEEL_HEADS` heads wide; None of a K and where a face ends before it."""
    return _end(layout, frog, HEEL_HEADS * head, frog.heel_directions)


def heel_length(frog: Frog, head: float) -> float:
    """Return how far (mm) behind the theoretical point the heel of a V lies where both its faces are straight."""
    return HEEL_HEADS * head / (2 * math.sin(frog.angle / 2))


def _end(layout: Layout, frog: Frog, spread: float, ways: tuple[int, int]) -> FrogEnd | None:
    if frog.kind == "K":
        return None
    a, b = (layout.route(owner.route).parallel(owner.face) for owner in (frog.first, frog.second))
    stations = stations_apart(a, b, (frog.s, frog.t), frog.angle, ways, spread)
    return None if stations is None else FrogEnd(spread, stations, abs(a.length_between(frog.s, stations[0])))


def unguided(layout: Layout, frog: Frog) -> tuple[float | None, float | None]:
    """Return the length (mm) of each gauge face that is missing at a frog, over which nothing there guides a wheel.

    Of a V from the knuckle to the practical point, of a K from the crossing to the nose; None where one of them is not.
    """
    lengths = []
    places = frog.practical_stations if frog.kind == "V" else (frog.s, frog.t)
    for i, owner in enumerate((frog.first, frog.second)):
        nose = frog.noses[i]
        face = layout.route(owner.route).parallel(owner.face)
        lengths.append(None if nose is None or places is None else abs(face.length_between(nose, places[i])))
    return lengths[0], lengths[1]


def cut_depth(frog: Frog) -> tuple[float | None, str]:
    """Return how deep the flangeways of a frog are at least (mm), the deepest of its gauges', and the source.

    None where no document states it for one of them.
    """
    deepest, source = 0.0, ""
    for gauge in {gauge.name: gauge for owner in (frog.first, frog.second) for gauge in owner.face.gauges}.values():
        if gauge.depth is None:
            return None, f"not stated for {gauge.name}"
        if gauge.depth > deepest:
            deepest, source = gauge.depth, gauge.depth_source
    return deepest, source
