"""File the rail heads: take from each head the flangeways of the other routes, and taper the points.

Where a wheel of one route must pass a rail of another, the band of a flangeway beside the gauge face that the wheel
follows is taken from that rail's head, over the whole overlap. A moving point is exempt against the rails outside it
until a full flangeway has opened between them; there it is what is left of its head outside theirs. What has no gauge
face left is gone, and so is a gauge face with no head left on it. What bars take from each other where they are fitted
together at a frog is told by `fits`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.frogs.bands import Filing, within_band
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.frogs.frogs import flangeway_edge
from turnout_templates.trackwork.rails.courses import line_between
from turnout_templates.trackwork.rails.rail_parts import FiledHead, FiledPart, Interval, Rail, RouteFace, Stretch
from turnout_templates.trackwork.rails.regions import (
    merged,
    parted,
    parts_of,
    rings_of,
    stations_of,
    strip,
    within,
    without,
)

WHOLE = 0.02
"""Stations (mm) by which a filed zone is widened, so that its outline meets the untouched edges."""
_TOUCHES = 0.01
"""A scrap of head within this distance (mm) of its own gauge face still carries it."""


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
    left_on = {part.face for part in parts} | {face for face in faces if within(edges, *face)}
    faces = [face for face in faces if face in left_on]
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
        holes += within_band(curve, band, filing.cuts_over(band, stretch))
    for frog in filing.frogs.get(stretch.owner, []):
        holes += _blunted(frog, stretch, filing.joints[frog.id].spliced(stretch.owner))
    return without(_whole(stretch), holes)


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
