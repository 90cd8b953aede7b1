"""Turn a row of strips into the chains of sheets that stand on it, each slid to where it serves best.

A chain of one sheet slides as little as it may from its neighbour, so that a row stays straight as long as the ink
allows. A longer chain is tried at several offsets for the one whose seams spoil least.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from itertools import pairwise

from msgspec import Struct

from turnout_templates.sheets.sampling import BULGE
from turnout_templates.sheets.search import StripRow
from turnout_templates.sheets.strips import Cell, Field, Span, chain_is_sound, chain_starts

EASE = 5.0
"""White left between ink and the ends of a chain where there is room for it, mm (ours)."""
_SLIDES = (0.25, 0.5, 0.75, 1.0)


class Chain(Struct, frozen=True):
    """A strip that starts at `u` and where its sheets start along it (none where the strip holds nothing)."""

    u: float
    starts: tuple[float, ...]


def stack_strips(turned: Field, row: StripRow, cell: Cell, least_edge: float, *, joined: bool) -> list[Chain]:
    """Return the chain of each strip of `row`; `joined` fills bare gaps so that all sheets hang together."""
    strips = [sorted(turned.within(u, u + cell.across)) for u in row.starts]
    chains: list[Chain] = []
    before = _first_range(strips, cell)
    for u, along in zip(row.starts, strips, strict=True):
        starts = _settle_strip(turned, u, along, cell, before, least_edge, joined=joined)
        chains.append(Chain(u, tuple(starts)))
        if starts:
            before = (starts[0], starts[-1] + cell.along)
    return chains


def _first_range(strips: list[list[float]], cell: Cell) -> Span:
    """Return the range of one sheet, in the middle of what suits as many strips from the first as agree."""
    low, high = -float("inf"), float("inf")
    for along in strips:
        if not along:
            continue
        least, most = along[-1] + BULGE - cell.along + cell.along_end, along[0] - BULGE
        if low > -float("inf") and (max(low, least) > min(high, most)):
            break
        low, high = max(low, least), min(high, most)
    return ((low + high) / 2, (low + high) / 2 + cell.along)


def _settle_strip(
    turned: Field, u: float, along: list[float], cell: Cell, before: Span, least_edge: float, *, joined: bool
) -> list[float]:
    """Return where the sheets of one strip start, given the range (low, high) of the chain `before` it."""
    if not along:
        return [before[0]] if joined else []
    wholes = _wholes_in_strip(turned, u, cell)
    if joined:
        along = _reaching(along, before, cell, least_edge)
    starts = chain_starts(along, wholes, cell, joined=joined)
    if len(starts) == 1:
        return [_slide_sheet(along, before[0], cell)]
    if any(second - first > cell.along for first, second in pairwise(starts)):
        return _ease_apart(along, starts, cell)
    return _slide_chain(turned, u, starts, (along[0], along[-1]), wholes, cell)


def _slide_sheet(along: list[float], wanted: float, cell: Cell) -> float:
    """Return the place nearest to `wanted` for one sheet that holds all of `along`, clear of its edges if it may be."""
    least, most = along[-1] + BULGE - cell.along + cell.along_end, along[0] - BULGE
    ease = min(EASE, (most - least) / 2)
    return min(max(wanted, least + ease), most - ease)


def _ease_apart(along: list[float], starts: list[float], cell: Cell) -> list[float]:
    """Return a chain with gaps, each sheet that stands alone moved so that its ink is clear of its edge."""
    eased = []
    for index, start in enumerate(starts):
        before = starts[index - 1] if index else -math.inf
        after = starts[index + 1] if index + 1 < len(starts) else math.inf
        shift = 0.0
        if start - before > cell.along and after - start > cell.along:
            last = along[bisect_left(along, after) - 1]
            shift = min(EASE, (start + cell.along - cell.along_end - BULGE - last) / 2)
        eased.append(start - shift)
    return eased


def _reaching(along: list[float], before: Span, cell: Cell, least_edge: float) -> list[float]:
    """Return `along` with a further point where the chain must reach to share an edge with the one before."""
    if along[0] > before[1] - least_edge - BULGE:
        return [before[1] - least_edge - BULGE, *along]
    if along[-1] < before[0] + least_edge + cell.along_end + BULGE:
        return [*along, before[0] + least_edge + BULGE]
    return along


def _wholes_in_strip(turned: Field, u: float, cell: Cell) -> tuple[Span, ...]:
    """Return the spans of the boxes that this strip holds whole across."""
    far = u + cell.across - cell.across_end
    return tuple((whole.v, whole.to_v) for whole in turned.wholes if whole.u >= u and whole.to_u <= far)


def _slide_chain(
    turned: Field, u: float, starts: list[float], needed: Span, wholes: tuple[Span, ...], cell: Cell
) -> list[float]:
    """Return the chain slid within its slack to where its seams cut least."""
    slack = starts[-1] + cell.along - cell.along_end - needed[1] - BULGE
    pitch = (needed[1] - needed[0] + 2 * BULGE - cell.along + cell.along_end) / (len(starts) - 1)
    even = [needed[0] - BULGE + pitch * k for k in range(len(starts))]
    slid = [[start - slack * part for start in starts] for part in _SLIDES]
    sound = [starts, *(chain for chain in (even, *slid) if chain_is_sound(chain, wholes, needed, cell))]
    return min(sound, key=lambda chain: _chain_cost(turned, u, chain, wholes, cell))


def _chain_cost(
    turned: Field, u: float, starts: list[float], wholes: tuple[Span, ...], cell: Cell
) -> tuple[float, int, float]:
    """Return the weight of discs cut by the seams of a chain, the boxes they cut, and how far the chain reaches."""
    weight = sum(
        weight
        for disc_u, v, radius, weight in turned.discs
        if u - radius < disc_u < u + cell.across + radius and any(abs(v - start) < radius for start in starts[1:])
    )
    cut = sum(max(bisect_left(starts, high, 1) - bisect_right(starts, low, 1), 0) for low, high in wholes)
    return (weight, cut, starts[-1] - starts[0])


def weight_cut(turned: Field, chains: list[Chain], cell: Cell) -> float:
    """Return the weight of all discs that the seams of `chains` cut, each counted once."""
    held = [chain for chain in chains if chain.starts]
    return sum(disc[3] for disc in turned.discs if _is_cut(disc, held, cell))


def _is_cut(disc: tuple[float, float, float, float], chains: list[Chain], cell: Cell) -> bool:
    u, v, radius, _ = disc
    for index, chain in enumerate(chains):
        low, high = chain.starts[0] - radius, chain.starts[-1] + cell.along + radius
        if index > 0 and abs(u - chain.u) < radius and low < v < high:
            return True
        inside = chain.u - radius < u < chain.u + cell.across + radius
        if inside and any(abs(v - start) < radius for start in chain.starts[1:]):
            return True
    return False
