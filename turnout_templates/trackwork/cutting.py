"""File the rail heads: take from each head the flangeways of the other routes, and taper the points.

Where a wheel of one route must pass a rail of another, the band of a flangeway beside the gauge face that the wheel
follows is taken from that rail's head, over the whole overlap. A moving point is exempt against the rails outside it
until a full flangeway has opened between them; there it is what is left of its head outside theirs. What has no gauge
face left is gone. What bars take from each other where they are fitted together at a frog is told by `fits`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.behind import Behind, rails_in_front
from turnout_templates.trackwork.courses import line_between
from turnout_templates.trackwork.fits import fit_frogs
from turnout_templates.trackwork.frog_parts import Frog, GuidingSide
from turnout_templates.trackwork.frogs import flangeway_edge
from turnout_templates.trackwork.rail_parts import FiledHead, FiledPart, Interval, PointRail, Rail, RouteFace, Stretch
from turnout_templates.trackwork.regions import SLIVER, merged, parted, parts_of, rings_of, stations_of, strip, without

WHOLE = 0.02
"""Stations (mm) by which a filed zone is widened, so that its outline meets the untouched edges."""
_TOUCHES = 0.01
"""A scrap of head within this distance (mm) of its own gauge face still carries it."""


@dataclass(frozen=True, slots=True)
class Band:
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
                if over[0] < over[1] and any(_in_band(curve, band, over)):
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


def file_heads(filing: Filing, rails: tuple[Rail, ...]) -> tuple[FiledHead, ...]:
    """Return every stretch of every rail with its head filed."""
    whole = _whole_heads(filing.layout, rails, filing.head)
    return tuple(
        _file(filing, rail, stretch, whole)
        for rail in rails
        for stretch in rail.stretches
        if stretch.high > stretch.low
    )


def _whole_heads(layout: Layout, rails: tuple[Rail, ...], head: float) -> Mapping[RouteFace, list[Polygon]]:
    """Return the unfiled heads of all stretches by the face they lie on."""
    found: dict[RouteFace, list[Polygon]] = {}
    for rail in rails:
        for stretch in rail.stretches:
            if stretch.high > stretch.low:
                found.setdefault(stretch.owner, []).append(whole_head(layout, stretch, head))
    return found


def whole_head(layout: Layout, stretch: Stretch, head: float) -> Polygon:
    """Return the head of a stretch before it is filed."""
    face = stretch.owner.face
    path = layout.route(stretch.owner.route).path
    return strip(path, face.offset, face.offset + face.outward * head, stretch.low, stretch.high)


def _file(filing: Filing, rail: Rail, stretch: Stretch, whole: Mapping[RouteFace, list[Polygon]]) -> FiledHead:
    route = filing.layout.route(stretch.owner.route)
    head = whole_head(filing.layout, stretch, filing.head)
    cutters = list(filing.cutters(stretch, head))
    takers: list[BaseGeometry] = [region for _, region in cutters]
    grooves = [flangeway_edge(band.route, band.owner.face) for band, _ in cutters]
    if rail.points_on(stretch):
        in_front = filing.in_front.get(stretch.owner, [])
        takers += [region for outside in in_front for region in whole.get(outside, [])]
    for frog in filing.frogs.get(stretch.owner, []):
        taken = (_before_practical(filing, frog, stretch), filing.joints[frog.id].takers.get(stretch.owner))
        takers += [region for region in taken if region is not None]
        blunt = _blunt_end(filing, frog, stretch)
        grooves += [] if blunt is None else [line_between(*blunt)]
    hinges = [p.hinge for p in rail.points if p.hinge is not None and p.owner == stretch.owner]
    faces = parted(_faces(filing, stretch), hinges)
    cuts = [cut for region in takers for cut in parts_of(head.intersection(region))]
    if not cuts:
        return FiledHead(rail.id, stretch, tuple(faces), (_whole(stretch),), (), ())
    left = head.difference(shapely.union_all(takers))
    zones = [stations_of(cut, route.path) for cut in cuts]
    filed = parted([_within(zone, stretch) for zone in merged(zones, 2 * WHOLE)], hinges)
    lines = [(face, LineString(flatten(_curve(route, stretch, face)))) for face in faces]
    carried = shapely.union_all([line for _, line in lines])
    scraps = [part for part in parts_of(left) if part.distance(carried) < _TOUCHES]
    parts = [
        FiledPart(_carrying(part, lines), zone, rings_of(part))
        for zone in filed
        for scrap in scraps
        for part in parts_of(scrap.intersection(_zone(filing, stretch, zone)))
    ]
    edges = without(_whole(stretch), filed)
    return FiledHead(rail.id, stretch, tuple(faces), tuple(edges), tuple(filed), tuple(parts), tuple(grooves))


def _carrying(part: Polygon, lines: Sequence[tuple[Interval, LineString]]) -> Interval:
    """Return the stations of the gauge face that a part of a head hangs on, of several the longest on it."""
    near = [(face, line) for face, line in lines if part.distance(line) < _TOUCHES] if len(lines) > 1 else lines
    if len(near) > 1:
        grown = part.buffer(_TOUCHES)
        return max(near, key=lambda pair: grown.intersection(pair[1]).length)[0]
    return near[0][0] if near else min(lines, key=lambda pair: part.distance(pair[1]))[0]


def _whole(stretch: Stretch) -> Interval:
    return stretch.low, stretch.high


def _within(zone: Interval, stretch: Stretch) -> Interval:
    return max(zone[0] - WHOLE, stretch.low), min(zone[1] + WHOLE, stretch.high)


def _curve(route: LaidRoute, stretch: Stretch, interval: Interval) -> Parallel:
    return Parallel(route.path, stretch.owner.face.offset, *interval)


def _zone(filing: Filing, stretch: Stretch, zone: Interval) -> Polygon:
    """Return the head's place between two stations, a little wider than the head so that its edges survive."""
    face = stretch.owner.face
    path = filing.layout.route(stretch.owner.route).path
    wide = filing.head * 0.1
    return strip(
        path, face.offset - face.outward * wide, face.offset + face.outward * (filing.head + wide), zone[0], zone[1]
    )


def _faces(filing: Filing, stretch: Stretch) -> list[Interval]:
    """Return the stations between which the gauge face of a stretch is there: in no other route's flangeway."""
    route = filing.layout.route(stretch.owner.route)
    curve = Parallel(route.path, stretch.owner.face.offset, stretch.low, stretch.high)
    line = LineString(flatten(curve))
    holes: list[Interval] = []
    for band, region in filing.cutters(stretch, Polygon(line.buffer(0.05).exterior)):
        if not line.intersects(region):
            continue
        holes += _in_band(curve, band, filing.cuts_over(band, stretch))
    for frog in filing.frogs.get(stretch.owner, []):
        holes += _blunted(frog, stretch, filing.joints[frog.id].spliced(stretch.owner))
    return without(_whole(stretch), holes)


def _in_band(curve: Parallel, band: Band, over: Interval) -> Iterator[Interval]:
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


def _blunted(frog: Frog, stretch: Stretch, spliced: float | None) -> Iterator[Interval]:
    """Yield the stations of a stretch that the blunting of a V takes from its gauge face, or up to its splice."""
    if frog.practical_stations is None:
        return
    for owner, station, practical in (
        (frog.first, frog.s, frog.practical_stations[0]),
        (frog.second, frog.t, frog.practical_stations[1]),
    ):
        if owner == stretch.owner and stretch.low <= station <= stretch.high:
            begin = practical if spliced is None else spliced
            yield min(station, begin), max(station, begin)


def _before_practical(filing: Filing, frog: Frog, stretch: Stretch) -> Polygon | None:
    """Return the tip of a V before its practical point, which is filed off, where `stretch` carries it."""
    ends = _blunt_end(filing, frog, stretch)
    if ends is None or frog.practical is None:
        return None
    (px, py), (x, y) = frog.practical, frog.point
    dx, dy = x - px, y - py
    ax, ay = 0.5 * (ends[0][0] - ends[1][0]), 0.5 * (ends[0][1] - ends[1][1])
    return Polygon(
        [
            (px + 1.2 * ax, py + 1.2 * ay),
            (px - 1.2 * ax, py - 1.2 * ay),
            (x + 0.1 * dx - 1.2 * ax, y + 0.1 * dy - 1.2 * ay),
            (x + 0.1 * dx + 1.2 * ax, y + 0.1 * dy + 1.2 * ay),
        ]
    )


def _blunt_end(filing: Filing, frog: Frog, stretch: Stretch) -> tuple[Point, Point] | None:
    """Return the places on the two faces of a V at its practical point, None where `stretch` does not carry it."""
    if frog.practical_stations is None:
        return None
    for owner, station in ((frog.first, frog.s), (frog.second, frog.t)):
        if owner == stretch.owner and stretch.low <= station <= stretch.high:
            first, second = (
                filing.layout.route(o.route).path.point_at(s, o.face.offset)
                for o, s in zip((frog.first, frog.second), frog.practical_stations, strict=True)
            )
            return first, second
    return None
