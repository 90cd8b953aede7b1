"""Lay ties one after another: each turned and as long as what it carries asks for, and clear of all others.

A tie lies square to its own route, unless the tracks that it carries turn it, and grows to carry every other route
whose own ties would run into it; those routes then lay none there. From a tie that lies askew the next ones fan out
until they are square.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Iterator, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, Room, rectangle
from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.rails.regions import merged, without
from turnout_templates.trackwork.ties.carrying import Carrying, Span
from turnout_templates.trackwork.ties.tie_parts import Role, Tie
from turnout_templates.trackwork.ties.turning import Fan, Turn, Turned, Turning

_NUDGE = 8
"""A tie in the way of another moves by this part of its spacing at a time."""
_ONWARD = tuple(range(_NUDGE))
_TO_AND_FRO = (0, 1, -1, 2, -2)
_APART = 0.1
"""Ties nearer to each other than this part of their width all but touch: no glue is wiped from between them (common
practice, no source)."""
_MORE = 2
"""So many nudges more are tried for one that all but touches another: a quarter of a space."""
_SQUARE = math.radians(2)
"""A tie that is turned by less is as good as square: the outermost of a fan."""
_HOLE = 1.6
"""Two ties of another route that are no further apart than this many spaces leave no hole for one between them."""
_ROUNDING = 1e-6
"""Stations that differ by less than this (mm) are one."""


class Anchor(Struct, frozen=True):
    """A headblock that must lie at `station` of its route, longer on the `sides` that bars reach to (+1 left)."""

    station: float
    sides: frozenset[int]


_NO_BAR: frozenset[int] = frozenset()
"""The sides of a tie that is no headblock."""


class Tier:
    """Lays the ties of one route after another and remembers which stations of the others are carried already."""

    def __init__(self, rules: TieRules, carrying: Carrying) -> None:
        self.rules = rules
        self.carrying = carrying
        self.turning = Turning(carrying, rules)
        self.ties: dict[Tie, None] = {}
        self.room = Room(4 * max(rules.spacing, rules.switch_width))
        self.carried: dict[str, list[Turned]] = {}
        self._last: tuple[tuple[str, float], Turn, list[Span]] | None = None

    def lay_headblocks(self, route: LaidRoute, anchors: Sequence[Anchor]) -> None:
        """Lay the ties whose place is given."""
        for anchor in anchors:
            self._lay(route, anchor.station, anchor.sides, nudges=(0,))

    def tie_route(self, route: LaidRoute, anchors: Sequence[Anchor]) -> None:
        """Fill what the ties that are there leave of the route."""
        carried = [*(at for at, _ in self.carried.get(route.name, [])), *(anchor.station for anchor in anchors)]
        held = merged(zip(carried, carried, strict=True), _HOLE * self.rules.switch_spacing)
        for low, high in without((0.0, route.path.length), held):
            self._fill(route, low, high, starts=low > 0.0, stops=high < route.path.length)

    def tie_bare(self, route: LaidRoute, station: float) -> None:
        """Lay one more tie where a rail of the route was left bare for too long, if there is room for it."""
        if self._lay(route, station, _NO_BAR, nudges=_TO_AND_FRO) is None:
            self._lay(route, station, _NO_BAR, nudges=_TO_AND_FRO, tight=True)

    def _fill(self, route: LaidRoute, low: float, high: float, *, starts: bool, stops: bool) -> None:
        """Lay ties between two stations, a full space from a tie already at either end, half a space from a rail's end.

        A stretch that stops at a tie is known beforehand: its spaces are stretched evenly to fit. In any other each tie
        lies a space on from where the one before found room, stretched to fit what is left up to the end.
        """
        if stops:
            for station in self._fitted(route, low, high, starts):
                self._lay(route, station, _NO_BAR, nudges=_TO_AND_FRO)
            return
        last = high - self.rules.spacing / 2
        at: float | None = min(low + self.rules.spacing / 2, (low + high) / 2)
        if starts:
            at = self._next(route, low, last)
        while at is not None:
            laid = self._lay(route, at, _NO_BAR, nudges=_ONWARD)
            at = self._next(route, at if laid is None else laid, last)

    def _next(self, route: LaidRoute, station: float, last: float) -> float | None:
        """Return where the next tie lies, for the spaces up to the `last` one to be even; None behind that."""
        count = math.floor((last - station) / self._space(route, station) + 0.5)
        return station + (last - station) / count if count > 0 else None

    def _fitted(self, route: LaidRoute, low: float, high: float, starts: bool) -> Iterator[float]:
        """Yield stations up to a space before the tie at `high`, from a space behind one at `low` if there is one."""
        first = low if starts else low + self.rules.spacing / 2
        marks = [first]
        while marks[-1] < high:
            marks.append(marks[-1] + self._space(route, marks[-1]))
        if len(marks) > 1:
            spaces = len(marks) - 1 - (marks[-1] - high) / (marks[-1] - marks[-2])
            count = max(1, math.floor(spaces + 0.5)) if starts else math.floor(spaces + 0.5)
            yield from (_between(marks, i * spaces / count) for i in range(1 if starts else 0, count))

    def _space(self, route: LaidRoute, station: float) -> float:
        """Return the spacing of ties at a station: closer where they carry more than one track, wider in a fan."""
        turn, spans = self._seen(route, station)
        return max(turn.room, self.rules.switch_spacing if len(spans) > 1 else self.rules.spacing)

    def _lay(
        self, route: LaidRoute, station: float, sides: frozenset[int], *, nudges: Sequence[int], tight: bool = False
    ) -> float | None:
        """Lay a tie at `station`, or moved by the first of `nudges` (parts of a space) that is clear of all others.

        One that all but touches another gives way to one of the next nudges, if that is clear in earnest; not amid a
        fan, where rails would be left bare. Returns where it lies, None where there is no room.
        """
        step = self.rules.spacing / _NUDGE
        touching: tuple[float, Tie, Sequence[Span]] | None = None
        left = len(nudges)
        for at in (station + nudge * step for nudge in nudges):
            if not 0.0 <= at <= route.path.length:
                continue
            if left == 0:
                break
            square = sides or tight
            spans = self.carrying.carried(route, at, 0.0, tight=tight) if square else self._seen(route, at)[1]
            tie = self._tie(route, at, spans, sides)
            left -= 1
            if not self.is_free(tie):
                continue
            if abs(spans[0].turn) > _SQUARE or self.is_free(tie, apart=_APART * tie.width):
                return self._laid(at, tie, spans)
            if touching is None:
                touching, left = (at, tie, spans), min(left, _MORE)
        return None if touching is None else self._laid(*touching)

    def _laid(self, at: float, tie: Tie, spans: Sequence[Span]) -> float:
        self.put(tie)
        self._note_carried(spans)
        return at

    def is_free(self, tie: Tie, apart: float = 0.0) -> bool:
        """Tell whether a tie would keep the gap from all others, or lie so many mm `apart` where that is more."""
        return self.room.is_free(self._outline(tie, max(self.rules.gap, 2 * apart - self.rules.gap)))

    def put(self, tie: Tie) -> None:
        """Lay a tie."""
        self.room.take(self._outline(tie))
        self.ties[tie] = None

    def take_up(self, tie: Tie) -> None:
        """Take a tie away again."""
        self.room.give_up(self._outline(tie))
        del self.ties[tie]

    def tie_at(self, route: LaidRoute, station: float, also: str = "") -> Tie:
        """Return the tie that would lie at a station, headblocks aside, long enough for the route `also` as well."""
        turn, spans = self._seen(route, station)
        if also:
            angle = turn.angle or self.carrying.wanted(route, station, also=also)
            spans = self.carrying.carried(route, station, angle, also=also)
        return self._tie(route, station, spans, _NO_BAR)

    def _outline(self, tie: Tie, gap: float | None = None) -> Outline:
        """Return the corners of a tie with half a gap around it, the one that is asked for if no other is given."""
        gap = self.rules.gap if gap is None else gap
        half, side = (tie.length + gap) / 2, (tie.width + gap) / 2
        return rectangle(Pose(*tie.centre, tie.angle), half, half, side, side)

    def _tie(self, route: LaidRoute, station: float, spans: Sequence[Span], sides: frozenset[int]) -> Tie:
        rules = self.rules
        pose = route.path.pose_at(station).turned(spans[0].turn)
        low = min(span.low for span in spans) - rules.overhang
        high = max(span.high for span in spans) + rules.overhang
        role: Role = "headblock" if sides else "switch" if len(spans) > 1 else "plain"
        length = _rounded_up(high - low, rules.length_step)
        spare = (length - (high - low)) / 2
        low, high = low - spare, high + spare
        low -= rules.headblock_overhang if -1 in sides else 0.0
        high += rules.headblock_overhang if 1 in sides else 0.0
        return Tie(
            id="",
            role=role,
            material="wood",
            centre=pose.beside((low + high) / 2),
            angle=pose.heading + math.pi / 2,
            length=high - low,
            width=rules.width if role == "plain" else rules.switch_width,
            route=route.name,
            station=station,
        )

    def _seen(self, route: LaidRoute, station: float) -> tuple[Turn, list[Span]]:
        """Return how a tie at `station` is turned, as the ties near it ask, and what it carries so."""
        key = route.name, station
        if self._last is None or self._last[0] != key:
            fans = self.turning.fans(route, station, self.carried.get(route.name, []))
            self._last = key, *self._turned(route, station, fans)
        return self._last[1:]

    def _turned(self, route: LaidRoute, station: float, fans: Sequence[Fan]) -> tuple[Turn, list[Span]]:
        """Return the turn of a tie among others and what it carries: a longer tie turns less from one to the next."""
        offsets = [face.offset for face in route.faces]
        arm = max(-min(offsets), max(offsets)) + self.rules.overhang
        turn = self.turning.turn(fans, 2 * arm)
        spans = self.carrying.carried(route, station, turn.angle)
        if fans and len(spans) > 1:
            arm = max(max(-span.low, span.high) for span in spans) + self.rules.overhang
            longer = self.turning.turn(fans, 2 * arm)
            if longer.angle != turn.angle:
                spans = self.carrying.carried(route, station, longer.angle)
            turn = longer
        return turn, spans

    def _note_carried(self, spans: Sequence[Span]) -> None:
        for span in spans[1:]:
            insort(self.carried.setdefault(span.route, []), (span.station, span.turn))


def _between(marks: Sequence[float], at: float) -> float:
    """Return the value between two of `marks`, at a whole number and a part of them."""
    i = min(int(at), len(marks) - 2)
    return marks[i] + (at - i) * (marks[i + 1] - marks[i])


def _rounded_up(length: float, step: float) -> float:
    return math.ceil(length / step - 1e-9) * step if step > 0 else length
