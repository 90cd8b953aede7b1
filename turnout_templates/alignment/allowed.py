"""Tell which frog numbers a site allows, for the message that says that it does not allow the one asked for."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import groupby

from turnout_templates.alignment.solving import FrogTask, curves_to_angle, try_stations

_LEAST, _MOST, _RATIO = 1.0, 60.0, 1.06
_STATIONS = 150
"""Trial stations: fewer than for a curve that is drawn, since what is sought is only whether there is one."""


def angle_of(number: float) -> float:
    """Return the frog angle in radians of the frog `number` N = 1/2 cot(F/2)."""
    return 2.0 * math.atan(0.5 / number)


def number_of(angle: float) -> float:
    """Return the frog number N = 1/2 cot(F/2) of the `angle` in radians."""
    return 0.5 / math.tan(angle / 2)


def allowed_numbers(task: FrogTask) -> list[tuple[float, float]]:
    """Return the ranges of frog numbers between 1 and 60 for which a curve exists, each as (least, most)."""
    trials = try_stations(task.target, _STATIONS)

    def works(number: float) -> bool:
        return bool(curves_to_angle(task, angle_of(number) * task.share, trials))

    count = math.ceil(math.log(_MOST / _LEAST) / math.log(_RATIO))
    numbers = [_LEAST * (_MOST / _LEAST) ** (i / count) for i in range(count + 1)]
    ranges: list[tuple[float, float]] = []
    index = 0
    for good, run in groupby(numbers, key=works):
        first, index = index, index + len(tuple(run))
        if good:
            low = numbers[first] if first == 0 else _edge(works, numbers[first], numbers[first - 1])
            high = numbers[-1] if index > count else _edge(works, numbers[index - 1], numbers[index])
            ranges.append((low, high))
    return ranges


def _edge(works: Callable[[float], bool], good: float, bad: float) -> float:
    """Return the last number, from `good` toward `bad`, that still works, to about a hundredth."""
    while abs(good - bad) > 0.01:
        middle = 0.5 * (good + bad)
        if works(middle):
            good = middle
        else:
            bad = middle
    return good
