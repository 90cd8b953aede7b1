"""Check points against what they meet as they move: other points that move there, and heads in the way of an open one.

A point that begins where another still moves runs into that other one as well: the pair is told once, by its cause.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from msgspec import Struct

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import Size, clearance, phrase
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.base_cuts import OpenFoul
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import PointRail, RouteFace
from turnout_templates.trackwork.switch_model import Switch


class _Together(Struct, frozen=True):
    """A point of the `second` switch, `begun` at `place`, beside the `station` of a `point` of the `first` one."""

    first: Switch
    point: PointRail
    second: Switch
    begun: PointRail
    station: float
    place: Point


def check_points_apart(work: Trackwork) -> Iterator[Finding]:
    """Report switches whose points begin beside points of another that still move there."""
    names = Names(work)
    for pair in _points_together(work):
        yield Finding(
            "points-together",
            "warning",
            f"point {names.rail(pair.begun.owner, pair.begun.tip)} of {pair.second.id}, "
            f"beside point {names.rail(pair.point.owner, pair.point.tip)} of {pair.first.id}",
            pair.place,
            phrase("its filed tip lies ", Size(pair.point.beyond_tip(pair.station)), " from that of the other"),
            phrase("the other moves as far as its heel, ", Size(pair.point.moving), " from its tip"),
            "geometry of this turnout",
            phrase(f"Let {pair.second.id} begin behind that heel."),
        )


def _points_together(work: Trackwork) -> Iterator[_Together]:
    """Yield the points that begin beside one of another switch that still moves there."""
    begun = [(switch, point, _tip(work, point)) for switch in work.switches for point in switch.points]
    tree = shapely.STRtree(shapely.points([place for *_, place in begun]) if begun else [])
    for first, point, tip in begun:
        if point.moving <= 0.0:
            continue
        for index in sorted(tree.query(shapely.Point(tip), predicate="dwithin", distance=point.moving).tolist()):
            second, other, place = begun[index]
            if first is second or not {point.owner, *point.outside} & {other.owner, *other.outside}:
                continue
            station = nearest_station(work.layout.route(point.owner.route).path, place)[0]
            if point.moves_at(station):
                yield _Together(first, point, second, other, station, place)


def _tip(work: Trackwork, point: PointRail) -> Point:
    return work.layout.route(point.owner.route).path.point_at(point.tip, point.owner.face.offset)


def check_points_touch(work: Trackwork) -> Iterator[Finding]:
    """Report open points whose heads run into others: a third rail, a guard or a wing, another switch's rail."""
    faces: dict[str, set[RouteFace]] = {bar.id: {stretch.owner for stretch in bar.stretches} for bar in work.bars}
    told = {frozenset((pair.point.owner, pair.begun.owner)) for pair in _points_together(work)}
    met: dict[tuple[str, str, str], list[OpenFoul]] = {}
    for foul in work.open_fouls:
        if not any(frozenset((foul.point.owner, face)) in told for face in faces.get(foul.against, ())):
            met.setdefault((foul.switch, foul.bar, foul.against), []).append(foul)
    switches = {switch.id: switch for switch in work.switches}
    for (name, _, against), fouls in met.items():
        yield _touches(work, switches[name], against, fouls)


def _touches(work: Trackwork, switch: Switch, against: str, fouls: list[OpenFoul]) -> Finding:
    """Return the finding of a point that runs into one other part."""
    point, bar = fouls[0].point, fouls[0].bar
    ends = [point.beyond_tip(station) for foul in fouls for station in (foul.low, foul.high)]
    middle = point.tip + point.way * (min(ends) + max(ends)) / 2
    kind = {"G": "guard rail", "W": "wing rail"}.get(against[0], "rail")
    return Finding(
        "point-touches",
        "warning",
        f"{switch.id}, open point {bar} ({point.owner.label})",
        work.layout.route(point.owner.route).path.point_at(middle, point.owner.face.offset),
        phrase(f"its head meets the {kind} {against}, ", Size(min(ends)), " to ", Size(max(ends)), " from its tip"),
        phrase("it must open by the throw of ", clearance(switch.throw or 0.0), " without touching"),
        "geometry of this trackwork",
        phrase("Throw it less far, hinge it nearer the tip, take a larger frog number, or move the switches apart."),
    )
