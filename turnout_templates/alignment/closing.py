"""Turn the values that a path leaves open into figures, so that its end meets another route, tangent.

The end of the path must come to a place of the other route, in its direction: three conditions (along, across and
heading). To meet them there are the open values of the path, the station where it may meet `anywhere`, and a frog
number that is open. They are solved together by Newton's method from several starts; of several solutions the shortest
path is taken. Rank and remainder tell what is free, what is over-determined, and by how much the nearest misses.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

import numpy as np
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


@dataclass(frozen=True, slots=True)
class Unknown:
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


Ends = Callable[[Vector, bool], tuple[Pose, Pose] | None]
"""For a trial: (where the path comes to, where it has to come to), None where the trial makes no path.

The second argument tells whether the trial is a start, far from the last one, or one step of many.
"""


@dataclass(frozen=True, slots=True)
class Closing:
    """What was found: the `values` of the unknowns, by how much the end misses in mm and radians, and what is `free`.

    `free` are the names of unknowns that can change without the end of the path moving; `refused` those whose value
    cannot be built.
    """

    values: tuple[float, ...]
    miss: float
    turn: float
    free: tuple[str, ...]
    refused: tuple[Unknown, ...]

    @property
    def closes(self) -> bool:
        """Whether the path meets the other route."""
        return self.miss < _CLOSED * 100 and self.turn < _CLOSED


def close_path(unknowns: Sequence[Unknown], ends: Ends, worth: Callable[[Vector], float]) -> Closing | None:
    """Return the solution with the least `worth` (the length of the path), or else the trial that misses least.

    None where no trial makes a path at all.
    """
    starts = sorted(_starts(unknowns, ends), key=lambda start: start[0])
    if not starts:
        return None
    found: list[tuple[tuple[int, int, float], Closing]] = []
    tried_since = 0
    for _, start in starts[:_TRIED]:
        values = _descend(unknowns, ends, np.array(start))
        closing = _judge(unknowns, ends, values)
        rank = (int(not closing.closes), len(closing.refused))
        found.append(((*rank, worth(values) if closing.closes else closing.miss + closing.turn), closing))
        tried_since += min(pair[0] for pair in found)[:2] == (0, 0)
        if tried_since > _TRIED_MORE:
            break
    return min(found, key=lambda pair: pair[0])[1]


def _starts(unknowns: Sequence[Unknown], ends: Ends) -> Iterator[tuple[float, tuple[float, ...]]]:
    """Yield (error, values) of the starts that make a path."""
    for values in product(*(unknown.starts for unknown in unknowns)):
        missed = _missed(ends, np.array(values), start=True)
        if missed is not None:
            yield float(np.linalg.norm(missed)), values


def _missed(ends: Ends, values: Vector, *, start: bool = False) -> Vector | None:
    """Return by how much the end of the path misses: ahead and to the left in mm, and the turn as a length."""
    pair = ends(values, start)
    if pair is None:
        return None
    end, goal = pair
    ahead, left = goal.local(end.point)
    return np.array([ahead, left, wrapped(end.heading - goal.heading) * _TURN_AS_LENGTH])


def _descend(unknowns: Sequence[Unknown], ends: Ends, values: Vector) -> Vector:
    """Return where Newton's method comes to from `values`, its steps shortened while they make matters worse."""
    missed = _missed(ends, values, start=True)
    for _ in range(_STEPS):
        if missed is None or not len(unknowns):
            break
        slope = _slopes(unknowns, ends, values)
        if slope is None:
            break
        sizes = np.array([unknown.size for unknown in unknowns])
        step = -sizes * np.linalg.lstsq(slope * sizes, missed, rcond=1e-12)[0]
        before = float(np.linalg.norm(missed))
        if before < _ROUNDING:
            break
        for _ in range(12):
            trial = _missed(ends, values + step)
            if trial is not None and float(np.linalg.norm(trial)) <= before * (1 - 1e-4):
                break
            step = step / 2
        else:
            break
        values, missed = values + step, trial
    return values


def _slopes(unknowns: Sequence[Unknown], ends: Ends, values: Vector) -> Vector | None:
    """Return how the miss changes with each unknown (3 rows), None at the edge of what makes a path."""
    columns = []
    for i, unknown in enumerate(unknowns):
        step = np.zeros(len(values))
        step[i] = unknown.step
        more, less = _missed(ends, values + step), _missed(ends, values - step)
        if more is None or less is None:
            return None
        columns.append((more - less) / (2 * unknown.step))
    return np.array(columns).T


def _judge(unknowns: Sequence[Unknown], ends: Ends, values: Vector) -> Closing:
    missed = _missed(ends, values, start=True)
    assert missed is not None
    refused = tuple(unknown for unknown, value in zip(unknowns, values, strict=True) if not unknown.allows(value))
    return Closing(
        tuple(float(value) for value in values),
        math.hypot(float(missed[0]), float(missed[1])),
        abs(float(missed[2])) / _TURN_AS_LENGTH,
        _free(unknowns, ends, values),
        refused,
    )


def _free(unknowns: Sequence[Unknown], ends: Ends, values: Vector) -> tuple[str, ...]:
    """Return the names of the unknowns that can change together without the end of the path moving."""
    slope = _slopes(unknowns, ends, values) if len(unknowns) else None
    if slope is None:
        return ()
    sizes = np.array([unknown.size for unknown in unknowns])
    _, strengths, directions = np.linalg.svd(slope * sizes, full_matrices=True)
    rank = int(np.sum(strengths > _RANK * max(float(strengths[0]), 1e-30)))
    loose = np.abs(directions[rank:]).max(axis=0) if rank < len(unknowns) else np.zeros(len(unknowns))
    return tuple(unknown.name for unknown, share in zip(unknowns, loose, strict=True) if share > 1e-3)
