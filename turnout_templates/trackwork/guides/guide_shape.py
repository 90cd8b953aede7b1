"""Hold the exact shape of a guiding rail, and of what it may run into: strips beside a route, and other guiding rails.

Everything is measured by `depth`: how far (mm) a place lies inside a shape, less than nothing outside it. It changes
evenly with the place, so that an end which just touches is where it is nought (see `touching`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.alignment.faces import Face
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.guides.guides import flare_more, guide_ring
from turnout_templates.trackwork.rails.rail_parts import Interval, Ring


class StripShape(Struct, frozen=True):
    """What lies between two offsets (mm, left positive) of a path from one station to another."""

    path: Path
    first: float
    second: float
    along: Interval

    def depth(self, place: Point, near: float) -> float:
        """Return how far a place lies inside; it lies beside about station `near` of the path."""
        station, left = self.path.foot_near(place, near)
        low, high = min(self.first, self.second), max(self.first, self.second)
        return min(left - low, high - left, station - self.along[0], self.along[1] - station)

    def corners(self) -> Iterator[Point]:
        """Yield the places where it ends."""
        yield from (self.path.point_at(s, offset) for s in self.along for offset in (self.first, self.second))


class GuideShape(Struct, frozen=True):
    """A bar that guides at `flangeway` mm from `face` over `straight` and flares to `ends`, `head` mm wide."""

    path: Path
    face: Face
    flangeway: float
    head: float
    straight: Interval
    ends: Interval

    @property
    def ring(self) -> Ring:
        """The outline, on flattened curves."""
        return guide_ring(self.path, self.face, self.flangeway, self.head, self.straight, self.ends)

    def depth(self, place: Point, near: float) -> float:
        """Return how far a place lies inside; it lies beside about station `near` of the path."""
        station, left = self.path.foot_near(place, near)
        along = min(station - self.ends[0], self.ends[1] - station)
        if self.straight[0] <= station <= self.straight[1]:
            away = (self.face.offset - left) * self.face.outward - self.flangeway
            return min(along, away, self.head - away)
        end = 0 if station < self.straight[0] else 1
        if self.straight[end] == self.ends[end]:
            return along
        return min(along, self._beyond(place, end, 0.0), -self._beyond(place, end, self.head))

    def _beyond(self, place: Point, end: int, out: float) -> float:
        """Return how far beyond one side of a flare a place lies, away from the face: the side `out` mm out."""
        (x, y), (u, v) = self.at(self.straight[end], out), self.at(self.ends[end], out)
        away = (u - x) * (place[1] - y) - (v - y) * (place[0] - x)
        way = -self.face.outward if end == 1 else self.face.outward
        return way * away / math.hypot(u - x, v - y)

    def at(self, station: float, out: float) -> Point:
        """Return the place `out` mm out from the guiding side, beside the straight part or at the end of a flare."""
        more = flare_more(max(self.straight[0] - station, station - self.straight[1], 0.0))
        return self.path.point_at(station, self.face.offset - self.face.outward * (self.flangeway + more + out))

    def corners(self) -> Iterator[Point]:
        """Yield the four corners."""
        yield from (self.at(end, out) for end in self.ends for out in (0.0, self.head))


Shape = StripShape | GuideShape
