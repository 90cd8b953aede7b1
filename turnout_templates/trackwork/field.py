"""Know what is already laid, to find out where a guiding rail has room.

A wing or guard rail may touch no other rail's head and stand in no flangeway but that of the rail it lies beside, where
it stands at its own distance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.path import Path
from turnout_templates.trackwork.cutting import Filing
from turnout_templates.trackwork.frog_parts import Frog
from turnout_templates.trackwork.guides import guide_ring
from turnout_templates.trackwork.rail_parts import FiledHead, Interval, Ring, RouteFace
from turnout_templates.trackwork.regions import parts_of, stations_of, strip

_LOOKS = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Where along a stretch two rails are looked at: they may meet at both ends, or in the middle, and not be one."""
_ROUNDING = 0.02
"""Overlaps thinner than this (mm) come from flattening curves and stand in nobody's way."""


@dataclass(frozen=True, slots=True)
class _Obstacle:
    """Something that a guiding rail must not touch: its region, whose it is and what it is called."""

    owner: RouteFace | None
    label: str
    region: BaseGeometry
    is_groove: bool = False


class Field:
    """The heads and flangeways of all rails, and the guiding rails added to them."""

    def __init__(self, layout: Layout, filing: Filing, heads: tuple[FiledHead, ...]) -> None:
        self.layout = layout
        self.head = filing.head
        self.frogs = filing.frogs
        self._obstacles = [obstacle for head in heads for obstacle in self._of_head(head)]
        self._obstacles += [
            _Obstacle(band.owner, f"the flangeway of {band.owner.label}", band.region, True) for band in filing.bands
        ]
        self._tree = shapely.STRtree([obstacle.region for obstacle in self._obstacles])

    def _of_head(self, head: FiledHead) -> Iterator[_Obstacle]:
        owner = head.stretch.owner
        path = self.layout.route(owner.route).path
        for low, high in head.edges:
            whole = strip(path, owner.face.offset, owner.face.offset + owner.face.outward * self.head, low, high)
            yield _Obstacle(owner, f"the rail {owner.label}", whole)
        for ring in head.rings:
            yield _Obstacle(owner, f"the rail {owner.label}", shapely.Polygon(ring).buffer(0))

    def add(self, guides: Iterable[tuple[str, Ring]]) -> None:
        """Add guiding rails by name, which no other may touch."""
        self._obstacles += [_Obstacle(None, name, shapely.Polygon(ring).buffer(0)) for name, ring in guides]
        self._tree = shapely.STRtree([obstacle.region for obstacle in self._obstacles])

    def blocked(
        self, beside: RouteFace, flangeway: float, straight: Interval, ends: Interval, own: tuple[RouteFace, ...]
    ) -> Iterator[tuple[Interval, str]]:
        """Yield the stations over which something lies where a guiding rail would, and what it is called.

        `own` are the faces that the rail belongs to or lies beside; rails that coincide with `beside` count as it.
        """
        path = self.layout.route(beside.route).path
        ring = guide_ring(path, beside.face, flangeway, self.head, straight, ends)
        region = shapely.Polygon(ring).buffer(0).buffer(-_ROUNDING)
        for index in self._tree.query(region, predicate="intersects").tolist():
            obstacle = self._obstacles[index]
            if obstacle.owner is not None and (obstacle.owner in own or self._is_one(obstacle.owner, beside, straight)):
                continue
            hit = region.intersection(obstacle.region)
            if obstacle.is_groove and obstacle.owner is not None:
                for elbow in self.elbows_of(beside, obstacle.owner):
                    hit = hit.difference(self._beyond_guard_flangeway(elbow, obstacle.owner))
            for part in parts_of(hit):
                yield stations_of(part, path), obstacle.label

    def elbows_of(self, face: RouteFace, other: RouteFace | None = None) -> Iterator[Frog]:
        """Yield the K crossings of a face, with `other` only those of the two: along their elbows guards are bent."""
        for frog in self.frogs.get(face, ()):
            if frog.kind == "K" and (other is None or other in (frog.first, frog.second)):
                yield frog

    def _beyond_guard_flangeway(self, elbow: Frog, owner: RouteFace) -> Polygon:
        """Return what a frog flangeway is wider than a guard's, near the elbow of a K round which a guard is bent.

        The bent guard stands at a guard flangeway from both of its faces, all that a wheel needs beside a guard.
        """
        station = elbow.s if owner == elbow.first else elbow.t
        face = owner.face
        guard_flangeway = min(gauge.guard_flangeway for gauge in face.gauges)
        reach = face.flangeway / math.sin(elbow.angle)
        path = self.layout.route(owner.route).path
        low, high = max(station - reach, 0.0), min(station + reach, path.length)
        near, far = (face.offset - face.outward * wide for wide in (guard_flangeway, 1.01 * face.flangeway))
        return strip(path, near, far, low, high)

    def _is_one(self, owner: RouteFace, beside: RouteFace, along: Interval) -> bool:
        """Tell whether the face `owner` of another route is one rail with `beside` from end to end of `along`."""
        if owner.route == beside.route or owner.face.hand != beside.face.hand:
            return False
        low, high = along
        return all(self._lies_on(owner, beside, low + part * (high - low)) for part in _LOOKS)

    def _lies_on(self, owner: RouteFace, beside: RouteFace, station: float) -> bool:
        point = self.layout.route(beside.route).path.point_at(station, beside.face.offset)
        path = self.layout.route(owner.route).path
        left = path.foot_near(point, nearest_station(path, point)[0])[1]
        return abs(left - owner.face.offset) < _ROUNDING


def pairs_that_meet(rings: Sequence[Ring]) -> list[tuple[int, int]]:
    """Return the pairs of outlines whose boxes meet, as indices, the earlier first, in order."""
    boxes = [shapely.Polygon(ring) for ring in rings]
    found = shapely.STRtree(boxes).query(boxes).T.tolist() if boxes else []
    return sorted((i, j) for i, j in found if i < j)


def stations_overlaid(ring: Ring, other: Ring, path: Path) -> Iterator[Interval]:
    """Yield the stations of `path` over which the guiding rail `ring` that lies along it would lie on `other`."""
    region = shapely.Polygon(ring).buffer(0).buffer(-_ROUNDING)
    for part in parts_of(region.intersection(shapely.Polygon(other).buffer(0))):
        yield stations_of(part, path)
