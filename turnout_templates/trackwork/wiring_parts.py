"""What carries current: sections of rail, the copper-clad ties they are soldered to, and feeders; frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.rail_parts import RouteFace

SectionKind = Literal["left", "right", "frog"]


@dataclass(frozen=True, slots=True)
class Section:
    """Pieces of rail that are one electrically: all left ones, all right ones, or those of the `frogs` set apart.

    `parts` are the ids of its pieces, wings, guards and throw bars' ends, as on the paper.
    """

    id: str
    kind: SectionKind
    frogs: tuple[str, ...]
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TieGap:
    """A gap cut across the copper of a tie: its middle `along` mm from the tie's first end, `width` mm wide."""

    along: float
    width: float
    at: Point


@dataclass(frozen=True, slots=True)
class CopperTie:
    """A copper-clad `tie` (id), what is soldered on it, as (part id, section id) from its first end, and its gaps."""

    tie: str
    soldered: tuple[tuple[str, str], ...]
    gaps: tuple[TieGap, ...]


@dataclass(frozen=True, slots=True)
class Feeder:
    """A wire that drops through the baseboard from a `piece` of rail: its hole is drilled at `hole`.

    It is soldered to the rail of the face `owner` at `station`, on the `side` of the rail (as seen along its route)
    away from the wheels, and feeds the section with that id.
    """

    id: str
    piece: str
    section: str
    owner: RouteFace
    station: float
    side: Hand
    hole: Point


@dataclass(frozen=True, slots=True)
class Wiring:
    """All that carries current: sections, copper-clad ties with their gaps, feeders."""

    sections: tuple[Section, ...] = ()
    copper: tuple[CopperTie, ...] = ()
    feeders: tuple[Feeder, ...] = ()
