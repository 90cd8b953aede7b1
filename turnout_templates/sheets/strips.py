"""Turn the ink of a drawing, turned by some angle, into the strips and chains of sheets that hold it.

A page is laid over the drawing in strips, side by side, and in each strip in a chain of sheets. `u` runs across the
strips and `v` along a chain, both in the order of numbering, so that of two neighbours the later one has its seam at
its low edge whichever way the strips run. Each strip's chain slides freely, so a curve is followed, not boxed in.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct, field

from turnout_templates.geometry.pose import Point
from turnout_templates.sheets.plan import Arrangement
from turnout_templates.sheets.sampling import BULGE, STEP, Ink

GAP = 20.0
"""Least length without ink, mm, over which a chain is broken off and begun again."""

Span = tuple[float, float]


class Cell(Struct, frozen=True):
    """A sheet as strips see it: `across` by `along` mm, of which the far ends `across_end`, `along_end` stay bare.

    The bare ends are kept only where no neighbour follows; `overlap` is what two neighbours share at least.
    """

    across: float
    along: float
    across_end: float
    along_end: float
    overlap: float


class Whole(Struct, frozen=True):
    """The box of a text or mark in strip coordinates: from `u` to `to_u` and `v` to `to_v`."""

    u: float
    to_u: float
    v: float
    to_v: float


class Field(Struct):
    """The ink in strip coordinates: points sorted by `us`; boxes to keep whole; discs as (u, v, radius, weight)."""

    us: list[float]
    vs: list[float]
    wholes: list[Whole]
    discs: list[tuple[float, float, float, float]]
    low: float
    high: float
    ends: list[float] = field(default_factory=list)
    least_start: list[float] = field(default_factory=list)
    starts: list[float] = field(default_factory=list)

    def earliest_cut(self, reach: float) -> float:
        """Return the least u of all boxes that end beyond `reach`: the next strip must start no later."""
        at = bisect_right(self.ends, reach)
        return self.least_start[at] if at < len(self.ends) else math.inf

    def crossings(self, u: float) -> int:
        """Return how many boxes a seam at `u` cuts."""
        return bisect_left(self.starts, u) - bisect_right(self.ends, u)

    def within(self, start: float, end: float) -> list[float]:
        """Return the v of all points from `start` to `end` (widened by one step, for the line between points)."""
        return self.vs[bisect_left(self.us, start - STEP) : bisect_right(self.us, end + STEP)]


def turned_field(ink: Ink, angle: float, arrangement: Arrangement, *, exact: bool) -> Field:
    """Return the ink turned by `angle`, in strips that run as `arrangement` says; `exact` takes every point."""
    points = ink.points if exact else ink.outline
    cosine, sine = math.cos(angle), math.sin(angle)
    pairs = sorted(in_strips(points, cosine, sine, arrangement))
    us, vs = [u for u, _ in pairs], [v for _, v in pairs]
    corners = in_strips([corner for four in ink.wholes for corner in four], cosine, sine, arrangement)
    fours = zip(corners[::4], corners[1::4], corners[2::4], corners[3::4], strict=True)
    wholes = [
        Whole(
            min(a[0], b[0], c[0], d[0]),
            max(a[0], b[0], c[0], d[0]),
            min(a[1], b[1], c[1], d[1]),
            max(a[1], b[1], c[1], d[1]),
        )
        for a, b, c, d in fours
    ]
    places = in_strips([disc.at for disc in ink.discs], cosine, sine, arrangement)
    discs = [(*place, disc.radius, disc.weight) for place, disc in zip(places, ink.discs, strict=True)]
    turned = Field(us, vs, wholes, discs, us[0], us[-1])
    _sort_wholes(turned)
    return turned


def in_strips(points: Sequence[Point], cosine: float, sine: float, arrangement: Arrangement) -> list[Point]:
    """Return points, turned, as (u, v): across and down for columns, down and across for rows."""
    if arrangement == "columns":
        return [(x * cosine - y * sine, -x * sine - y * cosine) for x, y in points]
    return [(-x * sine - y * cosine, x * cosine - y * sine) for x, y in points]


def _sort_wholes(turned: Field) -> None:
    """Fill the sorted lists that answer questions about boxes quickly."""
    by_end = sorted(turned.wholes, key=lambda whole: whole.to_u)
    turned.ends = [whole.to_u for whole in by_end]
    turned.starts = sorted(whole.u for whole in by_end)
    least = math.inf
    for whole in reversed(by_end):
        least = min(least, whole.u)
        turned.least_start.append(least)
    turned.least_start.reverse()


def count_chain(along: list[float], span: Span | None, cell: Cell) -> int:
    """Return how few sheets hold the points `along` a strip, reaching over `span` (boxes to keep whole aside)."""
    if span is None:
        return 0
    if span[1] - span[0] <= cell.along - cell.along_end - 2 * BULGE:
        return 1
    return len(chain_starts(sorted(along), (), cell))


def chain_starts(along: list[float], wholes: tuple[Span, ...], cell: Cell, *, joined: bool = False) -> list[float]:
    """Return where the sheets of a chain start, as early as they may, the first at the first point.

    `along` is sorted; `wholes` are spans to keep whole; `joined` forbids to leave a bare gap out.
    """
    starts = [along[0] - BULGE]
    ordered = sorted(wholes)
    while along[-1] > starts[-1] + cell.along - cell.along_end - BULGE:
        starts.append(_next_start(along, ordered, cell, starts[-1], joined))
    return starts


def _next_start(along: list[float], wholes: list[Span], cell: Cell, start: float, joined: bool) -> float:
    """Return where the sheet after the one at `start` begins; `wholes` are in order."""
    reach = start + cell.along
    following = bisect_right(along, reach - cell.along_end - BULGE)
    if not joined and along[following] > reach + GAP:
        return along[following] - BULGE
    text_reach = start + cell.along - cell.along_end
    latest = reach - cell.overlap
    here = wholes[bisect_right(wholes, (start + GAP, math.inf)) : bisect_left(wholes, (latest, -math.inf))]
    return next((low for low, high in here if high > text_reach), latest)


def chain_is_sound(starts: list[float], wholes: tuple[Span, ...], needed: Span, cell: Cell) -> bool:
    """Tell whether a chain covers `needed`, its neighbours overlap and each box is whole on one of its sheets."""
    last = starts[-1] + cell.along - cell.along_end
    return (
        starts[0] <= needed[0] - BULGE + 1e-9
        and last >= needed[1] + BULGE - 1e-9
        and all(second - first <= cell.along - cell.overlap + 1e-9 for first, second in pairwise(starts))
        and all(_is_whole(span, starts, cell) for span in wholes)
    )


def _is_whole(span: Span, starts: list[float], cell: Cell) -> bool:
    at = bisect_right(starts, span[0]) - 1
    return at >= 0 and span[1] <= starts[at] + cell.along - cell.along_end
