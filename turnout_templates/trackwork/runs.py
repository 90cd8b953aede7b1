"""Follow every rail from where it begins to where it ends, past the tips where routes part.

A rail that is stock at a tip goes on along whichever route is outermost there; each other rail of the group begins anew
as a point.
"""

from __future__ import annotations

from collections.abc import Mapping

from turnout_templates.alignment.model import Layout
from turnout_templates.trackwork.model import PointRail, Rail, RouteFace, Stretch
from turnout_templates.trackwork.tips import Group, Onward, Tip


def follow_rails(
    layout: Layout, tips: tuple[Tip, ...], points: Mapping[RouteFace, list[PointRail]]
) -> tuple[Rail, ...]:
    """Return all rails, those of free routes first, then each as it begins at a tip.

    `points` lists the moving points on each face, in order of station.
    """
    at_tip: dict[RouteFace, list[tuple[Tip, Group]]] = {}
    for tip in tips:
        for group in tip.groups:
            at_tip.setdefault(group.before, []).append((tip, group))
    begun: list[tuple[RouteFace, float, PointRail | None]] = [
        (RouteFace(route.name, face), 0.0, None) for route in layout if route.departure is None for face in route.faces
    ]
    rails: list[Rail] = []
    while begun:
        owner, low, point = begun.pop(0)
        stretches: list[Stretch] = []
        here: RouteFace | None = owner
        while here is not None:
            here, low = _to_next_tip(layout, here, low, at_tip, stretches, begun, points)
        rails.append(Rail(f"R{len(rails) + 1}", tuple(stretches), point))
    return tuple(rails)


def _to_next_tip(
    layout: Layout,
    here: RouteFace,
    low: float,
    at_tip: Mapping[RouteFace, list[tuple[Tip, Group]]],
    stretches: list[Stretch],
    begun: list[tuple[RouteFace, float, PointRail | None]],
    points: Mapping[RouteFace, list[PointRail]],
) -> tuple[RouteFace | None, float]:
    """Add the stretch from `low` on the face `here`; return the face that the rail goes on along, and from where."""
    for tip, group in at_tip.get(here, []):
        if tip.station < low or not group.onward:
            continue
        stock = group.onward[0]
        if len(group.onward) > 1:
            begun += [_begin(rail, points) for rail in group.onward[1:]]
        if stock.owner != here:
            bend = next((rail.origin for rail in group.onward if rail.owner == here), tip.station)
            stretches.append(Stretch(here, low, min(bend, tip.station)))
            return stock.owner, 0.0
    stretches.append(Stretch(here, low, layout.route(here.route).path.length))
    return None, 0.0


def _begin(rail: Onward, points: Mapping[RouteFace, list[PointRail]]) -> tuple[RouteFace, float, PointRail | None]:
    point = next(p for p in points[rail.owner] if p.tip >= rail.origin)
    return rail.owner, point.tip, point
