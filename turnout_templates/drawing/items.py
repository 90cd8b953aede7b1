"""The display list: what is to be drawn, in millimetres, y up, with no word of what it stands for.

A drawing is a flat tuple of items. Each carries the name of its layer, the style that says how it looks and the id of
the part that it belongs to, so that a writer can group and a reader can find them. Curves are the exact primitives of
`geometry.segments`. The list is also the recording that tests read: bounds, dumps and writers all come from it.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct, field

from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import Segment


class Stroke(Struct, frozen=True):
    """A line's look: `width` and `dash` (on and off lengths; empty is solid) in mm, `grey` from 0 black to 1 white."""

    width: float
    dash: tuple[float, ...] = ()
    grey: float = 0.0


class Fill(Struct, frozen=True):
    """A region's look: `grey` tint from 0 black to 1 white, or None for no tint; `hatch` spacing in mm, or None."""

    grey: float | None = None
    hatch: float | None = None
    hatch_angle: float = 0.7853981633974483
    hatch_stroke: Stroke = Stroke(0.05)


class PathItem(Struct, frozen=True):
    """A line drawn along `segments`, each starting where the one before it ended."""

    segments: tuple[Segment, ...]
    stroke: Stroke
    layer: str
    part: str = ""


class RegionItem(Struct, frozen=True):
    """An area bounded by closed `rings` (even-odd), filled by `fill`, and outlined by `stroke` unless that is None."""

    rings: tuple[tuple[Segment, ...], ...]
    fill: Fill
    stroke: Stroke | None
    layer: str
    part: str = ""


class TextItem(Struct, frozen=True):
    """A line of text of cap height about 0.7 `size` mm at `at`, its baseline turned by `angle` radians.

    `anchor` says which part of the text lies on `at`: "start", "middle" or "end" along the baseline. `halo` puts
    white behind the letters, so that they can be read across lines.
    """

    text: str
    at: Point
    size: float
    layer: str
    angle: float = 0.0
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False
    grey: float = 0.0
    halo: bool = False
    part: str = ""


class MarkItem(Struct, frozen=True):
    """A small symbol of fixed size: `shape` from the table in `drawing.marks`, at `at`, turned by `angle` radians."""

    shape: str
    at: Point
    size: float
    layer: str
    angle: float = 0.0
    stroke: Stroke = Stroke(0.18)
    part: str = ""


Item = PathItem | RegionItem | TextItem | MarkItem


class KeepClear(Struct, frozen=True):
    """A disc that a seam between sheets should stay away from: `at` and `radius` in mm, `weight` of crossing it."""

    at: Point
    radius: float
    weight: float = 1.0


class Anchor(Struct, frozen=True):
    """A named point that people measure from when sheets are joined: `name` as printed, `at` in mm."""

    name: str
    at: Point


class Drawing(Struct, frozen=True):
    """The whole drawing at full size: its `items` in drawing order, and what placing sheets must know of it."""

    items: tuple[Item, ...]
    keep_clear: tuple[KeepClear, ...] = ()
    anchors: tuple[Anchor, ...] = field(default=())
