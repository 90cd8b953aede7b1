"""Joints and gaps of rails, and what became of those that found no room, as frozen values."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.rails.rail_parts import RouteFace

JointKind = Literal["joint", "gap", "end"]


class Cut(Struct, frozen=True):
    """A place where a bar is cut, `distance` mm along it: at a metal joiner, or a gap `width` mm wide about there.

    A gap `frogs` names the frogs that it sets apart; `double` that it is one of the gaps in both rails where left comes
    to meet right.
    """

    distance: float
    kind: Literal["joint", "gap"]
    width: float = 0.0
    frogs: tuple[str, ...] = ()
    double: bool = False


class Joint(Struct, frozen=True):
    """Where rails meet: a metal joiner ("joint"), an isolating "gap", or the template's "end", where track goes on.

    It lies on the gauge face `owner` at `station` and at `point`, on the tie or between the `ties` named; `notched` are
    the ties that its joiner lies in, at an end the one to the track beyond. The `cut` tells more of joints and gaps; an
    end in front of which no gap found room is the gap itself and has `frogs`.
    """

    id: str
    kind: JointKind
    bar: str
    owner: RouteFace
    station: float
    point: Point
    ties: tuple[str, ...]
    cut: Cut | None = None
    frogs: tuple[str, ...] = ()
    notched: tuple[str, ...] = ()


class SharedSection(Struct, frozen=True):
    """No gap fits on a `bar` between two `frogs`, and none is needed: they are fed alike, so that one section does."""

    bar: str
    frogs: tuple[str, str]


class MissingGap(Struct, frozen=True):
    """No gap fits on a `bar` beside a frog: there is `room` mm free between what may not be cut, it needs `need` mm.

    The room is the longest free of ties, `at` its middle or the end of the bar at the frog.
    """

    bar: str
    frogs: tuple[str, ...]
    room: float
    need: float
    at: Point


class TooLong(Struct, frozen=True):
    """No allowed place for a joint keeps a piece of `bar` within the `limit`: `length` mm have to be cut in one."""

    bar: str
    length: float
    limit: float
    at: Point
