"""The number of sheets that is surely needed: never more than what is placed, and not far less."""

from __future__ import annotations

import math
import random

import pytest
from paper.samples import drawn
from samples import SAMPLES

from turnout_templates.pipeline import PaperChoice, draw, least_sheets
from turnout_templates.sheets import least


def test_points_in_a_row_and_in_a_field() -> None:
    # 0, 10 ... 1000: every eleventh is the first beyond 100 from the last: 0, 110 ... 990.
    row = [(10.0 * i, 5.0) for i in range(101)]
    assert least.least_sheets(row, 100.0) == 10
    # At 99 apart every tenth is enough: 0, 100 ... 1000.
    assert least.least_sheets(row, 99.0) == 11
    assert least.least_sheets([(100.0 * i, 100.0 * j) for i in range(7) for j in range(5)], 99.0) == 35
    assert least.least_sheets([(3.0, 4.0), (0.0, 0.0)], 5.0) == 1
    assert least.least_sheets([], 5.0) == 0


@pytest.mark.parametrize("seed", range(20))
def test_points_counted_are_as_many_as_no_two_sheets_could_share(seed: int) -> None:
    """Against looking at all points counted before, wherever they lie about the origin."""
    pick = random.Random(seed)
    points = [(pick.uniform(-300, 300), pick.uniform(-300, 300)) for _ in range(300)]
    reach = pick.uniform(20, 150)
    counted: list[tuple[float, float]] = []
    for point in points:
        if all(math.dist(point, other) > reach for other in counted):
            counted.append(point)
    assert least.least_sheets(points, reach) == len(counted)


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_is_placed_on_no_fewer(name: str) -> None:
    found = drawn(name, None)
    count = len(found.plan.sheets)
    assert count / 2 <= least_sheets(found.job, PaperChoice()) <= count


@pytest.mark.parametrize("orientation", ["portrait", "landscape", "auto"])
def test_small_paper_takes_no_fewer_either(orientation: str) -> None:
    name = "13-long-two-gauge-junction"
    choice = PaperChoice("120x160 mm", orientation)  # type: ignore[arg-type]
    count = len(draw(drawn(name, None).job, choice).plan.sheets)
    assert count / 3 <= least_sheets(drawn(name, None).job, choice) <= count
