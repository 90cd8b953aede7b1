"""Tell which frogs lie within reach of each other, and in which order they are laid."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from turnout_templates.trackwork.frogs.frog_parts import Frog

REACH = 40.0
"""Mm between two frogs within which an iron at the one touches what lies at the other: ours, no source."""

Near = Mapping[str, Sequence[tuple[float, str]]]
"""For each frog (distance in mm, id) of the others within `REACH` of it."""


def frogs_near(frogs: Sequence[Frog]) -> Near:
    """Return for each frog the others within reach of it."""
    cells: dict[tuple[int, int], list[Frog]] = {}
    for frog in frogs:
        cells.setdefault(_cell(frog), []).append(frog)
    near = {}
    for frog in frogs:
        i, j = _cell(frog)
        around = (other for a in (-1, 0, 1) for b in (-1, 0, 1) for other in cells.get((i + a, j + b), ()))
        apart = ((math.dist(frog.point, other.point), other.id) for other in around if other is not frog)
        near[frog.id] = [(distance, name) for distance, name in apart if distance <= REACH]
    return near


def _cell(frog: Frog) -> tuple[int, int]:
    return math.floor(frog.point[0] / REACH), math.floor(frog.point[1] / REACH)


def crowds(frogs: Sequence[Frog], near: Near) -> dict[str, int]:
    """Return for each frog the number of its crowd: those in reach of each other, directly or by way of others."""
    crowd: dict[str, int] = {}
    for i, frog in enumerate(frogs):
        waiting = [frog.id]
        while waiting:
            name = waiting.pop()
            if name not in crowd:
                crowd[name] = i
                waiting += [other for _, other in near[name]]
    return crowd


def innermost_first(frogs: Sequence[Frog], near: Near) -> dict[str, int]:
    """Return for each frog its place in the working order, crowd after crowd: those with a K, then by their numbers.

    Within a crowd each K comes before the V, since nothing of it stands up beside a rail as a wing does; then the frog
    with most others within reach, so that it is laid while its outer sides are open; then the one nearest to them.
    """
    crowd = crowds(frogs, near)
    with_k = {crowd[frog.id] for frog in frogs if frog.kind == "K"}

    def rank(frog: Frog) -> tuple[float, ...]:
        others = near[frog.id]
        return (
            crowd[frog.id] not in with_k,
            crowd[frog.id],
            frog.kind != "K",
            -len(others),
            sum(distance for distance, _ in others),
        )

    return {frog.id: place for place, frog in enumerate(sorted(frogs, key=rank))}
