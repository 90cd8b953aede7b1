"""Find where a function is zero between two places of different sign."""

from __future__ import annotations

from collections.abc import Callable

_MOST = 200
"""No more steps than this: halving alone would need 60 or so."""
_ROUNDING = 4e-16
"""Two places that lie nearer to each other than this, a fraction of the greater, are one double or neighbours."""


def root_between(f: Callable[[float], float], low: float, high: float, within: float = 0.0) -> float:
    """Return a root of `f` between two places where its signs differ, to the last digit or to `within`.

    By Chandrupatla's method (Advances in Engineering Software 28, 1997): inverse quadratic interpolation where the
    last three values promise that it gains, else halving; the root stays in its bracket. A value of zero counts as
    found. Where the signs are alike an end is returned, the one whose value is less.
    """
    a, b = high, low
    f_a, f_b = f(a), f(b)
    c, f_c = a, f_a
    share = 0.5
    for _ in range(_MOST):
        x = a + share * (b - a)
        f_x = f(x)
        if (f_x > 0) == (f_a > 0):
            c, f_c = a, f_a
        else:
            c, b, f_c, f_b = b, a, f_b, f_a
        a, f_a = x, f_x
        best, f_best = (a, f_a) if abs(f_a) < abs(f_b) else (b, f_b)
        least = (0.5 * within + _ROUNDING * abs(best)) / abs(b - c) if b != c else 1.0
        if f_best == 0.0 or least > 0.5:
            return best
        xi, phi = (a - b) / (c - b), (f_a - f_b) / (f_c - f_b) if f_c != f_b else 0.0
        if f_a not in (f_b, f_c) and f_b != f_c and phi * phi < xi and (1.0 - phi) ** 2 < 1.0 - xi:
            share = f_a / (f_b - f_a) * f_c / (f_b - f_c)
            share += (c - a) / (b - a) * f_a / (f_c - f_a) * f_b / (f_c - f_b)
        else:
            share = 0.5
        share = min(max(share, least), 1.0 - least)
    return best
