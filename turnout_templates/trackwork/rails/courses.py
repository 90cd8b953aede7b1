"""Say how a bar, wing or guard runs along a route, and where places on it lie, on its flares as well.

Distances `out` are mm from the gauge face (of a guiding rail, from its guiding side) toward the far side of the head.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct
from shapely.geometry import Polygon

from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.guides.guides import FLARE_LENGTH, FLARE_OPENING
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.rails.regions import strip

_ENDS = 1e-9
"""A flare shorter than this (mm) is none."""


class Section(Struct, frozen=True):
    """A rail's `head` and `base` widths in mm."""

    head: float
    base: float

    @property
    def flange(self) -> float:
        """How far (mm) the base reaches beyond the head on either side."""
        return (self.base - self.head) / 2


class Course(Struct, frozen=True):
    """How a part runs along one route: its face lies beside that of `owner` from station `low` to `high`.

    `apart` is how far (mm) inward of the owner's face it lies, nothing for a bar; its flares reach from `straight` to
    `low` and `high`.
    """

    path: Path
    owner: RouteFace
    low: float
    high: float
    apart: float = 0.0
    straight: Interval | None = None

    @property
    def outward(self) -> int:
        """The direction from the part's face to the far side of its head: +1 to the left."""
        return self.owner.face.outward if self.straight is None else -self.owner.face.outward

    def offset(self, out: float, opening: float = 0.0) -> float:
        """Return how far (mm) left of the route the place `out` lies, `opening` further off where it is flared."""
        return self.owner.face.offset - self.owner.face.outward * (self.apart + opening) + self.outward * out

    def region(self, first: float, last: float, low: float, high: float) -> Polygon:
        """Return the region between two distances out, from one station to another."""
        if self.straight is None:
            return strip(self.path, self.offset(first), self.offset(last), low, high)
        there, back = (self.line(out, low, high) for out in (first, last))
        return Polygon([*there, *reversed(back)])

    def line(self, out: float, low: float, high: float) -> list[Point]:
        """Return the places at a distance `out` from one station to another, flares being straight lines."""
        straight = self.straight or (self.low, self.high)
        begin, end = max(low, straight[0]), min(high, straight[1])
        points = flatten(Parallel(self.path, self.offset(out), begin, end)) if end > begin else []
        first = [s for s in (low, min(high, straight[0])) if s < straight[0]]
        last = [s for s in (max(low, straight[1]), high) if s > straight[1]]
        return [
            *(self._on_flare(self.low, straight[0], out, s) for s in first),
            *points,
            *(self._on_flare(self.high, straight[1], out, s) for s in last),
        ]

    def _on_flare(self, end: float, bend: float, out: float, s: float) -> Point:
        """Return the place beside station `s` on the flare that reaches from the station `bend` to `end`."""
        opening = FLARE_OPENING / FLARE_LENGTH * abs(bend - end)
        (x, y), (u, v) = self.path.point_at(bend, self.offset(out)), self.path.point_at(end, self.offset(out, opening))
        part = (s - bend) / (end - bend)
        return x + part * (u - x), y + part * (v - y)

    def length_between(self, low: float, high: float) -> float:
        """Return how long (mm) the part is along its face between two stations."""
        begin, end = self.straight or (self.low, self.high)
        whole = Parallel(self.path, self.offset(0.0), begin, end)
        length = max(whole.length_between(max(low, begin), min(high, end)), 0.0)
        for at, bend in ((self.low, begin), (self.high, end)):
            first, last = (min(max(s, min(at, bend)), max(at, bend)) for s in (low, high))
            if last - first > _ENDS:
                length += math.dist(*(self._on_flare(at, bend, 0.0, s) for s in (first, last)))
        return length

    def place(self, s: float, out: float = 0.0) -> Point:
        """Return the place beside a station, on the part's face or at a distance `out` from it."""
        straight = self.straight or (self.low, self.high)
        if s < straight[0]:
            return self._on_flare(self.low, straight[0], out, s)
        if s > straight[1]:
            return self._on_flare(self.high, straight[1], out, s)
        return self.path.point_at(s, self.offset(out))

    def across(self, s: float, first: float, last: float) -> Parallel:
        """Return the line across the part beside a station, from one distance out to another."""
        return line_between(self.place(s, first), self.place(s, last))

    def beyond(self, place: Point, near: float, out: float) -> float:
        """Return how far (mm) further out than the distance `out` a place lies, beside about the station `near`."""
        station, left = self.path.foot_near(place, near)
        low, high = self.straight or (self.low, self.high)
        if self.straight is None or low <= station <= high:
            return (left - self.offset(out)) * self.outward
        end, bend, way = (self.low, low, -self.outward) if station < low else (self.high, high, self.outward)
        if abs(bend - end) < _ENDS:
            return (left - self.offset(out)) * self.outward
        (x, y), (u, v) = (self._on_flare(end, bend, out, s) for s in (bend, end))
        return way * ((u - x) * (place[1] - y) - (v - y) * (place[0] - x)) / math.dist((x, y), (u, v))

    def curves(self, out: float) -> Iterator[Parallel]:
        """Yield what lies at a distance `out`: a parallel of the route, and the straight lines of the flares."""
        low, high = self.straight or (self.low, self.high)
        if high > low:
            yield Parallel(self.path, self.offset(out), low, high)
        for end, bend in ((self.low, low), (self.high, high)):
            if abs(bend - end) > _ENDS:
                opening = FLARE_OPENING / FLARE_LENGTH * abs(bend - end)
                first = self.path.point_at(bend, self.offset(out))
                yield line_between(first, self.path.point_at(end, self.offset(out, opening)))

    def corners(self, outs: Sequence[float]) -> Iterator[Point]:
        """Yield the places at both ends at some distances out."""
        for end, bend in zip((self.low, self.high), self.straight or (self.low, self.high), strict=True):
            opening = FLARE_OPENING / FLARE_LENGTH * abs(bend - end)
            yield from (self.path.point_at(end, self.offset(out, opening)) for out in outs)


def line_between(first: Point, last: Point) -> Parallel:
    """Return the straight line between two places as a curve."""
    (x, y), (u, v) = first, last
    piece = Piece(Pose(x, y, math.atan2(v - y, u - x)), math.dist(first, last), 0.0, 0.0)
    return Parallel(Path((piece,)), 0.0, 0.0, piece.length)
