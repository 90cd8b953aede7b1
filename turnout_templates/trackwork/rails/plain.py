"""Tell where the gauge of a route is widened though a switch, a frog or another track is in the way.

It belongs on plain track. So nothing that parts, crosses or files rails ever meets a widened one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.alignment.solving import practical_toe
from turnout_templates.alignment.widened import Widened
from turnout_templates.errors import LayoutError
from turnout_templates.trackwork.frogs.bands import Filing
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard, Wing
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import Interval
from turnout_templates.trackwork.rails.regions import merged, parts_of, stations_of, strip
from turnout_templates.units import Unit, format_at_least, format_length

_ROUNDING = 1e-6
"""Stations that differ by less than this (mm) are one."""


class _Laid(Struct, frozen=True):
    """All that is laid when it is known where rails part and cross."""

    layout: Layout
    filing: Filing
    switches: Sequence[Switch]
    frogs: Sequence[Frog]
    wings: Sequence[Wing]
    guards: Sequence[Guard]

    def taken(self, route: LaidRoute) -> list[Interval]:
        """Return the stations of a route that turnouts, crossings and tracks too near to it take, in order.

        A turnout goes from the tip to the heel of the frog, where its rails stand clear of each other and no wing or
        guard lies any more.
        """
        places = [*self._meetings(route), *self._at_frogs(route), *self._beside(route), *self._reached(route)]
        return merged(places, _ROUNDING)

    def _meetings(self, route: LaidRoute) -> Iterator[Interval]:
        """Yield the stations at which the route meets another, or another meets it."""
        for other in self.layout:
            for way, departure in other.departures:
                end = 0.0 if way > 0 else other.path.length
                for name, station in ((other.name, end), (departure.parent, departure.station)):
                    if name == route.name:
                        yield station, station

    def _at_frogs(self, route: LaidRoute) -> Iterator[Interval]:
        """Yield the route's frogs from toe to heel, both as long as practice makes the toe."""
        for frog in self.frogs:
            toe = practical_toe(self.filing.head, frog.angle)
            for owner, station in ((frog.first, frog.s), (frog.second, frog.t)):
                if owner.route == route.name:
                    yield station - toe, station + toe

    def _beside(self, route: LaidRoute) -> Iterator[Interval]:
        """Yield where wings and guards lie beside a rail of the route."""
        for guard in self.guards:
            if guard.beside.route == route.name:
                yield guard.ends
        for wing in self.wings:
            if wing.beside.route == route.name:
                stations = (*wing.straight, wing.end)
                yield min(stations), max(stations)

    def _reached(self, route: LaidRoute) -> Iterator[Interval]:
        """Yield where the rails of other routes, or their flangeways, come to what the route takes up with its own."""
        widest = max(stretch.most for stretch in route.widened)
        offsets = [face.offset for face in route.faces]
        reach = widest + 2 * self.filing.head  # the other's head lies on this side of its flangeway
        region = strip(route.path, max(offsets) + reach, min(offsets) - reach, 0.0, route.path.length)
        for index in self.filing.tree.query(region, predicate="intersects").tolist():
            band = self.filing.bands[index]
            if band.owner.route != route.name:
                for part in parts_of(region.intersection(band.region)):
                    yield stations_of(part, route.path)


def refuse_widened_turnouts(
    layout: Layout,
    filing: Filing,
    switches: Sequence[Switch],
    frogs: Sequence[Frog],
    wings: Sequence[Wing],
    guards: Sequence[Guard],
    units: Unit,
) -> None:
    """Raise LayoutError where a route is widened, or tapers, in a turnout, in a crossing or beside a track too near."""
    laid = _Laid(layout, filing, switches, frogs, wings, guards)
    for route in layout:
        places = laid.taken(route) if route.widened else []
        for stretch in route.widened:
            for low, high in places:
                if low < stretch.end - _ROUNDING and high > stretch.begin + _ROUNDING:
                    raise _refusal(laid, route, stretch, (low, high), units)


def _refusal(laid: _Laid, route: LaidRoute, stretch: Widened, taken: Interval, units: Unit) -> LayoutError:
    """Return what is in the way, how far it would have to move and what else would help."""
    begin, end = (format_length(min(max(s, 0.0), route.path.length), units) for s in (stretch.begin, stretch.end))
    low, high = (format_length(s, units) for s in taken)
    place = f"at {low}" if taken[1] - taken[0] < _ROUNDING else f"from {low} to {high}"
    missing = min(stretch.end - taken[0], taken[1] - stretch.begin)
    first, last = stretch.full
    apart = max(first - taken[1], taken[0] - last)
    remedy = f"Put at least {format_at_least(missing, units)} more between it and the curve"
    if apart > 0.0:
        remedy += f", or shorten the taper by {format_at_least(missing, units)}"
    return LayoutError(
        f'The gauge of "{route.name}" would be widened from {begin} to {end}, but {_named(laid, route, taken)} lies '
        f"there, {place}. Gauge is widened on plain track alone.",
        f"{remedy}, or let the widening leave that curve out.",
        ("routes", route.name, "widening"),
    )


def _named(laid: _Laid, route: LaidRoute, taken: Interval) -> str:
    """Return what takes some stations of a route, in words."""
    low, high = taken[0] - _ROUNDING, taken[1] + _ROUNDING
    for switch in laid.switches:
        on_parent = switch.parent == route.name and low <= switch.station <= high
        if on_parent or (switch.parent != route.name and route.name in switch.onward and _at_end(route, low, high)):
            return f"the turnout {switch.id}"
    for frog in laid.frogs:
        for owner, station in ((frog.first, frog.s), (frog.second, frog.t)):
            if owner.route == route.name and low <= station <= high:
                other = frog.second.route if owner is frog.first else frog.first.route
                return f'the crossing with "{other}"'
    return "another track"


def _at_end(route: LaidRoute, low: float, high: float) -> bool:
    return low <= 0.0 or high >= route.path.length
