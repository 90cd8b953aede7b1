"""Keep guards off each other that were bent round elbows after they had found their room.

By the rule that all guides give way by: the later of two gives up its flares down to the shortest that still catches a
wheel, and is left out where that is not enough; what it should have guided is then told as unguided.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace
from shapely.geometry import Polygon

from turnout_templates.trackwork.frogs.frog_parts import Guard
from turnout_templates.trackwork.guides.field import Field, pairs_that_meet
from turnout_templates.trackwork.guides.guides import LEAST_FLARE, guide_ring

_TOUCHES = 0.004
"""Guards that overlap by less (mm) only touch: chords make as much of curves."""


def keep_apart(field: Field, guards: Sequence[Guard]) -> list[Guard]:
    """Return the guards without those parts that would lie on an earlier one, but where two are one bent bar."""
    laid: list[Guard | None] = list(guards)
    for i, j in pairs_that_meet([guard.ring for guard in guards]):
        first, second = laid[i], laid[j]
        if first is not None and second is not None and first.id not in dict(second.bent_at):
            laid[j] = _clear_of(field, second, first)
    return [guard for guard in laid if guard is not None]


def _clear_of(field: Field, guard: Guard, other: Guard) -> Guard | None:
    """Return a guard as it lies, with the shortest flares, or None, whichever first is clear of another."""
    if not _lies_on(guard, other):
        return guard
    path = field.layout.route(guard.beside.route).path
    least = LEAST_FLARE * guard.flangeway
    (low, high), (begin, end) = guard.straight, guard.ends
    ends = (max(begin, low - least), min(end, high + least))
    ring = guide_ring(path, guard.beside.face, guard.flangeway, field.head, guard.straight, ends)
    names = tuple(dict.fromkeys((*guard.shortened_by, other.id)))
    shorter = replace(guard, ends=ends, ring=ring, shortened_by=names)
    return None if _lies_on(shorter, other) else shorter


def _lies_on(guard: Guard, other: Guard) -> bool:
    common = Polygon(guard.ring).buffer(0).intersection(Polygon(other.ring).buffer(0))
    return not common.buffer(-_TOUCHES / 2).is_empty
