"""Turn titled blocks of sentences and table rows into texts set in columns, page after page, never overfull."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.sheets.setting import LEADING, wrapped_lines

BLOCK_LAYER = "tables"
TEXT_SIZES = (2.8, 2.6, 2.4, 2.2)
"""Sizes of text, mm, the largest first: 8, 7.4, 6.8 and 6.2 pt. A smaller one is taken where it saves a page."""
_TITLE = 1.28  # size of a title in parts of the text's
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
    size: float
    bold: bool = False
    before: float = 0.0

    @property
    def height(self) -> float:
        """What the line takes of the column, mm."""
        return self.size * LEADING + self.before


Columns = Callable[[], Iterator[tuple[int, Box]]]
"""Begins an endless run of (page index, box) to be filled, all boxes of one width, mm."""


def set_blocks(blocks: Sequence[TextBlock], *ways: Columns) -> tuple[int, list[tuple[int, TextItem]]]:
    """Return (index of the way taken, all texts of `blocks` as (page index, text)), on the fewest pages.

    Among `ways` to fill columns that need as few pages, the one with whole tables, then the largest type, then the
    first is taken. A title is kept with the first row under it, and a table that fits a column whole in one.
    """
    tried = (
        (index, _set_in_size(blocks, columns(), size, whole_tables=whole))
        for whole in (True, False)
        for size in TEXT_SIZES
        for index, columns in enumerate(ways)
    )
    return min(tried, key=lambda made: last_page(made[1]))


def last_page(texts: Sequence[tuple[int, TextItem]]) -> int:
    """Return the greatest page index of `texts`, 0 where there are none."""
    return max((page for page, _ in texts), default=0)


def _set_in_size(
    blocks: Sequence[TextBlock], columns: Iterator[tuple[int, Box]], size: float, *, whole_tables: bool
) -> list[tuple[int, TextItem]]:
    """Return all texts of `blocks` set in `size` mm."""
    page, box = next(columns)
    y = box.top
    items: list[tuple[int, TextItem]] = []
    for group in _groups(blocks, box, size, whole_tables=whole_tables):
        if y - _height(group) < box.bottom and y < box.top:
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


def _groups(blocks: Sequence[TextBlock], column: Box, size: float, *, whole_tables: bool) -> Iterator[list[_Line]]:
    """Yield the lines that are kept together: a row, the first one with its title; or a whole table if it fits."""
    width = column.width
    for block in blocks:
        titles = wrapped_lines(block.title, width, _TITLE * size, bold=True)
        heads = [_Line(((0.0, line),), _TITLE * size, True) for line in titles]
        heads[0] = _Line(heads[0].texts, _TITLE * size, True, _BLOCK_GAP)
        cells = [row for row in block.rows if not isinstance(row, str)]
        edges = _cell_edges(cells, width, size)
        rows = [_row_lines(row, edges, width, size) for row in block.rows] or [[]]
        groups = [[*heads, *rows[0]], *rows[1:]]
        table = [line for group in groups for line in group]
        if whole_tables and len(cells) == len(block.rows) and _height(table) <= column.height:
            groups = [table]
        yield from groups


def _height(lines: Sequence[_Line]) -> float:
    return sum(line.height for line in lines)


def _cell_edges(rows: Sequence[tuple[str, ...]], width: float, size: float) -> list[float]:
    """Return the left edge of each column of a table, and of one more: as wide as their cells or their fair share."""
    count = max((len(row) for row in rows), default=0)
    if not count:
        return []
    natural = [max(text_width(row[k], size) if k < len(row) else 0.0 for row in rows) for k in range(count)]
    edges = [0.0]
    for wide in _shared_out(natural, width - _CELL_GAP * (count - 1)):
        edges.append(edges[-1] + wide + _CELL_GAP)
    return edges


def _shared_out(natural: Sequence[float], room: float) -> list[float]:
    """Return widths that fit `room`: narrow columns keep theirs, and the wide ones share what is left evenly."""
    narrow: set[int] = set()
    while True:
        wide = [k for k in range(len(natural)) if k not in narrow]
        left = room - sum(natural[k] for k in narrow)
        fair = left / len(wide) if wide else 0.0
        more = {k for k in wide if natural[k] <= fair}
        if not more:
            return [natural[k] if k in narrow else fair for k in range(len(natural))]
        narrow |= more


def _row_lines(row: str | tuple[str, ...], edges: Sequence[float], width: float, size: float) -> list[_Line]:
    """Return the lines of one row: a wrapped sentence, or cells wrapped side by side."""
    if isinstance(row, str):
        return [_Line(((0.0, line),), size) for line in wrapped_lines(row, width, size)]
    cells = [wrapped_lines(cell, _cell_width(edges, k, width), size) for k, cell in enumerate(row)]
    tallest = max((len(cell) for cell in cells), default=0)
    return [
        _Line(tuple((edges[k], cell[n]) for k, cell in enumerate(cells) if n < len(cell) and cell[n]), size)
        for n in range(tallest)
    ]


def _cell_width(edges: Sequence[float], index: int, width: float) -> float:
    """Return the width of a column; the last one takes what is left. A hair more, so that an exact fit is one."""
    right = width if index == len(edges) - 2 else edges[index + 1] - _CELL_GAP
    return right - edges[index] + 1e-6
