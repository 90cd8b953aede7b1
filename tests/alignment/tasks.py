"""Turn choices into branches to be solved: a start on some main, and the face that they must cross."""

from __future__ import annotations

import math
import random

from turnout_templates.alignment.solving import FrogTask
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.pose import Pose

GAUGE, HEAD = 16.5, 0.889


def task_on(main: Path, at: float, turn: int, toe: float | None, share: float = 1.0) -> FrogTask:
    """Return the task of a branch that leaves `main` at a station to the side `turn`, tangent."""
    target = Parallel(main, turn * GAUGE / 2, at, main.length)
    return FrogTask(main.pose_at(at), -turn * GAUGE / 2, target, turn, HEAD, toe, share)


def some_task(seed: int) -> tuple[FrogTask, random.Random]:
    """Return a task drawn by chance, the same for a seed on every machine, and what is left of chance."""
    pick = random.Random(seed)
    shapes = []
    for _ in range(pick.randint(1, 3)):
        first, last = (pick.choice([0.0, 1.0, -1.0]) / pick.uniform(500, 4000) for _ in range(2))
        shapes.append(Shape(pick.uniform(100, 400), first, pick.choice([first, last])))
    main = join(Pose(pick.uniform(-99, 99), pick.uniform(-99, 99), pick.uniform(-3, 3)), shapes)
    toe = pick.choice([None, 0.0, pick.uniform(2, 25)])
    return task_on(main, pick.uniform(0, 60), pick.choice([1, -1]), toe), pick


def angle_of(number: float) -> float:
    """Return the angle of a frog number, N = 1/2 cot(F/2)."""
    return 2 * math.atan(0.5 / number)
