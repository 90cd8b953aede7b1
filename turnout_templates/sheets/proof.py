"""Turn the control marks of a plan into the lengths that prove its sheets joined, and say how well they prove it.

Of two neighbours one may lie off by a shift and a turn: three small numbers, which three lengths between marks of the
one and marks of the other settle. A length changes by what its far end moves along it,

    change = u . (d + w z x (q - c)),

u the direction from the mark on one sheet to the mark q on the other, d the shift of that sheet and w its turn about
c. Of all threes the one is taken that leaves the track least room while all its lengths are right within one reading.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from turnout_templates.geometry.pose import Point
from turnout_templates.sheets.plan import ControlMark, Sheet, SheetPlan
from turnout_templates.sheets.sampling import convex_hull

PROVED = 0.3
"""How far (mm) what is drawn on one sheet may lie from its place beside the next: what joining has to keep."""
_SINGULAR = 1e-6
"""Lengths whose determinant is smaller settle no turn (they are directions and levers in parts of `_LEVER`)."""
_LEVER = 100.0
"""Levers are counted in so many mm, so that shifts and turns are figures of one size."""

Array = NDArray[np.float64]
_Pair = tuple[ControlMark, ControlMark]


class SeamProof(Struct, frozen=True):
    """The lengths to measure between two joined `sheets`: pairs of marks, the first on the first sheet.

    While each is right within 1 mm, nothing drawn on either sheet lies more than `slack` mm from its place as seen from
    the other; a smaller reading proves as much less.
    """

    sheets: tuple[int, int]
    pairs: tuple[_Pair, ...]
    slack: float

    @property
    def reading(self) -> float:
        """How nearly (mm) the lengths must be right to prove `PROVED`."""
        return PROVED / self.slack


def prove_seams(plan: SheetPlan, points: Sequence[Point]) -> tuple[SeamProof, ...]:
    """Return what proves that all sheets lie as they should: as many seams as join them all, those that prove best.

    `points` (mm of the drawing) are what must lie right. A seam whose marks settle no turn is left out.
    """
    held = _points_held(plan, points)
    proofs = [
        proof
        for sheet in plan.sheets
        for join in sheet.joins
        if not join.cut and (proof := _prove(sheet, plan.sheets[join.neighbour - 1], held)) is not None
    ]
    return _joining_all(proofs)


def _points_held(plan: SheetPlan, points: Sequence[Point]) -> dict[int, list[Point]]:
    """Return for each sheet the corners of the hull of those `points` that lie on it: the furthest ones move most."""
    every = np.array(points)
    held = {}
    for sheet in plan.sheets:
        frame = sheet.frame
        undone = sheet.placement.inverse()
        x, y = frame.centre
        middle, along, up = (np.array(undone.apply(at)) for at in ((x, y), (frame.right, y), (x, frame.top)))
        inside = np.ones(len(every), dtype=bool)
        for reach in (along - middle, up - middle):
            inside &= np.abs((every - middle) @ reach) <= reach @ reach
        held[sheet.number] = convex_hull([(float(x), float(y)) for x, y in every[inside]])
    return held


def _prove(one: Sheet, other: Sheet, held: dict[int, list[Point]]) -> SeamProof | None:
    """Return the best three lengths between two sheets, None where no three settle how they lie."""
    pairs = [(a, b) for a in one.control for b in other.control]
    points = np.array([*held[one.number], *held[other.number]])
    if len(pairs) < 3 or not len(points):
        return None
    middle = points.mean(axis=0)
    threes = _threes(len(pairs))
    rows = _changes(pairs, middle)[threes]
    sound = np.abs(np.linalg.det(rows)) > _SINGULAR
    if not sound.any():
        return None
    moves = np.einsum("nij,sj->nsi", np.linalg.inv(rows[sound]), _READINGS)
    x, y = ((points - middle) / _LEVER).T
    off = np.hypot(moves[..., :1] - moves[..., 2:] * y, moves[..., 1:2] + moves[..., 2:] * x).max(axis=(1, 2))
    alike = np.flatnonzero(off <= off.min() * _ALIKE)
    # Rounded, so that the last digits of a machine choose nothing.
    best = int(alike[np.argmin(np.round(_lengths(pairs)[threes[sound][alike]].sum(axis=1), 3))])
    chosen = threes[sound][best]
    return SeamProof((one.number, other.number), tuple(pairs[k] for k in chosen), float(off[best]))


_ALIKE = 1.05
"""Of lengths that prove nearly as well as the best (by this factor) the shortest are taken, which a caliper reaches."""
_READINGS = np.array([(1.0, a, b) for a in (1.0, -1.0) for b in (1.0, -1.0)])
"""The readings furthest off in three lengths; all of them with the other sign move everything the other way."""


def _lengths(pairs: Sequence[_Pair]) -> Array:
    return np.array([math.dist(a.at, b.at) for a, b in pairs])


@lru_cache(maxsize=16)
def _threes(count: int) -> NDArray[np.int64]:
    return np.array(list(combinations(range(count), 3)))


def _changes(pairs: Sequence[_Pair], middle: Array) -> Array:
    """Return by how much each length changes for a shift of 1 mm along x, along y, and a turn of 1 mm in `_LEVER`."""
    starts = np.array([a.at for a, _ in pairs])
    ends = np.array([b.at for _, b in pairs])
    ahead = ends - starts
    ahead /= np.hypot(*ahead.T)[:, None]
    x, y = ((ends - middle) / _LEVER).T
    return np.column_stack((ahead, x * ahead[:, 1] - y * ahead[:, 0]))


def _joining_all(proofs: Sequence[SeamProof]) -> tuple[SeamProof, ...]:
    """Return those proofs that hang all sheets together, the best first chosen, in the order of the sheets."""
    group = {number: number for proof in proofs for number in proof.sheets}
    chosen = []
    for proof in sorted(proofs, key=lambda proof: (round(proof.slack, 6), proof.sheets)):
        one, other = (group[number] for number in proof.sheets)
        if one != other:
            group = {number: one if own == other else own for number, own in group.items()}
            chosen.append(proof)
    return tuple(sorted(chosen, key=lambda proof: proof.sheets))
