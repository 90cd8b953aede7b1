"""Turn rails and ties into the stretches over which each rail lies bare: between two ties, or from its end to a tie."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import accumulate

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.rails.rail_parts import Rail
from turnout_templates.trackwork.rails.regions import SLIVER
from turnout_templates.trackwork.ties.tie_parts import Tie

BARE_SPACES = 1.5
"""A rail may lie bare between two ties over this many spaces (common practice, no source)."""
_SAGITTA = 0.02
"""How far chords stray from a rail (mm): what lies on a tie is told by them to some hundredths."""
Numbers = NDArray[np.float64]


class Bare(Struct, frozen=True):
    """A stretch of a `rail`, `length` mm along its gauge face, under which no tie lies; `at` is its middle."""

    rail: Rail
    length: float
    at: Point


def most_bare(rules: TieRules) -> float:
    """Return the greatest length in mm over which a rail may lie bare: common practice, no source."""
    return BARE_SPACES * max(rules.spacing, rules.switch_spacing)


def bare_stretches(
    layout: Layout, rails: Sequence[Rail], ties: Sequence[Tie], longer_than: float = 0.0
) -> Iterator[Bare]:
    """Yield the stretches of rails that lie between ties, over more than `longer_than` mm, rail by rail.

    The breaks for flangeways are part of the rail: a frog's pieces are joined by what holds the frog together. All
    rails are looked at as one run of chords, one rail after the other.
    """
    chords = [(rail, list(_face_points(layout, rail))) for rail in rails]
    rails, faces = zip(*(pair for pair in chords if pair[1]), strict=True)  # a point that never opens is no rail
    points = np.array([point for face in faces for point in face])
    firsts = np.array([0, *accumulate(len(face) for face in faces)])
    lengths = np.hypot(*np.diff(points, axis=0).T)
    lengths[firsts[1:-1] - 1] = 0.0  # from the end of one rail to the start of the next
    stations = np.concatenate([[0.0], np.cumsum(lengths)])
    ends = np.stack([stations[[*firsts[:-1], -1]]] * 2, 1)
    held = np.concatenate([_held(ties, points, lengths, stations), ends])
    lows, highs = held[np.argsort(held[:, 0])].T
    reached = np.maximum.accumulate(highs)[:-1]
    for i in np.flatnonzero(lows[1:] - reached > max(longer_than, SLIVER)).tolist():
        middle = (lows[i + 1] + reached[i]) / 2
        rail = rails[int(np.searchsorted(stations[firsts[:-1]], middle)) - 1]
        x, y = (float(np.interp(middle, stations, column)) for column in points.T)
        yield Bare(rail, float(lows[i + 1] - reached[i]), (x, y))


def place_of(layout: Layout, bare: Bare) -> tuple[str, float]:
    """Return the route that a bare rail belongs to there, and the station on it."""
    places = []
    for stretch in bare.rail.stretches:
        route = layout.route(stretch.owner.route)
        station = min(max(nearest_station(route.path, bare.at)[0], stretch.low), stretch.high)
        away = math.dist(route.path.point_at(station, route.offset_at(stretch.owner.face, station)), bare.at)
        places.append((away, stretch.owner.route, station))
    return min(places)[1:]


def _face_points(layout: Layout, rail: Rail) -> Iterator[Point]:
    """Yield the points of a rail's gauge face, as chords, over all its stretches."""
    for stretch in rail.stretches:
        route = layout.route(stretch.owner.route)
        if stretch.high > stretch.low:
            curves = route.lie(stretch.owner.face, stretch.low, stretch.high)
            chords = [point for curve in curves for point in flatten(curve, sagitta=_SAGITTA)]
            yield from chords if stretch.way > 0 else reversed(chords)


def _held(ties: Sequence[Tie], points: Numbers, lengths: Numbers, stations: Numbers) -> Numbers:
    """Return (low, high) of the stations that lie on a tie, one row for each chord and tie that meet.

    `points` holds (x, y) in rows, `lengths` those of the chords between them, `stations` how far along each point is.
    """
    places = np.array([(*tie.centre, tie.angle, tie.length / 2, tie.width / 2) for tie in ties]).reshape(-1, 5)
    ways = np.stack([np.cos(places[:, 2]), np.sin(places[:, 2])], 1)
    reach = np.abs(ways) * places[:, 3:4] + places[:, 4:]
    boxes = shapely.box(*(places[:, :2] - reach).T, *(places[:, :2] + reach).T)
    real = np.flatnonzero(lengths > 0.0)
    chords = shapely.linestrings(np.stack([points[real], points[real + 1]], 1))
    which, on = shapely.STRtree(boxes).query(chords)
    which, tie, along = real[which], places[on], ways[on]
    start, way = points[which] - tie[:, :2], points[which + 1] - points[which]
    across = np.stack([-along[:, 1], along[:, 0]], 1)
    low, high = np.zeros(len(which)), np.ones(len(which))
    for axis, half in ((along, tie[:, 3]), (across, tie[:, 4])):
        enter, leave = between(np.sum(start * axis, 1), np.sum(way * axis, 1), half)
        low, high = np.maximum(low, enter), np.minimum(high, leave)
    meets = high > low
    first, length = stations[which[meets]], lengths[which[meets]]
    return np.stack([first + low[meets] * length, first + high[meets] * length], 1)


def between(start: Numbers, way: Numbers, half: Numbers) -> tuple[Numbers, Numbers]:
    """Return the shares of a way between which it lies within `half` of zero; an empty range where it never does."""
    still = np.abs(way) < 1e-12
    safe = np.where(still, 1.0, way)
    one, other = (-half - start) / safe, (half - start) / safe
    inside = np.abs(start) < half
    enter = np.where(still, np.where(inside, -np.inf, np.inf), np.minimum(one, other))
    leave = np.where(still, np.where(inside, np.inf, -np.inf), np.maximum(one, other))
    return enter, leave
