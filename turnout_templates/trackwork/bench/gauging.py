"""Turn trackwork into what is to be measured at the bench when it is built: readings, each with its limits.

The gauge is read where a face is carried on both sides: at the ends, in the middle of curves, at tips, heels and half
way to the frog, at each frog's knuckle, point and heel (of a K: noses and elbow), and at joints; of a route that has
none of these half way along it. At a frog the flangeways, check gauge and span are read too, at points their least
opening.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Literal

from msgspec import Struct

from turnout_templates.alignment.faces import opposite
from turnout_templates.alignment.model import LaidRoute
from turnout_templates.spec.model import Gauge
from turnout_templates.standards.track import Allowed
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guarding
from turnout_templates.trackwork.frogs.knuckles import heel_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.carried import PiecesByFace
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace

Limit = tuple[float | None, float | None]
Quantity = Literal["gauge", "flangeway", "check gauge", "span", "opening"]
_ROUNDING = 1e-9
"""Flangeways that differ by less than this (mm) are one."""
_SAME = 0.05
"""Places of a route nearer to each other than this (mm) are one."""


class Reading(Struct, frozen=True):
    """What is to be measured on a `route` at a `station`: the `quantity`, `place` in words, `drawn` mm.

    `gauge` is whose wheels it is for; `allowed` are the least and the greatest by its document (mm), None where it
    states none.
    """

    route: str
    station: float
    place: str
    gauge: Gauge
    quantity: Quantity
    drawn: float
    allowed: Limit


Place = tuple[float, str]
"""A station (mm) and what lies there."""


def readings(work: Trackwork) -> tuple[Reading, ...]:
    """Return all readings, route by route and by station."""
    found: dict[str, list[Reading]] = {route.name: [] for route in work.layout}
    for reading in (*_gauges(work), *_flangeways(work), *_at_frogs(work), *_openings(work)):
        found[reading.route].append(reading)
    return tuple(
        reading for name in found for reading in sorted(found[name], key=lambda r: (round(r.station, 1), r.gauge.name))
    )


def _allowed(limits: Allowed) -> Limit:
    least, greatest = (None if limit is None else float(limit) for limit in limits)
    return least, greatest


def _between(route: LaidRoute, one: RouteFace, other: RouteFace, station: float) -> float:
    return abs(route.offset_at(one.face, station) - route.offset_at(other.face, station))


def _gauges(work: Trackwork) -> Iterator[Reading]:
    """Yield the readings of the gauge."""
    carried = PiecesByFace(work.pieces)
    at_faces, on_routes = _places_of_faces(work, carried), _places_of_routes(work)
    for route in work.layout:
        for gauge in dict.fromkeys(gauge for face in route.faces for gauge in face.gauges):
            faces = [RouteFace(route.name, face) for face in route.faces if gauge in face.gauges]
            places = [*on_routes[route.name], *(place for face in faces for place in at_faces.get(face, ()))]
            for station, names in _merged(places or [(route.path.length / 2, "half way")]):
                if all(carried.at(face, station) for face in faces):
                    drawn = _between(route, faces[0], faces[1], station)
                    allowed = _allowed(gauge.limits.gauge)
                    yield Reading(route.name, station, names, gauge, "gauge", drawn, allowed)


def _merged(places: Iterable[Place]) -> Iterator[Place]:
    """Yield places in order, those at one station as one."""
    for _, group in groupby(sorted(places), key=lambda place: round(place[0] / _SAME)):
        members = list(group)
        yield members[0][0], ", ".join(dict.fromkeys(name for _, name in members))


def _places_of_routes(work: Trackwork) -> dict[str, list[Place]]:
    """Return by route its free ends, the middle of its curves, and the tips of switches on it."""
    places: dict[str, list[Place]] = {}
    for route in work.layout:
        own = places[route.name] = []
        own += [(0.0, "start")] if route.departure is None else []
        own += [(route.path.length, "end")] if route.arrival is None else []
        for begin, piece in zip(route.path.starts, route.path.pieces, strict=True):
            if piece.kind != "straight":
                own.append((begin + piece.length / 2, "middle of curve"))
    for switch in work.switches:
        name = "toe" if switch.switching == "stub" else "tip"
        places[switch.parent].append((switch.filed_station, f"{name} of {switch.id}"))
    return places


def _places_of_faces(work: Trackwork, carried: PiecesByFace) -> dict[RouteFace, list[Place]]:
    """Return by face the places of points, frogs and joints on it."""
    places: dict[RouteFace, list[Place]] = {}
    noses: dict[RouteFace, list[float]] = {}
    for frog in work.frogs:
        for owner, nose in zip((frog.first, frog.second), frog.noses, strict=True):
            noses.setdefault(owner, []).extend([] if nose is None else [nose])
        for owner, place in _frog_places(work, frog):
            places.setdefault(owner, []).append(place)
    for switch in work.switches:
        for point in switch.moving_points:
            own = _point_places(point, carried, noses.get(point.owner, ()))
            places.setdefault(point.owner, []).extend(own)
    for joint in work.joints:
        if joint.kind == "joint":
            places.setdefault(joint.owner, []).append((joint.station, f"joint {joint.id}"))
    return places


def _frog_places(work: Trackwork, frog: Frog) -> Iterator[tuple[RouteFace, Place]]:
    """Yield where the gauge is read at a frog, on both its faces."""
    heel = heel_of(work.layout, frog, work.spec.rail.head)
    for i, (owner, station) in enumerate(((frog.first, frog.s), (frog.second, frog.t))):
        nose = frog.noses[i]
        if nose is not None:
            yield owner, (nose, f"{'knuckle' if frog.kind == 'V' else 'nose'} of {frog.id}")
        if frog.kind == "K":
            yield owner, (station, f"elbow of {frog.id}")
        elif frog.practical_stations is not None:
            yield owner, (frog.practical_stations[i], f"point of {frog.id}")
        if heel is not None:
            yield owner, (heel.stations[i], f"heel of {frog.id}")


def _point_places(point: PointRail, carried: PiecesByFace, noses: Iterable[float]) -> Iterator[Place]:
    """Yield the heel of a point, and the place half way from there to where its rail ends at a frog."""
    name = _point_name(point, carried)
    yield point.heel, f"heel of {name}"
    beyond = [nose for nose in noses if point.beyond_tip(nose) > point.moving]
    if beyond:
        yield (point.heel + min(beyond, key=point.beyond_tip)) / 2, f"{name}, heel to frog"


def _point_name(point: PointRail, carried: PiecesByFace) -> str:
    """Return the piece that begins as a point, or its rail in words where there is none."""
    return carried.at(point.owner, point.full_head) or f"point {point.owner.label}"


def _flangeways(work: Trackwork) -> Iterator[Reading]:
    """Yield the flangeways of wings, K noses and guards; of a guard the check gauge says what is allowed."""
    for wing in work.wings:
        gauge = _widest_flangeway(wing.beside)
        yield _flangeway(wing.beside, sum(wing.straight) / 2, f"wing {wing.id} of {wing.frog}", gauge, wing.flangeway)
    for frog in work.frogs:
        for i, owner in enumerate((frog.first, frog.second) if frog.kind == "K" else ()):
            nose, gauge = frog.noses[i], _widest_flangeway((frog.second, frog.first)[i])
            if nose is not None:
                yield _flangeway(owner, nose, f"nose of {frog.id}", gauge, gauge.flangeway)
    for guard in work.guards:
        gauge = next(gauge for gauge in guard.beside.face.gauges if gauge.name == guard.gauge)
        middle = sum(guard.straight) / 2
        yield Reading(
            guard.beside.route, middle, f"guard {guard.id}", gauge, "flangeway", guard.flangeway, (None, None)
        )


def _widest_flangeway(owner: RouteFace) -> Gauge:
    return max(owner.face.gauges, key=lambda gauge: gauge.flangeway)


def _flangeway(owner: RouteFace, station: float, place: str, gauge: Gauge, drawn: float) -> Reading:
    return Reading(owner.route, station, place, gauge, "flangeway", drawn, _allowed(gauge.limits.flangeway))


def _at_frogs(work: Trackwork) -> Iterator[Reading]:
    """Yield check gauge and span wherever something guides over a gap."""
    grooves = {guard.id: guard.flangeway for guard in work.guards}
    laid = {guard.id: f"guard {guard.id}" for guard in work.guards}
    grooves |= {f"the side of {side.owner.label}": side.flangeway for side in work.sides}
    wings = {(wing.frog, wing.beside): wing for wing in work.wings}
    frogs = {frog.id: frog for frog in work.frogs}
    for told in work.guarding:
        need = told.need
        route = work.layout.route(need.face.route)
        beside = RouteFace(need.face.route, opposite(route.faces, need.face.face, need.gauge))
        for name, station in _guides(told, frogs.get(need.guarded)):
            width = _between(route, need.face, beside, station)
            check = width - grooves[name]
            place = f"{need.guarded} to {laid.get(name, name)}"
            allowed = _allowed(need.gauge.limits.check_gauge)
            yield Reading(route.name, station, place, need.gauge, "check gauge", check, allowed)
            wing = wings.get((need.guarded, need.face))
            if wing is not None:
                least, greatest = _allowed(need.gauge.limits.span)
                # A groove that serves a wider gauge too is that one's, which leaves less than the least of this one.
                allowed = (None if wing.flangeway > need.gauge.flangeway + _ROUNDING else least, greatest)
                span = check - wing.flangeway
                yield Reading(
                    route.name, station, f"wing {wing.id} to {laid.get(name, name)}", need.gauge, "span", span, allowed
                )


def _guides(told: Guarding, frog: Frog | None) -> Iterator[tuple[str, float]]:
    """Yield what guides over a gap, each once, and where that is read: as near to a V's point as it guides."""
    goal = None
    if frog is not None and frog.practical_stations is not None:
        goal = frog.practical_stations[(frog.first, frog.second).index(told.need.face)]
    for name, parts in groupby(told.by, key=lambda part: part[0]):
        low, high = next(parts)[1]
        yield name, (low + high) / 2 if goal is None else min(max(goal, low), high)


def _openings(work: Trackwork) -> Iterator[Reading]:
    """Yield the least opening beside each open point, which is to be what keeps wheel backs off it."""
    carried = PiecesByFace(work.pieces)
    for _, made in work.works():
        for point in made.points:
            gauge = max(point.point.owner.face.gauges, key=lambda gauge: gauge.width)
            place = f"{_point_name(point.point, carried)}, open"
            allowed = (point.wanted, None)
            owner = point.point.owner
            yield Reading(owner.route, point.least_station, place, gauge, "opening", point.opening.least, allowed)
