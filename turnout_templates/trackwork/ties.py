"""Lay the ties: headblocks at the points, long switch ties while tracks share them, plain ties elsewhere.

Routes are tied in the order of the file. A tie lies square to its own route and grows to carry every other route whose
own ties would run into it; those routes then lay none there. Where tracks cross steeply, the later one leaves out the
ties that would run into the earlier one's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from turnout_templates.alignment.faces import side
from turnout_templates.alignment.model import LaidRoute, Layout, View
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Room
from turnout_templates.spec.model import Spec, TieRules
from turnout_templates.trackwork.model import Interval, Switch, Tie
from turnout_templates.trackwork.nearby import Nearby
from turnout_templates.trackwork.regions import merged, without

_STEEP = math.radians(50)
"""Tracks that meet at more than this do not share ties (common practice, no source)."""
_REACH_TIES = 4.0
"""Tracks further apart than this many plain ties never share one (the longest switch ties are shorter)."""
_SQUARE = 1e-6
"""A station is beside a tie when it lies this near (mm) to its centre line."""
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


def lay_ties(spec: Spec, layout: Layout, switches: tuple[Switch, ...]) -> tuple[Tie, ...]:
    """Return all ties, numbered from 1 along each route in the order of the file."""
    tier = _Tier(spec, layout)
    anchors = _anchors(spec, layout, switches)
    for route in layout:
        tier.lay_headblocks(route, anchors.get(route.name, []))
    for route in layout:
        tier.tie_route(route, anchors.get(route.name, []))
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
            name, at = (host, beyond) if on_host else (switch.parent, parent.station(u))
            throw = -side(switch.hand)
            anchors.setdefault(name, []).append(_Anchor(at, throw if on_host else throw * switch.way))
    return {name: sorted(found, key=lambda a: a.station) for name, found in anchors.items()}


@dataclass(frozen=True, slots=True)
class _Span:
    """What a tie carries of a route: its faces lie from `low` to `high` (mm to the left), at `station` of the route.

    `lean` is how much further the route's own ties reach toward this one for lying askew of it (mm).
    """

    route: str
    low: float
    high: float
    station: float
    lean: float


class _Tier:
    """Lays the ties of one route after another and remembers which stations of the others are carried already."""

    def __init__(self, spec: Spec, layout: Layout) -> None:
        self.rules = spec.ties
        widest = max(gauge.width for gauge in spec.gauges.values())
        self.nearby = Nearby(layout, _REACH_TIES * (widest + 2 * spec.ties.overhang))
        self.ties: list[Tie] = []
        self.room = Room(4 * max(spec.ties.spacing, spec.ties.switch_width))
        self.carried: dict[str, list[Interval]] = {}

    def lay_headblocks(self, route: LaidRoute, anchors: Sequence[_Anchor]) -> None:
        """Lay the ties whose place is given."""
        for anchor in anchors:
            self._lay(route, anchor.station, anchor.throw, nudges=(0,))

    def tie_route(self, route: LaidRoute, anchors: Sequence[_Anchor]) -> None:
        """Fill what the ties that are there leave of the route."""
        carried = self.carried.get(route.name, []) + [(a.station, a.station) for a in anchors]
        for low, high in without((0.0, route.path.length), merged(carried, _HOLE * self.rules.switch_spacing)):
            self._fill(route, low, high, starts=low > 0.0, stops=high < route.path.length)

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
        gap = self._space(route, high)
        stations, station = [], self._first(route, low, starts)
        while station < high - 0.5 * gap:
            stations.append(station)
            station += self._space(route, station)
        if not stations:
            return []
        last = stations[-1] + gap
        if starts:
            return [low + (s - low) * (high - low) / (last - low) for s in stations]
        return [s + high - last for s in stations]

    def _space(self, route: LaidRoute, station: float) -> float:
        """Return the spacing of ties at a station: closer where they carry more than one track."""
        return self.rules.switch_spacing if len(self._carries(route, station)) > 1 else self.rules.spacing

    def _lay(self, route: LaidRoute, station: float, throw: int, *, nudges: Sequence[int]) -> float | None:
        """Lay a tie at `station`, or moved by the first of `nudges` (parts of a space) that is clear of all others.

        Returns where it lies, None where there is no room.
        """
        step = self.rules.spacing / _NUDGE
        for at in (station + nudge * step for nudge in nudges):
            if not 0.0 <= at <= route.path.length:
                continue
            spans = self._carries(route, at)
            tie = self._tie(route, at, spans, throw)
            if self.room.is_free(tie.corners()):
                self.room.take(tie.corners())
                self.ties.append(tie)
                self._note_carried(spans)
                return at
        return None

    def _tie(self, route: LaidRoute, station: float, spans: Sequence[_Span], throw: int) -> Tie:
        rules = self.rules
        pose = route.path.pose_at(station)
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

    def _carries(self, route: LaidRoute, station: float) -> list[_Span]:
        """Return what a tie at `station` of `route` carries: the route itself first, then all others it must reach."""
        pose = route.path.pose_at(station)
        offsets = [face.offset for face in route.faces]
        spans = [_Span(route.name, min(offsets), max(offsets), station, 0.0)]
        others = [(other, near) for other, near in self.nearby.stations(pose.point) if other is not route]
        waiting = [span for other, near in others for span in _spans(other, near, pose, self.rules)]
        reach = self.rules.overhang + self.rules.length_step / 2
        grown = True
        while grown:
            low = min(span.low for span in spans) - reach
            high = max(span.high for span in spans) + reach
            near = [s for s in waiting if s.low - reach - s.lean < high and s.high + reach + s.lean > low]
            spans += near
            waiting = [span for span in waiting if span not in near]
            grown = bool(near)
        return spans

    def _note_carried(self, spans: Sequence[_Span]) -> None:
        for span in spans[1:]:
            self.carried.setdefault(span.route, []).append((span.station, span.station))


def _spans(other: LaidRoute, station: float, pose: Pose, rules: TieRules) -> Iterator[_Span]:
    """Yield where the rails of another route, `station` of it nearby, cross the line square to `pose`.

    Nothing where it does not run the same way there.
    """
    ahead = math.inf
    for _ in range(8):
        there = other.path.pose_at(station)
        lean = math.cos(there.heading - pose.heading)
        if abs(lean) < math.cos(_STEEP):
            return
        ahead, centre = pose.local(there.point)
        if abs(ahead) < _SQUARE:
            break
        station -= ahead / lean
    if not 0.0 <= station <= other.path.length or abs(ahead) > 1.0:
        return
    across = [centre + face.offset / lean for face in other.faces]
    askew = 2.0 * rules.switch_width * math.sqrt(max(0.0, 1.0 - lean * lean))
    yield _Span(other.name, min(across), max(across), station, askew)


def _rounded_up(length: float, step: float) -> float:
    return math.ceil(length / step - 1e-9) * step if step > 0 else length
