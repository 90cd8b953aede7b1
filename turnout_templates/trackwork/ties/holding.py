"""Turn trackwork into the places where a tie must lie under a rail, and tell which of them a rail is soldered at."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import RailSection, TieRules
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard
from turnout_templates.trackwork.frogs.knuckles import heel_of
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, RouteFace


class Held(Struct, frozen=True):
    """A place that a tie must hold: `what` is there, `at` which point of a `route`; is a rail `soldered` to the tie?

    At a rail's end `inward` is the heading in which the rail lies: a tie beyond its end does not hold it.
    """

    what: str
    at: Point
    route: str
    soldered: bool = True
    inward: float | None = None


class Parts(Struct, frozen=True):
    """The parts that ties are to hold."""

    layout: Layout
    rail: RailSection
    switches: Sequence[Switch]
    frogs: Sequence[Frog]
    guards: Sequence[Guard]

    def place(self, owner: RouteFace, station: float) -> Point:
        """Return where a gauge face lies at a station, kept on its route."""
        route = self.layout.route(owner.route)
        return route.path.point_at(min(max(station, 0.0), route.path.length), owner.face.offset)


SPACES = 0.55
"""How far the middle of a tie may lie from what it holds, in tie spaces: half of one, and a little for what outer rails
are longer in curves (common practice, no source)."""


def bound(rules: TieRules) -> float:
    """Return how far (mm) the middle of a tie may lie from a place that it holds."""
    return SPACES * max(rules.spacing, rules.switch_spacing)


def places_to_hold(parts: Parts, rules: TieRules) -> Iterator[Held]:
    """Yield the places that ties must hold: switch by switch, frog by frog, guard by guard, then the rails' ends."""
    for switch in parts.switches:
        yield from _of_switch(parts, rules, switch)
    for frog in parts.frogs:
        yield from _of_frog(parts, frog)
    for guard in parts.guards:
        yield from (Held(f"{guard.id} end", parts.place(guard.beside, end), guard.beside.route) for end in guard.ends)
    for route in parts.layout:
        for name, station in free_ends(parts.layout, route):
            inward = route.path.heading_at(station) + (math.pi if station > 0.0 else 0.0)
            for face in route.faces:
                place = parts.place(RouteFace(route.name, face), station)
                yield Held(f"{name} of {route.name}", place, route.name, inward=inward)


def _of_switch(parts: Parts, rules: TieRules, switch: Switch) -> Iterator[Held]:
    """Yield the heels of moving points and where each is first soldered, behind its fix; else where rails begin."""
    for point in switch.points:
        if point.begins == "point":
            behind = point.tip + point.way * (switch.fix_of(point) + bound(rules) + rules.switch_width / 2)
            yield Held(f"{switch.id} heel", parts.place(point.owner, point.heel), point.owner.route, soldered=False)
            yield Held(f"{switch.id} fix", parts.place(point.owner, behind), point.owner.route)
        else:
            what = "toe" if point.begins == "butt" else "fixed rail"
            yield Held(f"{switch.id} {what}", parts.place(point.owner, point.tip), point.owner.route)


def _of_frog(parts: Parts, frog: Frog) -> Iterator[Held]:
    """Yield a frog's point, both sides of its knuckle or its noses, and of a V its heel."""
    yield Held(f"{frog.id} point", frog.practical or frog.point, frog.first.route)
    owners = (frog.first, frog.second)
    what = "nose" if frog.kind == "K" else "knuckle"
    for owner, nose in zip(owners, frog.noses, strict=True):
        if nose is not None:
            yield Held(f"{frog.id} {what}", parts.place(owner, nose), owner.route)
    if frog.kind == "K":
        return
    heel = heel_of(parts.layout, frog, parts.rail.head)
    if heel is not None:
        owned = zip(owners, heel.stations, strict=True)
        yield from (Held(f"{frog.id} heel", parts.place(owner, at), owner.route) for owner, at in owned)


def free_ends(layout: Layout, route: LaidRoute) -> Iterator[tuple[str, float]]:
    """Yield the ends of a route where no other of the layout meets it, each with its name and station."""
    own = {way for way, _ in route.departures}
    parted = [
        end.station for other in layout for _, end in other.departures if end.parting and end.parent == route.name
    ]
    for name, way, station in (("start", 1, 0.0), ("end", -1, route.path.length)):
        if way not in own and not any(abs(station - at) < SAME_PLACE for at in parted):
            yield name, station
