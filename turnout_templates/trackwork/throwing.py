"""Throw the points of switches: how far, where the throw bar lies, and how they stand open, hinged or bent.

A point that is one bar with its closure rail bends from the toe of the first V frog in which that bar is fast; one that
is planed straight, or hinged because the spec says so, turns about its heel as a rigid bar.
"""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from turnout_templates.alignment.model import Layout, View
from turnout_templates.alignment.solving import practical_toe
from turnout_templates.errors import LayoutError
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.frog_parts import Frog
from turnout_templates.trackwork.rail_parts import PointRail, RouteFace
from turnout_templates.trackwork.switch_model import Opening, Switch
from turnout_templates.trackwork.switches import wanted_opening
from turnout_templates.trackwork.tips import Onward, least_opening, moved_share, throw_to_hold
from turnout_templates.units import format_length_with_mm

_OPENING_STEPS = 200
_FURTHER_STEPS = 40
"""A point is looked at in so many places up to where a flangeway has opened, and in so many more up to the frog."""
_BAR_SHARE = 0.25
"""The throw bar lies within this part of a point's free length (common practice, no source)."""
_HELD = 1e-9
"""An opening that falls short by less (mm) is held."""
_HALVINGS = 50

FrogsOn = Mapping[RouteFace, Sequence[Frog]]


def throw_switches(
    spec: Spec, layout: Layout, switches: tuple[Switch, ...], frogs: tuple[Frog, ...]
) -> tuple[Switch, ...]:
    """Return the switches with their moving points thrown.

    Raises LayoutError where a hinge is asked for on the planed part of a point, or beyond the toe of its frog.
    """
    on_face = frogs_on(frogs)
    return tuple(_thrown(spec, layout, switch, on_face) if switch.moving_points else switch for switch in switches)


def frogs_on(frogs: Sequence[Frog]) -> FrogsOn:
    """Return the frogs by the gauge faces that they lie on."""
    found: dict[RouteFace, list[Frog]] = {}
    for frog in frogs:
        for owner in (frog.first, frog.second):
            found.setdefault(owner, []).append(frog)
    return found


def _fix_of(point: PointRail, toe: float | None) -> float:
    """Return how far behind its tip (mm) a point is held as drawn: at its heel, or at the `toe` of its V frog."""
    return point.moving if point.rigid or toe is None else toe


def _toe_behind(switch: Switch, point: PointRail, on_face: FrogsOn, head: float) -> float | None:
    """Return how far behind its tip (mm) the toe lies of the first V frog that a point's bar is fast in.

    Of frogs with the other routes of its switch; None where none follows the place at which the point is clear.
    """
    toes = []
    clear = point.beyond_tip(point.full_head if point.hinge is not None else point.heel)
    for frog in on_face.get(point.owner, ()):
        mine, other = (frog.s, frog.second) if frog.first == point.owner else (frog.t, frog.first)
        if frog.kind == "V" and other.route in switch.onward:
            toes.append(point.beyond_tip(mine) - practical_toe(head, frog.angle))
    return min((toe for toe in toes if toe > clear), default=None)


def _thrown(spec: Spec, layout: Layout, switch: Switch, on_face: FrogsOn) -> Switch:
    """Return a switch thrown, judged by the point that opens from the stock rail of the branch."""
    outer, head = switch.outer, spec.rail.head
    toes = [_toe_behind(switch, point, on_face, head) for point in switch.moving_points]
    for point, toe in zip(switch.moving_points, toes, strict=True):
        _refuse_hinge(spec, layout, switch, point, toe)
    fixes = tuple(_fix_of(point, toe) for point, toe in zip(switch.moving_points, toes, strict=True))
    at = switch.moving_points.index(outer)
    toe, fix = toes[at], fixes[at]
    to_bar = min(spec.ties.switch_spacing / 2, _BAR_SHARE * max(fix, 0.0))
    reach = max(toe or 0.0, outer.moving, outer.beyond_tip(outer.clear))
    open_point = open_point_of(layout, outer, to_bar, head, reach)
    model: Model = "hinged" if outer.rigid else "bent"
    wanted = wanted_opening(outer)
    throw = spec.throw
    if throw is None:
        throw = wanted / moved_share(0.0, bar=to_bar, fix=fix, bent=model == "bent")
    openings = open_point.openings(throw, wanted, (model, fix), toe)
    drawn = openings[0]
    return replace(
        switch,
        bar_station=switch.filed_station + switch.way * to_bar,
        throw=throw,
        throw_to_hold=drawn.throw_to_hold,
        least_opening=drawn.least,
        least_station=outer.tip + outer.way * drawn.at,
        fixes=fixes,
        openings=openings,
    )


Model = Literal["hinged", "bent"]


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """A point that stands open: at `stations` (mm from the filed tip) its face is `apart` from the stock rail's.

    `bar` is where it is thrown, `heel` where it stands clear; stations go on to where a bar may be held last.
    """

    stations: list[float]
    apart: list[float]
    bar: float
    heel: float
    head: float

    def opening(self, model: Model, fix: float, throw: float, wanted: float) -> Opening:
        """Return how the point stands held at `fix`, thrown by `throw`, where `wanted` keeps wheel backs off it."""
        bent = model == "bent"
        keys = {"bar": self.bar, "fix": fix, "head": self.head}
        stations, apart = self._up_to(fix)
        least, at = least_opening(stations, apart, throw=throw, bent=bent, **keys)
        to_hold = throw_to_hold(wanted, stations, apart, bent=bent, **keys)
        return Opening(model, fix, least, at, to_hold, self._fix_to_hold(model, throw, wanted))

    def apart_at(self, s: float) -> float:
        """Return how far the faces are apart `s` mm behind the filed tip."""
        i = min(max(bisect(self.stations, s), 1), len(self.stations) - 1)
        low, high = self.stations[i - 1 : i + 1]
        return self.apart[i - 1] + (s - low) / (high - low) * (self.apart[i] - self.apart[i - 1])

    def openings(
        self, throw: float, wanted: float, drawn: tuple[Model, float], toe: float | None
    ) -> tuple[Opening, ...]:
        """Return how the point stands as `drawn`, then hinged at its heel, bent from there, and bent from the `toe`."""
        ways: list[tuple[Model, float]] = [drawn, ("hinged", self.heel), ("bent", self.heel)]
        ways += [] if toe is None else [("bent", toe)]
        return tuple(self.opening(model, fix, throw, wanted) for model, fix in dict.fromkeys(ways))

    def _up_to(self, fix: float) -> tuple[list[float], list[float]]:
        """Return the stations at which a point that is held at `fix` moves or has not parted by a flangeway."""
        count = max(_OPENING_STEPS + 1, sum(s <= fix for s in self.stations))
        return self.stations[:count], self.apart[:count]

    def _fix_to_hold(self, model: Model, throw: float, wanted: float) -> float | None:
        """Return the nearest place that holds the opening: the further a bar is held, the further it opens."""
        low, high = self.bar, self.stations[-1]
        if not self._holds(model, high, throw, wanted):
            return None
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self._holds(model, middle, throw, wanted) else (middle, high)
        return high

    def _holds(self, model: Model, fix: float, throw: float, wanted: float) -> bool:
        stations, apart = self._up_to(fix)
        keys = {"bar": self.bar, "fix": fix, "head": self.head}
        return least_opening(stations, apart, throw=throw, bent=model == "bent", **keys)[0] >= wanted - _HELD


def open_point_of(layout: Layout, point: PointRail, to_bar: float, head: float, reach: float) -> OpenPoint:
    """Return a point as it stands open, looked at from its filed tip to `reach` mm behind that."""
    own = View(layout.route(point.owner.route), point.way)
    outside = layout.route(point.outside[0].route)
    begin = own.station(point.tip)
    tip = own.path.point_at(begin, point.owner.face.offset * point.way)
    beside = nearest_station(outside.path, tip)[0]
    heading = outside.path.heading_at(beside) - own.path.heading_at(begin)
    other = View(outside, 1 if math.cos(heading) > 0 else -1)
    rail = Onward(point.owner, own, begin)
    stock = Onward(point.outside[0], other, other.station(beside))
    near = max(point.moving, point.beyond_tip(point.clear)) if point.hinge is None else point.beyond_tip(point.clear)
    stations = [i * near / _OPENING_STEPS for i in range(_OPENING_STEPS + 1)]
    if reach > near:
        stations += [near + (i + 1) * (reach - near) / _FURTHER_STEPS for i in range(_FURTHER_STEPS)]
    apart = [rail.apart_from(stock, begin + s) for s in stations]
    return OpenPoint(stations, apart, to_bar, point.moving, head)


def _refuse_hinge(spec: Spec, layout: Layout, switch: Switch, point: PointRail, toe: float | None) -> None:
    """Raise LayoutError where a hinge would cut the planed part of a point, or rail that is fast in a frog."""
    if point.hinge is None:
        return
    full, limit = point.beyond_tip(point.full_head), math.inf if toe is None else toe
    if full < point.moving < limit:
        return
    named = next((name for name in switch.onward if _hinge_said(layout, switch, name)), switch.branch)
    here = switch.end_of(layout.route(named))
    said, least = (format_length_with_mm(mm, spec.units) for mm in (point.moving, full))
    place = f"{point.owner.label} of {switch.id}"
    if point.moving <= full:
        sentence = (
            f"A hinge {said} behind the filed tip cuts {place} where it is planed: its full head begins at {least}."
        )
        remedy = "Hinge it further back."
    else:
        sentence = (
            f"A hinge {said} behind the filed tip lies beyond the toe of the frog that {place} is fast in, "
            f"{format_length_with_mm(limit, spec.units)} from the tip."
        )
        remedy = f"Hinge it nearer the tip, but beyond its full head at {least}, or leave the hinge out."
    where = ("points",) if here is None or here[0] > 0 else ("joins", "points")
    raise LayoutError(sentence, remedy, ("routes", named, *where, "hinge"))


def _hinge_said(layout: Layout, switch: Switch, name: str) -> bool:
    """Tell whether the route `name` asks for a hinge at a switch."""
    here = switch.end_of(layout.route(name))
    return here is not None and getattr(here[1].points, "hinge", None) is not None
