"""Tell of each bar what is left of its head: where it is whole, and its outline wherever it is filed.

Together these are all metal of the rails' heads: a whole head between two stations reaches from the gauge face outward
by the width of the head, square to the route at both ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from turnout_templates.trackwork.rail_parts import Bar, FiledHead, FiledPart, Interval, RouteFace, Stretch
from turnout_templates.trackwork.regions import without


@dataclass(frozen=True, slots=True)
class FiledPlace:
    """What is left of a bar's head on the face `owner` where it is filed."""

    owner: RouteFace
    part: FiledPart


@dataclass(frozen=True, slots=True)
class BarMetal:
    """The head of a bar: the stretches over which it is `whole`, and what is left of it where it is `filed`."""

    whole: tuple[Stretch, ...]
    filed: tuple[FiledPlace, ...]


def metal_of_bars(heads: Sequence[FiledHead], bars: Sequence[Bar]) -> dict[str, BarMetal]:
    """Return by bar what is left of its head."""
    known: dict[RouteFace, list[tuple[Interval, FiledHead]]] = {}
    for head in heads:
        known.setdefault(head.stretch.owner, []).extend((face, head) for face in head.faces)
    return {bar.id: _metal(known, bar) for bar in bars}


def _metal(known: dict[RouteFace, list[tuple[Interval, FiledHead]]], bar: Bar) -> BarMetal:
    whole: list[Stretch] = []
    filed: list[FiledPlace] = []
    for stretch in bar.stretches:
        own = (stretch.low, stretch.high)
        face, head = next(
            (face, head) for face, head in known[stretch.owner] if face[0] <= own[0] and own[1] <= face[1]
        )
        left = [Stretch(stretch.owner, low, high, stretch.way) for low, high in without(own, head.filed)]
        parts = [FiledPlace(stretch.owner, p) for p in head.parts if p.face == face and _is_of(p, own, face)]
        whole += left if stretch.way > 0 else reversed(left)
        filed += parts if stretch.way > 0 else reversed(parts)
    return BarMetal(tuple(whole), tuple(filed))


def _is_of(part: FiledPart, own: Interval, face: Interval) -> bool:
    """Tell whether a filed part belongs to the bar over `own` stations of a face that is cut up at hinges.

    A part that a hinge cuts is told once, with the bar on which its middle lies.
    """
    middle = min(max(sum(part.zone) / 2, face[0]), face[1])
    return own[0] <= middle < own[1] or middle == own[1] == face[1]
