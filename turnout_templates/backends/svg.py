"""Turn a drawing into one SVG at full size, or a page of a document into an SVG of that page.

Width and height are stated in mm with a matching view box, arcs stay arcs, items are grouped by layer and carry the id
of their part. y points down in SVG, so every point is turned over once, on its way out. A page looks as it does in
the PDF: the same pieces in the same order, texts held to the widths that they were laid out with.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any
from xml.etree import ElementTree

import svgwrite
from msgspec.structs import replace
from svgwrite.base import Metadata
from svgwrite.container import Group
from svgwrite.path import Path
from svgwrite.text import Text

from turnout_templates.backends.pieces import SURVEY_EDGE, SURVEY_EDGE_GREY, SURVEY_LINE, cut_to_pieces, shown_in
from turnout_templates.drawing.bounds import bounds_of, text_corners
from turnout_templates.drawing.hatching import hatch_lines
from turnout_templates.drawing.items import Drawing, Fill, Item, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.marks import is_filled, mark_segments
from turnout_templates.drawing.text_metrics import FONT_FAMILY, text_width
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, LineSegment, Segment
from turnout_templates.sheets.pages import Document, Page, View

EDGE = 5.0
"""White left round a whole drawing, mm."""
NOT_FOR_PRINTING = (
    "This picture is at full size, for drawing programs and cutters. "
    "Use the PDF for printing: web browsers are known to print an SVG at another size."
)

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def write_svg(drawing: Drawing, title: str, description: str = "", metadata_text: str = "") -> bytes:
    """Return `drawing` at full size as an SVG file, `metadata_text` kept whole in its metadata.

    Raises ValueError for a number that is not finite and for a character that XML cannot hold.
    """
    box = bounds_of(drawing.items).grown(EDGE)
    described = f"{description}\n{NOT_FOR_PRINTING}".strip()
    svg = _new_svg((box.left, -box.top, box.width, box.height), title, described, metadata_text)
    for group in _Elements().layers(drawing.items):
        svg.add(group)
    return _bytes(svg)


def write_sheet_svg(document: Document, page: Page, metadata_text: str = "") -> bytes:
    """Return one page of `document` as an SVG file of the size of the page, `metadata_text` kept whole in its metadata.

    Raises ValueError as `write_svg` does.
    """
    title = f"{document.title}: {page.label}"
    svg = _new_svg((0.0, -page.height, page.width, page.height), title, NOT_FOR_PRINTING, metadata_text)
    elements = _Elements()
    whole = cut_to_pieces(document.drawing.items)
    for number, view in enumerate(page.views):
        pieces = whole if view.drawing is None else cut_to_pieces(view.drawing.items)
        shown = [pieces[index].item for index in shown_in(view, pieces)]
        _add_window(svg, view, number)
        svg.add(_view_group(elements, view, number, shown))
    for group in elements.layers(page.items):
        svg.add(group)
    return _bytes(svg)


def _new_svg(box: tuple[float, float, float, float], title: str, description: str, metadata_text: str) -> Any:
    """Return an empty SVG that shows `box` (left, top, width, height in mm, y down) at its full size."""
    _, _, width, height = box
    svg = svgwrite.Drawing(size=(f"{_number(width)}mm", f"{_number(height)}mm"), debug=False)
    svg["viewBox"] = " ".join(map(_number, box))
    svg.set_desc(title=_xml_text(title), desc=_xml_text(description))
    if metadata_text:
        svg.elements.insert(2, _TextMetadata(_xml_text(metadata_text)))
    return svg


class _TextMetadata(Metadata):  # type: ignore[misc]
    """A metadata element that holds plain text (the library's own one holds elements only)."""

    def __init__(self, text: str) -> None:
        self.xml = ElementTree.Element("metadata")
        self.xml.text = text


def _xml_text(text: str) -> str:
    """Return `text` if XML can hold it; raises ValueError where it cannot."""
    if (found := _NOT_XML.search(text)) is not None:
        raise ValueError(f"An SVG cannot hold the character U+{ord(found[0]):04X} of {text[:40]!r}.")
    return text


def _bytes(svg: Any) -> bytes:
    text: str = svg.tostring()
    return f'<?xml version="1.0" encoding="utf-8"?>\n{text}\n'.encode()


def _add_window(svg: Any, view: View, number: int) -> None:
    """Define the window of a view, in mm of the page."""
    clip = view.clip
    path = svg.defs.add(svg.clipPath(id=f"window-{number}"))
    path.add(
        Path(
            d=f"M{_point((clip.left, clip.bottom))}H{_number(clip.right)}V{_number(-clip.top)}H{_number(clip.left)}Z",
            debug=False,
        )
    )


def _view_group(elements: _Elements, view: View, number: int, shown: Sequence[Item]) -> Any:
    """Return the pieces of a view under its matrix, behind its window."""
    move = view.placement
    cosine, sine = math.cos(move.turn) * view.scale, math.sin(move.turn) * view.scale
    # With y down, a turn to the left is a turn to the right: the sines change sign, and so does the shift in y.
    matrix = ",".join(f"{value:.12f}" for value in (cosine, -sine, sine, cosine, move.dx, -move.dy))
    window = Group(debug=False, clip_path=f"url(#window-{number})")
    moved = window.add(Group(debug=False, transform=f"matrix({matrix})"))
    items = shown if view.scale == 1.0 else _surveyed(shown, view.scale)
    for group in elements.layers(items):
        moved.add(group)
    return window


def _surveyed(shown: Sequence[Item], scale: float) -> list[Item]:
    """Return items as a reduced view shows them: edges of areas in thin grey, then lines, nothing else."""
    edge, line = Stroke(SURVEY_EDGE / scale, (), SURVEY_EDGE_GREY), Stroke(SURVEY_LINE / scale)
    areas: list[Item] = [replace(item, fill=Fill(), stroke=edge) for item in shown if isinstance(item, RegionItem)]
    return areas + [replace(item, stroke=line) for item in shown if isinstance(item, PathItem)]


class _Elements:
    """Turns items into elements of one file, giving each id only once."""

    def __init__(self) -> None:
        self._taken: dict[str, int] = {}

    def layers(self, items: Iterable[Item]) -> Iterator[Any]:
        """Yield a group for each run of items of one layer, in drawing order, and in it one for each run of a part."""
        for layer, run in groupby(items, key=lambda item: item.layer):
            group = Group(debug=False, id=self._id(f"layer-{layer}"), class_="layer")
            for part, members in groupby(run, key=lambda item: item.part):
                holder = group.add(Group(debug=False, id=self._id(part))) if part else group
                for item in members:
                    for element in _elements(item):
                        holder.add(element)
            yield group

    def _id(self, name: str) -> str:
        """Return `name` made fit for an id; the second and later uses are numbered."""
        base = re.sub(r"[^\w.-]+", "-", name).strip("-") or "part"
        base = base if base[0].isalpha() else f"part-{base}"
        self._taken[base] = self._taken.get(base, 0) + 1
        return base if self._taken[base] == 1 else f"{base}--{self._taken[base]}"


def _elements(item: Item) -> Iterator[Any]:
    """Yield the elements that draw one item."""
    if isinstance(item, PathItem):
        yield Path(d=_path(item.segments), fill="none", debug=False, **_stroke(item.stroke))
    elif isinstance(item, RegionItem):
        yield from _region(item)
    elif isinstance(item, MarkItem):
        yield _mark(item)
    else:
        yield from _text(item)


def _region(item: RegionItem) -> Iterator[Any]:
    """Yield tint, hatch and outline of a region, as far as it has them."""
    edges, fill = " ".join(f"{_path(ring)}Z" for ring in item.rings), item.fill
    if fill.grey is not None:
        yield Path(d=edges, fill=_grey(fill.grey), fill_rule="evenodd", stroke="none", debug=False)
    if fill.hatch is not None:
        lines = hatch_lines(item.rings, fill.hatch, fill.hatch_angle)
        strokes = "".join(f"M{_point(start)}L{_point(end)}" for start, end in lines)
        if strokes:
            yield Path(d=strokes, fill="none", debug=False, **_stroke(fill.hatch_stroke))
    if item.stroke is not None:
        yield Path(d=edges, fill="none", debug=False, **_stroke(item.stroke))


def _mark(item: MarkItem) -> Any:
    """Return a mark: its lines, or its shape made solid."""
    shape = " ".join(_path(chain) for chain in mark_segments(item))
    if is_filled(item.shape):
        return Path(d=shape, fill=_grey(item.stroke.grey), stroke="none", debug=False)
    return Path(d=shape, fill="none", debug=False, **_stroke(item.stroke))


def _text(item: TextItem) -> Iterator[Any]:
    """Yield the white behind a text with a halo, then the text, held to the width it was laid out with."""
    if item.halo:
        corners = text_corners(item)
        yield Path(d="M" + "L".join(map(_point, corners)) + "Z", fill="#ffffff", stroke="none", debug=False)
    turn = _number(-math.degrees(item.angle))
    attributes: dict[str, str] = {
        "font_family": f"{FONT_FAMILY}, sans-serif",
        "font_size": _number(item.size),
        "text_anchor": item.anchor,
        "fill": _grey(item.grey),
        "transform": f"translate({_point(item.at)}) rotate({turn})",
        "textLength": _number(text_width(item.text, item.size, bold=item.bold)),
        "lengthAdjust": "spacingAndGlyphs",
    }
    if item.bold:
        attributes["font_weight"] = "bold"
    text = Text(_xml_text(item.text), debug=False, **attributes)
    text["xml:space"] = "preserve"
    yield text


def _stroke(stroke: Stroke) -> dict[str, str]:
    """Return the attributes of a stroke."""
    attributes = {"stroke": _grey(stroke.grey), "stroke_width": _number(stroke.width)}
    if stroke.dash:
        attributes["stroke_dasharray"] = ",".join(map(_number, stroke.dash))
    return attributes


def _grey(grey: float) -> str:
    level = round(255 * min(1.0, max(0.0, grey)))
    return f"#{level:02x}{level:02x}{level:02x}"


def _path(segments: Sequence[Segment]) -> str:
    """Return the path data of a chain of segments."""
    data = [f"M{_point(segments[0].start)}"]
    for segment in segments:
        if isinstance(segment, LineSegment):
            data.append(f"L{_point(segment.end)}")
        elif isinstance(segment, ArcSegment):
            data += _arc(segment)
        else:
            data.append(f"C{_point(segment.control_1)} {_point(segment.control_2)} {_point(segment.end)}")
    return "".join(data)


def _arc(arc: ArcSegment) -> Iterator[str]:
    """Yield an arc as arc commands of at most half a turn each (y down: what turned left turns right)."""
    count = max(1, math.ceil(abs(arc.sweep) / math.pi - 1e-9))
    radius = _number(arc.radius)
    for k in range(1, count + 1):
        end = arc.point_at(arc.start_angle + arc.sweep * k / count)
        yield f"A{radius} {radius} 0 0 {0 if arc.sweep > 0 else 1} {_point(end)}"


def _point(point: Point) -> str:
    """Return a point with y turned over."""
    return f"{_number(point[0])},{_number(-point[1])}"


def _number(value: float) -> str:
    """Return a number to 1e-5 mm; raises ValueError where it is not finite."""
    if not math.isfinite(value):
        raise ValueError(f"A length of {value} cannot be drawn.")
    text = f"{value:.5f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
