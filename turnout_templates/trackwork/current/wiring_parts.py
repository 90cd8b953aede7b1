"""What carries current: sections of rail, the copper-clad ties they are soldered to, and feeders; frozen values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct, field

from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.rails.rail_parts import RouteFace

SectionKind = Literal["left", "right", "frog"]


class Section(Struct, frozen=True):
    """Pieces of rail that are one electrically: all left ones, all right ones, or those of the `frogs` set apart.

    `parts` are the ids of its pieces, wings and guards, as on the paper. Its `id` is "left", "right", or the ids of
    its frogs joined by "+"; of rails that are reversed the route's name and "left" or "right".
    """

    id: str
    kind: SectionKind
    frogs: tuple[str, ...]
    parts: tuple[str, ...]


class TieGap(Struct, frozen=True):
    """A gap cut across the copper of a tie: its middle `along` mm from the tie's first end, `width` mm wide.

    `heading` (rad) is the direction of the cut: square to the tie but where it `leans`, because rails that lean on the
    tie leave no other room. A `tight` one lies nearer to bases than gaps should.
    """

    along: float
    width: float
    at: Point
    heading: float
    leans: bool = False
    tight: bool = False


class OnCopper(Struct, frozen=True):
    """A `part` whose base lies over copper from `low` to `high` mm from the tie's first end, with its `section`.

    It is `soldered` there, or slides over it (a moving point: from where it lies closed to where it lies open), or the
    copper is taken off under its base and `bared` mm beyond; None where it is not. Bared or not, it may be one that
    `slides`.
    """

    part: str
    section: str
    low: float
    high: float
    soldered: bool
    bared: float | None = None
    slides: bool = False


class Crowded(Struct, frozen=True):
    """Two parts of two sections on one piece of copper that leave `room` mm for a gap where it needs `need` mm.

    `at` is midway between them. Where one of them can do without, it is `bared`: not soldered to this tie, the copper
    taken off under it from side to side. Where neither can, it is `cut` all the same, nearer to both; where there is no
    room for that either, the copper joins them.
    """

    parts: tuple[str, str]
    room: float
    need: float
    at: Point
    bared: str | None = None
    cut: bool = False


class CopperTie(Struct, frozen=True):
    """A copper-clad `tie` (its id, or that of a switch for its throw bar), what lies on it, and its gaps.

    Both in order from its first end: that on the left of the route it lies under (of a throw bar the far end, away from
    the side it is thrown from). `length` in mm; `crowded` is where a gap found no room.
    """

    tie: str
    length: float
    on: tuple[OnCopper, ...]
    gaps: tuple[TieGap, ...]
    crowded: tuple[Crowded, ...] = ()

    @property
    def soldered(self) -> tuple[tuple[str, str], ...]:
        """What is soldered on it, as (part id, section id)."""
        return tuple((lying.part, lying.section) for lying in self.on if lying.soldered)


class Feeder(Struct, frozen=True):
    """A wire that drops through the baseboard from a `piece` of rail: its hole is drilled at `hole`.

    It is soldered to the rail of the face `owner` at `station`, on the `side` of the rail (as seen along its route;
    None where it comes up below the base), and feeds the section with that id. Where the rail lies on no open space,
    the hole goes through the `tie` with that id.
    """

    id: str
    piece: str
    section: str
    owner: RouteFace
    station: float
    side: Hand | None
    hole: Point
    tie: str | None = None


class Unfed(Struct, frozen=True):
    """Pieces of rail soldered together beside which no feeder finds room; `at` is on the first of them."""

    pieces: tuple[str, ...]
    section: str
    at: Point


class Wiring(Struct, frozen=True):
    """All that carries current: sections, copper-clad ties with their gaps, feeders.

    `bonded` tells of each guard the part whose section it shares: the piece it stands beside, or what it ends against.
    `unfed` is what no feeder reaches.
    """

    sections: tuple[Section, ...] = ()
    copper: tuple[CopperTie, ...] = ()
    feeders: tuple[Feeder, ...] = ()
    bonded: Mapping[str, str] = field(default_factory=dict)
    unfed: tuple[Unfed, ...] = ()
