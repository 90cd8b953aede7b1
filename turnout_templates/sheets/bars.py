"""Turn a length into a bar that can be measured: a line between two ticks, their middles exactly that far apart."""

from __future__ import annotations

import math

from turnout_templates.drawing.items import Item, PathItem, Stroke, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.sheets.paper import MM_PER_INCH

BAR_LAYER = "bars"
SHORT_BARS: tuple[tuple[float, str], ...] = ((100.0, "100 mm"), (4 * MM_PER_INCH, "4 in"))
"""The two bars that every sheet carries: (length in mm, label)."""
_STROKE = Stroke(0.18)
LIGHT_STROKE = Stroke(0.12)
"""For a bar that may cross what is drawn."""
_GAP = 0.8  # mm of bare paper on either side of a label that stands in its bar


def bar_items(
    start: Point,
    length: float,
    label: str,
    *,
    upward: bool = False,
    tick: float = 1.6,
    size: float = 2.0,
    label_at: float = 0.5,
    stroke: Stroke = _STROKE,
) -> tuple[Item, ...]:
    """Return a bar of `length` mm from `start` to the right (or up), its `label` standing in a gap of the line.

    `tick` is the length of the end ticks and `size` that of the text in mm; `label_at` is the place of the label's
    middle in parts of the length. Each half of the line is a path of its own; the ticks carry the part's name.
    """
    placement = Placement(math.pi / 2 if upward else 0.0, *start)
    middle = length * label_at
    half = text_width(label, size) / 2 + _GAP
    part = f"bar {label}"

    def line(x: float, y: float, to_x: float, to_y: float) -> PathItem:
        segment = LineSegment((x, y), (to_x, to_y)).placed(placement)
        return PathItem((segment,), stroke, BAR_LAYER, part)

    return (
        line(0.0, -tick / 2, 0.0, tick / 2),
        line(length, -tick / 2, length, tick / 2),
        line(0.0, 0.0, middle - half, 0.0),
        line(middle + half, 0.0, length, 0.0),
        TextItem(
            label, placement.apply((middle, -0.33 * size)), size, BAR_LAYER, placement.turn, anchor="middle", part=part
        ),
    )


def long_bar_length(room: float) -> float:
    """Return the length of the longest bar for `room` mm: whole mm, half a millimetre free at either end."""
    return float(math.floor(room - 1.0 + 1e-9))


def room_for_words(side: float, *, size: float = 2.0) -> float:
    """Return the length in mm that the words take in the longest bar along a `side` of a sheet, bare ends and all."""
    return text_width(both_units(long_bar_length(side)), size) + 2 * _GAP


def both_units(length: float) -> str:
    """Return a length as both rules read it: "267 mm = 10.512 in"."""
    return f"{length:g} mm = {length / MM_PER_INCH:.3f} in"
