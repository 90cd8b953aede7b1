"""Tell which points of a tip move together: those that part the same routes from the same others.

Seen from the tip, the routes that go on lie from left to right. A point lies behind rails of routes to its outer side:
closed it leads to its own route and those inside it, open to those outside, so that it stands between two neighbours of
that row. All points that stand between the same two move together, by one bar. Of n routes there are n - 1 such
places, one beside each branch, on the side on which the route lies that the others are judged against.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.trackwork.points.tips import Tip
from turnout_templates.trackwork.rails.rail_parts import PointRail


class Movement(Struct, frozen=True):
    """The rails that begin at a tip and move together, and the names of the branches that they lead to."""

    branches: tuple[str, ...]
    points: tuple[PointRail, ...]


def movements_of(tip: Tip, points: tuple[PointRail, ...]) -> tuple[Movement, ...]:
    """Return what moves together at a tip, in the order of the branches; all of it where the rails before it swing."""
    names = tuple(branch.name for branch in tip.branches if branch.name != tip.lead.name)
    if tip.swings or len(names) < 2:
        return (Movement(names, points),) if points else ()
    row = _from_left(tip)
    places = {name: _place_beside(row, name, tip.lead.name) for name in names}
    owned: dict[str, list[PointRail]] = {name: [] for name in names}
    free = []
    for point in points:
        may = [name for name in names if places[name] in _places_of(row, point)]
        if len(may) == 1:
            owned[may[0]].append(point)
        else:
            free.append((point, may or list(names)))
    for point, may in free:
        owned[min(may, key=lambda name: (not owned[name], names.index(name)))].append(point)
    return tuple(_movements(names, points, owned))


def _movements(
    names: Sequence[str], points: Sequence[PointRail], owned: dict[str, list[PointRail]]
) -> Sequence[Movement]:
    """Return a movement for each branch that has points; one without is told with the first whose points it meets."""
    moving = [name for name in names if owned[name]]
    told = {name: [name] for name in moving}
    for name in names:
        if name not in told and moving:
            met = [other for other in moving if any(_touches(point, name) for point in owned[other])]
            told[(met or moving)[0]].append(name)
    return [Movement(tuple(told[name]), tuple(point for point in points if point in owned[name])) for name in moving]


def _touches(point: PointRail, route: str) -> bool:
    return route in (point.owner.route, *(owner.route for owner in point.outside))


def _from_left(tip: Tip) -> list[str]:
    """Return the routes that go on from a tip, from left to right as seen from there."""
    row = [tip.lead.name]
    for branch in tip.branches:
        if branch.name != tip.lead.name:
            at = next((i for i, other in enumerate(row) if _left_of(tip, branch.name, other)), len(row))
            row.insert(at, branch.name)
    return row


def _left_of(tip: Tip, route: str, other: str) -> bool:
    """Tell whether a route parts to the left of another: by their rails, or where they share none by what is said."""
    for group in tip.groups:
        mine, theirs = group.on(route), group.on(other)
        if mine is not None and theirs is not None:
            return (mine < theirs) == (group.onward[mine].face.hand == "left")
    hands = {view.name: departure.hand for view, departure in zip(tip.branches, tip.meeting, strict=True)}
    return hands.get(route) == "left" or hands.get(other) == "right"


def _place_beside(row: Sequence[str], branch: str, lead: str) -> int:
    """Return at which place in a row a branch parts from the lead; place i is before the route with number i."""
    at = row.index(branch)
    return at + 1 if at < row.index(lead) else at


def _places_of(row: Sequence[str], point: PointRail) -> range:
    """Return the places in a row at which a point may stand: between its own route and the nearest outside it."""
    ends = sorted((row.index(point.owner.route), row.index(point.outside[0].route)))
    return range(ends[0] + 1, ends[1] + 1)
