"""Find exactly from where to where a flange lies on something else.

Regions tell that it does, and where to within the chords they are made of. The ends themselves are where an edge of the
flange crosses an edge of what it fouls, or lies beside an end of either.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import shapely
from shapely.geometry.base import BaseGeometry

from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.base_parts import Course, Flange, Part, line_between
from turnout_templates.trackwork.open_points import OpenPoint
from turnout_templates.trackwork.rail_parts import Interval

_LOOK = 1.5
"""Crossings are sought this far (mm) before and behind where regions end."""
_NEAR = 0.3
"""How far (mm) an end told by chords may be off: their sagitta over the sine of the flattest angle that is met."""
_ON = 0.02
"""A corner told by chords lies on an edge that passes this near (mm)."""
_SAME = 0.004
"""A corner told by chords is the corner of an end that lies this near (mm): the sagittas of both curves."""
_AT_END = 0.05
"""An end told by chords lies at the end of a part where it is this near (mm)."""


@dataclass(frozen=True, slots=True)
class _Corner:
    """A corner of a region: its `place`, and the station and distance to the left on a course's route."""

    place: Point
    station: float
    left: float


def reached_stations(course: Course, region: BaseGeometry) -> Interval:
    """Return the stations of a course beside a region, as its corners tell."""
    corners = _corners(course, region)
    return min(c.station for c in corners), max(c.station for c in corners)


def fouled_stations(
    flange: Flange, more: float, region: BaseGeometry, other: Part, ends: Sequence[Parallel] = ()
) -> Interval:
    """Return the stations of the flange's course over which it lies on `other`, told by their common `region`.

    `more` is by how much (mm) the flange was made wider for that; `ends` are those of what is left of the other's base.
    """
    corners = _corners(flange.course, region)
    low, high = (pick(corners, key=lambda corner: corner.station) for pick in (min, max))
    return _end(flange, more, low, other, ends), _end(flange, more, high, other, ends)


def opened_stations(flange: Flange, point: OpenPoint, out: float, region: BaseGeometry, other: Part) -> Interval:
    """Return the stations of the flange's course over which an open point and another part meet in a `region`.

    The flange is the point's own or one of the other part; `out` is how far out the point's moving line lies.
    """
    corners = _corners(flange.course, region)
    low, high = (pick(corners, key=lambda corner: corner.station) for pick in (min, max))
    return _open_end(flange, point, out, low, other), _open_end(flange, point, out, high, other)


def _open_end(flange: Flange, point: OpenPoint, out: float, corner: _Corner, other: Part) -> float:
    """Return the exact station of an end that chords of an open point tell to lie at a corner."""
    course = flange.course
    for end in (course.low, course.high):
        if abs(end - corner.station) < _AT_END:
            return end
    found = list(_beside_ends(flange, corner, other, _ON))
    near = point.path.foot_near(corner.place, nearest_station(point.path, corner.place)[0])[0]
    for theirs in () if found else other.courses:
        station = nearest_station(theirs.path, corner.place)[0]
        low, high = theirs.straight or (theirs.low, theirs.high)
        if low - _LOOK < station < high + _LOOK:
            for limit in _outs(other):
                at = point.reaches(out, theirs, limit, near)
                if at is not None:
                    found.append(course.path.foot_near(point.moved(at, out), corner.station)[0])
    best = min(found, key=lambda s: abs(s - corner.station), default=corner.station)
    return best if abs(best - corner.station) < _NEAR else corner.station


def _corners(course: Course, region: BaseGeometry) -> list[_Corner]:
    places: list[Point] = [(x, y) for x, y in shapely.get_coordinates(region).tolist()]
    near = nearest_station(course.path, places[0])[0]
    found = []
    for place in places:
        near, left = course.path.foot_near(place, near)
        found.append(_Corner(place, near, left))
    return found


def _end(flange: Flange, more: float, corner: _Corner, other: Part, ends: Sequence[Parallel]) -> float:
    """Return the exact station of an end that chords tell to lie at a corner."""
    course, station = flange.course, corner.station
    for end in (course.low, course.high):
        if abs(end - station) < _AT_END:
            return end
    for found in (
        _beside_ends(flange, corner, other, _SAME, ends),
        _where_edges_cross(flange, more, corner, other, ends),
        _at_filed_head(flange, more, corner, other),
        _beside_ends(flange, corner, other, _ON),
    ):
        best = min(found, key=lambda s: abs(s - station), default=math.inf)
        if abs(best - station) < _NEAR:
            return best
    return station


def _beside_ends(
    flange: Flange, corner: _Corner, other: Part, within: float, ends: Sequence[Parallel] = ()
) -> Iterator[float]:
    """Yield the stations beside the ends of another part, or of what is left of its base, that a corner lies on."""
    points = [point for course in other.courses for point in course.corners(_outs(other))]
    points += [end.point_at(end.high) for end in ends]
    for point in points:
        if math.dist(point, corner.place) < within:
            yield flange.course.path.foot_near(point, corner.station)[0]


def _where_edges_cross(
    flange: Flange, more: float, corner: _Corner, other: Part, ends: Sequence[Parallel]
) -> Iterator[float]:
    """Yield the stations at which an edge of a flange crosses one of another part's head and base near a corner."""
    own = list(_edges_at(flange.course, _own_outs(flange, more), corner.place))
    theirs = [edge for course in other.courses for edge in _edges_at(course, _outs(other), corner.place)]
    theirs += [edge for course in other.courses for edge in _ends_at(course, _outs(other), corner.place)]
    theirs += [end for end in ends if _passes(end, corner.place)]
    for a in own:
        for b in theirs:
            for crossing in find_crossings(a, b):
                yield flange.course.path.foot_near(crossing.point, corner.station)[0]


def _at_filed_head(flange: Flange, more: float, corner: _Corner, other: Part) -> Iterator[float]:
    """Yield the stations of the places near a corner at which a head is filed off aslant by a flangeway.

    Its back goes on there beyond its face: what crosses are an edge of the flange, an edge of the other part carried on
    beyond its ends, and the far edges of the flangeways that were taken from its head.
    """
    course, place = flange.course, corner.place
    curves = [Parallel(course.path, course.offset(out), course.low, course.high) for out in _own_outs(flange, more)]
    own = [near for curve in curves if (near := _near(curve, place)) is not None]
    bars = [one for one in other.courses if one.straight is None]
    curves = [Parallel(one.path, one.offset(out), 0.0, one.path.length) for one in bars for out in _outs(other)]
    theirs = [near for curve in curves if (near := _near(curve, place)) is not None]
    grooves = [near for curve in other.grooves if (near := _near(curve, place)) is not None]
    for a, b in (*product(own, (*theirs, *grooves)), *product(theirs, grooves)):
        for crossing in find_crossings(a, b):
            yield course.path.foot_near(crossing.point, corner.station)[0]


def _ends_at(course: Course, outs: Sequence[float], place: Point) -> Iterator[Parallel]:
    """Yield the square ends of a course that pass a place, from edge to edge of the base."""
    corners = list(course.corners((outs[0], outs[-1])))
    for first, last in (corners[:2], corners[2:]):
        end = line_between(first, last)
        if _passes(end, place):
            yield end


def _passes(line: Parallel, place: Point) -> bool:
    """Tell whether a straight line passes a place."""
    ahead, beside = line.path.start.local(place)
    return abs(beside) < _ON and -_ON < ahead < line.path.length + _ON


def _own_outs(flange: Flange, more: float) -> Sequence[float]:
    """Return how far out the edges of a flange made wider by `more`, and the face, lie."""
    return flange.edge, flange.reach(more), 0.0


def _outs(part: Part) -> Sequence[float]:
    """Return how far out the edges of a part's base and head lie."""
    head, flange = part.section.head, part.section.flange
    return -flange, 0.0, head, head + flange


def _edges_at(course: Course, outs: Sequence[float], place: Point) -> Iterator[Parallel]:
    """Yield what of a course's edges passes a place, as far as it lies near."""
    station = nearest_station(course.path, place)[0]
    if not course.low - _LOOK < station < course.high + _LOOK:
        return
    for out in dict.fromkeys(outs):
        for curve in course.curves(out):
            if curve.path is not course.path:
                if _passes(curve, place):
                    yield curve
            elif (near := _near(curve, place)) is not None:
                yield near


def _near(curve: Parallel, place: Point) -> Parallel | None:
    """Return what of a curve that passes a place lies near it, None of one that does not."""
    station, left = curve.path.foot_near(place, nearest_station(curve.path, place)[0])
    low, high = max(curve.low, station - _LOOK), min(curve.high, station + _LOOK)
    return Parallel(curve.path, curve.offset, low, high) if low < high and abs(left - curve.offset) < _ON else None
