"""Tell of each need what guards it, over which part of its gap, and what stands in the way over the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from turnout_templates.trackwork.frogs.frog_parts import Guard, Guarding, GuidingSide, Need
from turnout_templates.trackwork.guides.field import Field
from turnout_templates.trackwork.guides.guides import LEAST_FLARE
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.rails.regions import merged, overlap, without

_ROUNDING = 1e-6
"""Flangeways that differ by less than this (mm) are one."""
_CRUMB = 1e-3
"""What is unguided over less than this (mm) is rounding."""


def tell_guarding(
    field: Field, needs: Sequence[Need], guards: Sequence[Guard], sides: Sequence[GuidingSide]
) -> tuple[Guarding, ...]:
    """Return what became of each need, in their order.

    A gap is covered where the straight part of a guard, or the side of a rail, stands no further than gauge minus check
    gauge from the rail beside which it guides, whatever it was laid for.
    """
    beside: dict[RouteFace, list[tuple[str, float, Interval]]] = {}
    for guard in guards:
        beside.setdefault(guard.beside, []).append((guard.id, guard.flangeway, guard.straight))
    for side in sides:
        beside.setdefault(side.beside, []).append((f"the side of {side.owner.label}", side.flangeway, side.guides))
    return tuple(_told(field, need, beside.get(need.beside, [])) for need in needs)


def _told(field: Field, need: Need, there: Sequence[tuple[str, float, Interval]]) -> Guarding:
    most = need.gauge.guard_flangeway + _ROUNDING
    parts = [(name, overlap(straight, need.gap)) for name, flangeway, straight in there if flangeway <= most]
    by = tuple(sorted(((name, part) for name, part in parts if part), key=lambda told: told[1]))
    covered = merged((part for _, part in by), _CRUMB)
    missing = tuple(part for part in without(need.gap, covered) if part[1] - part[0] > _CRUMB)
    own = {name for name, _, _ in there}
    obstacles = dict.fromkeys(name for name in _in_the_way(field, need, missing) if name not in own)
    return Guarding(need, tuple(covered), by, missing, tuple(obstacles))


def _in_the_way(field: Field, need: Need, missing: Sequence[Interval]) -> Iterator[str]:
    """Yield what stands where a guard over the missing parts of a gap, and the shortest flares, would lie."""
    reach = LEAST_FLARE * need.gauge.guard_flangeway
    length = field.layout.route(need.beside.route).path.length
    for low, high in missing:
        around = (max(low - reach, 0.0), min(high + reach, length))
        for hit in field.blocked(need.beside, need.gauge.guard_flangeway, around, around, (need.beside,)):
            yield hit.met.label
