"""Find the frogs: every place where gauge faces of two routes cross and change side.

Left with right is an ordinary V frog, same hand an obtuse K crossing. Where the headings differ by more than a right
angle, one route is run through the other way, which swaps its hands, before the two are compared.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.alignment.allowed import number_of
from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.crossing import Crossing, find_crossings
from turnout_templates.geometry.parallel import Box, Parallel, boxes_meet
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import RouteFace


class _Pair(Struct, frozen=True):
    """Two routes that may cross, the one that the other leaves first, and the switches at which they part."""

    first: LaidRoute
    second: LaidRoute
    switches: tuple[Switch, ...]

    def switch_of(self, s: float) -> Switch | None:
        """Return the switch that a frog at station `s` of the first route belongs to: the nearest it lies behind."""
        behind = [switch for switch in self.switches if _distance(self.first, switch, s) > 0.0]
        return min(behind, key=lambda switch: _distance(self.first, switch, s), default=None)


def _distance(route: LaidRoute, switch: Switch, s: float) -> float:
    """Return how far (mm) station `s` of a route, a switch's parent or its branch, lies behind the switch."""
    if route.name == switch.parent:
        return (s - switch.station) * switch.way
    return s if route.departure is not None and route.departure.parent == switch.parent else route.path.length - s


def flangeway_edge(route: LaidRoute, face: Face) -> Parallel:
    """Return the far edge of the flangeway beside `face`, on its gauge side."""
    return Parallel(route.path, face.offset - face.outward * face.flangeway, route.begin_of(face), route.end_of(face))


def find_frogs(layout: Layout, switches: tuple[Switch, ...], frog_point: float) -> tuple[Frog, ...]:
    """Return all frogs, by pair of routes in the order of the file, then by station on the first.

    `frog_point` is the width in mm at which a V is blunt.
    """
    frogs: list[Frog] = []
    for pair in _pairs(layout, switches):
        found = [frog for a in pair.first.faces for b in pair.second.faces for frog in _cross(pair, a, b, frog_point)]
        frogs += sorted(found, key=lambda frog: frog.s)
    return tuple(replace(frog, id=f"F{i}") for i, frog in enumerate(frogs, start=1))


def _pairs(layout: Layout, switches: tuple[Switch, ...]) -> Iterator[_Pair]:
    boxes = {route.name: _box(route) for route in layout}
    routes = layout.routes
    for i, first in enumerate(routes):
        for second in routes[i + 1 :]:
            if not boxes_meet(boxes[first.name], boxes[second.name]):
                continue
            a, b = first, second
            if _judged_along(a, b) and not _judged_along(b, a):
                a, b = b, a
            yield _Pair(a, b, tuple(s for s in switches if a.name in s.onward and b.name in s.onward))


def _judged_along(route: LaidRoute, other: LaidRoute) -> bool:
    """Tell whether a route leaves or joins another, or is judged along it where both leave a third."""
    return any(departure.along == other.name for _, departure in route.departures)


def _box(route: LaidRoute) -> Box:
    reach = max(abs(face.offset) for face in route.faces)
    boxes = [chunk.box() for chunk in Parallel(route.path, 0.0, 0.0, route.path.length).chunks()]
    return (
        min(b[0] for b in boxes) - reach,
        min(b[1] for b in boxes) - reach,
        max(b[2] for b in boxes) + reach,
        max(b[3] for b in boxes) + reach,
    )


def _cross(pair: _Pair, a: Face, b: Face, frog_point: float) -> Iterator[Frog]:
    for crossing in find_crossings(pair.first.parallel(a), pair.second.parallel(b)):
        yield _frog(pair, a, b, crossing, frog_point)


def _frog(pair: _Pair, a: Face, b: Face, crossing: Crossing, frog_point: float) -> Frog:
    first, second = pair.first, pair.second
    turned = abs(crossing.angle) > math.pi / 2
    same_hand = (a.hand == b.hand) != turned
    angle = crossing.folded
    directions = _heel_directions(a, crossing.angle, turned)
    practical = None
    if not same_hand:
        practical = _practical(first.parallel(a), second.parallel(b), crossing, directions, frog_point)
    switch = pair.switch_of(crossing.s)
    lead = (crossing.s - switch.station) * switch.way if switch and switch.parent == first.name else None
    return Frog(
        id="",
        kind="K" if same_hand else "V",
        switch=switch.id if switch else None,
        first=RouteFace(first.name, a),
        second=RouteFace(second.name, b),
        s=crossing.s,
        t=crossing.t,
        point=crossing.point,
        angle=angle,
        heading=first.path.heading_at(crossing.s),
        number=number_of(angle),
        lead=lead,
        noses=(
            _nose(first.parallel(a), flangeway_edge(second, b), crossing.s),
            _nose(second.parallel(b), flangeway_edge(first, a), crossing.t),
        ),
        practical=practical[0] if practical else None,
        practical_stations=practical[1] if practical else None,
        heel_directions=directions,
    )


def _heel_directions(a: Face, angle: float, turned: bool) -> tuple[int, int]:
    """Return which way along each route the frog's heel lies, +1 with its stations and -1 against.

    At the heel of a V the left rail's face lies to the right of the right rail's, so that their heads meet between.
    """
    apparent = -angle if turned else angle
    onward = 1 if a.outward * apparent > 0 else -1
    return onward, -onward if turned else onward


def _nose(face: Parallel, edge: Parallel, near: float) -> float | None:
    """Return the station nearest to `near` at which `face` meets the flangeway `edge` of the other face."""
    stations = [crossing.s for crossing in find_crossings(face, edge)]
    return min(stations, key=lambda s: abs(s - near), default=None)


def _practical(
    a: Parallel, b: Parallel, crossing: Crossing, directions: tuple[int, int], frog_point: float
) -> tuple[Point, tuple[float, float]] | None:
    """Return the middle between the two faces where they are `frog_point` apart at equal distances from the point.

    None where a face ends before that.
    """
    stations = stations_apart(a, b, (crossing.s, crossing.t), crossing.folded, directions, frog_point)
    if stations is None:
        return None
    p, q = a.point_at(stations[0]), b.point_at(stations[1])
    return ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2), stations


def stations_apart(
    a: Parallel, b: Parallel, at: tuple[float, float], angle: float, ways: tuple[int, int], width: float
) -> tuple[float, float] | None:
    """Return the stations of two faces that are `width` mm apart at equal distances from where they cross.

    They cross at the stations `at` under `angle`; `ways` tells which way to go along each. None where a face ends
    before, or where curves keep the two from ever being so far apart.
    """
    distance = width / (2.0 * math.sin(angle / 2))
    for _ in range(60):
        s = a.station_after(at[0], ways[0] * distance)
        t = b.station_after(at[1], ways[1] * distance)
        if not a.low <= s <= a.high or not b.low <= t <= b.high:
            return None
        found = math.dist(a.point_at(s), b.point_at(t))
        if abs(found - width) < 1e-11:
            return s, t
        distance *= width / found
    return None
