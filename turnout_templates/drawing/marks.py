"""Turn a mark (shape, place, size, turn) into the lines and arcs that draw it.

Every shape is stated once, centred on the origin and of unit size: `size` is the full width of the symbol in mm. A
writer draws the chains it gets and asks `is_filled` whether to blacken them; it knows no shape by name.
"""

from __future__ import annotations

import math

from turnout_templates.drawing.items import MarkItem
from turnout_templates.geometry.pose import Placement, Point
from turnout_templates.geometry.segments import ArcSegment, LineSegment, Segment, polyline

Chain = tuple[Segment, ...]
Shape = tuple[Chain, ...]

_REGISTRATION_CIRCLE = 0.6  # diameter of the circle against the length of the cross lines; ours
_FILLED = frozenset({"dot"})


def _circle(diameter: float) -> Chain:
    return (ArcSegment((0.0, 0.0), diameter / 2, 0.0, math.tau),)


def _line(x: float, y: float, to_x: float, to_y: float) -> Chain:
    return (LineSegment((x, y), (to_x, to_y)),)


def _closed(*points: Point) -> Chain:
    return polyline(points, closed=True)


_PLUS: Shape = (_line(-0.5, 0.0, 0.5, 0.0), _line(0.0, -0.5, 0.0, 0.5))
_ROOT_3_4 = math.sqrt(3.0) / 4

SHAPES: dict[str, Shape] = {
    "cross": _PLUS,
    "saltire": (_line(-0.5, -0.5, 0.5, 0.5), _line(-0.5, 0.5, 0.5, -0.5)),
    "registration": (_circle(_REGISTRATION_CIRCLE), *_PLUS),
    "control": (_closed((-0.3, -0.3), (0.3, -0.3), (0.3, 0.3), (-0.3, 0.3)), *_PLUS),
    "dot": (_circle(1.0),),
    "ring": (_circle(1.0),),
    "square": (_closed((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)),),
    # An equilateral triangle of side 1 that points along +x, its centroid on the point it marks.
    "triangle": (_closed((2 / 3 * 2 * _ROOT_3_4, 0.0), (-2 / 3 * _ROOT_3_4, 0.5), (-2 / 3 * _ROOT_3_4, -0.5)),),
    "tick": (_line(0.0, -0.5, 0.0, 0.5),),
    "slash": (_line(-0.5, -0.5, 0.5, 0.5),),
    "diamond": (_closed((0.5, 0.0), (0.0, 0.5), (-0.5, 0.0), (0.0, -0.5)),),
    # The tip of the arrow lies on the point it marks; it points along +x.
    "arrow": (
        _line(-1.0, 0.0, 0.0, 0.0),
        (LineSegment((-0.35, 0.18), (0.0, 0.0)), LineSegment((0.0, 0.0), (-0.35, -0.18))),
    ),
}


def mark_segments(item: MarkItem) -> Shape:
    """Return the chains of segments that draw `item`, in mm, where the item lies.

    Raises ValueError for a shape that is not in the table, naming those that are.
    """
    shape = SHAPES.get(item.shape)
    if shape is None:
        raise ValueError(f'There is no mark "{item.shape}". Marks are: {", ".join(sorted(SHAPES))}.')
    placement = Placement(item.angle, item.at[0], item.at[1])
    return tuple(tuple(segment.scaled(item.size).placed(placement) for segment in chain) for chain in shape)


def is_filled(shape: str) -> bool:
    """Tell whether the marks of this shape are solid."""
    return shape in _FILLED
