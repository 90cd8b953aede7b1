"""Bend guards round the elbows of K crossings.

In a flat diamond the guard for one K lies along the elbow of the other, which is two faces that lean away from each
other. Along either of them it ends where the flange of the other route comes through; there the guards beside the two
faces meet, and are one bar bent by the angle of the K.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from turnout_templates.geometry.crossing import Crossing, find_crossings
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard, Need
from turnout_templates.trackwork.guides.field import Field
from turnout_templates.trackwork.guides.fitting import Wish, fit
from turnout_templates.trackwork.guides.guides import LEAST_FLARE, guide_ring
from turnout_templates.trackwork.guides.needs import way_to_nose
from turnout_templates.trackwork.rails.rail_parts import Interval, Ring, RouteFace
from turnout_templates.trackwork.rails.regions import overlap

_AT_BEND = 1.0
"""A guard without a flare that ends within this (mm) of a bend ends at it."""
Partners = Mapping[tuple[str, RouteFace], Need]


def partners_of(needs: Sequence[Need]) -> dict[tuple[str, RouteFace], Need]:
    """Return the needs by what they guard and the face that their guard lies beside; of several the first."""
    found: dict[tuple[str, RouteFace], Need] = {}
    for need in needs:
        found.setdefault((need.guarded, need.beside), need)
    return found


def bent(field: Field, need: Need, wish: Wish, partners: Partners) -> Wish:
    """Return a guard's wish, ended at its bend where the elbow of a K lies beside its gap."""
    for elbow in field.elbows_of(need.beside):
        other = elbow.second if need.beside == elbow.first else elbow.first
        partner = partners.get((need.guarded, other))
        at = (
            None if partner is None else _bend(field, elbow, need.beside, wish.flangeway, partner.gauge.guard_flangeway)
        )
        if at is not None and wish.ends[0] < at.s < wish.ends[1]:
            way = way_to_nose(elbow, 0 if need.beside == elbow.first else 1)
            kept = (at.s, wish.ends[1]) if way > 0 else (wish.ends[0], at.s)
            if overlap(kept, need.gap):
                return _ended(wish, at.s, way)
    return wish


def _ended(wish: Wish, station: float, way: int) -> Wish:
    if way > 0:
        straight, ends = (station, max(wish.straight[1], station)), (station, wish.ends[1])
    else:
        straight, ends = (min(wish.straight[0], station), station), (wish.ends[0], station)
    return replace(wish, straight=straight, ends=ends, closed=(way > 0, way < 0))


def _bend(field: Field, elbow: Frog, face: RouteFace, inside: float, other_inside: float) -> Crossing | None:
    """Return where lines inside the two faces of a K cross; `s` on the route of `face`, `t` on the other's."""
    faces = [(elbow.first, elbow.s), (elbow.second, elbow.t)]
    own, other = faces if face == elbow.first else reversed(faces)
    reach = 2 * (max(inside, other_inside)) / math.sin(elbow.angle)
    lines = []
    for (owner, station), distance in ((own, inside), (other, other_inside)):
        path = field.layout.route(owner.route).path
        offset = owner.face.offset - owner.face.outward * distance
        lines.append(Parallel(path, offset, max(station - reach, 0.0), min(station + reach, path.length)))
    return min(find_crossings(*lines), key=lambda crossing: abs(crossing.s - own[1]), default=None)


def bend_round_elbows(field: Field, guards: Sequence[Guard]) -> list[Guard]:
    """Return the guards with those mitred that meet at an elbow; one that meets no other there is flared instead."""
    laid = list(guards)
    beside: dict[RouteFace, list[int]] = {}
    for i, guard in enumerate(laid):
        beside.setdefault(guard.beside, []).append(i)
    for i in range(len(laid)):
        for elbow in field.elbows_of(laid[i].beside) if square_ends(field, laid[i]) else ():
            other = elbow.second if laid[i].beside == elbow.first else elbow.first
            for j in (j for j in beside.get(other, ()) if j > i):
                _mitre(field, laid, i, j, elbow)
    flared = (_flared(field, guard) if square_ends(field, guard) else guard for guard in laid)
    return [guard for guard in flared if guard is not None]


def square_ends(field: Field, guard: Guard) -> list[int]:
    """Return the ends, 0 the lower and 1 the upper, that have neither flare nor bend, and don't end with the route."""
    length = field.layout.route(guard.beside.route).path.length
    bends = [station for _, station in guard.bent_at]
    ends = zip(guard.straight, guard.ends, strict=True)
    return [k for k, (a, b) in enumerate(ends) if a == b and 0.0 < b < length and b not in bends]


def _mitre(field: Field, laid: list[Guard], i: int, j: int, elbow: Frog) -> None:
    first, second = laid[i], laid[j]
    at = _bend(field, elbow, first.beside, first.flangeway, second.flangeway)
    outer = _bend(field, elbow, first.beside, first.flangeway + field.head, second.flangeway + field.head)
    if at is None or outer is None:
        return
    for a in square_ends(field, first):
        for b in square_ends(field, second):
            if abs(first.ends[a] - at.s) < _AT_BEND and abs(second.ends[b] - at.t) < _AT_BEND:
                laid[i] = _mitred(field, first, a, at.s, outer, second.id)
                laid[j] = _mitred(field, second, b, at.t, outer, first.id)
                return


def _mitred(field: Field, guard: Guard, end: int, station: float, outer: Crossing, other: str) -> Guard:
    """Return a guard that ends at its bend with the outer corner where the outer sides of both meet."""
    straight, ends = _moved(guard.straight, end, station), _moved(guard.ends, end, station)
    ring = list(_ring(field, guard, straight, ends))
    ring[_outer_corner(end, guard.ring)] = outer.point
    return replace(guard, straight=straight, ends=ends, ring=tuple(ring), bent_at=(*guard.bent_at, (other, station)))


def _flared(field: Field, guard: Guard) -> Guard | None:
    """Return a guard whose bend has no partner with a flare of its own there, None where nothing is left of it.

    It is no guard to the face beyond the bend, and gives way to that one's wheels.
    """
    straight = guard.straight
    for end in square_ends(field, guard):
        inward = 1 if end == 0 else -1
        straight = _moved(straight, end, straight[end] + inward * LEAST_FLARE * guard.flangeway)
    least = LEAST_FLARE * guard.flangeway
    wish = Wish(guard.beside, guard.flangeway, straight, guard.ends, (guard.beside,))
    fitted = fit(field, wish, sum(straight) / 2) if straight[1] - straight[0] >= least else None
    if fitted is None or fitted.straight[1] - fitted.straight[0] < least:
        return None
    if any(field.blocked(guard.beside, guard.flangeway, fitted.straight, fitted.ends, (guard.beside,))):
        return None
    ring, names = _with_bends(guard, fitted.ring), (*guard.shortened_by, *fitted.shortened_by)
    shortened_by = tuple(dict.fromkeys(names))
    return replace(guard, straight=fitted.straight, ends=fitted.ends, ring=ring, shortened_by=shortened_by)


def _with_bends(guard: Guard, ring: Ring) -> Ring:
    """Return a new outline of a guard with the outer corners of the ends at which it is bent, as they were."""
    corners = list(ring)
    bends = [station for _, station in guard.bent_at]
    for end in (k for k in (0, 1) if guard.ends[k] in bends):
        corners[_outer_corner(end, ring)] = guard.ring[_outer_corner(end, guard.ring)]
    return tuple(corners)


def _outer_corner(end: int, ring: Ring) -> int:
    """Return the index of a guard's outer corner at its lower (0) or upper end (1)."""
    return -1 if end == 0 else len(ring) // 2


def _ring(field: Field, guard: Guard, straight: Interval, ends: Interval) -> Ring:
    path = field.layout.route(guard.beside.route).path
    return guide_ring(path, guard.beside.face, guard.flangeway, field.head, straight, ends)


def _moved(interval: Interval, end: int, station: float) -> Interval:
    return (station, interval[1]) if end == 0 else (interval[0], station)
