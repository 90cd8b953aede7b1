"""Know what is already laid, to find out where a guiding rail has room.

A wing or guard rail may touch no other rail's head and stand in no flangeway but that of the rail it lies beside, where
it stands at its own distance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.frogs.bands import Band, Filing
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard, Wing
from turnout_templates.trackwork.guides.guide_shape import GuideShape, Shape, StripShape
from turnout_templates.trackwork.guides.guides import STEEP
from turnout_templates.trackwork.guides.touching import entering
from turnout_templates.trackwork.rails.rail_parts import FiledHead, Interval, Ring, RouteFace
from turnout_templates.trackwork.rails.regions import parts_of, stations_of, strip

_LOOKS = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Where along a stretch two rails are looked at: they may meet at both ends, or in the middle, and not be one."""
_ROUNDING = 0.004
"""Overlaps thinner than this (mm) may come from flattening both curves, to a sagitta of 0.002 mm each, and stand in
nobody's way, unless a corner lies in them. Where something is in the way, its edge is found exactly (see `touching`).
"""
_AROUND = 1.1
"""A guard is about an elbow so far from it, in lengths of the groove there: its own, and a little of its flare."""
_ONE_RAIL = 0.02
"""Faces that lie within this distance (mm) all along are one."""


class Obstacle(Struct, frozen=True, eq=False):
    """Something that a guiding rail must not touch: its region and exact `shape`, whose it is and what it is called."""

    owner: RouteFace | None
    label: str
    region: BaseGeometry
    shape: Shape
    is_groove: bool = False


class Hit(Struct, frozen=True):
    """The stations `over` which a guiding rail would lie on something that is `met`.

    What of that lies nearer than `clear` mm to the face that the rail lies beside is cut away.
    """

    over: Interval
    met: Obstacle
    shape: Shape
    clear: float = 0.0


def guide_obstacle(name: str, shape: GuideShape) -> Obstacle:
    """Return a guiding rail as something that another must not touch."""
    return Obstacle(None, name, shapely.Polygon(shape.ring).buffer(0), shape)


def strip_obstacle(name: str, shape: StripShape) -> Obstacle:
    """Return a place beside a route as something not to be touched, by the name of what lies there."""
    return Obstacle(None, name, strip(shape.path, shape.first, shape.second, *shape.along), shape)


class Field:
    """The heads and flangeways of all rails, and the guiding rails added to them."""

    def __init__(self, layout: Layout, filing: Filing, heads: tuple[FiledHead, ...]) -> None:
        self.layout = layout
        self.head = filing.head
        self.frogs = filing.frogs
        self._obstacles = [obstacle for head in heads for obstacle in self._of_head(head)]
        self._obstacles += [self._of_band(band) for band in filing.bands]
        self._tree = shapely.STRtree([obstacle.region for obstacle in self._obstacles])

    def _of_head(self, head: FiledHead) -> Iterator[Obstacle]:
        owner, stretch = head.stretch.owner, head.stretch
        path = self.layout.route(owner.route).path
        first, second = owner.face.offset, owner.face.offset + owner.face.outward * self.head
        shape = StripShape(path, first, second, (stretch.low, stretch.high))
        for low, high in head.edges:
            yield Obstacle(owner, f"the rail {owner.label}", strip(path, first, second, low, high), shape)
        for ring in head.rings:
            yield Obstacle(owner, f"the rail {owner.label}", shapely.Polygon(ring).buffer(0), shape)

    def _of_band(self, band: Band) -> Obstacle:
        face = band.owner.face
        far = face.offset - face.outward * face.flangeway
        shape = StripShape(band.route.path, face.offset, far, (band.low, band.high))
        return Obstacle(band.owner, f"the flangeway of {band.owner.label}", band.region, shape, True)

    def lay(self, guides: Iterable[Wing | Guard]) -> None:
        """Add guiding rails, which no other may touch."""
        for guide in guides:
            shape = self.shape(guide.beside, guide.flangeway, guide.straight, guide.ends)
            self._obstacles.append(Obstacle(None, guide.id, shapely.Polygon(guide.ring).buffer(0), shape))
        self._tree = shapely.STRtree([obstacle.region for obstacle in self._obstacles])

    def shape(self, beside: RouteFace, flangeway: float, straight: Interval, ends: Interval) -> GuideShape:
        """Return the shape of a guiding rail beside a face."""
        return GuideShape(self.layout.route(beside.route).path, beside.face, flangeway, self.head, straight, ends)

    def blocked(
        self,
        beside: RouteFace,
        flangeway: float,
        straight: Interval,
        ends: Interval,
        own: tuple[RouteFace, ...],
        *,
        bends: bool = False,
    ) -> Iterator[Hit]:
        """Yield what lies where a guiding rail would.

        `own` are the faces that the rail belongs to or lies beside; rails that coincide with `beside` count as it.
        Where the rail `bends` on round an elbow, what comes after it may stand as near to the other face there as the
        narrowest of its gauges asks of a guard; by itself no nearer than the widest does.
        """
        shape = self.shape(beside, flangeway, straight, ends)
        overlaps = _Overlaps(shape)
        for index in self._tree.query(overlaps.whole, predicate="intersects").tolist():
            met = self._obstacles[index]
            if met.owner is not None and (met.owner in own or self._is_one(met.owner, beside, straight)):
                continue
            hit, edges = overlaps.whole.intersection(met.region), met.shape
            if met.is_groove and met.owner is not None:
                for elbow in self.elbows_of(beside, met.owner):
                    guarded = _guarded(met.owner, bends=bends)
                    hit = hit.difference(self._beyond(guarded, elbow, met.owner))
                    edges = self._guard_groove(guarded, met.owner, edges)
            clear = 0.0 if met.owner is None or met.is_groove else beside.face.flangeway
            for part in overlaps.parts(hit, edges, clear):
                yield Hit(stations_of(part, shape.path), met, edges, clear)

    def _guard_groove(self, guarded: float, owner: RouteFace, edges: Shape) -> Shape:
        """Return a groove no wider than beside a guard, `guarded` mm."""
        face = owner.face
        narrow = face.offset - face.outward * guarded
        return replace(edges, second=narrow) if isinstance(edges, StripShape) else edges

    def elbows_of(self, face: RouteFace, other: RouteFace | None = None) -> Iterator[Frog]:
        """Yield the K crossings of a face, with `other` only those of the two: along their elbows guards are bent.

        Not the steep ones, which have no elbow.
        """
        for frog in self.frogs.get(face, ()):
            if frog.kind == "K" and frog.angle <= STEEP and (other is None or other in (frog.first, frog.second)):
                yield frog

    def _beyond(self, guarded: float, elbow: Frog, owner: RouteFace) -> BaseGeometry:
        """Return what a frog flangeway is wider than `guarded`, a guard's, near the elbow of a K.

        A guard that is bent round it stands at a guard flangeway from both of its faces, all that a wheel needs there.
        """
        station = elbow.s if owner == elbow.first else elbow.t
        face = owner.face
        reach = face.flangeway / math.sin(elbow.angle)
        path = self.layout.route(owner.route).path
        low, high = max(station - reach, 0.0), min(station + reach, path.length)
        near, far = (face.offset - face.outward * wide for wide in (guarded, 1.01 * face.flangeway))
        around = shapely.Point(elbow.point).buffer(_AROUND * reach)
        return strip(path, near, far, low, high).intersection(around)

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
        return abs(left - owner.face.offset) < _ONE_RAIL


def _guarded(owner: RouteFace, *, bends: bool) -> float:
    """Return how near (mm) a guard may stand to a face that it bends on to, or only passes by."""
    choose = min if bends else max
    return choose(gauge.guard_flangeway for gauge in owner.face.gauges)


def pairs_that_meet(rings: Sequence[Ring], apart: float = 0.0) -> list[tuple[int, int]]:
    """Return the pairs of outlines within `apart` mm of each other, as indices, the earlier first, in order."""
    regions = [shapely.Polygon(ring) for ring in rings]
    tree = shapely.STRtree(regions)
    found = tree.query(regions, predicate="dwithin", distance=apart).T.tolist() if regions else []
    return sorted((i, j) for i, j in found if i < j)


class _Overlaps:
    """The region of a guiding rail, to find what of it lies on something else."""

    def __init__(self, shape: GuideShape) -> None:
        self.shape = shape
        self.whole = shapely.Polygon(shape.ring).buffer(0)
        self.inner = self.whole.buffer(-_ROUNDING)

    def parts(self, hit: BaseGeometry, met: Shape, clear: float = 0.0) -> list[Polygon]:
        """Return the parts of what the rail has in common with something that do not come from flattening.

        One as thin as that is real where a corner of the rail lies inside, which needs no chords to tell.
        """
        if hit.is_empty:
            return []
        thick = parts_of(hit.intersection(self.inner), _ROUNDING**2)
        return thick or [part for part in parts_of(hit, 0.0) if self._has_corner(part, met, clear)]

    def _has_corner(self, part: Polygon, met: Shape, clear: float) -> bool:
        corners = entering(self.shape, met, clear)
        return any(part.distance(shapely.Point(corner)) < _ROUNDING for corner in corners)


def overlaid(shape: GuideShape, others: Iterable[Obstacle]) -> Iterator[Hit]:
    """Yield where a guiding rail would lie on some others."""
    overlaps = _Overlaps(shape)
    for other in others:
        for part in overlaps.parts(overlaps.whole.intersection(other.region), other.shape):
            yield Hit(stations_of(part, shape.path), other, other.shape)
