"""Check points against what they meet as they move: other points that move there, and heads in the way of an open one.

A point that begins where another still moves runs into that other one as well: the pair is told once, by its cause.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from msgspec import Struct

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import Phrase, Size, at_least, clearance, phrase
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.bases.base_cuts import OpenFoul
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, PointRail, RouteFace


class _Together(Struct, frozen=True):
    """The `second` switch's point `begun` at `place`, `behind` the tip of a `point` of the `first` switch (mm).

    Of points that begin at one tip the second may lie before the other by a little: `behind` is negative then.
    """

    first: Switch
    point: PointRail
    second: Switch
    begun: PointRail
    behind: float
    place: Point

    @property
    def slivers(self) -> bool:
        """Whether the second point begins where the first one is still filed thinner than its head."""
        return self.behind < self.point.beyond_tip(self.point.full_head)


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
            phrase("its filed tip lies ", Size(abs(pair.behind)), " from that of the other"),
            _what_moves(pair),
            "geometry of this turnout",
            phrase(*_apart_enough(pair), f"; and never throw {_pushed(pair)}, where one point pushes the other."),
        )


def _what_moves(pair: _Together) -> Phrase:
    """Return what the first point is where the second one begins."""
    point = pair.point
    if not pair.slivers:
        return phrase("the other moves as far as its heel, ", Size(point.moving), " from its tip")
    full = point.beyond_tip(point.full_head)
    return phrase("the other has its full head ", Size(full), " from its tip: before that neither has a base left")


def _apart_enough(pair: _Together) -> Iterator[str | Size]:
    """Yield how much later the second switch had to begin."""
    if not pair.slivers:
        yield f"Let {pair.second.id} begin behind that heel, or link their machines"
        return
    short = pair.point.beyond_tip(pair.point.full_head) - pair.behind
    yield from (f"Let {pair.second.id} begin at least ", at_least(short), " further on, beside whole rail")


def _pushed(pair: _Together) -> str:
    """Return how both switches must not stand at once: the outer point open and the inner one, behind it, closed."""
    inner = {pair.begun.owner, *pair.begun.outside}
    first_is_outer = pair.point.owner in inner and pair.begun.owner not in pair.point.outside
    one, other = _set_to(pair.first, pair.point, first_is_outer), _set_to(pair.second, pair.begun, not first_is_outer)
    return f'{pair.first.id} to "{one}" while {pair.second.id} stands to "{other}"'


def _set_to(switch: Switch, point: PointRail, is_open: bool) -> str:
    """Return for which route a switch stands where one of its points is open, or closed."""
    return switch.branch if switch.leads_to_branch(point) != is_open else switch.onward[0]


def _points_together(work: Trackwork) -> Iterator[_Together]:
    """Yield the points that begin beside one of another switch that still moves there, each two once."""
    begun = [(switch, point, _tip(work, point)) for switch in work.switches for point in switch.moving_points]
    tree = shapely.STRtree(shapely.points([place for *_, place in begun]) if begun else [])
    for i, (first, point, tip) in enumerate(begun):
        for j in sorted(tree.query(shapely.Point(tip), predicate="dwithin", distance=point.moving).tolist()):
            second, other, place = begun[j]
            if first is second or not {point.owner, *point.outside} & {other.owner, *other.outside}:
                continue
            behind = point.beyond_tip(nearest_station(work.layout.route(point.owner.route).path, place)[0])
            if behind < point.moving and (i < j if _at_one_tip(first, second) else behind > 0.0):
                yield _Together(first, point, second, other, behind, place)


def _at_one_tip(first: Switch, second: Switch) -> bool:
    """Tell whether two switches part the same route at one place, looked at the same way."""
    same = (first.parent, first.way) == (second.parent, second.way)
    return same and abs(first.station - second.station) < SAME_PLACE


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
