"""Turn a text into its width and height, read straight from the tables of the embedded font.

Layout needs widths long before a writer is imported, and a font library costs more start-up than the few tables that
hold them: `head`, `hhea`, `hmtx`, `cmap`, `loca` and the box at the head of each glyph. All lengths come back in the
unit of `size` (mm). A character that the font lacks is drawn and measured as the font's missing glyph.
"""

from __future__ import annotations

import importlib.util
import struct
from functools import lru_cache
from pathlib import Path

from msgspec import Struct, field

FONT_FAMILY = "Source Sans Pro"
_FONT_FILES = {False: "SourceSansPro-Regular.ttf", True: "SourceSansPro-Bold.ttf"}


class Extent(Struct, frozen=True):
    """How far a text of one line reaches: `width` along the baseline, `low` and `high` from it (mm, up positive)."""

    width: float
    low: float
    high: float


class _FontTables(Struct):
    """The raw tables of one TrueType file, and the glyphs looked up so far as (advance, y_min, y_max) in em."""

    data: bytes
    tables: dict[str, int]
    units_per_em: int
    long_offsets: bool
    metric_count: int
    glyph_of: dict[int, int]
    glyphs: dict[str, tuple[float, float, float]] = field(default_factory=dict)

    def glyph(self, character: str) -> tuple[float, float, float]:
        """Return advance, lowest and highest y of `character` in em (0, 0 heights for a blank)."""
        known = self.glyphs.get(character)
        if known is None:
            known = self.glyphs[character] = self._read_glyph(self.glyph_of.get(ord(character), 0))
        return known

    def _read_glyph(self, index: int) -> tuple[float, float, float]:
        em = self.units_per_em
        metric = self.tables["hmtx"] + 4 * min(index, self.metric_count - 1)
        (advance,) = struct.unpack_from(">H", self.data, metric)
        start, end = self._outline_span(index)
        if start == end:
            return (advance / em, 0.0, 0.0)
        _, _, low, _, high = struct.unpack_from(">hhhhh", self.data, self.tables["glyf"] + start)
        return (advance / em, low / em, high / em)

    def _outline_span(self, index: int) -> tuple[int, int]:
        if self.long_offsets:
            return struct.unpack_from(">II", self.data, self.tables["loca"] + 4 * index)
        start, end = struct.unpack_from(">HH", self.data, self.tables["loca"] + 2 * index)
        return (2 * start, 2 * end)


def font_path(*, bold: bool = False) -> Path:
    """Return the TrueType file that texts are set in."""
    package = importlib.util.find_spec("font_source_sans_pro")
    if package is None or package.origin is None:
        raise FileNotFoundError("The package font-source-sans-pro is not installed; texts cannot be set without it.")
    return Path(package.origin).parent / "files" / _FONT_FILES[bold]


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the length of `text` along its baseline in mm, set at `size` mm (no kerning: writers use none)."""
    return text_extent(text, size, bold=bold).width


@lru_cache(maxsize=8192)
def text_extent(text: str, size: float, *, bold: bool = False) -> Extent:
    """Return how far `text` set at `size` mm reaches along and above its baseline."""
    if not text:
        return Extent(0.0, 0.0, 0.0)
    glyph = _font(bold).glyph
    glyphs = [glyph(character) for character in text]
    return Extent(
        size * sum(advance for advance, _, _ in glyphs),
        size * min(low for _, low, _ in glyphs),
        size * max(high for _, _, high in glyphs),
    )


def has_glyph(character: str, *, bold: bool = False) -> bool:
    """Tell whether the font can draw `character`."""
    return ord(character) in _font(bold).glyph_of


@lru_cache(maxsize=2)
def _font(bold: bool) -> _FontTables:
    """Return the tables of the regular or the bold face, read once."""
    data = font_path(bold=bold).read_bytes()
    (count,) = struct.unpack_from(">H", data, 4)
    records = struct.iter_unpack(">4sLLL", data[12 : 12 + 16 * count])
    tables = {tag.decode("ascii"): offset for tag, _, offset, _ in records}
    (units_per_em,) = struct.unpack_from(">H", data, tables["head"] + 18)
    (long_offsets,) = struct.unpack_from(">h", data, tables["head"] + 50)
    (metric_count,) = struct.unpack_from(">H", data, tables["hhea"] + 34)
    return _FontTables(data, tables, units_per_em, bool(long_offsets), metric_count, _read_cmap(data, tables["cmap"]))


def _read_cmap(data: bytes, cmap: int) -> dict[int, int]:
    """Return code point -> glyph index from the Unicode subtable of format 4 (the Basic Multilingual Plane)."""
    (count,) = struct.unpack_from(">H", data, cmap + 2)
    for platform, encoding, offset in struct.iter_unpack(">HHL", data[cmap + 4 : cmap + 4 + 8 * count]):
        (kind,) = struct.unpack_from(">H", data, cmap + offset)
        if kind == 4 and (platform, encoding) in {(3, 1), (0, 3), (0, 4)}:
            return _read_format_4(data, cmap + offset)
    raise ValueError("The embedded font has no Unicode character map of format 4.")


def _read_format_4(data: bytes, table: int) -> dict[int, int]:
    """Return code point -> glyph index of one format 4 subtable."""
    (doubled,) = struct.unpack_from(">H", data, table + 6)
    segments = doubled // 2
    row = f">{segments}H"
    ends = struct.unpack_from(row, data, table + 14)
    starts = struct.unpack_from(row, data, table + 16 + doubled)
    deltas = struct.unpack_from(row, data, table + 16 + 2 * doubled)
    ranges_at = table + 16 + 3 * doubled
    ranges = struct.unpack_from(row, data, ranges_at)
    glyph_of: dict[int, int] = {}
    for k, (start, end, delta, offset) in enumerate(zip(starts, ends, deltas, ranges, strict=True)):
        for code in range(start, min(end, 0xFFFE) + 1):
            glyph = code
            if offset:
                (glyph,) = struct.unpack_from(">H", data, ranges_at + 2 * k + offset + 2 * (code - start))
                if glyph == 0:
                    continue
            glyph_of[code] = (glyph + delta) & 0xFFFF
    return {code: glyph for code, glyph in glyph_of.items() if glyph}
