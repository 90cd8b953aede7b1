"""Turn rails and ties into the stretches over which each rail lies bare: between two ties, or from its end to a tie."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.model import Interval, Rail, Trackwork
from turnout_templates.trackwork.regions import without

BARE_SPACES = 1.5
"""A rail may lie bare between two ties over this many spaces (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Bare:
    """A stretch of the rail `rail`, `length` mm along its gauge face, under which no tie lies; `at` is its middle."""

    rail: str
    length: float
    at: Point


def most_bare(rules: TieRules) -> float:
    """Return the greatest length in mm over which a rail may lie bare: common practice, no source."""
    return BARE_SPACES * max(rules.spacing, rules.switch_spacing)


def bare_stretches(work: Trackwork) -> Iterator[Bare]:
    """Yield every stretch of every rail that lies between ties, rail by rail.

    The breaks for flangeways are part of the rail: a frog's pieces are joined by what holds the frog together.
    """
    regions = shapely.polygons([tie.corners() for tie in work.ties])
    tree = shapely.STRtree(regions)
    for rail in work.rails:
        points = list(_face_points(work, rail))
        chords = shapely.linestrings(list(pairwise(points)))
        stations = [0.0, *accumulate(shapely.length(chords).tolist())]
        which, ties = tree.query(chords, predicate="intersects")
        lying = shapely.intersection(chords[which], regions[ties])
        held = [_reach(part, points[i], stations[i]) for i, part in zip(which.tolist(), lying.tolist(), strict=True)]
        for low, high in without((0.0, stations[-1]), held):
            yield Bare(rail.id, high - low, _point_at(points, stations, (low + high) / 2))


def _face_points(work: Trackwork, rail: Rail) -> Iterator[Point]:
    """Yield the points of a rail's gauge face, as chords, over all its stretches."""
    before: Point | None = None
    for stretch in rail.stretches:
        path = work.layout.route(stretch.owner.route).path
        for point in flatten(Parallel(path, stretch.owner.face.offset, stretch.low, stretch.high)):
            if point != before:
                yield point
            before = point


def _reach(part: BaseGeometry, start: Point, station: float) -> Interval:
    """Return between which stations the `part` of a chord lies; the chord begins at `start`."""
    distances = [math.dist(start, (x, y)) for x, y in shapely.get_coordinates(part).tolist()]
    return station + min(distances), station + max(distances)


def _point_at(points: Sequence[Point], stations: Sequence[float], station: float) -> Point:
    """Return the point of a run of chords at a station of it."""
    i = min(bisect_right(stations, station) - 1, len(points) - 2)
    (x0, y0), (x1, y1) = points[i], points[i + 1]
    share = (station - stations[i]) / (stations[i + 1] - stations[i])
    return x0 + share * (x1 - x0), y0 + share * (y1 - y0)
