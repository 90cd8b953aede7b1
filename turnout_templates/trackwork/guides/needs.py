"""Find what must be guided: every gap over which nothing holds the wheels of a gauge to their rail.

One for each V frog, each of its faces and each gauge on that face, from knuckle to practical point; one for each
nose of a K and each gauge on it, from the nose to the crossing; one for each gauge that takes a fixed rail, from where
its flange leaves the stock rail to where that rail begins. A guard for it lies beside the other rail of the gauge.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.alignment.faces import opposite
from turnout_templates.alignment.model import Layout
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.frogs.frog_parts import Frog, Need
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace


def find_needs(layout: Layout, frogs: tuple[Frog, ...], switches: tuple[Switch, ...]) -> tuple[Need, ...]:
    """Return all needs: those of the frogs in their order, then those of fixed rails."""
    at_frogs = [need for frog in frogs for need in _needs(layout, frog)]
    return (*at_frogs, *(need for switch in switches for need in _needs_of_fixed_rails(layout, switch)))


def _needs(layout: Layout, frog: Frog) -> Iterator[Need]:
    for i, (owner, station) in enumerate(((frog.first, frog.s), (frog.second, frog.t))):
        far = station if frog.practical_stations is None else frog.practical_stations[i]
        nose = frog.noses[i]
        if nose is None:
            nose = _without_groove(layout, frog, i)
        yield from _for_each_gauge(layout, frog.id, owner, nose, far)


def _without_groove(layout: Layout, frog: Frog, which: int) -> float:
    """Return where the gap on one face of a frog begins that meets no edge of the other's groove.

    The face itself ends before that: beyond there is no rail, and no wheel. Or else the other one does, and the gap
    begins where a straight groove would: flangeway / sin F from the crossing.
    """
    owner, other = (frog.first, frog.second)[:: 1 - 2 * which]
    route, way = layout.route(owner.route), way_to_nose(frog, which)
    groove = (frog.s, frog.t)[which] + way * other.face.flangeway / math.sin(frog.angle)
    return max(route.begin_of(owner.face), groove) if way < 0 else min(route.end_of(owner.face), groove)


def way_to_nose(frog: Frog, which: int) -> int:
    """Return in which direction along its first or second route (`which` 0 or 1) a frog's nose, or knuckle, lies.

    At a V both lie away from the heel. At a K they lie on either side of the crossing: the outer parts of the two faces
    are the elbow, the inner ones end in the noses that point at each other.
    """
    way = frog.heel_directions[which]
    return way if frog.kind == "K" and which == 0 else -way


def _for_each_gauge(layout: Layout, guarded: str, owner: RouteFace, a: float, b: float) -> Iterator[Need]:
    route = layout.route(owner.route)
    for gauge in owner.face.gauges:
        beside = RouteFace(owner.route, opposite(route.faces, owner.face, gauge))
        yield Need(guarded, gauge, owner, beside, (min(a, b), max(a, b)))


def _needs_of_fixed_rails(layout: Layout, switch: Switch) -> Iterator[Need]:
    """Yield what draws the wheels of one gauge past the stock rail, over to a fixed rail.

    A gauge that goes on along the stock rail as well has none: whatever draws its wheels one way spoils the other.
    """
    for point in switch.points:
        if point.begins == "fixed":
            kept = {gauge for _, gauge in gauges_both_ways(layout, point)}
            for need in _for_each_gauge(layout, switch.id, point.owner, point.parts, point.tip):
                if need.gauge not in kept:
                    yield need


def gauges_both_ways(layout: Layout, point: PointRail) -> Iterator[tuple[RouteFace, Gauge]]:
    """Yield the gauges of a fixed rail that go on along the route of a rail outside it as well, each with that rail."""
    if point.begins != "fixed":
        return
    for owner in point.outside:
        there = {gauge for face in layout.route(owner.route).faces for gauge in face.gauges}
        yield from ((owner, gauge) for gauge in point.owner.face.gauges if gauge in there)
