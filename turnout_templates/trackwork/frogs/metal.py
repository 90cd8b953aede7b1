"""Tell of each bar what is left of its head: where it is whole, and its outline wherever it is filed.

Together these are all metal of the rails' heads: a whole head between two stations reaches from the gauge face outward
by the width of the head, square to the route at both ends.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.trackwork.rails.rail_parts import Bar, FiledHead, FiledPart, Interval, RouteFace, Stretch
from turnout_templates.trackwork.rails.regions import without


class FiledPlace(Struct, frozen=True):
    """What is left of a bar's head on the face `owner` where it is filed."""

    owner: RouteFace
    part: FiledPart


class BarMetal(Struct, frozen=True):
    """The head of a bar: the stretches over which it is `whole`, and what is left of it where it is `filed`."""

    whole: tuple[Stretch, ...]
    filed: tuple[FiledPlace, ...]


def metal_of_bars(heads: Sequence[FiledHead], bars: Sequence[Bar]) -> dict[str, BarMetal]:
    """Return by bar what is left of its head."""
    known = heads_by_face(heads)
    return {bar.id: _metal(known, bar) for bar in bars}


def heads_by_face(heads: Sequence[FiledHead]) -> HeadsByFace:
    """Return the heads by the stretches of gauge face on them, which are those of bars."""
    return {(head.stretch.owner, face): head for head in heads for face in head.faces}


HeadsByFace = dict[tuple[RouteFace, Interval], FiledHead]


def _metal(known: HeadsByFace, bar: Bar) -> BarMetal:
    whole: list[Stretch] = []
    filed: list[FiledPlace] = []
    for stretch in bar.stretches:
        face = (stretch.low, stretch.high)
        head = known[stretch.owner, face]
        left = [Stretch(stretch.owner, low, high, stretch.way) for low, high in without(face, head.filed)]
        parts = [FiledPlace(stretch.owner, part) for part in head.parts if part.face == face]
        whole += left if stretch.way > 0 else reversed(left)
        filed += parts if stretch.way > 0 else reversed(parts)
    return BarMetal(tuple(whole), tuple(filed))
