"""Turn a switch into tables of offsets, by which its rails can be laid with a straight-edge and a scale alone.

Along and across are measured from the gauge face of the stock rail of the branch, where the filed tip lies beside it:
along its tangent there toward the frog, and across to the side that the branch leaves to. Told are the stock rail
itself where it is curved, the gauge faces that begin as points, or fixed, or behind a stub's toe, and all faces of the
routes that leave, from there to the heel of the last frog of that switch, or to where a face has turned off too far.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.alignment.faces import side
from turnout_templates.alignment.model import LaidRoute
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Pose
from turnout_templates.trackwork.frogs.knuckles import heel_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, RouteFace

_ON_IT = 1e-6
"""A stock rail that strays from its own tangent by no more than this (mm) is straight, and is not told."""
TURNED = math.radians(60)
"""A face that has turned so far from the stock rail's tangent is told no further: rows there say little."""
_STEPS = 30
_CLOSE = 1e-10


class Offset(Struct, frozen=True):
    """A place on a gauge face: `along` and `across` in mm, and the station of its route."""

    along: float
    across: float
    station: float


class OffsetTable(Struct, frozen=True):
    """The offsets of a gauge face from the stock rail `stock` at a switch, every `step` mm along from its filed tip.

    `origin` lies on the stock rail's face and heads toward the frog; `across` counts to its left where `left` is +1.
    """

    switch: str
    owner: RouteFace
    stock: RouteFace
    origin: Pose
    left: int
    step: float
    rows: tuple[Offset, ...]


def offset_tables(work: Trackwork) -> Iterator[OffsetTable]:
    """Yield the tables of all switches, in order."""
    for switch in work.switches:
        yield from _of_switch(work, switch)


def _of_switch(work: Trackwork, switch: Switch) -> Iterator[OffsetTable]:
    outer = switch.outer
    path = work.layout.route(outer.owner.route).path
    tip = path.point_at(outer.tip, outer.owner.face.offset)
    stock = outer.outside[0] if outer.outside else outer.owner
    stock_path = work.layout.route(stock.route).path
    beside = nearest_station(stock_path, tip)[0]
    pose = stock_path.pose_at(beside).shifted(stock.face.offset)
    onward = path.heading_at(outer.tip) + (0.0 if outer.way > 0 else math.pi)
    origin = pose if math.cos(pose.heading - onward) > 0 else pose.turned(math.pi)
    ends = _ends(work, switch)
    for owner, way in _faces(work, switch, stock):
        rows = _rows(work.layout.route(owner.route), owner, way, origin, work.spec.offset_step, ends.get(owner.route))
        left = side(switch.hand)
        told = tuple(Offset(along, left * across, station) for along, across, station in rows)
        if told and (owner != stock or any(abs(row.across) > _ON_IT for row in told)):
            yield OffsetTable(switch.id, owner, stock, origin, left, work.spec.offset_step, told)


def _faces(work: Trackwork, switch: Switch, stock: RouteFace) -> Iterator[tuple[RouteFace, int]]:
    """Yield each face to be told, the stock rail's first, with the direction of its route from the tip to the frog."""
    here = switch.end_of(work.layout.route(stock.route))
    found = {stock: switch.way if here is None else here[0]}
    found |= {point.owner: point.way for point in switch.points}
    for name in switch.onward:
        route = work.layout.route(name)
        here = switch.end_of(route)
        for face in route.faces if here is not None else ():
            found.setdefault(RouteFace(name, face), here[0] if here is not None else 1)
    yield from found.items()


def _ends(work: Trackwork, switch: Switch) -> dict[str, list[float]]:
    """Return by route the stations of the heels of a switch's frogs, of the crossing itself where it has no heel."""
    ends: dict[str, list[float]] = {}
    for frog in work.frogs:
        if frog.switch == switch.id:
            heel = heel_of(work.layout, frog, work.spec.rail.head)
            stations = (frog.s, frog.t) if heel is None else heel.stations
            for owner, station in zip((frog.first, frog.second), stations, strict=True):
                ends.setdefault(owner.route, []).append(station)
    return ends


def _rows(
    route: LaidRoute, owner: RouteFace, way: int, origin: Pose, step: float, heels: list[float] | None
) -> Iterator[tuple[float, float, float]]:
    """Yield along, to the left and station of a face at each step, on to the first step beyond the last heel."""
    low, high = route.begin_of(owner.face), route.end_of(owner.face)
    begin = nearest_station(route.path, origin.point)[0]
    last = way * (max(heels, key=lambda heel: heel * way) if heels else (high if way > 0 else low))
    station, count = begin, 0
    while True:
        found = _beside(route, owner, origin, count * step, station)
        if found is None:
            return
        station, across = found
        if low - SAME_PLACE <= station <= high + SAME_PLACE:
            yield count * step, across, station
        if way * station >= last or way * station > way * (high if way > 0 else low) + SAME_PLACE:
            return
        count += 1


def _beside(route: LaidRoute, owner: RouteFace, origin: Pose, along: float, near: float) -> tuple[float, float] | None:
    """Return the station of a face that lies so far along, and how far to the left; None where it has turned off."""
    station = near
    for _ in range(_STEPS):
        offset = route.offset_at(owner.face, station)
        pose = route.path.pose_at(station)
        lean = math.cos(pose.heading - origin.heading)
        if abs(lean) < math.cos(TURNED):
            return None
        ahead, left = origin.local(pose.beside(offset))
        if abs(ahead - along) < _CLOSE:
            return station, left
        station += (along - ahead) / (lean * (1.0 - offset * route.path.curvature_at(station)))
    return None
