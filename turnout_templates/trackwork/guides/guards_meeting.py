"""Settle what becomes of a guard that finds no room beside an earlier one at the same face.

Both give up flare down to the shortest; if that does not part them they become one, at the smaller flangeway, unless
wheels would bind there.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from turnout_templates.trackwork.frogs.frog_parts import Guard, Need
from turnout_templates.trackwork.guides.field import Field, Obstacle
from turnout_templates.trackwork.guides.fitting import Wish, fit
from turnout_templates.trackwork.guides.guard_laying import Asked, Laying, guard_of, others_beside
from turnout_templates.trackwork.guides.guard_room import ROUNDING, best_fit, holds, kept_clear
from turnout_templates.trackwork.guides.guides import LEAST_FLARE
from turnout_templates.trackwork.rails.rail_parts import Interval
from turnout_templates.trackwork.rails.regions import overlap


def lay_parted(
    laying: Laying, number: int, old: Guard, part: Interval, others: Sequence[Obstacle], same: Sequence[Guard]
) -> bool:
    """Lay a guard beside an earlier one that gives up flare for it, if the shortest flares of both leave it room."""
    asked, field = laying.asked[number], laying.field
    end = 1 if part[0] > old.straight[0] else 0
    out = 1 if end == 1 else -1
    tip = old.straight[end] + out * LEAST_FLARE * old.flangeway
    if old.straight[end] == old.ends[end] or (old.ends[end] - tip) * out <= 0.0:
        return False
    short = _ended(field, old, end, tip)
    rest = [short if guard is old else guard for guard in same]
    fitted = best_fit(field, asked.wish, part, [*others, *(kept_clear(field, guard) for guard in rest)])
    if fitted is None or not holds(fitted.straight, part):
        return False
    # The later one has its shortest flare there, and the earlier one what is left.
    own = fitted.straight[1 - end] - out * LEAST_FLARE * asked.wish.flangeway
    new = guard_of(laying, asked, fitted)
    new = _ended(field, new, 1 - end, max(own, fitted.ends[0]) if end == 1 else min(own, fitted.ends[1]))
    reach = new.ends[1 - end] - out * field.head
    left = min(old.ends[1], reach) if end == 1 else max(old.ends[0], reach)
    laying.put(number, replace(new, shortened_by=tuple(dict.fromkeys((*new.shortened_by, old.id)))))
    laying.guards[old.id] = replace(_ended(field, old, end, left), shortened_by=(*old.shortened_by, new.id))
    return True


def _ended(field: Field, guard: Guard, end: int, station: float) -> Guard:
    """Return a guard whose flare ends at another station, at the lower end (0) or the upper one (1)."""
    ends = (station, guard.ends[1]) if end == 0 else (guard.ends[0], station)
    return replace(guard, ends=ends, ring=field.shape(guard.beside, guard.flangeway, guard.straight, ends).ring)


def made_one(laying: Laying, number: int, old: Guard, part: Interval) -> bool:
    """Make one guard of an earlier one and one for `part`, at the smaller flangeway, if that has room for both."""
    asked = laying.asked[number]
    served = [laying.asked[k] for k in laying.served(old)]
    wish = _joint_wish(asked, served, old)
    if any(_binds(one.need, wish.flangeway) for one in (asked, *served)):
        return False
    near = frozenset((number, *laying.served(old))).union(asked.near, *(one.near for one in served))
    inner = _spanning(part, old.straight)
    same = [guard for guard in laying.near(near) if guard.beside == old.beside and guard.id != old.id]
    rest = [guard for guard in same if not holds(inner, guard.straight)]
    others = [*others_beside(laying, asked, near), *(kept_clear(laying.field, guard) for guard in rest)]
    fitted = fit(laying.field, wish, sum(inner) / 2, others)
    if fitted is None or not holds(fitted.straight, part) or not holds(fitted.straight, _needed(served, old)):
        return False
    new = guard_of(laying, asked, fitted)
    whole = replace(
        _with(
            replace(new, frogs=old.frogs, switches=old.switches, merged_from=old.merged_from or (old.straight,)), new
        ),
        id=old.id,
        gauge=old.gauge if old.flangeway <= asked.wish.flangeway else new.gauge,
        flangeway=wish.flangeway,
        full_straight=wish.straight,
        full_ends=wish.ends,
    )
    for guard in same:
        if holds(fitted.straight, guard.straight):
            whole = _with(whole, guard)
            laying.take_up(guard, whole)
    laying.put(number, whole)
    return True


def _binds(need: Need, flangeway: float) -> bool:
    """Tell whether a guard that is tighter than a need asks for would bind wheel backs between itself and the wing."""
    gauge = need.gauge
    tighter = flangeway < gauge.guard_flangeway - ROUNDING
    return tighter and gauge.width - flangeway - need.face.face.flangeway > gauge.span + ROUNDING


def _joint_wish(asked: Asked, served: Sequence[Asked], old: Guard) -> Wish:
    """Return the wish for one guard in place of an earlier one and one that is asked for."""
    wish = asked.wish
    closed = [any(one.wish.closed[k] for one in (asked, *served)) for k in (0, 1)]
    return replace(
        wish,
        flangeway=min(wish.flangeway, old.flangeway),
        straight=_spanning(wish.straight, old.full_straight),
        ends=_spanning(wish.ends, old.full_ends),
        closed=(closed[0], closed[1]),
    )


def _with(whole: Guard, inner: Guard) -> Guard:
    """Return a guard that serves what another did that it takes the place of."""
    return replace(
        whole,
        frogs=tuple(dict.fromkeys((*whole.frogs, *inner.frogs))),
        switches=tuple(dict.fromkeys((*whole.switches, *inner.switches))),
        merged_from=(*whole.merged_from, *(inner.merged_from or (inner.straight,))),
    )


def _needed(served: Sequence[Asked], guard: Guard) -> Interval:
    """Return what a guard covers of the gaps it serves: that much it never gives up."""
    covered = [overlap(asked.need.gap, guard.straight) or guard.straight for asked in served]
    return min(low for low, _ in covered), max(high for _, high in covered)


def _spanning(a: Interval, b: Interval) -> Interval:
    return min(a[0], b[0]), max(a[1], b[1])
