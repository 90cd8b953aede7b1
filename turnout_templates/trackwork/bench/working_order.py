"""Turn trackwork into the order in which its parts are laid, so that the iron and the gauges reach each of them.

Pieces and wings that are one bent bar are laid as one *unit*. A unit belongs to a *stage*:

1. the rails that all else is gauged from: of each route that starts free its common rail, else a stock rail, else the
   first rail that ends in no frog;
2. the bars of frogs, crowd by crowd and the innermost first (`crowding`): elbows, noses, the bar that carries the point
   of a V, the one spliced to it; then the bars that go on into wings;
3. the other rails that end in no frog, by gauge;
4. closure rails: all that is left of the rails that don't move;
5. the points of each switch;
6. guards, and last the throw bars.

Whatever its stage, a unit waits for what it must lie against, and that is laid as much earlier: a point waits for the
rails that it lies behind, a nose for the elbow that it is set from, a guard or a wing for the rail that it lies along,
a wing for both bars of its V and for each K within reach of it. The sequence of stages is common practice; no source
states it.
"""

from __future__ import annotations

import heapq
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Literal

from msgspec import Struct

from turnout_templates.alignment.faces import COMMON
from turnout_templates.trackwork.bench.crowding import crowds, frogs_near, innermost_first
from turnout_templates.trackwork.bench.laid_units import Unit, laid_units
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace

StageKind = Literal["first rails", "frog", "wings", "stock rails", "closure rails", "points", "guards", "throw bar"]
_AFTER_FROGS: tuple[StageKind, ...] = ("stock rails", "closure rails", "points", "guards")
_ELBOWS, _VEES = ("elbow", "mitre"), ("point", "spliced")
_FORMS = (*_ELBOWS, "nose", *_VEES)
"""Ends that make a frog, in the order in which they are laid; a nose alone does not keep a point from moving."""
_TIP, _TOE = "point of switch", "butt"
"""Ends at which a rail that moves is thrown: a point's tip, and of a stub's swinging rails the toe."""

_Rank = tuple[int, ...]
"""The lower is laid first."""


class LayStep(Struct, frozen=True):
    """What is laid in one step, its `parts` by their ids in order: a frog, pieces, wings, guards, or a throw bar.

    `at` is the frog that is made, or the switch whose points or bar are laid; None where it is neither.
    """

    kind: StageKind
    at: str | None
    parts: tuple[str, ...]


def throw_bar_name(switch: str) -> str:
    """Return what the throw bar of a switch is called."""
    return f"throw bar of {switch}"


def working_order(work: Trackwork) -> tuple[LayStep, ...]:
    """Return the steps in which all parts are laid: each piece, frog, wing, guard and throw bar in exactly one."""
    units = list(laid_units(work))
    order = _Order(work, units)
    taken = _take([order.rank(i) for i in range(len(units))], _waiting(work, units, order.near))
    steps, told = [], set[str]()
    for (kind, at), members in groupby(((*order.stages[i], i) for i in taken), key=lambda place: place[:2]):
        parts = [name for *_, i in members for name in units[i].parts]
        if kind == "frog" and at is not None and at not in told:
            told.add(at)
            parts.insert(0, at)
        steps.append(LayStep(kind, at, tuple(parts)))
    steps += [LayStep("frog", frog.id, (frog.id,)) for frog in work.frogs if frog.id not in told]
    bars = (switch.id for switch, made in work.works() if made.bar is not None)
    return (*steps, *(LayStep("throw bar", switch, (throw_bar_name(switch),)) for switch in bars))


class _Order:
    """Tells of each unit the stage at which it is laid, and its rank among all."""

    def __init__(self, work: Trackwork, units: Sequence[Unit]) -> None:
        near = frogs_near(work.frogs)
        self.units = units
        self.near = {name: [other for _, other in found] for name, found in near.items()}
        self.place = innermost_first(work.frogs, near)
        self.crowd = crowds(work.frogs, near)
        self.begins = {crowd: min(self.place[n] for n in names) for crowd, names in _members(self.crowd).items()}
        self.switches = {switch.id: i for i, switch in enumerate(work.switches)}
        first = set(_first_bars(work, units))
        roles: Mapping[str, str] = {bar.id: bar.role for bar in work.bars}
        self.stages = [self._stage(unit, first, roles) for unit in units]

    def _stage(self, unit: Unit, first: set[str], roles: Mapping[str, str]) -> tuple[StageKind, str | None]:
        if unit.guards:
            return "guards", None
        moves = _moving_at(unit, roles)
        made = self._made(unit, moves)
        if made is not None:
            return "frog", made
        if unit.knuckles and not moves:
            return "wings", max(unit.knuckles, key=self.place.__getitem__)
        if moves:
            return "points", moves[0]
        if unit.pieces[0].bar in first:
            return "first rails", None
        return ("stock rails" if roles[unit.pieces[0].bar] in ("stock rail", "running rail") else "closure rails"), None

    def _made(self, unit: Unit, moves: Sequence[str]) -> str | None:
        """Return the frog with which a unit is laid: of several K the first, of several V the last."""
        found = unit.ends(*_ELBOWS) or ([] if moves or unit.ends(*_VEES) else unit.ends("nose"))
        if found:
            return min(found, key=self.place.__getitem__)
        return max(unit.ends(*_VEES), key=self.place.__getitem__, default=None)

    def rank(self, index: int) -> _Rank:
        """Return the rank of a unit."""
        (kind, at), unit = self.stages[index], self.units[index]
        if kind == "first rails":
            return 0, index
        if at in self.place:
            roles = [_FORMS.index(end.kind) for piece in unit.pieces for end in piece.ends if end.kind in _FORMS]
            return 1, self.begins[self.crowd[at]], kind == "wings", self.place[at], min(roles, default=0), index
        return 2, _AFTER_FROGS.index(kind), self.switches.get(at or "", 0), index


def _members(crowd: Mapping[str, int]) -> dict[int, list[str]]:
    """Return the frogs of each crowd."""
    members: dict[int, list[str]] = {}
    for name, number in crowd.items():
        members.setdefault(number, []).append(name)
    return members


def _moving_at(unit: Unit, roles: Mapping[str, str]) -> list[str]:
    """Return the switches at which a unit is thrown."""
    swinging = bool(unit.pieces) and roles[unit.pieces[0].bar] == "swinging rail"
    return unit.ends(_TIP, _TOE) if swinging else unit.ends(_TIP)


def _first_bars(work: Trackwork, units: Sequence[Unit]) -> Iterator[str]:
    """Yield for each route that starts free the bar that all else is gauged from, where one ends in no frog.

    Where all its own do, or swing, as where it leads in the middle of a stub: one that begins at its toe.
    """
    broken = {p.bar for unit in units for p in unit.pieces if unit.ends(*_FORMS, _TIP, "knuckle")}
    free = {route.name for route in work.layout if route.departure is None}
    beside = {point.owner: s.parent for s in work.switches for point in s.points if point.begins == "butt"}
    found: dict[str, list[tuple[bool, bool, bool, str]]] = {}
    for bar in work.bars:
        owner = bar.stretches[0].owner
        route = owner.route if owner.route in free else beside.get(owner, "")
        if bar.id not in broken and bar.role != "swinging rail" and route in free:
            rank = (owner.route != route, owner.face.gauge != COMMON, bar.role != "stock rail", bar.id)
            found.setdefault(route, []).append(rank)
    yield from (min(ranks)[-1] for ranks in found.values())


def _waiting(work: Trackwork, units: Sequence[Unit], near: Mapping[str, Sequence[str]]) -> list[set[int]]:
    """Return for each unit what must be laid before it."""
    before: list[set[int]] = [set() for _ in units]
    of_bar: dict[str, list[int]] = {}
    made: dict[str, list[int]] = {}
    elbows: dict[str, list[int]] = {}
    for i, unit in enumerate(units):
        for bar in dict.fromkeys(piece.bar for piece in unit.pieces):
            of_bar.setdefault(bar, []).append(i)
        for frog in unit.ends(*_FORMS):
            made.setdefault(frog, []).append(i)
        for frog in unit.ends(*_ELBOWS):
            elbows.setdefault(frog, []).append(i)
    kinds = {frog.id: frog.kind for frog in work.frogs}
    along = _ByFace(units)
    for contact in work.contacts:
        if contact.kind == "point behind stock rail":
            point = [i for i in of_bar[contact.first] if contact.at in units[i].ends(_TIP)]
            stock = [i for i in of_bar[contact.second] if not units[i].ends(_TIP)]
            for i in point:
                before[i].update(stock)
    for i, unit in enumerate(units):
        for frog in () if unit.ends(*_ELBOWS) else unit.ends("nose"):
            before[i].update(elbows.get(frog, ()))
        for frog in unit.knuckles:
            before[i].update(made.get(frog, ()))
            for other in near[frog]:
                before[i].update(made.get(other, ()) if kinds[other] == "K" else ())
        for guide in unit.guides:
            before[i].update(along.over(guide.beside, guide.ends))
        before[i].discard(i)
    return before


class _ByFace:
    """Finds the units whose rail lies on a gauge face between two stations."""

    def __init__(self, units: Sequence[Unit]) -> None:
        self._on: dict[RouteFace, list[tuple[float, float, int]]] = {}
        for i, unit in enumerate(units):
            for stretch in (stretch for piece in unit.pieces for stretch in piece.stretches):
                self._on.setdefault(stretch.owner, []).append((stretch.low, stretch.high, i))
        for found in self._on.values():
            found.sort()

    def over(self, owner: RouteFace, along: Interval) -> Iterator[int]:
        """Yield the units there: pieces of a face don't overlap, so that their ends are in order too."""
        found = self._on.get(owner, [])
        for low, high, i in reversed(found[: bisect_right(found, (along[1],))]):
            if high <= along[0]:
                return
            if low < along[1]:
                yield i


def _take(ranks: Sequence[_Rank], before: Sequence[set[int]]) -> list[int]:
    """Return all units, each after those before it, else by rank; one that others wait for ranks as the first of them.

    Where units wait for each other in a ring, the one of least rank is taken.
    """
    after: list[list[int]] = [[] for _ in ranks]
    for i, waits in enumerate(before):
        for other in waits:
            after[other].append(i)
    ranks = _inherited(ranks, before)
    missing = [len(waits) for waits in before]
    ready = [(ranks[i], i) for i, count in enumerate(missing) if not count]
    rest = sorted(range(len(ranks)), key=lambda i: (ranks[i], i))
    heapq.heapify(ready)
    done, order = set[int](), list[int]()
    for i in (*rest, *rest):
        while ready:
            _, first = heapq.heappop(ready)
            if first in done:
                continue
            done.add(first)
            order.append(first)
            for then in after[first]:
                missing[then] -= 1
                if not missing[then]:
                    heapq.heappush(ready, (ranks[then], then))
        if i not in done:
            ready.append((ranks[i], i))
    return order


def _inherited(ranks: Sequence[_Rank], before: Sequence[set[int]]) -> list[_Rank]:
    """Return the ranks with each unit as early as the earliest that waits for it, itself before that."""
    own = list(ranks)
    for i in sorted(range(len(own)), key=lambda i: ranks[i]):
        waiting = [i]
        while waiting:
            for other in before[waiting.pop()]:
                if own[other] > ranks[i]:
                    own[other] = (*ranks[i][:-1], -1, *ranks[other])
                    waiting.append(other)
    return own
