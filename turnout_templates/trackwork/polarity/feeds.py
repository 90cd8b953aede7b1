"""Tell what carries which polarity: each bar, each frog, and which bars no feed reaches from plain track."""

from __future__ import annotations

from typing import Literal

from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.circuit import Circuit, Crossing
from turnout_templates.trackwork.rails.rail_parts import Bar, RouteFace

Joins = Literal["left and right", "one polarity"]
RailPolarity = Literal["left", "right", "left meets right"]
BarEnd = tuple[RouteFace, float]
_AT_FROG = 2e-3
"""A bar that ends within this (mm) of where a frog breaks its face ends there."""


def frog_joins(work: Trackwork, frog: Frog) -> Joins:
    """Return what a frog joins: the two polarities, so that it needs a section of its own, or rails of one."""
    return "left and right" if is_set_apart(work.circuit, frog) else "one polarity"


def is_set_apart(circuit: Circuit, frog: Frog) -> bool:
    """Tell whether a frog joins the two polarities, so that it needs a section of its own."""
    owners = zip((frog.first, frog.second), (frog.s, frog.t), strict=True)
    return len({circuit.polarity_at(owner.route, owner.face.hand, station) for owner, station in owners}) > 1


def bar_polarity(work: Trackwork, bar: Bar) -> RailPolarity:
    """Return the polarity of a bar; "left meets right" where it runs over a place that both rails need gaps at."""
    found: set[Hand] = set()
    for stretch in bar.stretches:
        owner = stretch.owner
        found.update(work.circuit.polarities(owner.route, owner.face.hand, stretch.low, stretch.high))
    return found.pop() if len(found) == 1 else "left meets right"


def frogs_at_ends(work: Trackwork) -> dict[str, tuple[str | None, str | None]]:
    """Return by bar the frogs at its beginning and its end, None where an end lies at none.

    A bar with frogs at both ends gets a feed of its own: plain track reaches it through neither.
    """
    places: dict[RouteFace, list[tuple[float, str]]] = {}
    for frog in work.frogs:
        for owner, *found in zip((frog.first, frog.second), (frog.s, frog.t), frog.noses, strict=True):
            places.setdefault(owner, []).extend((at, frog.id) for at in found if at is not None)
    for fit in work.fits:
        places.setdefault(fit.owner, []).append((fit.end, fit.frog))
    return {bar.id: (_at(places, _begin(bar)), _at(places, _end(bar))) for bar in work.bars}


def _begin(bar: Bar) -> BarEnd:
    first = bar.stretches[0]
    return first.owner, first.low if first.way > 0 else first.high


def _end(bar: Bar) -> BarEnd:
    last = bar.stretches[-1]
    return last.owner, last.high if last.way > 0 else last.low


def _at(places: dict[RouteFace, list[tuple[float, str]]], end: BarEnd) -> str | None:
    owner, station = end
    near = ((abs(at - station), name) for at, name in places.get(owner, []))
    distance, name = min(near, default=(1.0, ""))
    return name if distance < _AT_FROG else None


def crossing_frogs(work: Trackwork, crossing: Crossing) -> tuple[Frog, ...]:
    """Return the frogs of a crossing."""
    return tuple(work.frog(name) for name in crossing.frogs)
