"""Regions of rail heads and flangeways, computed with shapely on curves flattened to a named sagitta.

Nothing that is printed as a curve comes from here: these regions say what is cut and what is in the way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.rails.rail_parts import Interval, Ring

SLIVER = 1e-5
"""Intervals shorter than this (mm) are rounding between two ways to the same station."""

_OVER_ITSELF = 50.0
"""Nothing shorter than this (mm) is looked at for running over itself."""

CRUMB = 1e-3
"""Scraps of less than this area (mm^2) are rounding, not metal."""


def strip(path: Path, first: float, second: float, low: float, high: float) -> Polygon:
    """Return the region between two offsets (mm, left positive) of `path` from station `low` to `high`.

    Where the path runs over itself, the region is that of its parts together.
    """
    there = flatten(Parallel(path, first, low, high))
    back = flatten(Parallel(path, second, low, high))
    whole = Polygon([*there, *reversed(back)])
    if high - low < _OVER_ITSELF or whole.is_valid:
        return whole
    middle = (low + high) / 2
    parts = strip(path, first, second, low, middle).union(strip(path, first, second, middle, high))
    return parts if isinstance(parts, Polygon) else whole


def parts_of(region: BaseGeometry, crumb: float = CRUMB) -> list[Polygon]:
    """Return the polygons of a region, scraps of less than `crumb` mm^2 left out."""
    return [p for p in shapely.get_parts(region).tolist() if isinstance(p, Polygon) and p.area > crumb]


def rings_of(polygon: Polygon) -> tuple[Ring, ...]:
    """Return the outline of a polygon and those of its holes."""
    return tuple(_ring(line.coords) for line in (polygon.exterior, *polygon.interiors))


def _ring(coordinates: Iterable[Sequence[float]]) -> Ring:
    points: list[Point] = [(c[0], c[1]) for c in coordinates]
    return tuple(points[:-1])


def stations_of(region: BaseGeometry, path: Path) -> Interval:
    """Return the least and the greatest station of `path` beside the corners of a region that lies along it."""
    corners = shapely.get_coordinates(region).tolist()
    near = nearest_station(path, tuple(corners[0]))[0]
    stations = []
    for x, y in corners:
        near = path.foot_near((x, y), near)[0]
        stations.append(near)
    return min(stations), max(stations)


def merged(intervals: Iterable[Interval], gap: float = 0.0) -> list[Interval]:
    """Return intervals in order, those that overlap or lie nearer than `gap` made one."""
    joined: list[Interval] = []
    for low, high in sorted(intervals):
        if joined and low <= joined[-1][1] + gap:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def overlap(a: Interval, b: Interval) -> Interval | None:
    """Return what two intervals share, None where that is rounding."""
    low, high = max(a[0], b[0]), min(a[1], b[1])
    return (low, high) if high - low > SLIVER else None


def without(whole: Interval, holes: Iterable[Interval]) -> list[Interval]:
    """Return what is left of `whole` outside `holes`."""
    left, at = [], whole[0]
    for low, high in merged(holes):
        if low > at:
            left.append((at, min(low, whole[1])))
        at = max(at, high)
        if at >= whole[1]:
            break
    if at < whole[1]:
        left.append((at, whole[1]))
    return [(low, high) for low, high in left if high - low > SLIVER]


def within(intervals: Iterable[Interval], low: float, high: float) -> list[Interval]:
    """Return what of some intervals lies between two stations."""
    clipped = ((max(begin, low), min(end, high)) for begin, end in intervals)
    return [(begin, end) for begin, end in clipped if end - begin > SLIVER]


def parted(intervals: Iterable[Interval], stations: Iterable[float]) -> list[Interval]:
    """Return intervals cut in two wherever a station lies inside one."""
    left = list(intervals)
    for at in stations:
        left = [part for whole in left for part in (_halves(whole, at) if whole[0] < at < whole[1] else [whole])]
    return left


def _halves(whole: Interval, at: float) -> list[Interval]:
    return [(whole[0], at), (at, whole[1])]
