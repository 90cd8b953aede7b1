"""Tell which frog numbers a site allows, for the message that says that it does not allow the one asked for."""

from __future__ import annotations

import math

from turnout_templates.alignment.solving import FrogTask, curves_to_angle

_LEAST, _MOST, _RATIO = 1.0, 60.0, 1.06


def angle_of(number: float) -> float:
    """Return the frog angle in radians of the frog `number` N = 1/2 cot(F/2)."""
    return 2.0 * math.atan(0.5 / number)


def number_of(angle: float) -> float:
    """Return the frog number N = 1/2 cot(F/2) of the `angle` in radians."""
    return 0.5 / math.tan(angle / 2)


def allowed_numbers(task: FrogTask) -> list[tuple[float, float]]:
    """Return the ranges of frog numbers between 1 and 60 for which a curve exists, each as (least, most)."""
    count = math.ceil(math.log(_MOST / _LEAST) / math.log(_RATIO))
    numbers = [_LEAST * (_MOST / _LEAST) ** (i / count) for i in range(count + 1)]
    works = [_works(task, number) for number in numbers]
    ranges: list[tuple[float, float]] = []
    for i, good in enumerate(works):
        if not good:
            continue
        low = numbers[i] if i == 0 else _edge(task, numbers[i], numbers[i - 1])
        if i and works[i - 1]:
            low = ranges.pop()[0]
        high = numbers[i] if i == count or works[i + 1] else _edge(task, numbers[i], numbers[i + 1])
        ranges.append((low, high))
    return ranges


def _works(task: FrogTask, number: float) -> bool:
    return bool(curves_to_angle(task, angle_of(number) * task.share))


def _edge(task: FrogTask, good: float, bad: float) -> float:
    """Return the last number, from `good` toward `bad`, that still works, to about a hundredth."""
    while abs(good - bad) > 0.01:
        middle = 0.5 * (good + bad)
        if _works(task, middle):
            good = middle
        else:
            bad = middle
    return good
