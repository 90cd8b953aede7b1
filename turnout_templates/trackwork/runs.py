"""Follow every rail from where it begins to where it ends, past the tips where routes part.

A rail that is stock at a tip goes on along whichever route is outermost there; each other rail of the group begins anew
as a point.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from turnout_templates.alignment.model import Layout
from turnout_templates.trackwork.model import PointRail, Rail, RouteFace, Stretch
from turnout_templates.trackwork.tips import Group, Onward, Tip


def follow_rails(
    layout: Layout, tips: tuple[Tip, ...], points: Mapping[RouteFace, Sequence[PointRail]]
) -> tuple[Rail, ...]:
    """Return all rails, those of free routes first, then each as it begins at a tip.

    `points` lists the moving points on each face, in order of station.
    """
    follower = _Follower(layout, tips, points)
    rails: list[Rail] = []
    while follower.begun:
        start = follower.begun.pop(0)
        rails.append(Rail(f"R{len(rails) + 1}", follower.follow(start), start.point))
    return tuple(rails)


@dataclass(frozen=True, slots=True)
class _Start:
    """Where a rail begins or goes on: on the face `owner` at station `low`, past the tips up to station `after`."""

    owner: RouteFace
    low: float
    after: float
    point: PointRail | None


class _Follower:
    """Follows one rail at a time and remembers those that begin at the tips it passes."""

    def __init__(self, layout: Layout, tips: tuple[Tip, ...], points: Mapping[RouteFace, Sequence[PointRail]]) -> None:
        self.layout = layout
        self.points = points
        self.at_tip: dict[RouteFace, list[tuple[Tip, Group]]] = {}
        for tip in tips:
            for group in tip.groups:
                self.at_tip.setdefault(group.before, []).append((tip, group))
        self.begun = [
            _Start(RouteFace(route.name, face), 0.0, -1.0, None)
            for route in layout
            if route.departure is None
            for face in route.faces
        ]

    def follow(self, start: _Start) -> tuple[Stretch, ...]:
        """Return the stretches of the rail that begins at `start`."""
        stretches: list[Stretch] = []
        here: _Start | None = start
        while here is not None:
            here = self._to_next_tip(here, stretches)
        return tuple(stretches)

    def _to_next_tip(self, here: _Start, stretches: list[Stretch]) -> _Start | None:
        """Add the stretch from `here` on; return where the rail goes on from, None at its end."""
        for tip, group in self.at_tip.get(here.owner, []):
            if tip.station <= here.after or not group.onward:
                continue
            stock = group.onward[0]
            self.begun += [self._begin(rail, tip) for rail in group.onward[1:]]
            if stock.owner != here.owner:
                bend = next((rail.origin for rail in group.onward if rail.owner == here.owner), tip.station)
                stretches.append(Stretch(here.owner, here.low, min(bend, tip.station)))
                return _Start(stock.owner, stock.origin, -1.0, None)
        stretches.append(Stretch(here.owner, here.low, self.layout.route(here.owner.route).path.length))
        return None

    def _begin(self, rail: Onward, tip: Tip) -> _Start:
        """Return the start of a rail that is a point at `tip`."""
        point = next(p for p in self.points[rail.owner] if p.tip >= rail.origin)
        after = tip.station if rail.owner.route == tip.parent.name else -1.0
        return _Start(rail.owner, point.tip, after, point)
