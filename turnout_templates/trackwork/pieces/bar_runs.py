"""Turn bars into runs: how far along its bar each place lies, on the head's centre, which is what is bent, and back."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from msgspec import Struct

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.parallel import Chunk, Parallel
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.taper import Curve, length_of
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, Bar, Interval, RouteFace, Stretch

_STEPS = 60
_CLOSE = 1e-11
"""A place on a bar is found to within this (mm)."""
_STRAIGHT = 1e-12
"""Curvatures (1/mm) that differ by less are one: a radius of a thousand kilometres."""


class Bending(Struct, frozen=True):
    """How a piece is bent from `low` to `high` mm along it: curvatures of the head's centre at both, left positive.

    Seen along the piece from its first end. Both are zero where it stays straight.
    """

    low: float
    high: float
    curvatures: tuple[float, float]


@dataclass(frozen=True, slots=True)
class BarRun:
    """A bar measured along the centre of its head, `head` mm wide: `begins` tells where each of its stretches begins.

    Distances are mm from the bar's first end, the last of `begins` being its length.
    """

    layout: Layout
    bar: Bar
    head: float
    begins: tuple[float, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Add up the lengths of the stretches."""
        begins = [0.0]
        for stretch in self.bar.stretches:
            begins.append(
                begins[-1] + length_along(self.layout, stretch.owner, stretch.low, stretch.high, self.head / 2)
            )
        object.__setattr__(self, "begins", tuple(begins))

    @property
    def length(self) -> float:
        """The length in mm."""
        return self.begins[-1]

    def distance(self, index: int, station: float) -> float:
        """Return how far along the bar a station of its stretch `index` lies."""
        stretch = self.bar.stretches[index]
        ends = (stretch.low, station) if stretch.way > 0 else (station, stretch.high)
        return self.begins[index] + length_along(self.layout, stretch.owner, *ends, self.head / 2)

    def distances(self, owner: RouteFace, low: float, high: float) -> Iterator[Interval]:
        """Yield the parts of the bar that lie on a face between two stations."""
        for i, stretch in enumerate(self.bar.stretches):
            if stretch.owner == owner and low <= stretch.high and high >= stretch.low:
                ends = [self.distance(i, min(max(s, stretch.low), stretch.high)) for s in (low, high)]
                yield min(ends), max(ends)

    def place(self, distance: float) -> tuple[RouteFace, float]:
        """Return the face and the station of its route that lie so far along the bar."""
        i = self.stretch_at(distance)
        return self.bar.stretches[i].owner, self.station(i, distance)

    def stretch_at(self, distance: float) -> int:
        """Return the index of the stretch that lies so far along the bar (where two meet, of the later)."""
        inner = self.begins[1:-1]
        return sum(begin <= distance for begin in inner)

    def station(self, index: int, distance: float) -> float:
        """Return the station of the stretch `index` that lies so far along the bar (Newton's method)."""
        stretch = self.bar.stretches[index]
        if distance <= self.begins[index]:
            return stretch.low if stretch.way > 0 else stretch.high
        if distance >= self.begins[index + 1]:
            return stretch.high if stretch.way > 0 else stretch.low
        share = (distance - self.begins[index]) / (self.begins[index + 1] - self.begins[index])
        station = stretch.low + (stretch.high - stretch.low) * (share if stretch.way > 0 else 1.0 - share)
        for _ in range(_STEPS):
            missing = distance - self.distance(index, station)
            step = stretch.way * missing / self._speed(stretch, station)
            station = min(max(station + step, stretch.low), stretch.high)
            if abs(missing) < _CLOSE:
                break
        return station

    def _speed(self, stretch: Stretch, station: float) -> float:
        """Return how far the head's centre runs with each mm of its route, but for what it widens."""
        face = stretch.owner.face
        out = face.offset + face.outward * self.head / 2
        return 1.0 - out * self.layout.route(stretch.owner.route).path.curvature_at(station)

    def pose(self, distance: float) -> Pose:
        """Return the pose of the gauge face so far along the bar, heading to its last end."""
        owner, station = self.place(distance)
        way = self.bar.stretches[self.stretch_at(distance)].way
        route = self.layout.route(owner.route)
        pose = route.path.pose_at(station).shifted(route.offset_at(owner.face, station))
        return pose if way > 0 else pose.turned(math.pi)

    def between(self, low: float, high: float) -> tuple[Stretch, ...]:
        """Return the stretches of gauge face between two distances along the bar."""
        found = []
        for i, stretch in enumerate(self.bar.stretches):
            first, last = max(low, self.begins[i]), min(high, self.begins[i + 1])
            if last > first or (low == high == first == last):
                ends = sorted((self.station(i, first), self.station(i, last)))
                found.append(Stretch(stretch.owner, ends[0], ends[1], stretch.way))
        return tuple(found)

    def kinks(self) -> Iterator[tuple[float, float]]:
        """Yield where stretches meet at an angle: how far along the bar, and by how many radians it is bent there."""
        for i, (one, two) in enumerate(pairwise(self.bar.stretches), start=1):
            headings = [
                self._heading(one, one.high if one.way > 0 else one.low),
                self._heading(two, two.low if two.way > 0 else two.high),
            ]
            turn = math.remainder(headings[1] - headings[0], math.tau)
            if abs(turn) > _KINK:
                yield self.begins[i], turn

    def _heading(self, stretch: Stretch, station: float) -> float:
        heading = self.layout.route(stretch.owner.route).path.heading_at(station)
        return heading if stretch.way > 0 else heading + math.pi

    def bendings(self, low: float, high: float) -> tuple[Bending, ...]:
        """Return how the bar is bent between two distances, told from the first; alike neighbours are one."""
        found: list[Bending] = []
        along = 0.0
        for stretch in self.between(low, high):
            curves = self.layout.route(stretch.owner.route).lie(
                stretch.owner.face, stretch.low, stretch.high, self.head / 2
            )
            chunks = [chunk for curve in curves for chunk in curve.chunks(math.inf)]
            for chunk in chunks if stretch.way > 0 else reversed(chunks):
                ends = (chunk.low, chunk.high) if stretch.way > 0 else (chunk.high, chunk.low)
                bends = (_bend(chunk, ends[0], stretch.way), _bend(chunk, ends[1], stretch.way))
                length = chunk.length_between(chunk.low, chunk.high)
                if length > SAME_PLACE:
                    _add(found, Bending(along, along + length, bends))
                along += length
        return tuple(found)


_KINK = 1e-9
"""Stretches that meet at less than this (rad) go straight on."""


def _bend(chunk: Chunk, station: float, way: int) -> float:
    curvature = way * chunk.bend_at(station)
    return 0.0 if abs(curvature) < _STRAIGHT else curvature


def _add(found: list[Bending], bending: Bending) -> None:
    """Add a bending, as one with the last where both are the same even curve."""
    curvature = bending.curvatures[0]
    if found and all(abs(c - curvature) < _STRAIGHT for c in (*found[-1].curvatures, bending.curvatures[1])):
        last = found.pop()
        bending = Bending(last.low, bending.high, last.curvatures)
    found.append(bending)


def length_along(layout: Layout, owner: RouteFace, low: float, high: float, out: float = 0.0) -> float:
    """Return the length in mm, between two stations, of what lies `out` mm outward of a gauge face."""
    route = layout.route(owner.route)
    if not route.widened:
        face = owner.face
        return Parallel(route.path, face.offset + face.outward * out, low, high).length_between(low, high)
    return sum(_length(curve) for curve in route.lie(owner.face, low, high, out)) if high > low else 0.0


def _length(curve: Curve) -> float:
    return curve.length_between(curve.low, curve.high) if isinstance(curve, Parallel) else length_of(curve)


def face_length(layout: Layout, stretches: tuple[Stretch, ...]) -> float:
    """Return the length in mm of the gauge face along some stretches."""
    return sum(length_along(layout, stretch.owner, stretch.low, stretch.high) for stretch in stretches)
