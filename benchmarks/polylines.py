"""Turn the figures that `measure` prints into polylines: faces, outer edges of heads, outlines of ties."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator
from typing import Any

Line = list[complex]
STEP = 1.0
"""Length of a chord in mm; on the tightest curve here, 914 mm, it is 0.00014 mm off the arc."""


def polylines(figures: dict[str, Any]) -> list[Line]:
    """Return all lines in mm."""
    lines = []
    head = float(figures["rail"]["head_mm"])
    for rail in figures["rails"]:
        for piece in rail["pieces"]:
            side = 1 if piece["hand"] == "left" else -1
            points = list(_along(piece))
            lines.append([point for point, _ in points])
            lines.append([point + side * head * 1j * cmath.rect(1, heading) for point, heading in points])
    return lines + [_outline(tie) for tie in figures["ties"]]


def _along(piece: dict[str, Any]) -> Iterator[tuple[complex, float]]:
    """Yield place and heading along a piece whose curvature changes evenly, stepping by its mean over each chord."""
    ends = piece["radii_mm"] if piece["kind"] == "easement" else [piece["radius_mm"]] * 2
    first, last = (0.0 if radius is None else 1 / radius for radius in ends)
    length = piece["length_mm"]
    count = max(1, math.ceil(length / STEP))
    place = complex(piece["start"]["x_mm"], piece["start"]["y_mm"])
    heading = math.radians(piece["start"]["heading_deg"])
    yield place, heading
    for i in range(count):
        turn = (first + (last - first) * (i + 0.5) / count) * length / count
        place += cmath.rect(length / count, heading + turn / 2)
        heading += turn
        yield place, heading


def _outline(tie: dict[str, Any]) -> Line:
    centre = complex(tie["x_mm"], tie["y_mm"])
    along = cmath.rect(tie["length_mm"] / 2, math.radians(tie["angle_deg"]))
    across = cmath.rect(tie["width_mm"] / 2, math.radians(tie["angle_deg"]) + math.pi / 2)
    return [centre + a * along + b * across for a, b in ((1, 1), (-1, 1), (-1, -1), (1, -1), (1, 1))]
