"""Find which rails coincide where routes part, and judge stock and point where they first separate.

At a tip the parent's rails and those of the branches that leave there coincide in groups, one for each hand and place.
Looking from the tip toward the frog, of two left rails the one further left is the stock rail and the other a point; of
two right rails the one further right. With three or more the outermost is stock and each other lies behind all rails
outside it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.leaving import shift_of
from turnout_templates.alignment.model import Departure, Layout, View, Way
from turnout_templates.spec.model import EntryPoints, FixedPoints, Spec, StraightPoints, StubPoints, TangentPoints
from turnout_templates.trackwork.points.onward import Onward
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, PointRail, RouteFace

_PARTED = 1e-4
"""Rails have parted when they are this far (mm) from each other."""


class Group(Struct, frozen=True):
    """Rails that are one before a tip: the parent's face `before`, and those that go `onward`, outermost first."""

    before: RouteFace
    onward: tuple[Onward, ...]

    def on(self, route: str) -> int | None:
        """Return which of the rails goes on along a route, None where none does."""
        return next((i for i, rail in enumerate(self.onward) if rail.owner.route == route), None)


class Tip(Struct, frozen=True):
    """A place where routes part: at the distance `u` in the view of the `parent`, the `branches` and groups of rails.

    All routes are looked at from the tip; `meeting` holds for each branch how that end of it meets the parent.
    """

    parent: View
    u: float
    branches: tuple[View, ...]
    meeting: tuple[Departure, ...]
    groups: tuple[Group, ...]

    @property
    def ends(self) -> bool:
        """Whether the parent ends here."""
        return self.u >= self.parent.path.length - SAME_PLACE

    @property
    def station(self) -> float:
        """The station on the parent."""
        return self.parent.station(self.u)

    @property
    def lead(self) -> View:
        """The route that the others are judged against: the parent, or where that ends the first branch."""
        return self.branches[0] if self.ends else self.parent

    @property
    def swings(self) -> bool:
        """Whether the rails before the tip's toe swing: several routes go on, and one of them parts by a stub."""
        several = len(self.branches) > 1 or not self.ends
        return several and any(isinstance(departure.points, StubPoints) for departure in self.meeting)

    def view(self, name: str) -> View:
        """Return the view from here of the route `name`, which parts here."""
        return next(view for view in (self.parent, *self.branches) if view.name == name)


def find_tips(layout: Layout) -> tuple[Tip, ...]:
    """Return every tip of the layout, by parent in the order of the file, then by station."""
    meeting: dict[tuple[str, Way], list[tuple[View, Departure]]] = {}
    for route in layout:
        for way, departure in route.departures:
            meeting.setdefault((departure.parent, departure.way), []).append((View(route, way), departure))
    tips = []
    for parent in layout:
        ways: tuple[Way, Way] = (1, -1)
        found = [tip for way in ways for tip in _tips_of(View(parent, way), meeting.get((parent.name, way), []))]
        tips += sorted(found, key=lambda tip: tip.station)
    return tuple(tips)


def _tips_of(parent: View, meeting: list[tuple[View, Departure]]) -> Iterator[Tip]:
    """Yield the tips on a route that are looked at one way; ends that meet it at one place share a tip."""
    places = sorted((parent.station(departure.station) for _, departure in meeting))
    last = -math.inf
    for u in places:
        if u - last < SAME_PLACE:
            continue
        last = u
        here = [pair for pair in meeting if abs(parent.station(pair[1].station) - u) < SAME_PLACE]
        yield _tip(parent, u, tuple(view for view, _ in here), tuple(departure for _, departure in here))


def _tip(parent: View, u: float, branches: tuple[View, ...], meeting: tuple[Departure, ...]) -> Tip:
    groups = []
    for face in parent.route.faces:
        onward = list(_onward(parent, u, branches, face))
        groups.append(Group(RouteFace(parent.name, face), tuple(_outermost_first(onward))))
    return Tip(parent, u, branches, meeting, tuple(groups))


def _onward(parent: View, u: float, branches: tuple[View, ...], face: Face) -> Iterator[Onward]:
    """Yield the rails that go on from the parent's rail on `face`."""
    rails = [rail for branch in branches for rail in _branch_rails(parent, branch, face)]
    if u < parent.path.length - SAME_PLACE:
        bends = [parent.path.foot_near(rail.view.path.point_at(rail.origin, rail.face.offset), u)[0] for rail in rails]
        yield Onward(RouteFace(parent.name, face), parent, min([*bends, u]))
    yield from rails


def _branch_rails(parent: View, branch: View, face: Face) -> Iterator[Onward]:
    """Yield the rail of a branch that goes on from the parent's rail on `face`, if it has one there."""
    shift = shift_of(parent.faces, branch.faces)
    seen = parent.faces[parent.route.faces.index(face)]
    for index, own in enumerate(branch.faces):
        if own.hand == seen.hand and abs(own.offset + shift - seen.offset) < SAME_PLACE:
            yield Onward(RouteFace(branch.name, branch.route.faces[index]), branch, branch.begin_of(index))


def _outermost_first(onward: list[Onward]) -> list[Onward]:
    """Return the rails of a group with the stock rail first: each lies inside all those before it."""
    ordered: list[Onward] = []
    for rail in onward:
        place = next((i for i, other in enumerate(ordered) if not _is_inside(rail, other)), len(ordered))
        ordered.insert(place, rail)
    return ordered


def _is_inside(rail: Onward, other: Onward) -> bool:
    """Tell whether `rail` parts from `other` to the inner side, looked at where they first separate.

    Rails that bend at different places may cross within about as much as those are apart; that is no parting.
    """
    begins = (r.view.path.point_at(r.origin, r.face.offset) for r in (rail, other))
    step = 0.05 + 2.0 * math.dist(*begins)
    while step < min(rail.room, other.room):
        apart = rail.apart_from(other, rail.origin + step)
        if abs(apart) > _PARTED:
            return apart > 0
        step *= 1.5
    return True


def points_of(tip: Tip, spec: Spec) -> tuple[PointRail, ...]:
    """Return the rails that begin at a tip, branches' first, left before right as seen from the tip."""
    found = [
        (rail, _point(rail, group.onward[:i], tip, spec))
        for group in tip.groups
        for i, rail in enumerate(group.onward)
        if i > 0
    ]
    found.sort(key=lambda pair: (pair[0].owner.route == tip.parent.name, -pair[0].face.offset))
    return tuple(point for _, point in found)


def _point(rail: Onward, outside: tuple[Onward, ...], tip: Tip, spec: Spec) -> PointRail:
    stock = outside[-1]
    thickness, spread, fixed, hinge = spec.tip, None, False, None
    for branch, departure in zip(tip.branches, tip.meeting, strict=True):
        points = departure.points
        if branch.name not in (rail.owner.route, stock.owner.route):
            continue
        fixed = fixed or isinstance(points, FixedPoints)
        if isinstance(points, StraightPoints):
            thickness, spread = points.tip, points.spread
        if isinstance(points, TangentPoints | StraightPoints | EntryPoints):
            hinge = points.hinge if points.hinge is not None else hinge
    flangeway = max(rail.owner.face.flangeway, stock.owner.face.flangeway)
    clear = spec.rail.head + flangeway
    found = [rail.distance_apart(stock, distance) for distance in (thickness, spec.rail.head, spread or clear, clear)]
    low, full, heel, gap = (rail.view.path.length if u is None else u for u in found)
    owners = tuple(other.owner for other in reversed(outside))
    parts = rail.view.station(low)
    if fixed:
        begin = rail.view.station(gap)
        return PointRail(rail.owner, owners, rail.view.way, begin, begin, begin, begin, parts, "fixed")
    rigid = spread is not None or hinge is not None
    heel = heel if hinge is None else rail.line.station_after(low, hinge)
    full, heel, gap = (rail.view.station(u) for u in (full if hinge else min(full, heel), heel, gap))
    cut = None if hinge is None else heel
    return PointRail(rail.owner, owners, rail.view.way, parts, full, heel, gap, parts, rigid=rigid, hinge=cut)
