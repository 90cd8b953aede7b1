"""Turn a laid-out document into the bytes of a PDF at exact size.

Each piece of the drawing is written once as PDF operators, in mm of the drawing, and every page joins the strings of
the pieces that it shows under one matrix: what two sheets share is the same number in both. The file asks viewers not
to scale, embeds its font and its attachments, and is the same, byte for byte, on every run.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec import Struct
from reportlab import rl_config
from reportlab.pdfbase import pdfdoc, pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from turnout_templates.backends.pieces import (
    SURVEY_EDGE,
    SURVEY_EDGE_GREY,
    SURVEY_LINE,
    Piece,
    Pieces,
    arc_cubics,
    cut_to_pieces,
    shown_in,
)
from turnout_templates.drawing.bounds import text_corners
from turnout_templates.drawing.hatching import hatch_lines
from turnout_templates.drawing.items import MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.marks import is_filled, mark_segments
from turnout_templates.drawing.text_metrics import font_path, text_width
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import ArcSegment, LineSegment, Segment
from turnout_templates.sheets.pages import Document, Page, View

POINTS_PER_MM = 72.0 / 25.4
_FONT_NAMES = {False: "Label", True: "LabelBold"}


class _Operators(Struct, frozen=True):
    """A piece as PDF operators: the `look` that must be set, the `drawing`, and its bare `edges` for a survey."""

    look: str
    drawing: str
    edges: str
    is_area: bool = False


def write_pdf(document: Document) -> bytes:
    """Return `document` as the bytes of a PDF file; raises ValueError for a number that is not finite."""
    buffer = io.BytesIO()
    with _plain_streams():
        canvas = _new_canvas(buffer, document)
        writer = _Writer(canvas)
        drawings = _Drawings(document)
        for number, page in enumerate(document.pages):
            _write_page(canvas, writer, page, drawings)
            _name_page(canvas, number, page)
            canvas.showPage()
        _attach(canvas, document.attachments)
        canvas.save()
    return buffer.getvalue()


class _Drawings:
    """The drawings that views look at, each cut to pieces once, with the operators of the pieces written so far."""

    def __init__(self, document: Document) -> None:
        self._whole = document.drawing
        self._known: dict[int, tuple[Pieces, dict[int, _Operators]]] = {}

    def of(self, view: View) -> tuple[Pieces, dict[int, _Operators]]:
        """Return the pieces of what a view looks at, and their operators by index."""
        drawing = view.drawing or self._whole
        if (known := self._known.get(id(drawing))) is None:
            known = self._known[id(drawing)] = (cut_to_pieces(drawing.items), {})
        return known


class _plain_streams:
    """Streams as plain compressed bytes while in use: smaller and faster than text-safe ones."""

    def __enter__(self) -> None:
        self.before = rl_config.useA85
        rl_config.useA85 = 0

    def __exit__(self, *_: object) -> None:
        rl_config.useA85 = self.before


def _new_canvas(buffer: io.BytesIO, document: Document) -> Canvas:
    """Return an empty canvas with the document's facts, its fonts registered and scaling asked off."""
    for bold, name in _FONT_NAMES.items():
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(font_path(bold=bold))))
    first = document.pages[0]
    canvas = Canvas(
        buffer,
        pagesize=(first.width * POINTS_PER_MM, first.height * POINTS_PER_MM),
        invariant=1,
        pageCompression=1,
        initialFontName=_FONT_NAMES[False],
        pdfVersion=(1, 6),
        lang="en",
    )
    canvas.setTitle(document.title)
    canvas.setSubject(document.subject)
    canvas.setKeywords(", ".join(document.keywords))
    canvas.setAuthor("")
    canvas.setCreator(document.version)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.showOutline()
    return canvas


def _write_page(canvas: Canvas, writer: _Writer, page: Page, drawings: _Drawings) -> None:
    """Add the content of one page to the canvas."""
    canvas.setPageSize((page.width * POINTS_PER_MM, page.height * POINTS_PER_MM))
    code = [f"q {POINTS_PER_MM:.12f} 0 0 {POINTS_PER_MM:.12f} 0 0 cm"]
    for view in page.views:
        code += _view_code(writer, view, *drawings.of(view))
    own = (writer.operators(piece) for piece in cut_to_pieces(page.items))
    code += _joined(own)
    canvas._code += [*code, "Q"]


def _view_code(writer: _Writer, view: View, pieces: Pieces, written: dict[int, _Operators]) -> Iterable[str]:
    """Return the operators of one view: its window, its matrix, its pieces."""
    clip, move = view.clip, view.placement
    cosine, sine = math.cos(move.turn) * view.scale, math.sin(move.turn) * view.scale
    code = [
        f"q {_pair((clip.left, clip.bottom))} {_pair((clip.width, clip.height))} re W n",
        f"{cosine:.12f} {sine:.12f} {-sine:.12f} {cosine:.12f} {move.dx:.9f} {move.dy:.9f} cm",
    ]
    shown = []
    for index in shown_in(view, pieces):
        if (operators := written.get(index)) is None:
            operators = written[index] = writer.operators(pieces[index])
        shown.append(operators)
    if view.scale == 1.0:
        code += _joined(shown)
    else:
        code += _survey_code(shown, view.scale)
    return [*code, "Q"]


def _survey_code(shown: Sequence[_Operators], scale: float) -> list[str]:
    """Return the operators of a reduced view: the edges of areas in thin grey, then the lines over them."""
    areas = [f"{operators.edges} S" for operators in shown if operators.edges and operators.is_area]
    lines = [f"{operators.edges} S" for operators in shown if operators.edges and not operators.is_area]
    return [
        f"{SURVEY_EDGE / scale:.4f} w [] 0 d {SURVEY_EDGE_GREY:g} G",
        *areas,
        f"{SURVEY_LINE / scale:.4f} w 0 G",
        *lines,
    ]


def _joined(shown: Iterable[_Operators]) -> list[str]:
    """Return the operators one after the other, each look set only where it changes."""
    code: list[str] = []
    look = ""
    for operators in shown:
        if operators.look and operators.look != look:
            look = operators.look
            code.append(look)
        code.append(operators.drawing)
    return code


def _name_page(canvas: Canvas, number: int, page: Page) -> None:
    """Give the page its label, its destination and its line in the outline."""
    canvas.addPageLabel(number, prefix=page.label)
    canvas.bookmarkPage(f"page{number}")
    canvas.addOutlineEntry(page.outline_title, f"page{number}", level=0)


def _attach(canvas: Canvas, attachments: Sequence[tuple[str, bytes]]) -> None:
    """Embed the attachments, sorted by name as the name tree asks."""
    if not attachments:
        return
    names: list[Any] = []
    for name, content in sorted(attachments):
        stream = pdfdoc.PDFStream(content=content, filters=[pdfdoc.PDFZCompress])
        stream.dictionary["Type"] = pdfdoc.PDFName("EmbeddedFile")
        stream.dictionary["Params"] = pdfdoc.PDFDictionary({"Size": len(content)})
        spec = pdfdoc.PDFDictionary(
            {
                "Type": pdfdoc.PDFName("Filespec"),
                "F": pdfdoc.PDFString(name),
                "UF": pdfdoc.PDFString(name),
                "EF": pdfdoc.PDFDictionary({"F": canvas._doc.Reference(stream)}),
            }
        )
        names += [pdfdoc.PDFString(name), canvas._doc.Reference(spec)]
    tree = pdfdoc.PDFDictionary({"Names": pdfdoc.PDFArray(names)})
    canvas._doc.Catalog.Names = pdfdoc.PDFDictionary({"EmbeddedFiles": canvas._doc.Reference(tree)})


class _Writer:
    """Turns pieces into operators for one canvas (which numbers the letters of the fonts it embeds)."""

    def __init__(self, canvas: Canvas) -> None:
        self._document = canvas._doc

    def operators(self, piece: Piece) -> _Operators:
        """Return the operators of one piece."""
        item = piece.item
        if isinstance(item, PathItem):
            edges = _path(item.segments)
            return _Operators(_stroke_look(item.stroke, piece.before), f"{edges} S", edges)
        if isinstance(item, RegionItem):
            return _region(item)
        if isinstance(item, MarkItem):
            return _mark(item)
        return _Operators("", self._text(item), "")

    def _text(self, item: TextItem) -> str:
        """Return the operators of a text: white behind it where it has a halo, then its letters."""
        font = pdfmetrics.getFont(_FONT_NAMES[item.bold])
        back = text_width(item.text, item.size, bold=item.bold) * {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
        cosine, sine = math.cos(item.angle), math.sin(item.angle)
        x, y = item.at[0] - back * cosine, item.at[1] - back * sine
        code = [f"q {item.grey:g} g"]
        if item.halo:
            corners = text_corners(item)
            code.insert(0, f"q 1 g {_pair(corners[0])} m {' '.join(f'{_pair(c)} l' for c in corners[1:])} f Q")
        code.append(f"BT {cosine:.9f} {sine:.9f} {-sine:.9f} {cosine:.9f} {_pair((x, y))} Tm")
        for subset, chunk in font.splitString(item.text, self._document):
            code.append(f"{font.getSubsetInternalName(subset, self._document)} {item.size:g} Tf <{chunk.hex()}> Tj")
        return " ".join([*code, "ET Q"])


def _region(item: RegionItem) -> _Operators:
    """Return the operators of a region: tint, then hatch, then outline."""
    edges = " ".join(f"{_path(ring)} h" for ring in item.rings)
    fill, code = item.fill, []
    if fill.grey is not None:
        code.append(f"{fill.grey:g} g {edges} f*")
    if fill.hatch is not None:
        lines = hatch_lines(item.rings, fill.hatch, fill.hatch_angle)
        strokes = " ".join(f"{_pair(start)} m {_pair(end)} l" for start, end in lines)
        code.append(f"q {_stroke_look(fill.hatch_stroke, 0.0)} {strokes} S Q" if lines else "")
    if item.stroke is not None:
        code.append(f"{edges} S")
    look = _stroke_look(item.stroke, 0.0) if item.stroke is not None else ""
    return _Operators(look, " ".join(code), edges, is_area=True)


def _mark(item: MarkItem) -> _Operators:
    """Return the operators of a mark: its lines, or its shape made solid."""
    paint = f"{item.stroke.grey:g} g f" if is_filled(item.shape) else "S"
    shape = " ".join(_path(chain) for chain in mark_segments(item))
    return _Operators(_stroke_look(item.stroke, 0.0), f"{shape} {paint}", "")


def _stroke_look(stroke: Stroke, before: float) -> str:
    """Return the operators that set a stroke; `before` is the length of line already drawn, for its dashes."""
    dash = " ".join(f"{length:g}" for length in stroke.dash)
    phase = before % (sum(stroke.dash) * (1 + len(stroke.dash) % 2)) if stroke.dash else 0.0
    return f"{stroke.width:g} w [{dash}] {phase:.4g} d {stroke.grey:g} G"


def _path(segments: Sequence[Segment]) -> str:
    """Return the operators that lay down a chain of segments, not yet painted."""
    code = [f"{_pair(segments[0].start)} m"]
    for segment in segments:
        if isinstance(segment, LineSegment):
            code.append(f"{_pair(segment.end)} l")
            continue
        cubics = arc_cubics(segment) if isinstance(segment, ArcSegment) else (segment,)
        code += [f"{_pair(c.control_1)} {_pair(c.control_2)} {_pair(c.end)} c" for c in cubics]
    return " ".join(code)


def _pair(point: Point) -> str:
    """Return a point as two numbers to 1e-5 mm; raises ValueError where one is not finite."""
    x, y = point
    if not (math.isfinite(x) and math.isfinite(y)):
        raise ValueError(f"A point at ({x}, {y}) cannot be drawn.")
    return f"{x:.5f} {y:.5f}"
