"""Turn the outline of a drawing into the few turns that are worth trying to lay it on pages."""

from __future__ import annotations

import math
from collections.abc import Sequence

from turnout_templates.geometry.pose import Point
from turnout_templates.sheets.sampling import convex_hull

_FAN = tuple(math.radians(degrees) for degrees in (15, 30, 45, 60, 75))
"""Turns tried whatever the shape."""
_HULL_CORNERS = 48
"""Corners of the hull that are looked at: more do not move its long axis by a degree."""


def turns_worth_trying(points: Sequence[Point], *, quarter_turns: bool) -> list[float]:
    """Return angles in radians, 0 first; with `quarter_turns` each also a quarter turn on (page held one way only)."""
    hull = convex_hull(list(points))
    hull = hull[:: max(1, len(hull) // _HULL_CORNERS)]
    leaning = [0.0, *(-angle for angle in _long_axes(hull)), *_FAN]
    angles: list[float] = []
    for angle in leaning:
        reduced = math.remainder(angle, math.pi / 2)
        if all(abs(reduced - known) > 1e-3 for known in angles):
            angles.append(reduced)
    return angles + [angle + math.pi / 2 if angle <= 0 else angle - math.pi / 2 for angle in angles if quarter_turns]


def _long_axes(hull: list[Point]) -> list[float]:
    """Return the direction of the narrowest band that holds the hull, and of its longest chord."""
    if len(hull) < 2:
        return []
    chord = max(((p, q) for p in hull for q in hull), key=lambda pair: math.dist(*pair))
    sides = [math.atan2(q[1] - p[1], q[0] - p[0]) for p, q in zip(hull, [*hull[1:], hull[0]], strict=True) if p != q]
    narrow = min(sides, key=lambda angle: _breadth(hull, angle))
    return [narrow, math.atan2(chord[1][1] - chord[0][1], chord[1][0] - chord[0][0])]


def _breadth(points: list[Point], angle: float) -> float:
    """Return the extent of `points` square to the direction `angle`."""
    cosine, sine = math.cos(angle), math.sin(angle)
    offsets = [y * cosine - x * sine for x, y in points]
    return max(offsets) - min(offsets)
