"""Tell which bars are fitted together where, and how the end of each bar is prepared for it.

Contacts are the only places where the heads of two parts may touch or lie on each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.trackwork.frogs.bands import Filing
from turnout_templates.trackwork.frogs.fits import Fit, What
from turnout_templates.trackwork.frogs.frog_parts import Frog, Wing
from turnout_templates.trackwork.frogs.metal import BarMetal
from turnout_templates.trackwork.guides.guides import STEEP
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import Bar, Interval, PointRail, Rail, RouteFace, Stretch
from turnout_templates.trackwork.rails.regions import overlap, strip, within

Kind = Literal["splice", "elbow", "wing at knuckle", "point behind stock rail"]
Prepared = What | Literal["square", "point of switch", "fixed rail", "butt", "cut off"]
_TOUCHING = 0.02
"""Heads that lie nearer to each other than this (mm) touch; both are flattened to a sagitta of 0.002 mm."""
_AT_END = 2e-3
"""A bar that ends within this (mm) of a place ends there."""


class Contact(Struct, frozen=True):
    """Two parts, by their ids, that touch: `at` is the id of the frog or the switch."""

    kind: Kind
    first: str
    second: str
    at: str


class BarEnd(Struct, frozen=True):
    """How one end of a bar is prepared, and the `fit` at a frog, or the `switch`, that asks for it.

    "square" is a plain end; "cut off" one that another route's flangeway has taken at no frog of this face.
    """

    prepared: Prepared
    fit: Fit | None = None
    switch: str | None = None

    @property
    def at(self) -> str | None:
        """The id of the frog or switch."""
        return self.fit.frog if self.fit is not None else self.switch


class BarsOnFaces:
    """The bars of a trackwork, found by the face they lie on."""

    def __init__(self, bars: Sequence[Bar]) -> None:
        self._on: dict[RouteFace, list[tuple[float, float, str]]] = {}
        self._ends: dict[tuple[RouteFace, int, float], tuple[float, str]] = {}
        for bar in bars:
            for stretch in bar.stretches:
                self._on.setdefault(stretch.owner, []).append((stretch.low, stretch.high, bar.id))
                for way, end in ((1, stretch.low), (-1, stretch.high)):
                    self._ends[stretch.owner, way, round(end, 2)] = (end, bar.id)

    def over(self, owner: RouteFace, along: Interval) -> Iterator[str]:
        """Yield the bars that lie on a face somewhere between two stations."""
        for low, high, name in self._on.get(owner, []):
            if low < along[1] - _AT_END and high > along[0] + _AT_END:
                yield name

    def ending(self, owner: RouteFace, way: int, station: float) -> str | None:
        """Return the bar that ends on a face at a station and lies one `way` from there, None without one."""
        for near in (0.0, -0.01, 0.01):
            end, name = self._ends.get((owner, way, round(station + near, 2)), (station + 1.0, ""))
            if abs(end - station) < _AT_END:
                return name
        return None


def fit_bars(filing: Filing, frogs: Sequence[Frog], bars: BarsOnFaces, wings: Sequence[Wing]) -> tuple[Fit, ...]:
    """Return all fits, frog by frog, with the bars they are of.

    Where no wing rail goes on from a knuckle its bar ends at the groove; steep tracks have mitres for elbows.
    """
    bent = {(wing.frog, wing.continues) for wing in wings}
    found = []
    for frog in frogs:
        for fit in filing.joints[frog.id].fits:
            what = fit.what
            if what == "knuckle" and (fit.frog, fit.owner) not in bent:
                what = "groove"
            elif what == "elbow" and frog.angle > STEEP:
                what = "mitre"
            found.append(replace(fit, what=what, bar=bars.ending(fit.owner, fit.way, fit.end)))
    return tuple(found)


def find_contacts(
    filing: Filing,
    bars: BarsOnFaces,
    fits: Sequence[Fit],
    wings: Sequence[Wing],
    switches: Sequence[Switch],
    metal: Mapping[str, BarMetal],
) -> tuple[Contact, ...]:
    """Return all contacts, those at frogs first; `metal` is what is left of each bar's head."""
    by_frog: dict[str, list[Fit]] = {}
    for fit in fits:
        by_frog.setdefault(fit.frog, []).append(fit)
    found = [contact for at_frog in by_frog.values() for contact in _at_frog(at_frog)]
    knuckles = {(fit.frog, fit.owner): fit.bar for fit in fits if fit.what == "knuckle"}
    for wing in wings:
        bar = knuckles.get((wing.frog, wing.continues))
        if bar is not None:
            found.append(Contact("wing at knuckle", bar, wing.id, wing.frog))
    return tuple(dict.fromkeys((*found, *_behind(filing, bars, switches, metal))))


def _at_frog(fits: Sequence[Fit]) -> Iterator[Contact]:
    """Yield the contacts of bars that are fitted at one frog."""
    by_what = {"splice": ("point", "spliced"), "elbow": ("elbow", "mitre")}
    kinds: tuple[Kind, ...] = ("splice", "elbow")
    for kind in kinds:
        names = [fit.bar for fit in fits if fit.what in by_what[kind] and fit.bar is not None]
        if len(names) == 2:
            yield Contact(kind, names[0], names[1], fits[0].frog)


def _behind(
    filing: Filing, bars: BarsOnFaces, switches: Sequence[Switch], metal: Mapping[str, BarMetal]
) -> Iterator[Contact]:
    """Yield the contacts of points with the rails that they lie behind, from tip to where a flangeway has opened.

    Of two points behind one rail only the one beside it touches it.
    """
    begun: dict[tuple[RouteFace, int], list[tuple[PointRail, str]]] = {}
    for switch in switches:
        for point in switch.moving_points:
            begun.setdefault((point.owner, point.way), []).append((point, switch.id))
    for pair, beside in filing.behind:
        near = [(point.beyond_tip(pair.clear), point, name) for point, name in begun.get((pair.point, pair.way), [])]
        near = [case for case in near if case[0] > 0.0]
        if not near:
            continue
        _, point, switch_id = min(near, key=lambda case: case[0])
        path = filing.layout.route(point.owner.route).path
        tip = filing.layout.route(pair.outside.route).path.foot_near(
            path.point_at(point.tip, point.owner.face.offset), beside
        )[0]
        along, there = _ordered(point.tip, pair.clear), _ordered(tip, beside)
        for own in bars.over(pair.point, along):
            head = _head(filing, metal[own], pair.point, along)
            for outside in bars.over(pair.outside, there):
                if own != outside and head.distance(_head(filing, metal[outside], pair.outside, there)) < _TOUCHING:
                    yield Contact("point behind stock rail", own, outside, switch_id)


def _head(filing: Filing, metal: BarMetal, owner: RouteFace, along: Interval) -> BaseGeometry:
    """Return a bar's head on a face between two stations; where it is filed, all of that place."""
    path, face = filing.layout.route(owner.route).path, owner.face
    outer = face.offset + face.outward * filing.head
    whole = within([(part.low, part.high) for part in metal.whole if part.owner == owner], *along)
    parts = [strip(path, face.offset, outer, *part) for part in whole]
    for place in metal.filed:
        if place.owner == owner and overlap(place.part.zone, along):
            parts.append(Polygon(place.part.rings[0], place.part.rings[1:]).buffer(0))
    return shapely.union_all(parts)


def _ordered(a: float, b: float) -> Interval:
    return (a, b) if a <= b else (b, a)


def bar_ends(
    rails: Sequence[Rail], switches: Sequence[Switch], bars: Sequence[Bar], fits: Sequence[Fit]
) -> dict[str, tuple[BarEnd, BarEnd]]:
    """Return by bar how it begins and how it ends."""
    known: dict[_End, BarEnd] = {}
    for rail in rails:
        known.update({end: BarEnd("square") for end in _ends_of(rail.stretches)})
    for switch in switches:
        for point in switch.points:
            known[_end(point.owner, point.way, point.tip)] = BarEnd(_BEGUN[point.begins], None, switch.id)
            if point.begins == "butt":
                known[_end(point.owner, -point.way, point.tip)] = BarEnd("butt", None, switch.id)
    fitted = {(fit.bar, *_end(fit.owner, fit.way, fit.end)): BarEnd(fit.what, fit) for fit in fits}
    prepared = {}
    for bar in bars:
        begin, end = (
            fitted.get((bar.id, *place)) or known.get(place, BarEnd("cut off")) for place in _ends_of(bar.stretches)
        )
        prepared[bar.id] = (begin, end)
    return prepared


_End = tuple[RouteFace, int, float]
"""An end of a rail: its face, the way from there into it, and the station to a thousandth of a mm."""
_BEGUN: Mapping[str, Prepared] = {"point": "point of switch", "fixed": "fixed rail", "butt": "butt"}


def _end(owner: RouteFace, way: int, station: float) -> _End:
    return owner, way, round(station, 3)


def _ends_of(stretches: Sequence[Stretch]) -> tuple[_End, _End]:
    """Return where stretches of a rail begin and end."""
    first, last = stretches[0], stretches[-1]
    return (
        _end(first.owner, first.way, first.low if first.way > 0 else first.high),
        _end(last.owner, -last.way, last.high if last.way > 0 else last.low),
    )
