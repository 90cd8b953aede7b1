"""Turn titled blocks of sentences and table rows into texts set in columns, page after page, never overfull."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.sheets.setting import LEADING, wrapped_lines

BLOCK_LAYER = "tables"
TEXT_SIZE = 2.8
TITLE_SIZE = 3.6
_CELL_GAP = 3.0
_BLOCK_GAP = 3.0


@dataclass(frozen=True, slots=True)
class TextBlock:
    """A titled block: each of its `rows` is a sentence, wrapped, or the cells of one row of a table."""

    title: str
    rows: tuple[str | tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class _Line:
    """Texts that share a baseline, as (x from the left of the column, text), with the line's size and weight."""

    texts: tuple[tuple[float, str], ...]
    size: float = TEXT_SIZE
    bold: bool = False
    before: float = 0.0

    @property
    def height(self) -> float:
        """What the line takes of the column, mm."""
        return self.size * LEADING + self.before


def set_blocks(blocks: Sequence[TextBlock], columns: Iterator[tuple[int, Box]]) -> list[tuple[int, TextItem]]:
    """Return all texts of `blocks` as (page index, text), filling `columns`, an endless run of (page index, box).

    A title is kept with the first row under it. All boxes are of one width, mm.
    """
    page, box = next(columns)
    y = box.top
    items: list[tuple[int, TextItem]] = []
    for group in _groups(blocks, box.width):
        needed = sum(line.height for line in group)
        if y - needed < box.bottom and y < box.top:
            page, box = next(columns)
            y = box.top
        for line in group:
            if y - line.height < box.bottom and y < box.top:
                page, box = next(columns)
                y = box.top
            y -= line.height if y < box.top else line.size * LEADING
            baseline = y + line.size * (LEADING - 1.0)
            items += [
                (page, TextItem(text, (box.left + x, baseline), line.size, BLOCK_LAYER, bold=line.bold))
                for x, text in line.texts
            ]
    return items


def _groups(blocks: Sequence[TextBlock], width: float) -> Iterator[list[_Line]]:
    """Yield the lines that are kept together: a row, the first one with its title."""
    for block in blocks:
        titles = wrapped_lines(block.title, width, TITLE_SIZE, bold=True)
        heads = [_Line(((0.0, line),), TITLE_SIZE, True) for line in titles]
        heads[0] = _Line(heads[0].texts, TITLE_SIZE, True, _BLOCK_GAP)
        edges = _cell_edges([row for row in block.rows if not isinstance(row, str)], width)
        for row in block.rows:
            yield [*heads, *_row_lines(row, edges, width)]
            heads = []
        if heads:
            yield heads


def _cell_edges(rows: Sequence[tuple[str, ...]], width: float) -> list[float]:
    """Return the left edge of each column of a table: as wide as its longest cell, at most its fair share."""
    count = max((len(row) for row in rows), default=0)
    if not count:
        return []
    natural = [max(text_width(row[k], TEXT_SIZE) if k < len(row) else 0.0 for row in rows) for k in range(count)]
    spare = width - _CELL_GAP * (count - 1)
    if sum(natural) > spare:
        fair = spare / count
        saved = sum(fair - wide for wide in natural if wide < fair)
        large = sum(1 for wide in natural if wide >= fair)
        natural = [wide if wide < fair else fair + saved / large for wide in natural]
    edges, x = [], 0.0
    for wide in natural:
        edges.append(x)
        x += wide + _CELL_GAP
    return [*edges, min(x, width + _CELL_GAP)]


def _row_lines(row: str | tuple[str, ...], edges: Sequence[float], width: float) -> list[_Line]:
    """Return the lines of one row: a wrapped sentence, or cells wrapped side by side."""
    if isinstance(row, str):
        return [_Line(((0.0, line),)) for line in wrapped_lines(row, width, TEXT_SIZE)]
    cells = [wrapped_lines(cell, _cell_width(edges, k, width), TEXT_SIZE) for k, cell in enumerate(row)]
    tallest = max((len(cell) for cell in cells), default=0)
    return [
        _Line(tuple((edges[k], cell[n]) for k, cell in enumerate(cells) if n < len(cell) and cell[n]))
        for n in range(tallest)
    ]


def _cell_width(edges: Sequence[float], index: int, width: float) -> float:
    """Return the width of a column; the last one takes what is left. A hair more, so that an exact fit is one."""
    right = width if index == len(edges) - 2 else edges[index + 1] - _CELL_GAP
    return right - edges[index] + 1e-6
