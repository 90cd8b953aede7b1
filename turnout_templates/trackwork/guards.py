"""Lay the guard rails that meet the needs, where they fit, beside those met by the side of a rail.

A guard lies beside the other running rail of its gauge, at gauge minus check gauge, straight over the whole gap and
beyond it, then flared. The needs are met in their order. What comes later gives way to what is there (see `fitting`):
beside the same face the earlier one then gives up flare as well, and if that does not part them they become one, at the
smaller flangeway, unless wheels would bind there. Of a gap that is barred in part, a guard lies over the rest; what it
cannot cover is told (see `guarding`). Along the elbow of a K two guards meet that are one bent bar (see `bends`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from turnout_templates.trackwork.bends import bend_round_elbows, bent, partners_of, square_ends
from turnout_templates.trackwork.field import Field, Obstacle, guide_obstacle, overlaid, pairs_that_meet, strip_obstacle
from turnout_templates.trackwork.fitting import Fitted, Wish, fit
from turnout_templates.trackwork.frog_parts import Guard, GuidingSide, Need
from turnout_templates.trackwork.guide_shape import GuideShape, StripShape
from turnout_templates.trackwork.guides import FLARE_LENGTH, FLARE_OPENING, LEAST_FLARE
from turnout_templates.trackwork.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.regions import overlap, without
from turnout_templates.trackwork.switch_model import Switch

_MARGIN = 1.0
"""How far the straight part goes beyond the gap at each end, in flangeways (common practice, no source)."""
_ROUNDING = 1e-6
"""Stations and flangeways that differ by less than this (mm) are one."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """A need and the guard that would meet it, given all the room; `near` are the numbers of those it may meet."""

    need: Need
    wish: Wish
    near: frozenset[int]


class _Laying:
    """The guards laid so far, by the number of the need they were first laid for."""

    def __init__(
        self, field: Field, needs: Sequence[Need], sides: Sequence[GuidingSide], switches: Sequence[Switch]
    ) -> None:
        self.field = field
        self.switches = {switch.id for switch in switches}
        self.sides: dict[RouteFace, list[GuidingSide]] = {}
        for side in sides:
            self.sides.setdefault(side.beside, []).append(side)
        self.asked = _ask(field, needs)
        self.guards: dict[str, Guard] = {}
        self._at: dict[int, list[str]] = {}
        self._served: dict[str, list[int]] = {}
        self._count = 0

    def named(self) -> str:
        """Return an id that no guard has had."""
        self._count += 1
        return f"G{self._count}"

    def near(self, numbers: frozenset[int]) -> list[Guard]:
        """Return the guards that serve the needs of those numbers."""
        ids = dict.fromkeys(name for number in sorted(numbers) for name in self._at.get(number, ()))
        return [self.guards[name] for name in ids]

    def served(self, guard: Guard) -> list[int]:
        """Return the numbers of the needs that a guard serves."""
        return self._served.get(guard.id, [])

    def put(self, number: int, guard: Guard) -> None:
        """Lay a guard for the need of that number, or let it serve that one too."""
        self.guards[guard.id] = guard
        if guard.id not in self._at.setdefault(number, []):
            self._at[number].append(guard.id)
            self._served.setdefault(guard.id, []).append(number)

    def take_up(self, guard: Guard, whole: Guard) -> None:
        """Take up a guard that another has become one with."""
        del self.guards[guard.id]
        for number in self._served.pop(guard.id):
            self._at[number].remove(guard.id)
            self.put(number, whole)


def lay_guards(
    field: Field, needs: Sequence[Need], sides: Sequence[GuidingSide], switches: Sequence[Switch]
) -> tuple[Guard, ...]:
    """Return the guards that fit in `field`, numbered G1, G2 ... in the order of the needs that they are laid for."""
    laying = _Laying(field, needs, sides, switches)
    for number, asked in enumerate(laying.asked):
        for part in _open_parts(laying, asked):
            _lay(laying, number, part)
    return _numbered(bend_round_elbows(field, list(laying.guards.values())))


def _ask(field: Field, needs: Sequence[Need]) -> list[_Asked]:
    partners = partners_of(needs)
    wishes = [bent(field, need, _wish(field, need), partners) for need in needs]
    near: list[set[int]] = [set() for _ in needs]
    for i, j in pairs_that_meet([shape_of(field, wish).ring for wish in wishes]):
        near[i].add(j)
        near[j].add(i)
    return [_Asked(need, wish, frozenset(n)) for need, wish, n in zip(needs, wishes, near, strict=True)]


def _wish(field: Field, need: Need) -> Wish:
    """Return the guard that would meet a need, given all the room."""
    path = field.layout.route(need.beside.route).path
    flangeway = need.gauge.guard_flangeway
    margin, reach = _MARGIN * flangeway, FLARE_LENGTH * flangeway
    straight = (max(need.gap[0] - margin, 0.0), min(need.gap[1] + margin, path.length))
    ends = (max(straight[0] - reach, 0.0), min(straight[1] + reach, path.length))
    return Wish(need.beside, flangeway, straight, ends, (need.beside,))


def shape_of(field: Field, guide: Guard | Wish) -> GuideShape:
    """Return the shape of a guard, or of one that is wished for."""
    return field.shape(guide.beside, guide.flangeway, guide.straight, guide.ends)


def _open_parts(laying: _Laying, asked: _Asked) -> Iterator[Interval]:
    """Yield the parts of a gap that no side of a rail guards, and where a bar has room at its distance."""
    field, need, wish = laying.field, asked.need, asked.wish
    sides = laying.sides.get(need.beside, [])
    guided = [side.guides for side in sides if side.flangeway <= wish.flangeway + _ROUNDING]
    kept = overlap(need.gap, wish.straight)
    others = _others(laying, asked)
    for part in without(kept, guided) if kept else []:
        shape = field.shape(need.beside, wish.flangeway, part, part)
        hits = [*field.blocked(need.beside, wish.flangeway, part, part, wish.own), *overlaid(shape, others)]
        yield from without(part, (hit.over for hit in hits))


def _others(laying: _Laying, asked: _Asked, near: frozenset[int] = frozenset()) -> list[Obstacle]:
    """Return the guards beside other faces that a guard may meet; not the one that it is one bent bar with."""
    return [
        guide_obstacle(guard.id, shape_of(laying.field, guard))
        for guard in laying.near(asked.near | near)
        if guard.beside != asked.need.beside and not _bends_with(laying.field, asked, guard)
    ]


def _bends_with(field: Field, asked: _Asked, guard: Guard) -> bool:
    """Tell whether a guard that is asked for goes on round an elbow as one that is laid, which has no flare there."""
    meets = any(asked.wish.closed) and any(field.elbows_of(asked.need.beside, guard.beside))
    return meets and bool(square_ends(field, guard))


def _lay(laying: _Laying, number: int, part: Interval) -> None:
    """Lay what guards a part of a gap, unless an earlier guard already does; or make one of the two."""
    asked = laying.asked[number]
    same = [guard for guard in laying.near(asked.near | {number}) if guard.beside == asked.need.beside]
    tight = [g for g in same if g.flangeway <= asked.wish.flangeway + _ROUNDING and _holds(g.straight, part)]
    if tight:
        laying.put(number, _serving(laying, tight[0], asked))
        return
    others = _others(laying, asked)
    fitted = _best(laying.field, asked.wish, part, [*others, *(_kept_clear(laying.field, guard) for guard in same)])
    if fitted is not None and _holds(fitted.straight, part):
        laying.put(number, _guard(laying, asked, fitted))
        return
    if any(_parted(laying, number, guard, part, others, same) for guard in same):
        return
    if any(_made_one(laying, number, guard, part) for guard in same):
        return
    if fitted is not None and _is_worth_it(asked.wish, fitted, part):
        laying.put(number, _guard(laying, asked, fitted))


def _best(field: Field, wish: Wish, part: Interval, others: Sequence[Obstacle]) -> Fitted | None:
    """Return what can be had around a part of a gap: of its middle and its ends, where most of it can be covered."""
    best = None
    for u in (0.5, 0.1, 0.9):
        fitted = fit(field, wish, part[0] + u * (part[1] - part[0]), others)
        if fitted is not None and _holds(fitted.straight, part):
            return fitted
        if fitted is not None and (best is None or _covered(fitted, part) > _covered(best, part) + _ROUNDING):
            best = fitted
    return best


def _covered(fitted: Fitted, part: Interval) -> float:
    """Return how much (mm) of a part of a gap a guard covers."""
    over = overlap(fitted.straight, part)
    return over[1] - over[0] if over else 0.0


def _holds(whole: Interval, part: Interval) -> bool:
    return whole[0] <= part[0] + _ROUNDING and whole[1] >= part[1] - _ROUNDING


def _is_worth_it(wish: Wish, fitted: Fitted, part: Interval) -> bool:
    """Tell whether a guard covers anything, and is straight for as long as its shortest flare at least.

    One that goes on round a bend is long enough.
    """
    length = fitted.straight[1] - fitted.straight[0]
    goes_on = any(wish.closed[k] and fitted.ends[k] == wish.ends[k] for k in (0, 1))
    return overlap(fitted.straight, part) is not None and (goes_on or length >= LEAST_FLARE * wish.flangeway)


def _kept_clear(field: Field, guard: Guard) -> Obstacle:
    """Return the place of a guard with a head's width free beyond its ends, for another beside the same face.

    All of it beside the face, as far as the widest flare of any gauge there reaches: flares of two gauges begin at
    different distances, and would cross.
    """
    path, face = field.layout.route(guard.beside.route).path, guard.beside.face
    low, high = max(guard.ends[0] - field.head, 0.0), min(guard.ends[1] + field.head, path.length)
    widest = max(gauge.guard_flangeway for gauge in face.gauges) * (1.0 + FLARE_OPENING) + field.head
    far = face.offset - face.outward * widest
    return strip_obstacle(guard.id, StripShape(path, face.offset, far, (low, high)))


def _parted(
    laying: _Laying, number: int, old: Guard, part: Interval, others: Sequence[Obstacle], same: Sequence[Guard]
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
    fitted = _best(field, asked.wish, part, [*others, *(_kept_clear(field, guard) for guard in rest)])
    if fitted is None or not _holds(fitted.straight, part):
        return False
    # The later one has its shortest flare there, and the earlier one what is left.
    own = fitted.straight[1 - end] - out * LEAST_FLARE * asked.wish.flangeway
    new = _guard(laying, asked, fitted)
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


def _made_one(laying: _Laying, number: int, old: Guard, part: Interval) -> bool:
    """Make one guard of an earlier one and one for `part`, at the smaller flangeway, if that has room for both."""
    asked = laying.asked[number]
    served = [laying.asked[k] for k in laying.served(old)]
    wish = _joint_wish(asked, served, old)
    if any(_binds(one.need, wish.flangeway) for one in (asked, *served)):
        return False
    near = frozenset((number, *laying.served(old))).union(asked.near, *(one.near for one in served))
    inner = _spanning(part, old.straight)
    same = [guard for guard in laying.near(near) if guard.beside == old.beside and guard.id != old.id]
    rest = [guard for guard in same if not _holds(inner, guard.straight)]
    others = [*_others(laying, asked, near), *(_kept_clear(laying.field, guard) for guard in rest)]
    fitted = fit(laying.field, wish, sum(inner) / 2, others)
    if fitted is None or not _holds(fitted.straight, part) or not _holds(fitted.straight, _needed(served, old)):
        return False
    new = _guard(laying, asked, fitted)
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
        if _holds(fitted.straight, guard.straight):
            whole = _with(whole, guard)
            laying.take_up(guard, whole)
    laying.put(number, whole)
    return True


def _binds(need: Need, flangeway: float) -> bool:
    """Tell whether a guard that is tighter than a need asks for would bind wheel backs between itself and the wing."""
    gauge = need.gauge
    tighter = flangeway < gauge.guard_flangeway - _ROUNDING
    return tighter and gauge.width - flangeway - need.face.face.flangeway > gauge.span + _ROUNDING


def _joint_wish(asked: _Asked, served: Sequence[_Asked], old: Guard) -> Wish:
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


def _needed(served: Sequence[_Asked], guard: Guard) -> Interval:
    """Return what a guard covers of the gaps it serves: that much it never gives up."""
    covered = [overlap(asked.need.gap, guard.straight) or guard.straight for asked in served]
    return min(low for low, _ in covered), max(high for _, high in covered)


def _spanning(a: Interval, b: Interval) -> Interval:
    return min(a[0], b[0]), max(a[1], b[1])


def _serving(laying: _Laying, guard: Guard, asked: _Asked) -> Guard:
    """Return a guard that serves one more need as it lies."""
    frogs, switches = _guarded(laying, asked.need)
    merged_from = (*(guard.merged_from or (guard.straight,)), asked.wish.straight)
    return replace(
        guard,
        frogs=tuple(dict.fromkeys((*guard.frogs, *frogs))),
        switches=tuple(dict.fromkeys((*guard.switches, *switches))),
        merged_from=merged_from,
    )


def _guarded(laying: _Laying, need: Need) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return ((), (need.guarded,)) if need.guarded in laying.switches else ((need.guarded,), ())


def _guard(laying: _Laying, asked: _Asked, fitted: Fitted) -> Guard:
    wish = asked.wish
    frogs, switches = _guarded(laying, asked.need)
    return Guard(
        id=laying.named(),
        gauge=asked.need.gauge.name,
        frogs=frogs,
        beside=wish.beside,
        flangeway=wish.flangeway,
        straight=fitted.straight,
        ends=fitted.ends,
        ring=fitted.ring,
        switches=switches,
        full_straight=wish.straight,
        full_ends=wish.ends,
        shortened_by=fitted.shortened_by,
    )


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
