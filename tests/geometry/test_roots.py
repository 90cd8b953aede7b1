"""Roots in a bracket, against those that algebra gives."""

import math
from collections.abc import Callable

import pytest

from turnout_templates.geometry.roots import root_between

CASES: list[tuple[Callable[[float], float], float, float, float]] = [
    (lambda x: x * x - 2, 0.0, 2.0, math.sqrt(2)),
    (math.cos, 3.0, 0.0, math.pi / 2),
    (lambda x: math.exp(x) - 1e-3, -20.0, 5.0, math.log(1e-3)),
    (lambda x: (x - 1) ** 3, 0.0, 1e6, 1.0),
    (lambda x: -1.0 if x < 1 / 3 else 1.0, 0.0, 1.0, 1 / 3),
    (lambda x: x, 0.0, 1.0, 0.0),
    (lambda x: max(x - 0.5, 0.0) - 1e-9, 0.0, 1.0, 0.5 + 1e-9),
    (lambda x: min(max(x - 0.5, -0.1), 0.1), 0.0, 1.0, 0.5),
]


@pytest.mark.parametrize(("f", "low", "high", "root"), CASES)
def test_root_to_the_last_digits(f, low, high, root):
    assert root_between(f, low, high) == pytest.approx(root, abs=1e-15 * (1 + abs(root)), rel=1e-15)


@pytest.mark.parametrize(("f", "low", "high", "root"), CASES)
def test_root_within_a_tolerance_and_soon(f, low, high, root):
    seen = []
    found = root_between(lambda x: seen.append(x) or f(x), low, high, 1e-6)
    assert abs(found - root) <= 1e-6
    assert len(seen) < 60
    assert all(min(low, high) <= x <= max(low, high) for x in seen)


def test_smooth_functions_take_few_steps():
    seen = []
    root_between(lambda x: seen.append(x) or math.sin(x) - 0.3, 0.0, 1.0)
    assert len(seen) <= 12


def test_values_that_are_alike_do_not_stop_it() -> None:
    """Of a function that is level and does not change its sign an end is returned; a level step is halved to."""
    assert root_between(lambda _: 1.0, 0.0, 1.0) in (0.0, 1.0)
    assert abs(root_between(lambda x: 1.0 if x > 0.3 else -1.0, 0.0, 1.0) - 0.3) < 1e-12
