"""Say which flangeways take what from which heads: the bands beside all gauge faces, and who is exempt from them.

A moving point and the rails outside it do not cut each other until a full flangeway has opened between them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import shapely
from msgspec import Struct
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.trackwork.frogs.fits import fit_frogs
from turnout_templates.trackwork.frogs.frog_parts import Frog, GuidingSide
from turnout_templates.trackwork.frogs.frogs import flangeway_edge
from turnout_templates.trackwork.points.behind import Behind, rails_in_front
from turnout_templates.trackwork.rails.rail_parts import Interval, PointRail, RouteFace, Stretch
from turnout_templates.trackwork.rails.regions import SLIVER, strip


class Band(Struct, frozen=True):
    """The flangeway beside the gauge face `owner` from station `low` to `high` of its route."""

    owner: RouteFace
    route: LaidRoute
    low: float
    high: float
    region: Polygon


class Filing:
    """Everything needed to file heads: bands, exemptions by pair of faces, frogs by the faces that they lie on.

    `joints` tells by frog how its bars are fitted; `behind` holds each pair of a point and a rail that it lies behind,
    with the station on that rail beside which the point is clear of it.
    """

    def __init__(self, layout: Layout, points: Sequence[PointRail], frogs: tuple[Frog, ...], head: float) -> None:
        self.layout = layout
        self.head = head
        self.frogs: dict[RouteFace, list[Frog]] = {}
        for frog in frogs:
            self.frogs.setdefault(frog.first, []).append(frog)
            self.frogs.setdefault(frog.second, []).append(frog)
        self.cut_over: dict[tuple[RouteFace, RouteFace], Interval] = {}
        self.in_front: dict[RouteFace, list[RouteFace]] = {}
        self.behind: list[tuple[Behind, float]] = []
        for pair in rails_in_front(layout, points, head):
            self._exempt_pair(pair)
        self.sides: dict[tuple[RouteFace, RouteFace], list[GuidingSide]] = {}
        self.bands = tuple(self._bands())
        self.tree = shapely.STRtree([band.region for band in self.bands])
        self.joints = fit_frogs(layout, frogs, head, self._takes)

    def cut_sides(self, sides: Sequence[GuidingSide]) -> None:
        """Let the groove beside a face be no wider than a guard's where the rail it is cut from is the guard."""
        for side in sides:
            self.sides.setdefault((side.beside, side.owner), []).append(side)

    def _exempt_pair(self, pair: Behind) -> None:
        """Remember for a point and a rail that it lies behind the stations from which they cut each other."""
        stock, route = self.layout.route(pair.outside.route), self.layout.route(pair.point.route)
        beside = nearest_station(stock.path, route.path.point_at(pair.clear, pair.point.face.offset))[0]
        turn = stock.path.heading_at(beside) - route.path.heading_at(pair.clear)
        self._cut_from(pair.point, pair.outside, pair.clear, pair.way)
        self._cut_from(pair.outside, pair.point, beside, pair.way if math.cos(turn) > 0 else -pair.way)
        self.in_front.setdefault(pair.point, []).append(pair.outside)
        self.behind.append((pair, beside))

    def _cut_from(self, cutter: RouteFace, cut: RouteFace, station: float, way: int) -> None:
        """Let the flangeway of one face cut the rail on another only from a station of its route, one `way`, on."""
        low, high = self.cut_over.get((cutter, cut), (-math.inf, math.inf))
        self.cut_over[cutter, cut] = (max(low, station), high) if way > 0 else (low, min(high, station))

    def _takes(self, frog: Frog, owner: RouteFace, along: Interval) -> bool:
        """Tell whether the flangeway of a third rail takes some of a frog's face between two stations."""
        if along[1] - along[0] < SLIVER:
            return False
        curve = Parallel(self.layout.route(owner.route).path, owner.face.offset, *along)
        line = LineString(flatten(curve))
        for index in self.tree.query(line, predicate="intersects").tolist():
            band = self.bands[index]
            if band.owner.route != owner.route and band.owner not in (frog.first, frog.second):
                low, high = self.cut_over.get((band.owner, owner), (-math.inf, math.inf))
                over = max(low, band.low), min(high, band.high)
                if over[0] < over[1] and any(within_band(curve, band, over)):
                    return True
        return False

    def _bands(self) -> Iterator[Band]:
        for route in self.layout:
            for face in route.faces:
                low, high = route.begin_of(face), route.end_of(face)
                yield Band(RouteFace(route.name, face), route, low, high, _band_region(route, face, low, high))

    def cutters(self, stretch: Stretch, head: Polygon) -> Iterator[tuple[Band, BaseGeometry]]:
        """Yield the bands of other routes that reach `head`, each shorn of what the stretch is exempt from."""
        for index in self.tree.query(head, predicate="intersects").tolist():
            band = self.bands[index]
            if band.owner.route == stretch.owner.route:
                continue
            low, high = self.cuts_over(band, stretch)
            if low < high:
                whole = (low, high) == (band.low, band.high)
                region = band.region if whole else _band_region(band.route, band.owner.face, low, high)
                for side in self.sides.get((band.owner, stretch.owner), ()):
                    region = region.difference(_kept(band, side))
                yield band, region

    def cuts_over(self, band: Band, stretch: Stretch) -> Interval:
        """Return the stations of a band's route between which it cuts a stretch, which may be exempt elsewhere."""
        low, high = self.cut_over.get((band.owner, stretch.owner), (-math.inf, math.inf))
        return max(low, band.low), min(high, band.high)


def _band_region(route: LaidRoute, face: Face, low: float, high: float) -> Polygon:
    """Return the flangeway beside a face between two stations."""
    return strip(route.path, face.offset, face.offset - face.outward * face.flangeway, low, high)


def _kept(band: Band, side: GuidingSide) -> Polygon:
    """Return what a groove leaves standing of a head whose side is a guard: from the guard's flangeway to its own."""
    face = band.owner.face
    near, far = (face.offset - face.outward * wide for wide in (side.flangeway, face.flangeway))
    return strip(band.route.path, near, far, *side.cut)


def within_band(curve: Parallel, band: Band, over: Interval) -> Iterator[Interval]:
    """Yield the stations of `curve` between which it lies in a band, its ends found exactly."""
    face = band.owner.face
    path = band.route.path
    marks = {curve.low, curve.high}
    for edge in (Parallel(path, face.offset, *over), flangeway_edge(band.route, face)):
        marks |= {crossing.s for crossing in find_crossings(curve, edge)}
    ordered = sorted(marks)
    for low, high in pairwise(ordered):
        point = curve.point_at((low + high) / 2)
        station = nearest_station(path, point)[0]
        inside = (face.offset - path.pose_at(station).local(point)[1]) * face.outward
        if over[0] < station < over[1] and 0.0 < inside < face.flangeway:
            yield low, high
