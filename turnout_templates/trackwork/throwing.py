"""Throw the points of switches: how far, where the throw bar lies, and how they stand open, hinged or bent.

A point that is one bar with its closure rail bends from where that bar is fast: before the first V frog on it, where a
tie, the isolating gap and its clearances still fit, or before its end at a K that comes first. One that is planed
straight, or hinged because the spec says so, turns about its heel as a rigid bar. Lengths are told along the point's
gauge face from its filed tip, as one measures the bar.
"""

from __future__ import annotations

import math
from bisect import bisect
from dataclasses import dataclass, replace
from typing import Literal

from turnout_templates.alignment.model import Layout, View
from turnout_templates.errors import LayoutError
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.bar_places import BarPlaces
from turnout_templates.trackwork.circuit import Circuit
from turnout_templates.trackwork.fast_places import FastPlaces, PointFace, face_of, frogs_on
from turnout_templates.trackwork.frog_parts import Frog
from turnout_templates.trackwork.switch_model import Opening, Switch
from turnout_templates.trackwork.switches import wanted_opening
from turnout_templates.trackwork.tips import Onward, least_opening, moved_share, throw_to_hold
from turnout_templates.units import format_length_with_mm

_OPENING_STEPS = 100
_FURTHER_STEPS = 20
"""A point is looked at in so many places up to where a flangeway has opened, and in so many more up to the frog; and
where its full head begins, since the opening has a corner there."""
_BAR_SHARE = 0.25
"""The throw bar lies within this part of a point's free length (common practice, no source)."""
_MOST_THROW = 4.0
"""No switch is thrown by more than so many times the opening that wheels want (common practice, no source)."""
_HELD = 1e-9
"""An opening that falls short by less (mm) is held."""
_HALVINGS = 50


def throw_switches(
    spec: Spec, layout: Layout, switches: tuple[Switch, ...], frogs: tuple[Frog, ...], circuit: Circuit
) -> tuple[Switch, ...]:
    """Return the switches with their moving points thrown.

    Raises LayoutError where a hinge is asked for on the planed part of a point, or beyond the toe of its frog.
    """
    held = FastPlaces(spec, layout, frogs_on(frogs), circuit)
    places = BarPlaces(spec, layout)
    return tuple(
        _thrown(spec, layout, switch, held, places) if switch.moving_points else _stub_thrown(switch, places)
        for switch in switches
    )


def _stub_thrown(switch: Switch, places: BarPlaces) -> Switch:
    """Return a stub switch with its bar placed half a tie space before its toe; any other as it is."""
    if switch.bar_station is None or switch.throw is None:
        return switch
    to_bar = switch.bar_from_tip
    return _with_bar(switch, places, to_bar, to_bar, 2 * switch.throw)


def _with_bar(switch: Switch, places: BarPlaces, to_bar: float, last: float, travel: float) -> Switch:
    """Return a switch with its throw bar placed (see `BarPlaces.place`)."""
    place = places.place(switch, to_bar, last, travel)
    blocks = tuple(places.headblocks(switch, place))
    return replace(switch, bar_station=place.station, bar_turn=place.turn, headblocks=blocks)


def _fix_of(face: PointFace, fast: float | None) -> float:
    """Return how far behind its tip (mm) a point is held as drawn: at its heel, or where its bar is `fast`."""
    return face.length_to(face.point.heel) if face.point.rigid or fast is None else fast


def _thrown(spec: Spec, layout: Layout, switch: Switch, held: FastPlaces, places: BarPlaces) -> Switch:
    """Return a switch thrown, judged by the point that opens from the stock rail of the branch."""
    head = spec.rail.head
    faces = [face_of(layout, point) for point in switch.moving_points]
    fasts = [held.fast_behind(face) for face in faces]
    for face, fast in zip(faces, fasts, strict=True):
        _refuse_hinge(spec, layout, switch, face, fast)
    fixes = [_fix_of(face, fast) for face, fast in zip(faces, fasts, strict=True)]
    at = switch.moving_points.index(switch.outer)
    outer, fast, fix = faces[at], fasts[at], fixes[at]
    toe = held.toe_behind(outer)
    wanted = wanted_opening(switch.outer)
    last = _BAR_SHARE * max(fix, 0.0)
    switch = _with_bar(switch, places, min(spec.ties.switch_spacing / 2, last), last, spec.throw or wanted)
    to_bar = switch.bar_from_tip
    open_point = open_point_of(layout, outer, to_bar, head, fast or 0.0, toe)
    throw = spec.throw
    if throw is None:
        throw = wanted / moved_share(0.0, bar=to_bar, fix=fix, bent=not switch.outer.rigid)
    openings = open_point.openings(throw, wanted, fix, toe)
    drawn = openings[0]
    return replace(
        switch,
        throw=throw,
        least_opening=drawn.least,
        least_station=outer.station_at(drawn.at),
        fixes=tuple(face.point.beyond_tip(face.station_at(at)) for face, at in zip(faces, fixes, strict=True)),
        fasts=tuple(fasts),
        openings=openings,
    )


Model = Literal["hinged", "bent"]


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """A point that stands open: at `stations` (mm of its face behind the filed tip) that is `apart` from the stock's.

    `bar` is where it is thrown, `heel` where it stands clear; `last` is where its bar may be held last, and stations go
    on at least to there. Drawn, it turns about its heel as a `rigid` bar or bends.
    """

    stations: list[float]
    apart: list[float]
    bar: float
    heel: float
    head: float
    rigid: bool
    last: float

    def drawn(self, fix: float, throw: float, wanted: float) -> Opening:
        """Return how the point stands as it is drawn, held at `fix`."""
        return self.opening("hinged" if self.rigid else "bent", fix, throw, wanted)

    def opening(self, model: Model, fix: float, throw: float, wanted: float) -> Opening:
        """Return how the point stands held at `fix`, thrown by `throw`, where `wanted` keeps wheel backs off it."""
        bent = model == "bent"
        keys = {"bar": self.bar, "fix": fix, "head": self.head}
        stations, apart = self._up_to(fix)
        least, at = least_opening(stations, apart, throw=throw, bent=bent, **keys)
        to_hold = throw_to_hold(wanted, stations, apart, bent=bent, **keys)
        if to_hold is not None and to_hold > _MOST_THROW * wanted:
            to_hold = None
        return Opening(model, fix, least, at, to_hold, self._fix_to_hold(model, throw, wanted))

    def apart_at(self, s: float) -> float:
        """Return how far the faces are apart `s` mm behind the filed tip."""
        i = min(max(bisect(self.stations, s), 1), len(self.stations) - 1)
        low, high = self.stations[i - 1 : i + 1]
        if high - low < _HELD:
            return self.apart[i]
        return self.apart[i - 1] + (s - low) / (high - low) * (self.apart[i] - self.apart[i - 1])

    def openings(self, throw: float, wanted: float, fix: float, toe: float | None) -> tuple[Opening, ...]:
        """Return how the point stands as drawn, then hinged at its heel, bent from there, and from the `toe`."""
        ways: list[tuple[Model, float]] = [("hinged" if self.rigid else "bent", fix)]
        ways += [("hinged", self.heel), ("bent", self.heel)]
        ways += [] if toe is None else [("bent", toe)]
        return tuple(self.opening(model, fix, throw, wanted) for model, fix in dict.fromkeys(ways))

    def _up_to(self, fix: float) -> tuple[list[float], list[float]]:
        """Return the stations at which a point that is held at `fix` moves or has not parted by a flangeway."""
        count = max(_OPENING_STEPS + 1, sum(s <= fix for s in self.stations))
        stations, apart = self.stations[:count], self.apart[:count]
        at = bisect(stations, fix)
        return [*stations[:at], fix, *stations[at:]], [*apart[:at], self.apart_at(fix), *apart[at:]]

    def _fix_to_hold(self, model: Model, throw: float, wanted: float) -> float | None:
        """Return the nearest place that holds the opening: the further a bar is held, the further it opens."""
        low, high = self.bar, self.last
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


def open_point_of(
    layout: Layout, face: PointFace, to_bar: float, head: float, reach: float, toe: float | None = None
) -> OpenPoint:
    """Return a point as it stands open, that may be held up to `reach` mm behind its filed tip, or to its clear end.

    It is looked at from its tip to there, and on to the `toe` (mm behind the tip) where that lies further.
    """
    point = face.point
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
    far, last = (point.beyond_tip(face.station_at(place)) for place in (max(reach, toe or 0.0), reach))
    behind = [i * near / _OPENING_STEPS for i in range(_OPENING_STEPS + 1)]
    behind = sorted([*behind, point.beyond_tip(point.full_head)])
    if far > near:
        behind += [near + (i + 1) * (far - near) / _FURTHER_STEPS for i in range(_FURTHER_STEPS)]
    apart = [rail.apart_from(stock, begin + u) for u in behind]
    lengths = [face.length_to(point.tip + point.way * u) for u in behind]
    held_last = face.length_to(point.tip + point.way * max(near, last))
    return OpenPoint(lengths, apart, to_bar, face.length_to(point.heel), head, point.rigid, held_last)


def _refuse_hinge(spec: Spec, layout: Layout, switch: Switch, face: PointFace, fast: float | None) -> None:
    """Raise LayoutError where a hinge would cut the planed part of a point, or rail that is fast in a frog."""
    point = face.point
    if point.hinge is None:
        return
    full, hinge, limit = (
        face.length_to(point.full_head),
        face.length_to(point.hinge),
        math.inf if fast is None else fast,
    )
    if full < hinge < limit:
        return
    named = next((name for name in switch.onward if _hinge_said(layout, switch, name)), switch.branch)
    here = switch.end_of(layout.route(named))
    said, least = (format_length_with_mm(mm, spec.units) for mm in (hinge, full))
    place = f"{point.owner.label} of {switch.id}"
    if hinge <= full:
        sentence = (
            f"A hinge {said} behind the filed tip cuts {place} where it is planed: its full head begins at {least}."
        )
        remedy = "Hinge it further back."
    else:
        sentence = (
            f"A hinge {said} behind the filed tip lies beyond the place at which {place} is fast in a frog, "
            f"{format_length_with_mm(limit, spec.units)} from the tip."
        )
        remedy = f"Hinge it nearer the tip, but beyond its full head at {least}, or leave the hinge out."
    where = ("points",) if here is None or here[0] > 0 else ("joins", "points")
    raise LayoutError(sentence, remedy, ("routes", named, *where, "hinge"))


def _hinge_said(layout: Layout, switch: Switch, name: str) -> bool:
    """Tell whether the route `name` asks for a hinge at a switch."""
    here = switch.end_of(layout.route(name))
    return here is not None and getattr(here[1].points, "hinge", None) is not None
