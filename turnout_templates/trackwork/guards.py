"""Lay the guard rails that frogs need, where they fit, and say where they do not.

One for each V frog, each of its faces and each gauge on that face, beside the other running rail of that gauge, at gauge
minus check gauge, straight over the whole unguided gap, then flared; one for each nose of a K, beside the opposite
rail. Guards that overlap beside one face are one, at the smaller flangeway. A guard that would stand in another
route's flangeway or on another rail is not laid and not drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.faces import opposite
from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.cutting import Filing
from turnout_templates.trackwork.guides import FLARE_LENGTH, guide_region, guide_ring
from turnout_templates.trackwork.model import FiledHead, Frog, Guard, Interval, RouteFace, Unguarded, Wing
from turnout_templates.trackwork.regions import parts_of, stations_of, strip

_LEAST_FLARE = 2.0
"""The shortest flare that still catches a wheel, in flangeways (common practice, no source)."""
_MARGIN = 1.0
"""How far the straight part goes beyond the gap at each end, in flangeways (common practice, no source)."""
_ROUNDING = 0.02
"""Overlaps thinner than this (mm) come from flattening curves and stand in nobody's way."""


@dataclass(frozen=True, slots=True)
class _Need:
    """A wheel of `gauge` that nothing guides over `gap` (stations of the route that `beside` lies on)."""

    frog: Frog
    gauge: Gauge
    beside: RouteFace
    gap: Interval


@dataclass(frozen=True, slots=True)
class _Obstacle:
    """Something that a guard must not touch: its region and what it is called."""

    owner: RouteFace | None
    label: str
    region: BaseGeometry


def lay_guards(
    layout: Layout, filing: Filing, frogs: tuple[Frog, ...], heads: tuple[FiledHead, ...], wings: tuple[Wing, ...]
) -> tuple[tuple[Guard, ...], tuple[Unguarded, ...]]:
    """Return the guards that fit, numbered G1, G2 ..., and the needs that no guard can meet."""
    needs = [need for frog in frogs for need in _needs(layout, frog)]
    field = _Field(layout, filing, heads, wings)
    guards: list[Guard] = []
    unguarded: list[Unguarded] = []
    for need in needs:
        laid = field.lay(need)
        if isinstance(laid, Unguarded):
            unguarded.append(laid)
        else:
            _merge(layout, guards, laid, filing.head)
    return tuple(replace(guard, id=f"G{i}") for i, guard in enumerate(guards, start=1)), tuple(unguarded)


def _needs(layout: Layout, frog: Frog) -> Iterator[_Need]:
    """Yield the guards that a frog asks for."""
    practical = frog.practical_stations
    for i, (owner, station) in enumerate(((frog.first, frog.s), (frog.second, frog.t))):
        far = station if frog.kind == "K" or practical is None else practical[i]
        nose = frog.noses[i]
        route = layout.route(owner.route)
        if nose is None:
            nose = 0.0 if frog.heel_directions[i] > 0 else route.path.length
        gap = (min(nose, far), max(nose, far))
        for gauge in owner.face.gauges:
            beside = RouteFace(owner.route, opposite(route.faces, owner.face, gauge))
            yield _Need(frog, gauge, beside, gap)


class _Field:
    """What is already there, for finding out where a guard has room."""

    def __init__(
        self, layout: Layout, filing: Filing, heads: tuple[FiledHead, ...], wings: tuple[Wing, ...]
    ) -> None:
        self.layout = layout
        self.head = filing.head
        self.obstacles: list[_Obstacle] = []
        for head in heads:
            self._add_head(head)
        for band in filing.bands:
            self.obstacles.append(_Obstacle(band.owner, f"the flangeway of {band.owner.label}", band.region))
        for wing in wings:
            self.obstacles.append(
                _Obstacle(None, f"the wing rail of {wing.frog}", shapely.Polygon(wing.ring).buffer(0))
            )
        self.tree = shapely.STRtree([obstacle.region for obstacle in self.obstacles])

    def _add_head(self, head: FiledHead) -> None:
        face = head.stretch.owner.face
        path = self.layout.route(head.stretch.owner.route).path
        label = f"the rail {head.stretch.owner.label}"
        regions: list[BaseGeometry] = [
            strip(path, face.offset, face.offset + face.outward * self.head, low, high) for low, high in head.edges
        ]
        regions += [shapely.Polygon(ring).buffer(0) for ring in head.rings]
        self.obstacles += [_Obstacle(head.stretch.owner, label, region) for region in regions]

    def lay(self, need: _Need) -> Guard | Unguarded:
        """Return the guard for `need` with what flare there is room for, or what stands in its way."""
        route = self.layout.route(need.beside.route)
        flangeway = need.gauge.guard_flangeway
        margin = _MARGIN * flangeway
        straight = (max(need.gap[0] - margin, 0.0), min(need.gap[1] + margin, route.path.length))
        reach = FLARE_LENGTH * flangeway
        ends = (max(straight[0] - reach, 0.0), min(straight[1] + reach, route.path.length))
        low, high = ends
        for blocked, label in self._blocked(need, route, straight, ends):
            if blocked[1] > straight[0] and blocked[0] < straight[1]:
                return Unguarded(need.frog.id, need.gauge.name, need.beside, straight, label)
            low = max(low, blocked[1]) if blocked[1] <= straight[0] else low
            high = min(high, blocked[0]) if blocked[0] >= straight[1] else high
        least = _LEAST_FLARE * flangeway
        if (straight[0] - low < least and low > 0) or (high - straight[1] < least and high < route.path.length):
            return Unguarded(need.frog.id, need.gauge.name, need.beside, straight, "no room is left for its flare")
        ring = guide_ring(route.path, need.beside.face, flangeway, self.head, straight, (low, high))
        return Guard("", need.gauge.name, (need.frog.id,), need.beside, flangeway, straight, (low, high), ring)

    def _blocked(
        self, need: _Need, route: LaidRoute, straight: Interval, ends: Interval
    ) -> Iterator[tuple[Interval, str]]:
        """Yield the stations over which something lies where the guard would, and what it is."""
        region = guide_region(
            route.path, need.beside.face, need.gauge.guard_flangeway, self.head, straight, ends
        ).buffer(0)
        inner = region.buffer(-_ROUNDING)
        for index in self.tree.query(inner, predicate="intersects").tolist():
            obstacle = self.obstacles[index]
            if obstacle.owner == need.beside or self._is_own_band(obstacle, need):
                continue
            for part in parts_of(inner.intersection(obstacle.region)):
                yield stations_of(part, route.path, straight[0]), obstacle.label

    def _is_own_band(self, obstacle: _Obstacle, need: _Need) -> bool:
        """Tell whether an obstacle is the flangeway of a rail that coincides with the one the guard lies beside."""
        if obstacle.owner is None or obstacle.owner.route == need.beside.route:
            return False
        if obstacle.owner.face.hand != need.beside.face.hand:
            return False
        own = self.layout.route(need.beside.route).path
        theirs = self.layout.route(obstacle.owner.route).path
        middle = own.point_at(0.5 * (need.gap[0] + need.gap[1]), need.beside.face.offset)
        return abs(theirs.foot_near(middle, need.gap[0])[1] - obstacle.owner.face.offset) < _ROUNDING


def _merge(layout: Layout, guards: list[Guard], new: Guard, head: float) -> None:
    """Add `new` to `guards`, made one with those that it overlaps beside the same face."""
    for old in list(guards):
        if old.beside == new.beside and old.ends[0] <= new.ends[1] and new.ends[0] <= old.ends[1]:
            guards.remove(old)
            new = _together(layout, old, new, head)
    guards.append(new)


def _together(layout: Layout, a: Guard, b: Guard, head: float) -> Guard:
    tight = a if a.flangeway <= b.flangeway else b
    straight = (min(a.straight[0], b.straight[0]), max(a.straight[1], b.straight[1]))
    ends = (min(a.ends[0], b.ends[0]), max(a.ends[1], b.ends[1]))
    frogs = tuple(dict.fromkeys((*a.frogs, *b.frogs)))
    path = layout.route(a.beside.route).path
    ring = guide_ring(path, a.beside.face, tight.flangeway, head, straight, ends)
    return replace(tight, frogs=frogs, straight=straight, ends=ends, ring=ring)
