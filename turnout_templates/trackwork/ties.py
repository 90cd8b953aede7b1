"""Lay the ties: headblocks at the points, long switch ties while tracks share them, plain ties elsewhere.

Routes are tied in the order of the file. A tie lies square to its own route and grows to carry every other route whose
own ties would run into it; those routes then lay none there. Where the other leans much, the tie is turned toward the
mean of both; from a tie that lies askew the next ones fan out until they are square. Where a rail is still bare for too
long, between the ties of two routes that end there, one more tie is laid.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from turnout_templates.alignment.model import LaidRoute, Layout, View
from turnout_templates.geometry.room import Room
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.bearing import bare_stretches, most_bare, place_of
from turnout_templates.trackwork.carrying import Carrying, Span
from turnout_templates.trackwork.model import Rail, Switch, Tie
from turnout_templates.trackwork.nearby import Nearby
from turnout_templates.trackwork.regions import merged, without
from turnout_templates.trackwork.turning import Fan, Turn, Turned, Turning

_REACH_TIES = 4.0
"""Tracks further apart than this many plain ties never share one (the longest switch ties are shorter)."""
_NUDGE = 8
"""A tie in the way of another moves by this part of its spacing at a time."""
_ONWARD = tuple(range(_NUDGE))
_TO_AND_FRO = (0, 1, -1, 2, -2)
_HOLE = 1.6
"""Two ties of another route that are no further apart than this many spaces leave no hole for one between them."""


@dataclass(frozen=True, slots=True)
class _Anchor:
    """A headblock that must lie at `station` of its route, longer on the side `throw` (+1 left)."""

    station: float
    throw: int


def lay_ties(spec: Spec, layout: Layout, rails: tuple[Rail, ...], switches: tuple[Switch, ...]) -> tuple[Tie, ...]:
    """Return all ties, numbered from 1 along each route in the order of the file."""
    tier = _Tier(spec, layout)
    anchors = _anchors(spec, layout, switches)
    for route in layout:
        tier.lay_headblocks(route, anchors.get(route.name, []))
    for route in layout:
        tier.tie_route(route, anchors.get(route.name, []))
    for bare in list(bare_stretches(layout, rails, tier.ties, longer_than=most_bare(spec.ties))):
        name, station = place_of(layout, bare)
        tier.tie_bare(layout.route(name), station)
    order = {route.name: i for i, route in enumerate(layout)}
    ties = sorted(tier.ties, key=lambda tie: (order[tie.route], tie.station))
    return tuple(replace(tie, id=str(i)) for i, tie in enumerate(ties, start=1))


def _anchors(spec: Spec, layout: Layout, switches: tuple[Switch, ...]) -> dict[str, list[_Anchor]]:
    """Return the headblocks by the route they lie on: the one that goes on straight from the tip, or the parent."""
    anchors: dict[str, list[_Anchor]] = {}
    for switch in switches:
        if switch.bar_station is None:
            continue
        host = switch.onward[0]
        parent = View(layout.route(switch.parent), switch.way)
        for shift in (-0.5, 0.5):
            u = parent.station(switch.bar_station) + shift * spec.ties.switch_spacing
            beyond = u - parent.path.length
            on_host = host != switch.parent and beyond >= 0.0
            view, at = (_onward(layout, host, switch), beyond) if on_host else (parent, u)
            anchors.setdefault(view.name, []).append(_Anchor(view.station(at), switch.bar_side * view.way))
    return {name: sorted(found, key=lambda a: a.station) for name, found in anchors.items()}


def _onward(layout: Layout, name: str, switch: Switch) -> View:
    """Return a route that goes on from a switch as it is looked at from there."""
    route = layout.route(name)
    here = switch.end_of(route)
    if here is None:
        raise TypeError("only a route that parts at a switch goes on from it")
    return View(route, here[0])


class _Tier:
    """Lays the ties of one route after another and remembers which stations of the others are carried already."""

    def __init__(self, spec: Spec, layout: Layout) -> None:
        self.rules = spec.ties
        widest = max(gauge.width for gauge in spec.gauges.values())
        nearby = Nearby(layout, _REACH_TIES * (widest + 2 * spec.ties.overhang))
        self.carrying = Carrying(spec.ties, nearby)
        self.turning = Turning(self.carrying, spec.ties)
        self.ties: list[Tie] = []
        self.room = Room(4 * max(spec.ties.spacing, spec.ties.switch_width))
        self.carried: dict[str, list[Turned]] = {}
        self._last: tuple[tuple[str, float], Turn, list[Span]] | None = None

    def lay_headblocks(self, route: LaidRoute, anchors: Sequence[_Anchor]) -> None:
        """Lay the ties whose place is given."""
        for anchor in anchors:
            self._lay(route, anchor.station, anchor.throw, nudges=(0,))

    def tie_route(self, route: LaidRoute, anchors: Sequence[_Anchor]) -> None:
        """Fill what the ties that are there leave of the route."""
        carried = [*(at for at, _ in self.carried.get(route.name, [])), *(anchor.station for anchor in anchors)]
        held = merged(zip(carried, carried, strict=True), _HOLE * self.rules.switch_spacing)
        for low, high in without((0.0, route.path.length), held):
            self._fill(route, low, high, starts=low > 0.0, stops=high < route.path.length)

    def tie_bare(self, route: LaidRoute, station: float) -> None:
        """Lay one more tie where a rail of the route was left bare for too long, if there is room for it."""
        if self._lay(route, station, 0, nudges=_TO_AND_FRO) is None:
            self._lay(route, station, 0, nudges=_TO_AND_FRO, tight=True)

    def _fill(self, route: LaidRoute, low: float, high: float, *, starts: bool, stops: bool) -> None:
        """Lay ties between two stations, a full space from a tie already at either end, about half a space from an end.

        A stretch that stops at a tie is known beforehand: its spaces are stretched evenly to fit between two ties, or
        moved up to the only one. In any other each tie lies a space on from where the one before found room.
        """
        if stops:
            for station in self._fitted(route, low, high, starts):
                self._lay(route, station, 0, nudges=_TO_AND_FRO)
            return
        station = self._first(route, low, starts)
        while station < high - 0.25 * self.rules.spacing:
            laid = self._lay(route, station, 0, nudges=_ONWARD)
            at = station if laid is None else laid
            station = at + self._space(route, at)

    def _first(self, route: LaidRoute, low: float, starts: bool) -> float:
        return low + (self._space(route, low) if starts else self.rules.spacing / 2)

    def _fitted(self, route: LaidRoute, low: float, high: float, starts: bool) -> list[float]:
        """Return stations up to a space before the tie at `high`, from a space behind one at `low` if there is one."""
        marks = [low]
        while marks[-1] < high:
            marks.append(marks[-1] + self._space(route, marks[-1]))
        spaces = len(marks) - 1 - (marks[-1] - high) / (marks[-1] - marks[-2])
        if starts:
            count = max(1, math.floor(spaces + 0.5))
            return [_between(marks, i * spaces / count) for i in range(1, count)]
        return [_between(marks, spaces - i) for i in range(math.floor(spaces), 0, -1)]

    def _space(self, route: LaidRoute, station: float) -> float:
        """Return the spacing of ties at a station: closer where they carry more than one track, wider in a fan."""
        turn, spans = self._seen(route, station)
        return max(turn.room, self.rules.switch_spacing if len(spans) > 1 else self.rules.spacing)

    def _lay(
        self, route: LaidRoute, station: float, throw: int, *, nudges: Sequence[int], tight: bool = False
    ) -> float | None:
        """Lay a tie at `station`, or moved by the first of `nudges` (parts of a space) that is clear of all others.

        Returns where it lies, None where there is no room.
        """
        step = self.rules.spacing / _NUDGE
        for at in (station + nudge * step for nudge in nudges):
            if not 0.0 <= at <= route.path.length:
                continue
            square = throw or tight
            spans = self.carrying.carried(route, at, 0.0, tight=tight) if square else self._seen(route, at)[1]
            tie = self._tie(route, at, spans, throw)
            if self.room.is_free(tie.corners()):
                self.room.take(tie.corners())
                self.ties.append(tie)
                self._note_carried(spans)
                return at
        return None

    def _tie(self, route: LaidRoute, station: float, spans: Sequence[Span], throw: int) -> Tie:
        rules = self.rules
        pose = route.path.pose_at(station).turned(spans[0].turn)
        low = min(span.low for span in spans) - rules.overhang
        high = max(span.high for span in spans) + rules.overhang
        role: Literal["plain", "switch", "headblock"] = (
            "headblock" if throw else "switch" if len(spans) > 1 else "plain"
        )
        length = _rounded_up(high - low, rules.length_step)
        spare = (length - (high - low)) / 2
        low, high = low - spare, high + spare
        if throw:
            low, high = (low - rules.headblock_overhang, high) if throw < 0 else (low, high + rules.headblock_overhang)
        copper = rules.copper == "all" or (rules.copper != "none" and (role != "plain" or len(self.ties) % 2 == 0))
        return Tie(
            id="",
            role=role,
            material="copper-clad" if copper else "wood",
            centre=pose.beside((low + high) / 2),
            angle=pose.heading + math.pi / 2,
            length=high - low,
            width=rules.width if role == "plain" else rules.switch_width,
            route=route.name,
            station=station,
        )

    def _seen(self, route: LaidRoute, station: float) -> tuple[Turn, list[Span]]:
        """Return how a tie at `station` is turned, as the ties near it ask, and what it carries so."""
        key = route.name, station
        if self._last is None or self._last[0] != key:
            fans = self.turning.fans(route, station, self.carried.get(route.name, []))
            self._last = key, *self._turned(route, station, fans)
        return self._last[1:]

    def _turned(self, route: LaidRoute, station: float, fans: Sequence[Fan]) -> tuple[Turn, list[Span]]:
        """Return the turn of a tie among others and what it carries: a longer tie turns less from one to the next."""
        offsets = [face.offset for face in route.faces]
        arm = max(-min(offsets), max(offsets)) + self.rules.overhang
        turn = self.turning.turn(fans, 2 * arm)
        spans = self.carrying.carried(route, station, turn.angle)
        if fans and len(spans) > 1:
            arm = max(max(-span.low, span.high) for span in spans) + self.rules.overhang
            longer = self.turning.turn(fans, 2 * arm)
            if longer.angle != turn.angle:
                spans = self.carrying.carried(route, station, longer.angle)
            turn = longer
        return turn, spans

    def _note_carried(self, spans: Sequence[Span]) -> None:
        for span in spans[1:]:
            insort(self.carried.setdefault(span.route, []), (span.station, span.turn))


def _between(marks: Sequence[float], at: float) -> float:
    """Return the value between two of `marks`, at a whole number and a part of them."""
    i = min(int(at), len(marks) - 2)
    return marks[i] + (at - i) * (marks[i + 1] - marks[i])


def _rounded_up(length: float, step: float) -> float:
    return math.ceil(length / step - 1e-9) * step if step > 0 else length
