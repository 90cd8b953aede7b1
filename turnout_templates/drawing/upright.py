"""Turn a drawing and the turn at which it is printed into the drawing whose texts are upright on that paper.

A text turned over keeps the rectangle of its letters, so whatever was placed beside it stays clear of it.
"""

from __future__ import annotations

import math

from msgspec.structs import replace

from turnout_templates.drawing.bounds import text_corners
from turnout_templates.drawing.items import Drawing, TextItem


def is_upside_down(angle: float) -> bool:
    """Tell whether text along `angle` (radians) reads better turned over: baselines run from -80 to 100 degrees."""
    return not -math.pi / 2 <= math.remainder(angle - math.radians(10), math.tau) < math.pi / 2


def upright_drawing(drawing: Drawing, turn: float) -> Drawing:
    """Return `drawing` with every text turned over that would be upside down once all is turned by `turn` radians."""
    items = (
        _turned_over(item) if isinstance(item, TextItem) and is_upside_down(item.angle + turn) else item
        for item in drawing.items
    )
    return replace(drawing, items=tuple(items))


def _turned_over(item: TextItem) -> TextItem:
    """Return a text turned by half a turn about the middle of its letters."""
    (x, y), _, (far_x, far_y), _ = text_corners(item)
    at = (x + far_x - item.at[0], y + far_y - item.at[1])
    return replace(item, at=at, angle=math.remainder(item.angle + math.pi, math.tau))
