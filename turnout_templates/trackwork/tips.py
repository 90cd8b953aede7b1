"""Find which rails coincide where routes part, and judge stock and point where they first separate.

At a tip the parent's rails and those of the branches that leave there coincide in groups, one for each hand and place.
Looking from the tip toward the frog, of two left rails the one further left is the stock rail and the other a point; of
two right rails the one further right. With three or more the outermost is stock and each other lies behind all rails
outside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from turnout_templates.alignment.leaving import shift_of
from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.spec.model import Spec, StraightPoints
from turnout_templates.trackwork.model import PointRail, RouteFace

_SAME_PLACE = 1e-6
"""Faces whose offsets differ by less than this (mm) are one rail."""
_PARTED = 1e-4
"""Rails have parted when they are this far (mm) from each other."""


@dataclass(frozen=True, slots=True)
class Onward:
    """A rail that goes on from a tip: its face, its route and the station on it at which it leaves the group."""

    owner: RouteFace
    route: LaidRoute
    origin: float

    def apart_from(self, other: Onward, s: float) -> float:
        """Return how far inside `other` this rail's face lies at station `s` of its own route (mm, inward positive)."""
        point = self.route.path.point_at(s, self.owner.face.offset)
        left = other.route.path.foot_near(point, other.origin + s - self.origin)[1]
        return (other.owner.face.offset - left) * self.owner.face.outward

    def station_apart(self, other: Onward, distance: float) -> float | None:
        """Return the first station at which this rail lies `distance` mm inside `other`, None where it never does."""
        low = self.origin
        step = 0.25
        end = self.route.path.length
        while low < end:
            high = min(low + step, end)
            if self.apart_from(other, high) >= distance:
                return self._bisect(other, distance, low, high)
            low, step = high, step * 1.25
        return None

    def _bisect(self, other: Onward, distance: float, low: float, high: float) -> float:
        for _ in range(80):
            middle = 0.5 * (low + high)
            if self.apart_from(other, middle) >= distance:
                high = middle
            else:
                low = middle
        return 0.5 * (low + high)


@dataclass(frozen=True, slots=True)
class Group:
    """Rails that are one before a tip: the parent's face `before`, and those that go `onward`, outermost first."""

    before: RouteFace
    onward: tuple[Onward, ...]


@dataclass(frozen=True, slots=True)
class Tip:
    """A place where routes part: on `parent` at `station`, the `branches` that leave, and the groups of rails."""

    parent: LaidRoute
    station: float
    branches: tuple[LaidRoute, ...]
    groups: tuple[Group, ...]


def find_tips(layout: Layout) -> tuple[Tip, ...]:
    """Return every tip of the layout, by parent in the order of the file, then by station."""
    tips = []
    for parent in layout:
        leaving = [r for r in layout if r.departure and r.departure.parent == parent.name]
        stations = sorted({r.departure.station for r in leaving if r.departure})
        while stations:
            station = stations.pop(0)
            here = [r for r in leaving if r.departure and abs(r.departure.station - station) < _SAME_PLACE]
            stations = [s for s in stations if s - station >= _SAME_PLACE]
            tips.append(_tip(parent, station, tuple(here)))
    return tuple(tips)


def _tip(parent: LaidRoute, station: float, branches: tuple[LaidRoute, ...]) -> Tip:
    groups = []
    for face in parent.faces:
        owner = RouteFace(parent.name, face)
        onward = list(_onward(parent, station, branches, owner))
        groups.append(Group(owner, tuple(_outermost_first(onward))))
    return Tip(parent, station, branches, tuple(groups))


def _onward(parent: LaidRoute, station: float, branches: tuple[LaidRoute, ...], owner: RouteFace) -> Iterator[Onward]:
    """Yield the rails that go on from the parent's rail `owner`."""
    branch_rails = [rail for branch in branches for rail in _branch_rails(parent, branch, owner)]
    if station < parent.path.length - _SAME_PLACE:
        bends = [
            parent.path.foot_near(rail.route.path.point_at(rail.origin, rail.owner.face.offset), station)[0]
            for rail in branch_rails
        ]
        yield Onward(owner, parent, min([*bends, station]))
    yield from branch_rails


def _branch_rails(parent: LaidRoute, branch: LaidRoute, owner: RouteFace) -> Iterator[Onward]:
    """Yield the rail of a branch that goes on from the parent's rail `owner`, if it has one there."""
    shift = shift_of(parent.faces, branch.faces)
    for face in branch.faces:
        if face.hand == owner.face.hand and abs(face.offset + shift - owner.face.offset) < _SAME_PLACE:
            yield Onward(RouteFace(branch.name, face), branch, branch.begin_of(face))


def _outermost_first(onward: list[Onward]) -> list[Onward]:
    """Return the rails of a group with the stock rail first: each lies inside all those before it."""
    ordered: list[Onward] = []
    for rail in onward:
        place = next((i for i, other in enumerate(ordered) if not _is_inside(rail, other)), len(ordered))
        ordered.insert(place, rail)
    return ordered


def _is_inside(rail: Onward, other: Onward) -> bool:
    """Tell whether `rail` parts from `other` to the inner side, looked at where they first separate."""
    step = 0.05
    while step < min(rail.route.path.length - rail.origin, other.route.path.length - other.origin):
        apart = rail.apart_from(other, rail.origin + step)
        if abs(apart) > _PARTED:
            return apart > 0
        step *= 1.5
    return True


def points_of(tip: Tip, spec: Spec) -> tuple[PointRail, ...]:
    """Return the moving points of a tip, branches' points first, left before right."""
    found = [
        _point(rail, group.onward[:i], tip, spec)
        for group in tip.groups
        for i, rail in enumerate(group.onward)
        if i > 0
    ]
    return tuple(sorted(found, key=lambda point: (point.owner.route == tip.parent.name, -point.owner.face.offset)))


def _point(rail: Onward, outside: tuple[Onward, ...], tip: Tip, spec: Spec) -> PointRail:
    stock = outside[-1]
    thickness, spread = spec.tip, None
    for branch in tip.branches:
        points = branch.departure.points if branch.departure else None
        if isinstance(points, StraightPoints) and branch.name in (rail.owner.route, stock.owner.route):
            thickness, spread = points.tip, points.spread
    flangeway = max(rail.owner.face.flangeway, stock.owner.face.flangeway)
    clear = spec.rail.head + flangeway
    stations = [rail.station_apart(stock, distance) for distance in (thickness, spec.rail.head, spread or clear, clear)]
    low, full, heel, gap = (rail.route.path.length if s is None else s for s in stations)
    owners = tuple(other.owner for other in reversed(outside))
    return PointRail(rail.owner, owners, low, min(full, heel), heel, gap)


def least_opening(
    stations: list[float], apart: list[float], *, bar: float, fix: float, throw: float, head: float, bent: bool
) -> tuple[float, float]:
    """Return (least opening in mm, its station) beside an open point.

    `apart` is the separation y of the faces at each of `stations`; the point is moved by `throw` D at `bar` and held at
    `fix`. With x = (s - bar)/(fix - bar) a rigid bar hinged at fix moves by d = D(1 - x); one that bends from there by
    d = D(1 - 1.5 x + 0.5 x^3) (a cantilever loaded at its end). The opening is d + max(0, y - head).
    """
    best = (math.inf, bar)
    for s, y in zip(stations, apart, strict=True):
        moved = throw * moved_share(s, bar=bar, fix=fix, bent=bent)
        best = min(best, (moved + max(0.0, y - head), s))
    return best


def moved_share(s: float, *, bar: float, fix: float, bent: bool) -> float:
    """Return by what part of the throw a point moves at station `s` (see `least_opening`): all where nothing holds."""
    if fix <= bar:
        return 1.0
    x = min((s - bar) / (fix - bar), 1.0)
    return 1 - 1.5 * x + 0.5 * x**3 if bent else 1 - x


_HELD = 1e-9
"""A point that moves by less than this part of the throw is held there."""


def throw_to_hold(
    opening: float, stations: list[float], apart: list[float], *, bar: float, fix: float, head: float, bent: bool
) -> float | None:
    """Return the throw in mm that keeps an open point `opening` mm off its stock rail at all `stations`.

    The same formulas as `least_opening`, solved for D; None where no throw does, because the point is held where the
    faces have not opened that far.
    """
    throw = 0.0
    for s, y in zip(stations, apart, strict=True):
        missing = opening - max(0.0, y - head)
        if missing > 0.0:
            share = moved_share(s, bar=bar, fix=fix, bent=bent)
            if share < _HELD:
                return None
            throw = max(throw, missing / share)
    return throw
