"""Turn a field of ink into the strips that hold it on the fewest sheets, least spoilt by seams.

Strips start on a lattice of a sixteenth of a pitch. The cost of a row of strips is a sum over strips and over seams,
so the best row is found by dynamic programming: fewest sheets, then least weight of keep-clear discs cut, then the
fewest texts cut and the most even sharing. Shared evenly, what the sheets hold beyond the ink is divided into equal
parts: white at the first and the last edge, and what neighbours share beyond the least. Sheets that lay on one another
nearly wholly would be glued over all of their faces, for a seam that is no straighter.
"""

from __future__ import annotations

import math
import sys

from msgspec import Struct

from turnout_templates.sheets.sampling import BULGE
from turnout_templates.sheets.strips import Cell, Field, Span, count_chain

PITCH_STEPS = 16
"""Steps of the lattice in one full pitch: finer than an eighth of a sheet, and still quick."""
LEAST_EDGE = 40.0
"""Shortest common edge that counts as a join, mm: marks at its quarters are then 20 mm apart."""
_TEXT_COST = 0.1
"""Cost of a seam through a text (which is whole on the lower sheet), against 1 for a pitch's unevenness (ours)."""

Cost = tuple[int, float, float]


class StripRow(Struct, frozen=True):
    """Where strips start across the drawing, the estimated `cost` of them as (sheets, weight cut, unevenness)."""

    starts: tuple[float, ...]
    cost: Cost


class _Lattice(Struct, frozen=True):
    """The places where a strip may start, and what a strip or a seam there costs.

    `even` (mm) is the part of what strips hold beyond the ink that falls to either end and to each seam.
    """

    origin: float
    step: float
    even: float
    counts: list[int]
    spans: list[Span | None]
    weights: list[float]
    crossings: list[int]

    def at(self, index: int) -> float:
        """Return the u of lattice place `index`."""
        return self.origin + index * self.step

    def unevenness(self, spare: float) -> float:
        """Return the cost of `spare` mm, not an even part, that are white at an end or shared beyond the least."""
        return ((spare - self.even) / (PITCH_STEPS * self.step)) ** 2


def fewest_strips(turned: Field, cell: Cell) -> int:
    """Return how many strips at least span the field, whatever it holds."""
    span = turned.high - turned.low + 2 * BULGE
    return max(1, math.ceil((span - cell.overlap) / (cell.across - cell.overlap) - 1e-9))


def best_strip_row(
    turned: Field, cell: Cell, *, least_edge: float = LEAST_EDGE, most: int | None = None
) -> StripRow | None:
    """Return the best row of strips with at most `most` sheets; None where no row keeps texts whole and strips joined.

    `least_edge` is the shortest common edge, mm, that neighbouring strips must be able to share.
    """
    lattice = _build_lattice(turned, cell)
    costs, previous = _cheapest_paths(turned, cell, lattice, least_edge, most if most is not None else sys.maxsize)
    final = []
    for index, known in enumerate(costs):
        white = lattice.at(index) + cell.across - cell.across_end - turned.high - BULGE
        if known is not None and white >= -1e-9:
            final.append(((*known[:2], known[2] + lattice.unevenness(white)), index))
    if not final:
        return None
    cost, index = min(final)
    starts = []
    while index >= 0:
        starts.append(lattice.at(index))
        index = previous[index]
    return StripRow(tuple(reversed(starts)), cost)


def _build_lattice(turned: Field, cell: Cell) -> _Lattice:
    """Return the lattice over the whole field; place `PITCH_STEPS - 1` is the last that still holds the first ink."""
    step = (cell.across - cell.overlap) / PITCH_STEPS
    origin = turned.low - BULGE - (PITCH_STEPS - 1) * step
    count = PITCH_STEPS + math.ceil((turned.high - turned.low) / step)
    places = [origin + index * step for index in range(count)]
    held = [turned.within(place, place + cell.across) for place in places]
    spans = [(min(along), max(along)) if along else None for along in held]
    strips = fewest_strips(turned, cell)
    spare = strips * PITCH_STEPS * step + cell.overlap - cell.across_end - (turned.high - turned.low + 2 * BULGE)
    return _Lattice(
        origin,
        step,
        max(spare, 0.0) / (strips + 1),
        [count_chain(along, span, cell) for along, span in zip(held, spans, strict=True)],
        spans,
        _weights(turned, origin, step, count),
        [turned.crossings(place) for place in places],
    )


def _weights(turned: Field, origin: float, step: float, count: int) -> list[float]:
    """Return for each place the weight of the discs that a seam there cuts."""
    weights = [0.0] * count
    for u, _, radius, weight in turned.discs:
        first = max(0, math.ceil((u - radius - origin) / step))
        last = min(count - 1, math.floor((u + radius - origin) / step))
        for index in range(first, last + 1):
            weights[index] += weight
    return weights


def _cheapest_paths(
    turned: Field, cell: Cell, lattice: _Lattice, least_edge: float, most: int
) -> tuple[list[Cost | None], list[int]]:
    """Return for each place the least cost of strips up to one that starts there, and the place before it (or -1)."""
    count = len(lattice.counts)
    costs: list[Cost | None] = [None] * count
    previous = [-1] * count
    for index in range(min(PITCH_STEPS, count)):
        white = turned.low - BULGE - lattice.at(index)
        costs[index] = (lattice.counts[index], 0.0, lattice.unevenness(white))
    for index in range(count):
        cost = costs[index]
        if cost is None:
            continue
        cut = turned.earliest_cut(lattice.at(index) + cell.across - cell.across_end)
        for ahead in range(1, min(PITCH_STEPS, count - 1 - index) + 1):
            following = index + ahead
            if lattice.at(following) > cut:
                break
            sheets, known = cost[0] + lattice.counts[following], costs[following]
            if sheets > most or (known is not None and sheets > known[0]):
                continue
            offered = _cost_after(cost, lattice, following, ahead)
            if (known is None or offered < known) and _can_join(lattice, index, following, cell, least_edge):
                costs[following] = offered
                previous[following] = index
    return costs, previous


def _cost_after(cost: Cost, lattice: _Lattice, following: int, ahead: int) -> Cost:
    """Return the cost of a row that goes on with a strip at place `following`, `ahead` steps on."""
    unevenness = lattice.unevenness((PITCH_STEPS - ahead) * lattice.step)
    return (
        cost[0] + lattice.counts[following],
        cost[1] + lattice.weights[following],
        cost[2] + unevenness + _TEXT_COST * lattice.crossings[following],
    )


def _can_join(lattice: _Lattice, first: int, second: int, cell: Cell, least_edge: float) -> bool:
    """Tell whether two neighbouring strips can be slid so that they share an edge of at least `least_edge` mm."""
    here, there = lattice.spans[first], lattice.spans[second]
    if here is None or there is None:
        return True
    length = _chain_length(lattice.counts[first], cell)
    other = _chain_length(lattice.counts[second], cell)
    common = min(length, other, here[0] + length - there[1] + other, there[0] + other - here[1] + length)
    return common >= least_edge + 2 * BULGE + cell.along_end


def _chain_length(count: int, cell: Cell) -> float:
    return count * (cell.along - cell.overlap) + cell.overlap
