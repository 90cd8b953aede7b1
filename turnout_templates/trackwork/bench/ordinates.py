"""Test curves with a straight-edge: the chords that are handy, and how far a curve rises over the middle of one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.carried import PiecesByFace
from turnout_templates.trackwork.rails.rail_parts import Interval, RailSide, RouteFace
from turnout_templates.units import Unit

CHORDS: Mapping[Unit, tuple[float, ...]] = {
    "mm": (200.0, 150.0, 100.0, 75.0, 50.0, 30.0, 20.0),
    "in": (203.2, 152.4, 101.6, 76.2, 50.8, 38.1, 25.4),
}
"""Chords in mm that a straight-edge tests with: round figures of each unit; the longest that fits the curve is used."""
_OF_LENGTH, _OF_RADIUS = 0.9, 0.6
"""The longest chord, in parts of the curve's length and of its radius; beyond, it would lie across the curve."""
LEAST_RISE = 0.25
"""A rise of less than this (mm, 0.01 in) tests nothing: on a steel rule of half millimetres or 64ths it is no more than
half a division, and a burr of the file is nearly as much (common practice, no source)."""


def handy_chord(radius: float, length: float, unit: Unit) -> float | None:
    """Return the longest handy chord (mm) of an arc so long, None where over none of them its rise can be read."""
    longest = min(_OF_LENGTH * length, _OF_RADIUS * radius)
    chord = next((chord for chord in CHORDS[unit] if chord < longest), None)
    return chord if chord is not None and middle_ordinate(radius, chord) >= LEAST_RISE else None


def middle_ordinate(radius: float, chord: float) -> float:
    """Return how far (mm) an arc rises over the middle of a chord: r - sqrt(r^2 - c^2/4), without cancellation."""
    return chord * chord / 4 / (radius + math.sqrt(radius * radius - chord * chord / 4))


class CurveTest(Struct, frozen=True):
    """How a curve of one rail is tested: a straight-edge's `chord` (mm) on its hollow `side`, `rise` mm in the middle.

    The middle of the chord lies at `station` of the route of the face `owner`, on the `piece`; the curve reaches
    between the stations `curve`. Of an easement the rise is that of the radius in the middle. `chord` is None, and
    there is no rise, where no piece is long enough for one whose rise can be read.
    """

    owner: RouteFace
    curve: Interval
    station: float
    piece: str
    side: RailSide
    radius: float
    chord: float | None
    rise: float


def curve_tests(work: Trackwork) -> Iterator[CurveTest]:
    """Yield the tests of all curves, route by route, each for all of its rails from left to right."""
    carried = PiecesByFace(work.pieces)
    for route in work.layout:
        for begin, piece in zip(route.path.starts, route.path.pieces, strict=True):
            if piece.kind != "straight":
                for face in route.faces:
                    yield from _test(work, route, RouteFace(route.name, face), (begin, begin + piece.length), carried)


def _test(
    work: Trackwork, route: LaidRoute, owner: RouteFace, curve: Interval, carried: PiecesByFace
) -> Iterator[CurveTest]:
    """Yield the test of one rail on a curve, over the longest part of it that is carried without a break."""
    parts = [(name, part) for name, whole in carried.within(owner, curve) for part in _even(route, whole)]
    if not parts:
        return
    name, (low, high) = max(parts, key=lambda found: found[1][1] - found[1][0])
    middle = (low + high) / 2
    bend = route.path.curvature_at(middle)
    if not bend:
        return
    face, head = owner.face, work.spec.rail.head
    is_outer = (bend > 0) == (face.outward > 0)
    offset = route.offset_at(face, middle) + (face.outward * head if is_outer else 0.0)
    radius = abs(1.0 / bend - offset)
    chord = handy_chord(radius, (high - low) * radius * abs(bend), work.spec.units)
    rise = 0.0 if chord is None else middle_ordinate(radius, chord)
    yield CurveTest(owner, curve, middle, name, "outer" if is_outer else "gauge", radius, chord, rise)


def _even(route: LaidRoute, along: Interval) -> Iterator[Interval]:
    """Yield the parts of a stretch over which the gauge is alike or grows evenly, which bends no rail."""
    knots = sorted(s for widened in route.widened for s, _ in widened.knots if along[0] < s < along[1])
    yield from pairwise((along[0], *knots, along[1]))
