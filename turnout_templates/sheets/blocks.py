"""Turn a titled block of sentences and table rows into lines of text, as wide as what its cells hold asks for.

A page of text is a grid of narrow columns, of which a block takes one or several side by side: sentences as many as the
eye follows back easily, tables as many as they need for one line a row, or fewer where that would waste paper. No word
is broken that fits the page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.sheets.setting import LEADING, wrapped_lines

BLOCK_GAP = 3.0
"""White between blocks, mm."""
CONTINUED = "continued"
"""The part that texts belong to which repeat a heading where a block goes on in another place."""
_TITLE = 1.28  # size of a title in parts of the text's
_CELL_GAP = 2.5
_WRITING = 14.0
"""The least width of a column that is written in by hand, mm (ours)."""
_PADDING = 0.6
"""The least white above and below the text of a ruled row, mm."""
_FLAT = 1.5
"""How much more paper a table may take for having one line a row (ours)."""
_SLACK = 1e-6
"""A hair (mm) by which a text may be longer than its place, so that an exact fit is one."""


class TextBlock(Struct, frozen=True):
    """A titled block: each of its `rows` is a sentence, wrapped, or the cells of one row of a table.

    `has_head` says that the first row names the columns, and belongs above every part of a table that is broken.
    A block that `leads` begins on the pages that those before it take up, broken if it does not fit there whole.
    With a `row_height` (mm) a table is ruled: it is as wide as the page, its rows are at least so high in the largest
    type and lower by as much as that is smaller, but not than `least_row` (mm), and a light line lies under each. Its
    last `fill_in` columns are left to be written in, ruled off and never too narrow for that.
    """

    title: str
    rows: tuple[str | tuple[str, ...], ...]
    has_head: bool = False
    leads: bool = False
    row_height: float = 0.0
    fill_in: int = 0
    least_row: float = 0.0

    def row_at(self, tight: float) -> float:
        """Return the least height (mm) of a ruled row in type `tight` times as large as the largest."""
        return max(tight * self.row_height, self.least_row)


class Grid(Struct, frozen=True):
    """How a page of text is divided: `count` columns of `width` mm, `gap` mm apart; sentences run over `prose`."""

    count: int
    width: float
    gap: float
    prose: int

    def reach(self, span: int) -> float:
        """Return the width in mm of `span` columns side by side."""
        return span * self.width + (span - 1) * self.gap


class Rule(Struct, frozen=True):
    """A line under a row: `width` mm long, with uprights `height` mm high at the places `uprights` along it."""

    width: float
    height: float
    uprights: tuple[float, ...]


class Line(Struct, frozen=True):
    """Texts that share a baseline, as (x from the left of the block, text), with the line's size and weight.

    There is white `above` and `below` (mm). Below a line that has a `rule` that is drawn.
    """

    texts: tuple[tuple[float, str], ...]
    size: float
    bold: bool = False
    part: str = ""
    above: float = 0.0
    below: float = 0.0
    rule: Rule | None = None

    @property
    def height(self) -> float:
        """What the line takes of the page's height, mm."""
        return self.above + self.size * LEADING + self.below


class SetBlock(Struct, frozen=True):
    """A block as lines, `span` columns wide: its heading, its rows, and the heading to repeat where it goes on.

    `wider` is the same with fewer lines a row or in its sentences, if it can have fewer, for where paper is to spare;
    and that may have one that is wider yet.
    """

    span: int
    heading: list[Line]
    rows: list[list[Line]]
    again: list[Line]
    is_table: bool
    leads: bool
    wider: SetBlock | None = None

    @property
    def height(self) -> float:
        """What the whole block takes of the page's height, mm."""
        return height_of(self.heading) + sum(height_of(row) for row in self.rows)


def height_of(lines: Sequence[Line]) -> float:
    """Return the height of lines under one another, mm."""
    return sum(line.height for line in lines)


def set_block(block: TextBlock, grid: Grid, size: float, tight: float = 1.0) -> SetBlock:
    """Return a block set in `size` mm, over as many columns of the grid as suit it.

    That is `tight` times as large as the largest type.
    """
    if all(isinstance(row, str) for row in block.rows):
        return _set(block, grid, min(grid.prose, grid.count), size, [])
    measured = _measured(block).sized(size)
    if block.row_height:
        return _kept_together(block, _ruled(block, grid, size, measured, block.row_at(tight)))
    found = list(_ways(block, grid, size, measured))
    least = min(made.span * made.height for made in found)
    flat = (made for made in found if made.span * made.height <= _FLAT * least and _is_flat(made, block))
    best = next(flat, None) or min(found, key=lambda made: made.span * made.height)
    wider = None
    for made in reversed(found[found.index(best) + 1 :]):
        if made is found[-1] or made.span == grid.prose:
            wider = replace(made, wider=wider)
    return replace(best, wider=wider)


def _kept_together(block: TextBlock, made: SetBlock) -> SetBlock:
    """Return a table in which each sentence is one row with the cells that it stands before, such as a warning."""
    rows: list[list[Line]] = []
    is_open = False
    for row, lines in zip(block.rows, made.rows, strict=True):
        rows[-1:] = [[*rows[-1], *lines]] if is_open else [*rows[-1:], lines]
        is_open = isinstance(row, str)
    return replace(made, rows=rows)


def _ways(block: TextBlock, grid: Grid, size: float, cells: _Cells) -> Iterator[SetBlock]:
    """Yield a table over as many columns as hold its words whole, the fewest first; over all of them if none does.

    The last has one line a row, and is as wide as sentences run where there are some in it.
    """
    enough = min(grid.prose, grid.count) if any(isinstance(row, str) for row in block.rows) else 1
    for span in range(1, grid.count + 1):
        room = grid.reach(span)
        if span < grid.count and (cells.least_width > room or _longest_word(block.title, _TITLE * size) > room):
            continue
        made = _set(block, grid, span, size, cells.edges(room))
        yield made
        if span >= enough and _is_flat(made, block):
            return


def _ruled(block: TextBlock, grid: Grid, size: float, cells: _Cells, least: float) -> SetBlock:
    """Return a ruled table, as wide as the page; what is to spare goes to the columns that are written in.

    Its rows are at least so high (mm).
    """
    room, count = grid.reach(grid.count), len(cells.natural)
    first = count - block.fill_in
    written = [max(width, _WRITING) for width in cells.least[first:]]
    spare = room - _CELL_GAP * (count - 1) - sum(cells.natural[:first]) - sum(written)
    more = max(spare, 0.0) / block.fill_in if block.fill_in else 0.0
    wide = [width + more for width in written]
    edges = _Cells([*cells.natural[:first], *wide], [*cells.least[:first], *wide]).edges(room)
    uprights = tuple(edge - _CELL_GAP / 2 for edge in (*edges[first:-1], room + _CELL_GAP / 2)) if block.fill_in else ()
    made = _set(block, grid, grid.count, size, edges)
    rows = [
        _rule_off(lines, least, room, () if isinstance(row, str) else uprights)
        for row, lines in zip(block.rows, made.rows, strict=True)
    ]
    again = [*made.again[: -len(made.rows[0])], *rows[0]] if block.has_head else made.again
    return replace(made, rows=rows, again=[replace(line, part=CONTINUED) for line in again])


def _rule_off(row: list[Line], least: float, width: float, uprights: tuple[float, ...]) -> list[Line]:
    """Return a row at least so high, its texts in the middle of that, over a line."""
    white = max((least - height_of(row)) / 2, _PADDING)
    row = [replace(row[0], above=white), *row[1:]]
    row[-1] = replace(row[-1], below=white)
    return [*row[:-1], replace(row[-1], rule=Rule(width, height_of(row), uprights))]


def _is_flat(made: SetBlock, block: TextBlock) -> bool:
    """Tell whether each row of a table has one line."""
    return all(len(lines) <= 1 for lines, row in zip(made.rows, block.rows, strict=True) if not isinstance(row, str))


def _set(block: TextBlock, grid: Grid, span: int, size: float, edges: Sequence[float]) -> SetBlock:
    width = grid.reach(span)
    heads = [block.has_head and k == 0 for k in range(len(block.rows))]
    rows = [_row_lines(row, edges, width, size, bold=bold) for row, bold in zip(block.rows, heads, strict=True)]
    named = rows[0] if block.has_head and rows else []
    again = [*_title_lines(f"{block.title} (continued)", width, size), *named]
    repeated = [replace(line, part=CONTINUED) for line in again]
    return SetBlock(span, _title_lines(block.title, width, size), rows, repeated, bool(edges), block.leads)


def _title_lines(title: str, width: float, size: float) -> list[Line]:
    lines = wrapped_lines(title, width, _TITLE * size, bold=True)
    return [Line(((0.0, line),), _TITLE * size, True) for line in lines]


@lru_cache(maxsize=64)
def _measured(block: TextBlock) -> _Cells:
    """Return the widths of a table's columns in type of 1 mm, measured once for all sizes that are tried."""
    rows = [row for row in block.rows if not isinstance(row, str)]
    natural, least = [0.0] * max(map(len, rows)), [0.0] * max(map(len, rows))
    for n, row in enumerate(rows):
        bold = block.has_head and n == 0
        space = text_width(" ", 1.0, bold=bold)
        for k, cell in enumerate(row):
            for paragraph in cell.split("\n"):
                words = [text_width(word, 1.0, bold=bold) for word in paragraph.split()]
                natural[k] = max(natural[k], sum(words) + space * (len(words) - 1))
                least[k] = max(least[k], *words, 0.0)
    return _Cells(natural, least)


class _Cells(Struct, frozen=True):
    """For each column of a table the width in mm that its cells have unbroken, and that of their longest words."""

    natural: list[float]
    least: list[float]

    def sized(self, size: float) -> _Cells:
        """Return the widths in type of `size` mm of what was measured in type of 1 mm."""
        return _Cells([width * size for width in self.natural], [width * size for width in self.least])

    @property
    def least_width(self) -> float:
        """The least width in mm that breaks no word."""
        return sum(self.least) + _CELL_GAP * (len(self.least) - 1)

    def edges(self, room: float) -> list[float]:
        """Return the left edge of each column, and of one more, where `room` mm is shared out among them.

        Each gets what it needs for its words; of the rest narrow ones as much as they can use, wide ones alike.
        """
        spare = room - _CELL_GAP * (len(self.natural) - 1)
        low, high = 0.0, max(self.natural)
        for _ in range(40 if sum(self.natural) > spare else 0):
            level = (low + high) / 2
            fits = sum(self._widths(level)) <= spare
            low, high = (level, high) if fits else (low, level)
        edges = [0.0]
        for width in self._widths(low if sum(self.natural) > spare else high):
            edges.append(edges[-1] + width + _CELL_GAP)
        return edges

    def _widths(self, level: float) -> list[float]:
        return [max(least, min(natural, level)) for natural, least in zip(self.natural, self.least, strict=True)]


def _longest_word(text: str, size: float) -> float:
    return max((text_width(word, 1.0) * size for word in text.split()), default=0.0)


def _row_lines(
    row: str | tuple[str, ...], edges: Sequence[float], width: float, size: float, *, bold: bool
) -> list[Line]:
    """Return the lines of one row: a wrapped sentence, or cells wrapped side by side."""
    if isinstance(row, str):
        return [Line(((0.0, line),), size, bold) for line in wrapped_lines(row, width, size, bold=bold)]
    cells = [wrapped_lines(cell, _cell_width(edges, k, width), size, bold=bold) for k, cell in enumerate(row)]
    tallest = max((len(cell) for cell in cells), default=0)
    return [
        Line(tuple((edges[k], cell[n]) for k, cell in enumerate(cells) if n < len(cell) and cell[n]), size, bold)
        for n in range(tallest)
    ]


def _cell_width(edges: Sequence[float], index: int, width: float) -> float:
    """Return the width of a column; the last one takes what is left."""
    right = width if index == len(edges) - 2 else edges[index + 1] - _CELL_GAP
    return max(right - edges[index], 0.0) + _SLACK
