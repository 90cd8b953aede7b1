"""Find exactly where the end of a guiding rail just touches what is in its way.

Regions say what is in the way and roughly where; the end itself is where a corner of the rail's end lies on the edge of
that thing, or a corner of that thing on the rail.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.guides.guide_shape import GuideShape, Shape
from turnout_templates.trackwork.guides.guides import flare_more

_FINEST = 1e-10
"""An end is found to this (mm)."""
_FAR = 0.8
"""How far (mm) an end told by flattened regions may be off: their sagitta over the slope of what is met, and more."""
_FIRST = 0.05  # mm; the first step away from such an end, doubled until it is passed
_TOUCHES = 1e-6
"""A corner that lies no further (mm) inside something only touches it."""
_MOST = 60
"""Steps after which halving an interval of `_FAR` leaves nothing."""


def touching_end(
    start: float, out: int, shape_at: Callable[[float], GuideShape], met: Shape, first: float = 0.0
) -> float:
    """Return the station near `start` up to which a rail reaches `met` without entering it; `start` where none is.

    `out` is the direction of that end, 1 for the upper; `shape_at` gives the rail that ends at a station. What of `met`
    lies nearer than `first` mm to the face that the rail lies beside is cut away.
    """
    end = 1 if out > 0 else 0
    corners = tuple(met.corners())
    beside = nearest_station(met.path, shape_at(start).at(start, 0.0))[0]

    def depth(station: float) -> float:
        shape = shape_at(station)
        entering = [met.depth(place, beside) for place in _end_of(shape, end, first)]
        return max(*entering, *(shape.depth(corner, start) for corner in corners))

    inside, outside = _bracket(start, out, depth)
    return start if inside is None or outside is None else _halved(inside, outside, depth)


def entering(shape: GuideShape, met: Shape, first: float = 0.0) -> Iterator[Point]:
    """Yield the corners of a flare's end that lie inside `met`, however little.

    What of `met` lies nearer than `first` mm to the face that the rail lies beside is cut away.
    """
    for end in (0, 1):
        if shape.straight[end] != shape.ends[end]:
            beside = nearest_station(met.path, shape.at(shape.ends[end], 0.0))[0]
            yield from (place for place in _end_of(shape, end, first) if met.depth(place, beside) > _TOUCHES)


def _end_of(shape: GuideShape, end: int, first: float) -> Sequence[Point]:
    """Return the corners of an end, what of it lies nearer than `first` to the face left out."""
    station = shape.ends[end]
    reach = shape.flangeway + flare_more(abs(station - shape.straight[end]))
    return shape.at(station, min(max(first - reach, 0.0), shape.head)), shape.at(station, shape.head)


def _bracket(start: float, out: int, depth: Callable[[float], float]) -> tuple[float | None, float | None]:
    """Return a station where the rail has entered and one where it has not, nearest to `start`."""
    entered = depth(start) > 0.0
    last, step = start, _FIRST
    while step <= _FAR:
        at = start + (-out if entered else out) * step
        if (depth(at) > 0.0) != entered:
            return (last, at) if entered else (at, last)
        last, step = at, 2 * step
    return None, None


def _halved(inside: float, outside: float, depth: Callable[[float], float]) -> float:
    """Return the last station outside, by false position, halving where that is slow."""
    deep, clear = depth(inside), depth(outside)
    for i in range(_MOST):
        if abs(inside - outside) < _FINEST:
            break
        part = clear / (clear - deep) if i % 3 and clear < 0.0 < deep else 0.5
        at = outside + min(max(part, 0.01), 0.99) * (inside - outside)
        found = depth(at)
        if abs(found) < _FINEST / 10:
            return at
        if found > 0.0:
            inside, deep = at, found
        else:
            outside, clear = at, found
    return outside
