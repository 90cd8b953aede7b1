"""Find exactly from where to where a flange lies on something else.

Regions tell that it does, and where to within the chords they are made of. The ends themselves are where an edge of the
flange crosses an edge of what it fouls, or lies beside an end of either.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import product

import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.bases.base_parts import Flange, Part
from turnout_templates.trackwork.points.open_points import OpenPoint
from turnout_templates.trackwork.rails.courses import Course, line_between
from turnout_templates.trackwork.rails.rail_parts import Interval

_LOOK = 1.5
"""Crossings are sought this far (mm) before and behind where regions end."""
_NEAR = 0.3
"""How far (mm) an end told by chords may be off: their sagitta over the sine of the flattest angle that is met."""
_LEVEL = 0.1
"""Of corners that chords tell to lie this near (mm of station) to the first, any may be the first."""
_ON = 0.02
"""A corner told by chords lies on an edge that passes this near (mm)."""
_CHORDS = 0.05
"""A corner of a region lies this near (mm) to what chords make of it: their sagitta over the sine of a flat angle."""
_EXACT = 1e-7
"""A place lies on a flange, or an end of it, where no more than rounding (mm) says otherwise."""
_AT_END = 1e-6
"""The corners of a part's own end are told by no chord, so that an end lies there where it is this near (mm)."""


class _Corner(Struct, frozen=True):
    """A corner of a region: its `place`, and the station and distance to the left on a course's route."""

    place: Point
    station: float
    left: float


class Fouled(Struct, frozen=True):
    """What a flange lies on: a `region` of the part `other`, between two distances out `across` it.

    `ends` are the square ends of what is left of the other's base.
    """

    other: Part
    region: BaseGeometry
    across: Interval
    ends: Sequence[Parallel] = ()

    def holds(self, place: Point) -> bool:
        """Tell whether a place lies on it, but for where its head is filed."""
        for course in self.other.courses:
            station = nearest_station(course.path, place)[0]
            if course.low <= station <= course.high:
                first, last = (course.beyond(place, station, out) for out in self.across)
                if first > -_EXACT and last < _EXACT:
                    return bool(self.region.distance(shapely.Point(place)) < _CHORDS)
        return False


def reached_stations(course: Course, region: BaseGeometry) -> Interval:
    """Return the stations of a course beside a region, as its corners tell."""
    corners = _corners(course, region)
    return min(c.station for c in corners), max(c.station for c in corners)


def fouled_stations(flange: Flange, more: float, common: BaseGeometry, fouled: Fouled) -> Interval:
    """Return the stations of the flange's course over which it is `fouled`, told by what is `common` to both.

    `more` is by how much (mm) the flange was made wider for that.
    """
    corners = _corners(flange.course, common)
    low, high = (pick(corner.station for corner in corners) for pick in (min, max))
    first = [corner for corner in corners if corner.station < low + _LEVEL]
    last = [corner for corner in corners if corner.station > high - _LEVEL]
    return (
        min((at for corner in first for at in _exactly(flange, more, corner, fouled)), default=low),
        max((at for corner in last for at in _exactly(flange, more, corner, fouled)), default=high),
    )


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
    found = list(_beside_ends(flange, corner, other))
    near = point.path.foot_near(corner.place, nearest_station(point.path, corner.place)[0])[0]
    for theirs in () if found else other.courses:
        station = nearest_station(theirs.path, corner.place)[0]
        if theirs.low - _LOOK < station < theirs.high + _LOOK:
            for limit in _outs(other):
                at = point.reaches(out, theirs, limit, near)
                if at is not None:
                    found.append(course.path.foot_near(point.moved(at, out), corner.station)[0])
    best = min(found, key=lambda s: abs(s - corner.station), default=corner.station)
    return best if abs(best - corner.station) < _NEAR else corner.station


def _corners(course: Course, region: BaseGeometry) -> list[_Corner]:
    places: list[Point] = list(dict.fromkeys((x, y) for x, y in shapely.get_coordinates(region).tolist()))
    near = nearest_station(course.path, places[0])[0]
    found = []
    for place in places:
        near, left = course.path.foot_near(place, near)
        found.append(_Corner(place, near, left))
    return found


def _exactly(flange: Flange, more: float, corner: _Corner, fouled: Fouled) -> Iterator[float]:
    """Yield the exact station of a corner told by chords, nothing where it only joins two chords of an edge.

    It is the nearest place that is a corner of what the flange and the other part have in common.
    """
    course, station = flange.course, corner.station
    for end in (course.low, course.high):
        if abs(end - station) < _AT_END:
            yield end
            return
    own = (own for own in course.corners((flange.edge, flange.reach(more))) if math.dist(own, corner.place) < _NEAR)
    found = (
        *(place for place in own if fouled.holds(place)),
        *_ends_of(fouled.other, fouled.ends),
        *_where_edges_cross(flange, more, corner, fouled.other, fouled.ends),
        *_at_filed_head(flange, more, corner, fouled.other),
    )
    near = [place for place in found if math.dist(place, corner.place) < _NEAR]
    for place in sorted(near, key=lambda place: math.dist(place, corner.place)):
        for at in _on_both(flange, more, place, station, fouled.region):
            yield at
            return


def _on_both(flange: Flange, more: float, place: Point, near: float, region: BaseGeometry) -> Iterator[float]:
    """Yield the station beside a place that lies on a flange as widened and, but for chords, on a region."""
    course = flange.course
    low, high = sorted((0.0 if flange.side == "outer" else flange.edge, flange.reach(more)))
    inside = course.beyond(place, near, low) > -_EXACT and course.beyond(place, near, high) < _EXACT
    station = course.path.foot_near(place, near)[0]
    along = course.low - _EXACT < station < course.high + _EXACT
    if inside and along and region.distance(shapely.Point(place)) < _CHORDS:
        yield station


def _ends_of(other: Part, ends: Sequence[Parallel]) -> Iterator[Point]:
    """Yield the corners at the ends of another part, and of what is left of its base."""
    for course in other.courses:
        yield from course.corners(_outs(other))
    yield from (end.point_at(end.high) for end in ends)


def _beside_ends(flange: Flange, corner: _Corner, other: Part) -> Iterator[float]:
    """Yield the stations beside the ends of another part that a corner lies on."""
    for point in _ends_of(other, ()):
        if math.dist(point, corner.place) < _ON:
            yield flange.course.path.foot_near(point, corner.station)[0]


def _where_edges_cross(
    flange: Flange, more: float, corner: _Corner, other: Part, ends: Sequence[Parallel]
) -> Iterator[Point]:
    """Yield the places at which an edge of a flange crosses one of another part's head and base near a corner."""
    foot = corner.station, corner.left
    own = list(_edges_at(flange.course, _own_outs(flange, more), corner.place, foot))
    theirs = [edge for course in other.courses for edge in _edges_at(course, _outs(other), corner.place)]
    theirs += [edge for course in other.courses for edge in _ends_at(course, _outs(other), corner.place)]
    theirs += [end for end in ends if _passes(end, corner.place)]
    for a in own:
        for b in theirs:
            yield from (crossing.point for crossing in find_crossings(a, b))


def _at_filed_head(flange: Flange, more: float, corner: _Corner, other: Part) -> Iterator[Point]:
    """Yield the places near a corner at which a head is filed off aslant by a flangeway.

    Its back goes on there beyond its face: what crosses are an edge of the flange, an edge of the other part carried on
    beyond its ends, and the far edges of the flangeways that were taken from its head.
    """
    course, place = flange.course, corner.place
    curves = [Parallel(course.path, course.offset(out), course.low, course.high) for out in _own_outs(flange, more)]
    own = list(_near(curves, (corner.station, corner.left)))
    grooves = [near for curve in other.grooves for near in _near([curve], _foot(curve.path, place))]
    theirs: list[Parallel] = []
    for one in (one for one in other.courses if one.straight is None):
        curves = [Parallel(one.path, one.offset(out), 0.0, one.path.length) for out in _outs(other)]
        theirs += _near(curves, _foot(one.path, place))
    for a, b in (*product(own, (*theirs, *grooves)), *product(theirs, grooves)):
        yield from (crossing.point for crossing in find_crossings(a, b))


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


def _edges_at(
    course: Course, outs: Sequence[float], place: Point, foot: tuple[float, float] | None = None
) -> Iterator[Parallel]:
    """Yield what of a course's edges passes a place, as far as it lies near.

    `foot` is that of the place on the route, where it is known.
    """
    station, left = foot or _foot(course.path, place)
    if not course.low - _LOOK < station < course.high + _LOOK:
        return
    for out in dict.fromkeys(outs):
        for curve in course.curves(out):
            if curve.path is course.path:
                yield from _near([curve], (station, left))
            elif _passes(curve, place):
                yield curve


def _foot(path: Path, place: Point) -> tuple[float, float]:
    """Return the station and distance to the left of a place on a route."""
    return path.foot_near(place, nearest_station(path, place)[0])


def _near(curves: Iterable[Parallel], foot: tuple[float, float]) -> Iterator[Parallel]:
    """Yield what of the curves that pass a place, told by its `foot` on their path, lies near it."""
    station, left = foot
    for curve in curves:
        low, high = max(curve.low, station - _LOOK), min(curve.high, station + _LOOK)
        if low < high and abs(left - curve.offset) < _ON:
            yield Parallel(curve.path, curve.offset, low, high)
