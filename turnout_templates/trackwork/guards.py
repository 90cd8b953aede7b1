"""Lay the guard rails that frogs and fixed rails need, where they fit, and say where they do not.

One for each V frog, each of its faces and each gauge on that face, beside the other running rail of that gauge, at
gauge minus check gauge, straight over the whole unguided gap, then flared; one for each nose of a K, beside the
opposite rail; one for each gauge that takes a fixed rail, from where its flange leaves the stock rail to where that
rail begins. Guards that would overlap beside one face shorten their flares or are one, at the smaller flangeway. A
guard that would stand in another route's flangeway or on another rail is not laid and not drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from turnout_templates.alignment.faces import opposite
from turnout_templates.alignment.model import Layout
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.field import Field, pairs_that_meet, stations_overlaid
from turnout_templates.trackwork.guides import FLARE_LENGTH, STEEP, guide_ring
from turnout_templates.trackwork.model import Frog, Guard, Interval, PointRail, RouteFace, Switch, Unguarded

_LEAST_FLARE = 2.0
"""The shortest flare that still catches a wheel, in flangeways (common practice, no source)."""
_ROUNDING = 1e-6
"""Stations that differ by less than this (mm) are one."""
_MARGIN = 1.0
"""How far the straight part goes beyond the gap at each end, in flangeways (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Need:
    """A wheel of `gauge` that nothing guides over `gap` (stations of the route that `beside` lies on)."""

    guarded: Frog | Switch
    gauge: Gauge
    beside: RouteFace
    gap: Interval

    def refused(self, straight: Interval, obstacle: str) -> Unguarded:
        """Return the need as one that a guard over `straight` can't meet."""
        return Unguarded(self.guarded.id, self.gauge.name, self.beside, straight, obstacle)


def lay_guards(
    field: Field, frogs: tuple[Frog, ...], switches: tuple[Switch, ...]
) -> tuple[tuple[Guard, ...], tuple[Unguarded, ...]]:
    """Return the guards that fit in `field`, numbered G1, G2 ..., and the needs that no guard can meet."""
    needs = [need for frog in frogs if frog.angle <= STEEP for need in _needs(field.layout, frog)]
    needs += [need for switch in switches for need in _needs_of_fixed_rails(field.layout, switch)]
    guards: list[Guard] = []
    unguarded: list[Unguarded] = []
    for need in needs:
        laid = _lay(field, need)
        if isinstance(laid, Unguarded):
            unguarded.append(laid)
        else:
            _merge(field.layout, guards, laid, field.head)
    parted, refused = _part_from_each_other(field.layout, guards, field.head)
    numbered = tuple(replace(guard, id=f"G{i}") for i, guard in enumerate(parted, start=1))
    return numbered, (*unguarded, *refused)


def _needs(layout: Layout, frog: Frog) -> Iterator[_Need]:
    """Yield the guards that a frog asks for."""
    practical = frog.practical_stations
    for i, (owner, station) in enumerate(((frog.first, frog.s), (frog.second, frog.t))):
        far = station if frog.kind == "K" or practical is None else practical[i]
        nose = frog.noses[i]
        route = layout.route(owner.route)
        if nose is None:
            nose = 0.0 if frog.heel_directions[i] > 0 else route.path.length
        gap = (min(nose, far), max(nose, far))
        for gauge in owner.face.gauges:
            beside = RouteFace(owner.route, opposite(route.faces, owner.face, gauge))
            yield _Need(frog, gauge, beside, gap)


def _needs_of_fixed_rails(layout: Layout, switch: Switch) -> Iterator[_Need]:
    """Yield the guards that draw the wheels of one gauge past the stock rail, over to a fixed rail.

    A gauge that goes on along the stock rail as well has none: whatever draws its wheels one way spoils the other.
    """
    for point in switch.points:
        if point.begins != "fixed":
            continue
        route = layout.route(point.owner.route)
        gap = (min(point.parts, point.tip), max(point.parts, point.tip))
        kept = {gauge for _, gauge in gauges_both_ways(layout, point)}
        for gauge in point.owner.face.gauges:
            if gauge not in kept:
                beside = RouteFace(route.name, opposite(route.faces, point.owner.face, gauge))
                yield _Need(switch, gauge, beside, gap)


def gauges_both_ways(layout: Layout, point: PointRail) -> Iterator[tuple[RouteFace, Gauge]]:
    """Yield the gauges of a fixed rail that go on along the route of a rail outside it as well, each with that rail."""
    if point.begins != "fixed":
        return
    for owner in point.outside:
        there = {gauge for face in layout.route(owner.route).faces for gauge in face.gauges}
        yield from ((owner, gauge) for gauge in point.owner.face.gauges if gauge in there)


def _lay(field: Field, need: _Need) -> Guard | Unguarded:
    """Return the guard for `need` with what flare there is room for, or what stands in its way."""
    path = field.layout.route(need.beside.route).path
    flangeway = need.gauge.guard_flangeway
    margin = _MARGIN * flangeway
    straight = (max(need.gap[0] - margin, 0.0), min(need.gap[1] + margin, path.length))
    reach = FLARE_LENGTH * flangeway
    ends = (max(straight[0] - reach, 0.0), min(straight[1] + reach, path.length))
    low, high = ends
    for blocked, label in field.blocked(need.beside, flangeway, straight, ends, (need.beside,)):
        if blocked[1] > straight[0] and blocked[0] < straight[1]:
            return need.refused(straight, label)
        low = max(low, blocked[1]) if blocked[1] <= straight[0] else low
        high = min(high, blocked[0]) if blocked[0] >= straight[1] else high
    least = _LEAST_FLARE * flangeway
    if (straight[0] - low < least and low > 0) or (high - straight[1] < least and high < path.length):
        return need.refused(straight, "no room is left for its flare")
    ring = guide_ring(path, need.beside.face, flangeway, field.head, straight, (low, high))
    at = need.guarded
    frogs, switches = ((at.id,), ()) if isinstance(at, Frog) else ((), (at.id,))
    return Guard("", need.gauge.name, frogs, need.beside, flangeway, straight, (low, high), ring, switches)


def _merge(layout: Layout, guards: list[Guard], new: Guard, head: float) -> None:
    """Add `new` to `guards`; those beside the same face that it overlaps give way to it or become one with it."""
    for old in list(guards):
        if old.beside == new.beside and old.ends[0] <= new.ends[1] and new.ends[0] <= old.ends[1]:
            guards.remove(old)
            first, second = (old, new) if old.straight[0] <= new.straight[0] else (new, old)
            parted = _parted(layout, first, second, head)
            if parted is None:
                new = _together(layout, old, new, head)
            else:
                new = parted[0] if new is first else parted[1]
                guards.append(parted[1] if new is parted[0] else parted[0])
    guards.append(new)


def _part_from_each_other(layout: Layout, guards: list[Guard], head: float) -> tuple[list[Guard], list[Unguarded]]:
    """Return the guards with none lying on another, and what that leaves unguarded.

    Guards beside different rails meet at the knuckles of a K, where the two are one bent bar: the later one's flare
    ends at the earlier, however short that leaves it. Where their straight parts meet, the later one has no room.
    """
    laid: list[Guard | None] = list(guards)
    refused: list[Unguarded] = []
    for i, j in pairs_that_meet([guard.ring for guard in guards]):
        first, second = laid[i], laid[j]
        if first is None or second is None or first.beside == second.beside:
            continue
        low, high = second.ends
        path = layout.route(second.beside.route).path
        for overlaid in stations_overlaid(second.ring, first.ring, path):
            low = max(low, overlaid[1]) if overlaid[1] <= second.straight[0] + _ROUNDING else low
            high = min(high, overlaid[0]) if overlaid[0] >= second.straight[1] - _ROUNDING else high
            if overlaid[1] > low and overlaid[0] < high:
                laid[j] = None
                refused += [
                    Unguarded(guarded, second.gauge, second.beside, second.straight, "another guard rail")
                    for guarded in (*second.frogs, *second.switches)
                ]
                break
        if laid[j] is not None and (low, high) != second.ends:
            ends = (min(low, second.straight[0]), max(high, second.straight[1]))
            laid[j] = _with_ends(layout, second, ends, head)
    return [guard for guard in laid if guard is not None], refused


def _parted(layout: Layout, first: Guard, second: Guard, head: float) -> tuple[Guard, Guard] | None:
    """Return two guards with their flares shortened so that they stay clear of each other, None where they cannot."""
    room = second.straight[0] - first.straight[1] - head
    if room < _LEAST_FLARE * (first.flangeway + second.flangeway):
        return None
    share = room * first.flangeway / (first.flangeway + second.flangeway)
    high = min(first.ends[1], first.straight[1] + share)
    low = max(second.ends[0], second.straight[0] - (room - share))
    return _with_ends(layout, first, (first.ends[0], high), head), _with_ends(
        layout, second, (low, second.ends[1]), head
    )


def _with_ends(layout: Layout, guard: Guard, ends: Interval, head: float) -> Guard:
    """Return a guard with other ends."""
    path = layout.route(guard.beside.route).path
    ring = guide_ring(path, guard.beside.face, guard.flangeway, head, guard.straight, ends)
    return replace(guard, ends=ends, ring=ring)


def _together(layout: Layout, a: Guard, b: Guard, head: float) -> Guard:
    tight = a if a.flangeway <= b.flangeway else b
    straight = (min(a.straight[0], b.straight[0]), max(a.straight[1], b.straight[1]))
    ends = (min(a.ends[0], b.ends[0]), max(a.ends[1], b.ends[1]))
    frogs = tuple(dict.fromkeys((*a.frogs, *b.frogs)))
    switches = tuple(dict.fromkeys((*a.switches, *b.switches)))
    return _with_ends(layout, replace(tight, frogs=frogs, switches=switches, straight=straight), ends, head)
