"""Turn the values that a path leaves open into figures, so that its end meets another route, tangent.

The end of the path must come to a place of the other route, in its direction: three conditions (along, across and
heading). To meet them there are the open values of the path, the station where it may meet `anywhere`, and a frog
number that is open. They are solved together by Newton's method from several starts; of several solutions the shortest
path is taken. Rank and remainder tell what is free, what is over-determined, and by how much the nearest misses.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product
from typing import Literal, Protocol

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from turnout_templates.geometry.pose import Pose, wrapped

Vector = NDArray[np.float64]

_TURN_AS_LENGTH = 100.0
"""An error of one radian counts like one of this many mm."""
_CLOSED = 1e-9
"""A path is closed when nothing misses by more than this (mm, or its share of a radian)."""
_STEPS = 60
_TRIED = 24
"""Newton's method is begun from this many of the most promising starts."""
_TRIED_MORE = 5
"""Once a solution is found, this many more starts are tried for a shorter one."""
_ROUNDING = 1e-12
"""A miss below this (mm) is nothing but rounding."""
_RANK = 1e-7
"""A direction of the unknowns that changes the end of the path by less than this part of the most is free."""


class Unknown(Struct, frozen=True):
    """One value to be found: what people call it, its `kind`, and the values that the search begins from."""

    name: str
    kind: Literal["length", "station", "curvature", "angle"]
    starts: tuple[float, ...]
    low: float
    high: float

    def allows(self, value: float) -> bool:
        """Tell whether a value found can be built."""
        return self.low <= value <= self.high

    @property
    def step(self) -> float:
        """The step of a difference quotient in this unknown."""
        return {"length": 1e-4, "station": 1e-4, "curvature": 1e-9, "angle": 1e-7}[self.kind]

    @property
    def size(self) -> float:
        """What a change of one of this unknown's natural units is worth, for comparing directions."""
        return {"length": 1.0, "station": 1.0, "curvature": 1e-5, "angle": 1e-3}[self.kind]


class Ends(Protocol):
    """What is to be closed: a path whose values are tried."""

    def ends(self, values: Vector, afresh: bool) -> tuple[Pose, Pose] | None:
        """Return (where the path comes to, where it has to come to), None where the trial makes no path.

        `afresh` tells that the trial is a start, far from the last one, and not one step of many.
        """

    def reduced(self, values: Vector) -> Vector:
        """Return the values that lead to the same place without going round in circles."""

    def length(self, values: Vector) -> float:
        """Return the length in mm of the path last tried, by which solutions are compared."""

    def memory(self) -> object:
        """Return what makes the last trial come out the same again, where several paths have the same values."""


class Closing(Struct, frozen=True):
    """What was found: the `values` of the unknowns, by how much the end misses in mm and radians, and what is `free`.

    `free` are the names of unknowns that can change without the end of the path moving; `refused` those whose value
    cannot be built. `length` is that of the path (mm), `memory` what its maker needs to make it again.
    """

    values: tuple[float, ...]
    miss: float
    turn: float
    free: tuple[str, ...]
    refused: tuple[Unknown, ...]
    length: float
    memory: object

    @property
    def badness(self) -> tuple[bool, float, float]:
        """What the better of two closings has less of."""
        return not self.closes, len(self.refused), self.length if self.closes else self.miss + self.turn

    @property
    def closes(self) -> bool:
        """Whether the path meets the other route."""
        return self.miss < _CLOSED * 100 and self.turn < _CLOSED


def close_path(unknowns: Sequence[Unknown], path: Ends) -> Closing | None:
    """Return the solution with the shortest path, or else the trial that misses least.

    None where no trial makes a path at all.
    """
    starts = sorted(_starts(unknowns, path), key=lambda start: start[0])
    found: list[Closing] = []
    more = 0
    for _, start in starts[:_TRIED]:
        closing = _judge(unknowns, path, path.reduced(_descend(unknowns, path, np.array(start))))
        if closing is not None:
            found.append(closing)
        more += any(closing.closes and not closing.refused for closing in found)
        if more > _TRIED_MORE:
            break
    return min(found, key=lambda closing: closing.badness, default=None)


def _starts(unknowns: Sequence[Unknown], path: Ends) -> Iterator[tuple[float, tuple[float, ...]]]:
    """Yield (error, values) of the starts that make a path."""
    for values in product(*(unknown.starts for unknown in unknowns)):
        missed = _missed(path, np.array(values), start=True)
        if missed is not None:
            yield float(np.linalg.norm(missed)), values


def _missed(path: Ends, values: Vector, *, start: bool = False) -> Vector | None:
    """Return by how much the end of the path misses: ahead and to the left in mm, and the turn as a length."""
    pair = path.ends(values, start)
    if pair is None:
        return None
    end, goal = pair
    ahead, left = goal.local(end.point)
    return np.array([ahead, left, wrapped(end.heading - goal.heading) * _TURN_AS_LENGTH])


def _descend(unknowns: Sequence[Unknown], path: Ends, values: Vector) -> Vector:
    """Return where Newton's method comes to from `values`, its steps shortened while they make matters worse."""
    missed = _missed(path, values, start=True)
    for _ in range(_STEPS):
        if missed is None or not len(unknowns):
            break
        slope = _slopes(unknowns, path, values)
        if slope is None:
            break
        sizes = np.array([unknown.size for unknown in unknowns])
        step = -sizes * np.linalg.lstsq(slope * sizes, missed, rcond=1e-12)[0]
        before = float(np.linalg.norm(missed))
        if before < _ROUNDING:
            break
        for _ in range(12):
            trial = _missed(path, values + step)
            if trial is not None and float(np.linalg.norm(trial)) <= before * (1 - 1e-4):
                break
            step = step / 2
        else:
            break
        values, missed = values + step, trial
    return values


def _slopes(unknowns: Sequence[Unknown], path: Ends, values: Vector) -> Vector | None:
    """Return how the miss changes with each unknown (3 rows), None at the edge of what makes a path."""
    columns = []
    for i, unknown in enumerate(unknowns):
        step = np.zeros(len(values))
        step[i] = unknown.step
        more, less = _missed(path, values + step), _missed(path, values - step)
        if more is None or less is None:
            return None
        columns.append((more - less) / (2 * unknown.step))
    return np.array(columns).T


def _judge(unknowns: Sequence[Unknown], path: Ends, values: Vector) -> Closing | None:
    """Return what `values` come to, None where they make no path after all."""
    free = _free(unknowns, path, values)
    missed = _missed(path, values, start=True)
    if missed is None:
        return None
    return Closing(
        values=tuple(float(value) for value in values),
        miss=math.hypot(float(missed[0]), float(missed[1])),
        turn=abs(float(missed[2])) / _TURN_AS_LENGTH,
        free=free,
        refused=tuple(u for u, value in zip(unknowns, values, strict=True) if not u.allows(float(value))),
        length=path.length(values),
        memory=path.memory(),
    )


def _free(unknowns: Sequence[Unknown], path: Ends, values: Vector) -> tuple[str, ...]:
    """Return the names of the unknowns that can change together without the end of the path moving."""
    slope = _slopes(unknowns, path, values) if len(unknowns) else None
    if slope is None:
        return ()
    sizes = np.array([unknown.size for unknown in unknowns])
    _, strengths, directions = np.linalg.svd(slope * sizes, full_matrices=True)
    rank = int(np.sum(strengths > _RANK * max(float(strengths[0]), 1e-30)))
    loose = np.abs(directions[rank:]).max(axis=0) if rank < len(unknowns) else np.zeros(len(unknowns))
    return tuple(unknown.name for unknown, share in zip(unknowns, loose, strict=True) if share > 1e-3)
