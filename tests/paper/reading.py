"""Turn a PDF back into what its pages show, by its operators alone: painted lines and texts, in mm of the page.

Nothing here knows the program that wrote the file. An operator that is not understood is an error, so that nothing on a
page is overlooked.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pikepdf

MM = 25.4 / 72.0
STEPS = 48
"""Chords for a cubic: at 1.5 m radius and 120 mm length they stray from the arc by 0.5 um."""

_DEEP = set("gjpqyQ,;/()[]|@_\u201c\u201d")
"""Letters that reach below the line."""

Point = tuple[float, float]
Points = Any  # an array of n points, shape (n, 2)
Window = tuple[float, float, float, float]


@dataclass(frozen=True)
class Ink:
    """A painted path: its `chains` of points, whether `closed`, its look, and the `window` it shows through."""

    chains: tuple[Points, ...]
    paint: str
    width: float
    dash: tuple[float, ...]
    grey: float
    window: Window | None

    @property
    def points(self) -> Points:
        """All points."""
        return np.concatenate(self.chains)

    @property
    def box(self) -> Window:
        """Left, bottom, right, top."""
        low, high = self.points.min(axis=0), self.points.max(axis=0)
        return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


@dataclass(frozen=True)
class Words:
    """A text: where its baseline starts and its direction, size and length in mm."""

    text: str
    start: Point
    angle: float
    size: float
    length: float
    bold: bool
    window: Window | None

    def corners(self) -> list[Point]:
        """The corners of the box of its letters; they reach as far as those of the font do, in parts of the size."""
        low, high = (0.25 if set(self.text) & _DEEP else 0.02), 0.75
        cosine, sine = math.cos(self.angle), math.sin(self.angle)
        return [
            (self.start[0] + along * cosine - up * sine, self.start[1] + along * sine + up * cosine)
            for along, up in (
                (0.0, -low * self.size),
                (self.length, -low * self.size),
                (self.length, high * self.size),
                (0.0, high * self.size),
            )
        ]


@dataclass
class Sheet:
    """A page: its `size` in mm, and what it shows in painting order."""

    size: Point
    ink: list[Ink] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)

    def lines(self, *, width: float, dash: tuple[float, ...] = ()) -> Iterator[Ink]:
        """Yield what is stroked in black at just this width and dash."""
        for ink in self.ink:
            if ink.paint == "S" and abs(ink.width - width) < 1e-6 and ink.dash == dash and ink.grey == 0.0:
                yield ink


@dataclass(frozen=True)
class _State:
    matrix: Any
    width: float = 1.0
    dash: tuple[float, ...] = ()
    stroke: float = 0.0
    fill: float = 0.0
    window: Window | None = None
    font: str = ""
    size: float = 0.0


def open_pdf(content: bytes) -> pikepdf.Pdf:
    """Return the file opened for reading."""
    return pikepdf.open(io.BytesIO(content))


def read_pages(content: bytes) -> list[Sheet]:
    """Return what every page of a file shows."""
    with open_pdf(content) as pdf:
        return [_Reader(page).read() for page in pdf.pages]


class _Font:
    """What a page's font says of its letters: text and width by code."""

    def __init__(self, font: Any) -> None:
        self.bold = "Bold" in str(font.BaseFont)
        self.first = int(font.FirstChar)
        self.widths = [float(width) for width in font.Widths]
        self.letters = _letters(font.ToUnicode.read_bytes().decode("ascii"))

    def read(self, codes: bytes) -> tuple[str, float]:
        """The text of some codes and its length in sizes."""
        return (
            "".join(self.letters[code] for code in codes),
            sum(self.widths[code - self.first] for code in codes) / 1000.0,
        )


def _letters(table: str) -> dict[int, str]:
    """Code -> letter from a ToUnicode map."""
    letters: dict[int, str] = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", table, re.DOTALL):
        for code, letter in re.findall(r"<(\w+)>\s*<(\w+)>", block):
            letters[int(code, 16)] = _utf16(letter)
    for block in re.findall(r"beginbfrange(.*?)endbfrange", table, re.DOTALL):
        for low, high, listed in re.findall(r"<(\w+)>\s*<(\w+)>\s*\[(.*?)\]", block, re.DOTALL):
            found = re.findall(r"<(\w+)>", listed)
            letters.update({int(low, 16) + k: _utf16(letter) for k, letter in enumerate(found)})
            assert len(found) == int(high, 16) - int(low, 16) + 1
        for low, high, letter in re.findall(r"<(\w+)>\s*<(\w+)>\s*<(\w+)>", block):
            for k in range(int(high, 16) - int(low, 16) + 1):
                letters[int(low, 16) + k] = chr(ord(_utf16(letter)) + k)
    return letters


def _utf16(hexadecimal: str) -> str:
    return bytes.fromhex(hexadecimal).decode("utf-16-be")


class _Reader:
    """Carries out the operators of one page."""

    def __init__(self, page: pikepdf.Page) -> None:
        left, bottom, right, top = (float(value) for value in page.MediaBox)
        assert (left, bottom) == (0.0, 0.0) and int(page.get("/Rotate", 0)) == 0 and "/UserUnit" not in page
        self.page = page
        self.sheet = Sheet((right * MM, top * MM))
        self.fonts = {name: _Font(font) for name, font in page.Resources.Font.items()}
        self.state = _State(np.array([[MM, 0.0], [0.0, MM], [0.0, 0.0]]))
        self.stack: list[_State] = []
        self.chains: list[list[tuple[float, ...]]] = []
        self.clipping = False
        self.text = self.state.matrix

    def read(self) -> Sheet:
        """Return what the page shows."""
        for operands, operator in pikepdf.parse_content_stream(self.page):
            name = str(operator)
            if name not in _OPERATORS:
                raise ValueError(f"The reader does not know the operator {name}.")
            _OPERATORS[name](self, operands)
        assert not self.stack and not self.chains
        return self.sheet

    def save(self, _: Any) -> None:
        self.stack.append(self.state)

    def restore(self, _: Any) -> None:
        self.state = self.stack.pop()

    def concatenate(self, operands: Any) -> None:
        self.state = replace(self.state, matrix=_times(operands, self.state.matrix))

    def look(self, **changes: Any) -> None:
        self.state = replace(self.state, **changes)

    def move(self, operands: Any) -> None:
        self.chains.append([_numbers(operands)])

    def line(self, operands: Any) -> None:
        self.chains[-1].append(_numbers(operands))

    def curve(self, operands: Any) -> None:
        (x, y), (to_x, to_y) = self.chains[-1][-1], _numbers(operands[4:])
        legs = np.array([(x, y), *_pairs(operands)])
        self.chains[-1] += [*map(tuple, _BERNSTEIN @ legs), (to_x, to_y)]

    def rectangle(self, operands: Any) -> None:
        x, y, w, h = _numbers(operands)
        self.chains.append([(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)])

    def close(self, _: Any) -> None:
        self.chains[-1].append(self.chains[-1][0])

    def clip(self, _: Any) -> None:
        self.clipping = True

    def paint(self, how: str) -> None:
        state = self.state
        points = np.array([point for chain in self.chains for point in chain]) @ state.matrix[:2] + state.matrix[2]
        chains = tuple(np.split(points, np.cumsum([len(chain) for chain in self.chains])[:-1]))
        self.chains = []
        if self.clipping:
            assert how == "n" and len(chains) == 1 and len(chains[0]) == 5 and state.window is None
            low, high = chains[0].min(axis=0), chains[0].max(axis=0)
            self.look(window=(float(low[0]), float(low[1]), float(high[0]), float(high[1])))
            self.clipping = False
        else:
            assert how != "n"
            scale = math.hypot(*state.matrix[0])
            grey = state.stroke if how == "S" else state.fill
            dash = tuple(round(length * scale, 6) for length in state.dash)
            self.sheet.ink.append(Ink(chains, how, state.width * scale, dash, grey, state.window))

    def begin_text(self, _: Any) -> None:
        self.text = self.state.matrix

    def text_matrix(self, operands: Any) -> None:
        self.text = _times(operands, self.state.matrix)

    def font(self, operands: Any) -> None:
        self.look(font=str(operands[0]), size=float(operands[1]))

    def show(self, operands: Any) -> None:
        font = self.fonts[self.state.font]
        text, sizes = font.read(bytes(operands[0]))
        scale = math.hypot(*self.text[0])
        angle = math.atan2(self.text[0][1], self.text[0][0])
        size = self.state.size * scale
        start = (float(self.text[2][0]), float(self.text[2][1]))
        self.sheet.words.append(Words(text, start, angle, size, sizes * size, font.bold, self.state.window))


def _numbers(operands: Any) -> tuple[float, ...]:
    return tuple(map(float, operands))


def _pairs(operands: Any) -> Points:
    return np.array(_numbers(operands)).reshape(-1, 2)


def _times(operands: Any, matrix: Any) -> Any:
    """First the matrix of the operands, then `matrix`."""
    own = _pairs(operands)
    moved = own @ matrix[:2]
    moved[2] += matrix[2]
    return moved


_T = np.linspace(0.0, 1.0, STEPS + 1)[1:-1]
_BERNSTEIN = np.column_stack(((1 - _T) ** 3, 3 * (1 - _T) ** 2 * _T, 3 * (1 - _T) * _T**2, _T**3))

_OPERATORS: dict[str, Callable[[_Reader, Any], None]] = {
    "q": _Reader.save,
    "Q": _Reader.restore,
    "cm": _Reader.concatenate,
    "w": lambda reader, operands: reader.look(width=float(operands[0])),
    "d": lambda reader, operands: reader.look(dash=tuple(float(length) for length in operands[0])),
    "G": lambda reader, operands: reader.look(stroke=float(operands[0])),
    "g": lambda reader, operands: reader.look(fill=float(operands[0])),
    "m": _Reader.move,
    "l": _Reader.line,
    "c": _Reader.curve,
    "re": _Reader.rectangle,
    "h": _Reader.close,
    "W": _Reader.clip,
    "n": lambda reader, _: reader.paint("n"),
    "S": lambda reader, _: reader.paint("S"),
    "f": lambda reader, _: reader.paint("f"),
    "f*": lambda reader, _: reader.paint("f"),
    "BT": _Reader.begin_text,
    "ET": lambda _reader, _: None,
    "Tm": _Reader.text_matrix,
    "Tf": _Reader.font,
    "Tj": _Reader.show,
}
