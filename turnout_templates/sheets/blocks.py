"""Turn titled blocks of sentences and table rows into texts set in columns, page after page, never overfull."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product, takewhile

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
    """A titled block: each of its `rows` is a sentence, wrapped, or the cells of one row of a table.

    `has_head` says that the first row names the columns, and belongs above every part of a table that is broken.
    """

    title: str
    rows: tuple[str | tuple[str, ...], ...]
    has_head: bool = False


@dataclass(frozen=True, slots=True)
class _Line:
    """Texts that share a baseline, as (x from the left of the column, text), with the line's size and weight."""

    texts: tuple[tuple[float, str], ...]
    size: float
    bold: bool = False
    before: float = 0.0
    part: str = ""

    @property
    def height(self) -> float:
        """What the line takes of the column, mm."""
        return self.size * LEADING + self.before


Columns = Callable[[], Iterator[tuple[int, Box]]]
"""Begins an endless run of (page index, box) to be filled, all boxes of one width, mm."""
CONTINUED = "continued"
"""The part that texts belong to which repeat a heading where a block goes on in another column."""


def set_blocks(blocks: Sequence[TextBlock], *ways: Columns) -> tuple[int, list[tuple[int, TextItem]]]:
    """Return (index of the way taken, all texts of `blocks` as (page index, text)), on the fewest pages.

    A block that fits the columns of the first page stands whole in one, and so does any other that fits a column
    unless a page is saved by breaking it; what is broken is broken between its rows, and its heading repeated. Among
    sizes and `ways` to fill columns that need as few pages, the one that breaks fewest blocks, then the largest type,
    then the first way is taken.
    """
    found: list[tuple[tuple[int, int], int, list[tuple[int, TextItem]]]] = []
    for size, (index, columns) in product(TEXT_SIZES, enumerate(ways)):
        for pages in (2, 1):
            texts, broken = _set_in_size(blocks, columns, size, pages)
            found.append(((last_page(texts), broken), index, texts))
            if last_page(texts) == 0:
                break
        if found[-1][0] == (0, 0):
            break
    _, way, texts = min(found, key=lambda made: made[0])
    return way, texts


def last_page(texts: Sequence[tuple[int, TextItem]]) -> int:
    """Return the greatest page index of `texts`, 0 where there are none."""
    return max((page for page, _ in texts), default=0)


def _set_in_size(
    blocks: Sequence[TextBlock], columns: Columns, size: float, pages: int
) -> tuple[list[tuple[int, TextItem]], int]:
    """Return all texts of `blocks` set in `size` mm, and how many blocks were broken.

    Whole stays what fits a column of the first `pages` pages: from the second on all columns are of one height.
    """
    setter = _Setter(columns())
    tallest = max(box.height for _, box in takewhile(lambda column: column[0] < pages, columns()))
    broken = 0
    for block in blocks:
        made = _made(block, setter.box.width, size)
        if _height(made.whole) - _BLOCK_GAP <= tallest:
            setter.put_whole(made.whole)
        else:
            setter.put_broken(made)
            broken += 1
    return setter.texts, broken


@dataclass(frozen=True, slots=True)
class _Made:
    """A block as lines: its heading, its rows, and the heading to repeat where it goes on."""

    heading: list[_Line]
    rows: list[list[_Line]]
    again: list[_Line]

    @property
    def whole(self) -> list[_Line]:
        """All lines of the block in one column."""
        return [*self.heading, *(line for row in self.rows for line in row)]


@dataclass(slots=True)
class _Setter:
    """Sets lines from the top of column after column; `y` is where the next one begins, `texts` what is set."""

    columns: Iterator[tuple[int, Box]]
    texts: list[tuple[int, TextItem]] = field(default_factory=list)
    page: int = field(init=False)
    box: Box = field(init=False)
    y: float = field(init=False)

    def __post_init__(self) -> None:
        """Begin with the first column."""
        self.go_on()

    def go_on(self) -> None:
        """Begin the next column."""
        self.page, self.box = next(self.columns)
        self.y = self.box.top

    def has_room(self, lines: Sequence[_Line]) -> bool:
        """Tell whether `lines` fit below what is set; white before the first is not needed at the top of a column."""
        spare = lines[0].before if lines and self.y == self.box.top else 0.0
        return self.y - _height(lines) + spare >= self.box.bottom - 1e-9

    def put_whole(self, lines: Sequence[_Line]) -> None:
        """Set `lines` in the next column that holds them all."""
        while not self.has_room(lines):
            self.go_on()
        for line in lines:
            self.put(line)

    def put_broken(self, block: _Made) -> None:
        """Set a block that no column holds, its heading on the first row and again in every further column."""
        rows = [[*block.heading, *block.rows[0]], *block.rows[1:]]
        if not self.has_room(rows[0]) and self.y < self.box.top:
            self.go_on()
        for row in rows:
            if not self.has_room(row) and self.y < self.box.top:
                self.go_on_under(block.again)
            for line in row:
                if not self.has_room([line]):
                    self.go_on_under(block.again)
                self.put(line)

    def go_on_under(self, heading: Sequence[_Line]) -> None:
        """Begin the next column with a `heading`, unless that would take most of it."""
        self.go_on()
        if _height(heading) < self.box.height / 2:
            for line in heading:
                self.put(line)

    def put(self, line: _Line) -> None:
        """Set one line below the others."""
        self.y -= line.height if self.y < self.box.top else line.size * LEADING
        baseline = self.y + line.size * (LEADING - 1.0)
        for x, text in line.texts:
            at = (self.box.left + x, baseline)
            self.texts.append((self.page, TextItem(text, at, line.size, BLOCK_LAYER, bold=line.bold, part=line.part)))


def _made(block: TextBlock, width: float, size: float) -> _Made:
    """Return a block as lines `width` mm long."""
    cells = [row for row in block.rows if not isinstance(row, str)]
    edges = _cell_edges(cells, width, size)
    rows = [_row_lines(row, edges, width, size) for row in block.rows] or [[]]
    named = rows[0] if block.has_head else []
    again = [*_title_lines(f"{block.title} (continued)", width, size), *named]
    return _Made(_title_lines(block.title, width, size), rows, [replace(line, part=CONTINUED) for line in again])


def _title_lines(title: str, width: float, size: float) -> list[_Line]:
    """Return a title, with white before it, as lines."""
    lines = [
        _Line(((0.0, line),), _TITLE * size, True) for line in wrapped_lines(title, width, _TITLE * size, bold=True)
    ]
    return [replace(lines[0], before=_BLOCK_GAP), *lines[1:]]


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
