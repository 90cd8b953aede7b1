"""Find exactly from where to where a flange lies on something else.

Regions tell that it does, and where to within the chords they are made of. The ends themselves are where an edge of the
flange crosses an edge of what it fouls, or lies beside an end of either.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from shapely.geometry import Polygon

from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.base_parts import Course, Flange, Part
from turnout_templates.trackwork.model import Interval
from turnout_templates.trackwork.regions import stations_of

_LOOK = 1.5
"""Crossings are sought this far (mm) before and behind where regions end."""
_NEAR = 0.3
"""How far (mm) an end told by chords may be off: their sagitta over the sine of the flattest angle that is met."""
_AT_END = 0.05
"""An end told by chords lies at the end of a part where it is this near (mm)."""


def fouled_stations(flange: Flange, more: float, region: Polygon, other: Part) -> Interval:
    """Return the stations of the flange's course over which it lies on `other`, told by their common `region`.

    `more` is by how much (mm) the flange was made wider for that.
    """
    course = flange.course
    low, high = stations_of(region, course.path)
    return _end(flange, more, low, other), _end(flange, more, high, other)


def _end(flange: Flange, more: float, station: float, other: Part) -> float:
    """Return the exact station of an end that lies near `station`."""
    course = flange.course
    for end in (course.low, course.high):
        if abs(end - station) < _AT_END:
            return end
    found = [s for s in _beside_ends(flange, station, other) if abs(s - station) < _AT_END]
    found = found or list(_where_edges_cross(flange, more, station, other))
    best = min(found, key=lambda s: abs(s - station), default=station)
    return best if abs(best - station) < _NEAR else station


def _beside_ends(flange: Flange, station: float, other: Part) -> Iterator[float]:
    """Yield the stations beside the ends of another part."""
    path = flange.course.path
    for course in other.courses:
        for point in course.corners(_outs(other)):
            yield path.foot_near(point, station)[0]


def _where_edges_cross(flange: Flange, more: float, station: float, other: Part) -> Iterator[float]:
    """Yield the stations at which the edges of a flange cross those of another part's head and base."""
    place = flange.course.path.point_at(station, flange.course.offset(flange.edge))
    for own in (flange.edge, flange.reach(more), 0.0):
        for a in _near(flange.course, own, place):
            for course in other.courses:
                for out in _outs(other):
                    for b in _near(course, out, place):
                        for crossing in find_crossings(a, b):
                            yield flange.course.path.foot_near(crossing.point, station)[0]


def _outs(part: Part) -> Sequence[float]:
    """Return how far out the edges of a part's base and head lie."""
    head, flange = part.section.head, part.section.flange
    return -flange, 0.0, head, head + flange


def _near(course: Course, out: float, place: Point) -> Iterator[Parallel]:
    """Yield what of a course's edge lies near a place."""
    for curve in course.curves(out):
        if curve.path is not course.path:
            yield curve
            continue
        at = nearest_station(course.path, place)[0]
        low, high = max(curve.low, at - _LOOK), min(curve.high, at + _LOOK)
        if low < high and math.dist(curve.point_at(at), place) < _LOOK + 4.0 * abs(out) + _LOOK:
            yield Parallel(curve.path, curve.offset, low, high)
