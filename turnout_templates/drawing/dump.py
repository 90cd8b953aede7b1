"""Turn items into plain text, one line per item, to be read and compared in a diff.

Numbers are written to 1e-4 mm (angles to 1e-6 rad) without trailing zeros, so that the same drawing gives the same
text on every machine. Styles are written out: the dump is the whole item, and nothing but the item.
"""

from __future__ import annotations

from collections.abc import Iterable

from turnout_templates.drawing.items import Fill, Item, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, LineSegment, Segment


def dump_items(items: Iterable[Item]) -> str:
    """Return one line of text for each of `items`, in order, each ended by a newline."""
    return "".join(f"{dump_item(item)}\n" for item in items)


def dump_item(item: Item) -> str:
    """Return `item` as one line: kind, layer, part, geometry, look."""
    if isinstance(item, PathItem):
        return f"path {_owner(item)} {_chain(item.segments)} {_stroke(item.stroke)}"
    if isinstance(item, RegionItem):
        rings = " + ".join(_chain(ring) for ring in item.rings)
        return f"region {_owner(item)} {rings} {_fill(item.fill)} {_stroke(item.stroke)}"
    if isinstance(item, TextItem):
        return _dump_text(item)
    return _dump_mark(item)


def _dump_text(item: TextItem) -> str:
    look = "".join(f" {name}" for name, on in (("bold", item.bold), ("halo", item.halo)) if on)
    grey = f" grey={number(item.grey)}" if item.grey else ""
    return (
        f"text {_owner(item)} {item.text!r} at {_point(item.at)} size={number(item.size)} "
        f"angle={_angle(item.angle)} {item.anchor}{look}{grey}"
    )


def _dump_mark(item: MarkItem) -> str:
    return (
        f"mark {_owner(item)} {item.shape} at {_point(item.at)} size={number(item.size)} "
        f"angle={_angle(item.angle)} {_stroke(item.stroke)}"
    )


def number(value: float, digits: int = 4) -> str:
    """Return `value` rounded to `digits` decimals, without trailing zeros or a minus before zero."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}"
    return "0" if text == "-0" else text


def _angle(value: float) -> str:
    return number(value, 6)


def _owner(item: Item) -> str:
    return f"[{item.layer}/{item.part}]" if item.part else f"[{item.layer}]"


def _point(point: Point) -> str:
    return f"({number(point[0])} {number(point[1])})"


def _chain(segments: tuple[Segment, ...]) -> str:
    return " ".join(_segment(segment) for segment in segments)


def _segment(segment: Segment) -> str:
    if isinstance(segment, LineSegment):
        return f"line {_point(segment.start)}{_point(segment.end)}"
    if isinstance(segment, ArcSegment):
        return (
            f"arc {_point(segment.centre)} r={number(segment.radius)} "
            f"from={_angle(segment.start_angle)} sweep={_angle(segment.sweep)}"
        )
    controls = (segment.start, segment.control_1, segment.control_2, segment.end)
    return "cubic " + "".join(_point(point) for point in controls)


def _stroke(stroke: Stroke | None) -> str:
    if stroke is None:
        return "no-stroke"
    dash = f" dash={','.join(number(length) for length in stroke.dash)}" if stroke.dash else ""
    grey = f" grey={number(stroke.grey)}" if stroke.grey else ""
    return f"stroke={number(stroke.width)}{dash}{grey}"


def _fill(fill: Fill) -> str:
    parts = [f"fill={number(fill.grey)}"] if fill.grey is not None else []
    if fill.hatch is not None:
        parts.append(f"hatch={number(fill.hatch)}@{_angle(fill.hatch_angle)}:{_stroke(fill.hatch_stroke)}")
    return " ".join(parts) if parts else "no-fill"
