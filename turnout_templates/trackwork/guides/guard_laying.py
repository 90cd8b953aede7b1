"""Hold what is known while guards are laid: what is asked for, what lies, and which guard serves which needs.

Every need asks for a guard with all the room it could use; a guard that is laid may come to serve several.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.trackwork.frogs.frog_parts import Guard, GuidingSide, Need
from turnout_templates.trackwork.guides.bends import bent, partners_of, square_ends
from turnout_templates.trackwork.guides.field import Field, Obstacle, guide_obstacle, pairs_that_meet
from turnout_templates.trackwork.guides.fitting import Fitted, Wish
from turnout_templates.trackwork.guides.guide_shape import GuideShape
from turnout_templates.trackwork.guides.guides import FLARE_LENGTH, FLARE_OPENING
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import RouteFace

_MARGIN = 1.0
"""How far the straight part goes beyond the gap at each end, in flangeways (common practice, no source)."""


class Asked(Struct, frozen=True):
    """A need and the guard that would meet it, given all the room; `near` are the numbers of those it may meet."""

    need: Need
    wish: Wish
    near: frozenset[int]


class Laying:
    """The guards laid so far, by the number of the need they were first laid for."""

    def __init__(
        self, field: Field, needs: Sequence[Need], sides: Sequence[GuidingSide], switches: Sequence[Switch]
    ) -> None:
        self.field = field
        self.switches = {switch.id for switch in switches}
        self.sides: dict[RouteFace, list[GuidingSide]] = {}
        for side in sides:
            self.sides.setdefault(side.beside, []).append(side)
        self.asked = ask(field, needs)
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


def ask(field: Field, needs: Sequence[Need]) -> list[Asked]:
    """Return what each need asks for, in the order of the needs, and which of them may meet."""
    partners = partners_of(needs)
    wishes = [bent(field, need, _wish(field, need), partners) for need in needs]
    near: list[set[int]] = [set() for _ in needs]
    # What is kept clear about a guard reaches further than the guard itself.
    widest = max((need.gauge.guard_flangeway for need in needs), default=0.0) * (1.0 + FLARE_OPENING)
    for i, j in pairs_that_meet([shape_of(field, wish).ring for wish in wishes], field.head + widest):
        near[i].add(j)
        near[j].add(i)
    return [Asked(need, wish, frozenset(n)) for need, wish, n in zip(needs, wishes, near, strict=True)]


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


def others_beside(laying: Laying, asked: Asked, near: frozenset[int] = frozenset()) -> list[Obstacle]:
    """Return the guards beside other faces that a guard may meet; not the one that it is one bent bar with."""
    return [
        guide_obstacle(guard.id, shape_of(laying.field, guard))
        for guard in laying.near(asked.near | near)
        if guard.beside != asked.need.beside and not _bends_with(laying.field, asked, guard)
    ]


def _bends_with(field: Field, asked: Asked, guard: Guard) -> bool:
    """Tell whether a guard that is asked for goes on round an elbow as one that is laid, which has no flare there."""
    meets = any(asked.wish.closed) and any(field.elbows_of(asked.need.beside, guard.beside))
    return meets and bool(square_ends(field, guard))


def guard_of(laying: Laying, asked: Asked, fitted: Fitted) -> Guard:
    """Return a new guard as it fits, for what is asked."""
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


def serving(laying: Laying, guard: Guard, asked: Asked) -> Guard:
    """Return a guard that serves one more need as it lies."""
    frogs, switches = _guarded(laying, asked.need)
    merged_from = (*(guard.merged_from or (guard.straight,)), asked.wish.straight)
    return replace(
        guard,
        frogs=tuple(dict.fromkeys((*guard.frogs, *frogs))),
        switches=tuple(dict.fromkeys((*guard.switches, *switches))),
        merged_from=merged_from,
    )


def _guarded(laying: Laying, need: Need) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return ((), (need.guarded,)) if need.guarded in laying.switches else ((need.guarded,), ())
