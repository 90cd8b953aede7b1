"""Lay the guard rails that meet the needs, where they fit, beside those met by the side of a rail.

A guard lies beside the other running rail of its gauge, at gauge minus check gauge, straight over the whole gap and
beyond it, then flared. The needs are met in their order. What comes later gives way to what is there (see `fitting`);
beside the same face the two give way to each other, or become one (see `guards_meeting`). Of a gap that is barred in
part, a guard lies over the rest; what it cannot cover is told (see `guarding`). Along the elbow of a K two guards meet
that are one bent bar (see `bends`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from turnout_templates.trackwork.frogs.frog_parts import Guard, GuidingSide, Need
from turnout_templates.trackwork.guides.bends import bend_round_elbows
from turnout_templates.trackwork.guides.field import Field, overlaid
from turnout_templates.trackwork.guides.guard_laying import Asked, Laying, guard_of, others_beside, serving
from turnout_templates.trackwork.guides.guard_room import ROUNDING, best_fit, holds, is_worth_it, kept_clear
from turnout_templates.trackwork.guides.guards_apart import keep_apart
from turnout_templates.trackwork.guides.guards_meeting import lay_parted, made_one
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import Interval
from turnout_templates.trackwork.rails.regions import overlap, without


def lay_guards(
    field: Field, needs: Sequence[Need], sides: Sequence[GuidingSide], switches: Sequence[Switch]
) -> tuple[Guard, ...]:
    """Return the guards that fit in `field`, numbered G1, G2 ... in the order of the needs that they are laid for."""
    laying = Laying(field, needs, sides, switches)
    for number, asked in enumerate(laying.asked):
        for part in _open_parts(laying, asked):
            _lay(laying, number, part)
    return _numbered(keep_apart(field, bend_round_elbows(field, list(laying.guards.values()))))


def _open_parts(laying: Laying, asked: Asked) -> Iterator[Interval]:
    """Yield the parts of a gap that no side of a rail guards, and where a bar has room at its distance."""
    field, need, wish = laying.field, asked.need, asked.wish
    sides = laying.sides.get(need.beside, [])
    guided = [side.guides for side in sides if side.flangeway <= wish.flangeway + ROUNDING]
    kept = overlap(need.gap, wish.straight)
    others = others_beside(laying, asked)
    for part in without(kept, guided) if kept else []:
        shape = field.shape(need.beside, wish.flangeway, part, part)
        barred = field.blocked(need.beside, wish.flangeway, part, part, wish.own, bends=wish.bends)
        hits = [*barred, *overlaid(shape, others)]
        yield from without(part, (hit.over for hit in hits))


def _lay(laying: Laying, number: int, part: Interval) -> None:
    """Lay what guards a part of a gap, unless an earlier guard already does; or make one of the two."""
    asked = laying.asked[number]
    same = [guard for guard in laying.near(asked.near | {number}) if guard.beside == asked.need.beside]
    tight = [g for g in same if g.flangeway <= asked.wish.flangeway + ROUNDING and holds(g.straight, part)]
    if tight:
        laying.put(number, serving(laying, tight[0], asked))
        return
    others = others_beside(laying, asked)
    fitted = best_fit(laying.field, asked.wish, part, [*others, *(kept_clear(laying.field, guard) for guard in same)])
    if fitted is not None and holds(fitted.straight, part):
        laying.put(number, guard_of(laying, asked, fitted))
        return
    if any(lay_parted(laying, number, guard, part, others, same) for guard in same):
        return
    if any(made_one(laying, number, guard, part) for guard in same):
        return
    if fitted is not None and is_worth_it(asked.wish, fitted, part):
        laying.put(number, guard_of(laying, asked, fitted))


def _numbered(laid: Sequence[Guard]) -> tuple[Guard, ...]:
    """Return the guards with ids without gaps; a name of one that became part of another is told as "another guard"."""
    names = {guard.id: f"G{i}" for i, guard in enumerate(laid, start=1)}

    def told(name: str) -> str:
        return names.get(name, "another guard rail" if name.startswith("G") and name[1:].isdigit() else name)

    return tuple(
        replace(
            guard,
            id=names[guard.id],
            shortened_by=tuple(told(name) for name in guard.shortened_by),
            bent_at=tuple((told(name), station) for name, station in guard.bent_at),
        )
        for guard in laid
    )
