"""Pieces of rail that can be bought, cut and bent, as frozen values."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from turnout_templates.trackwork.frogs.contacts import Prepared
from turnout_templates.trackwork.pieces.bar_runs import Bending
from turnout_templates.trackwork.pieces.joints import Joint, MissingGap, SharedSection, TooLong
from turnout_templates.trackwork.rails.rail_parts import RouteFace, Stretch

EndKind = Prepared | Literal["joint", "gap", "template end", "hinge"]


class PieceEnd(Struct, frozen=True):
    """An end of a piece: what `kind` it is, `at` which joint, frog or switch, and by how many radians it bends on.

    It lies on the gauge face `owner` at `station`. A "joint" is square, to meet the next piece in a joiner.
    """

    kind: EndKind
    at: str | None
    owner: RouteFace
    station: float
    bend: float | None = None


class RailPiece(Struct, frozen=True):
    """A piece of rail: part of a `bar`, from `low` to `high` mm along the centre of its head.

    `face_length` is that of its gauge face and `length` that of its head's centre, both in mm. `bendings` tell how it
    is bent, and `kinks` where by how many radians, from its first end. `bent_with` are the pieces and wings that are
    one bent bar with it, and `cut_length` is that bar's length as it is drawn; `least_length` is what of it has to be
    had in one, since no joint may lie in it.
    """

    id: str
    bar: str
    low: float
    high: float
    stretches: tuple[Stretch, ...]
    ends: tuple[PieceEnd, PieceEnd]
    face_length: float
    bendings: tuple[Bending, ...]
    kinks: tuple[tuple[float, float], ...]
    bent_with: tuple[str, ...] = ()
    cut_length: float = 0.0
    least_length: float = 0.0

    @property
    def length(self) -> float:
        """The length in mm of the centre of its head, which is what is bent."""
        return self.high - self.low


class RailCuts(Struct, frozen=True):
    """All pieces and joints, in the order of the bars, and what found no room for a gap or a joint."""

    pieces: tuple[RailPiece, ...] = ()
    joints: tuple[Joint, ...] = ()
    shared: tuple[SharedSection, ...] = ()
    missing: tuple[MissingGap, ...] = ()
    too_long: tuple[TooLong, ...] = ()
