"""Turn set blocks into texts on pages: each in a free place of the pages' columns, never overfull."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct, field

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Item, PathItem, Stroke, TextItem
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.sheets.blocks import BLOCK_GAP, Grid, Line, Rule, SetBlock, height_of
from turnout_templates.sheets.setting import LEADING

BLOCK_LAYER = "tables"
_COLUMN, _COLUMN_GAP = 80.0, 6.0
"""Mm: a line of some 60 letters, which the eye follows back easily (common practice); and what keeps columns apart."""
_RULE = Stroke(0.1, grey=0.5)
"""The lines of ruled tables: light, so that what is written on them stands out."""
_WORTH = 3
"""Fewer lines than this of a block are not worth beginning it at the foot of a column."""
_HAIR = 1e-9
_TOP_LEFT = (-math.inf, -math.inf)
"""Before the first place of a page, as (first column, -top)."""

Interval = tuple[float, float]
Order = Literal["down", "across"]
"""Whether blocks follow one another down the columns, or each stands as high on the page as it can."""


class Ground(Struct, frozen=True):
    """Where text may stand: `first` on the first page, `later` on every further one; both have the same sides."""

    first: Box
    later: Box

    @property
    def grid(self) -> Grid:
        """How these pages are divided: into halves of columns fit for prose."""
        columns = max(1, int((self.later.width + _COLUMN_GAP) // (_COLUMN + _COLUMN_GAP)))
        count = 2 * columns
        return Grid(count, (self.later.width - _COLUMN_GAP * (count - 1)) / count, _COLUMN_GAP, 2)


class TextPages(Struct):
    """Pages being filled: for each the free intervals (bottom, top) of its columns; `placed` is what is set.

    Where blocks are read `in_turn`, none stands above `reached`, (page, -top) of the one before it.
    """

    ground: Ground
    order: Order
    in_turn: bool = False
    reached: tuple[int, float] = (0, -math.inf)
    free: list[list[list[Interval]]] = field(default_factory=list)
    placed: list[tuple[int, float, float, Sequence[Line]]] = field(default_factory=list)

    @property
    def used(self) -> int:
        """How many pages are needed, at least one."""
        return max((page for page, _, _, _ in self.placed), default=0) + 1

    @property
    def foot(self) -> float:
        """How low the blocks on the last page reach, mm."""
        last = self.used - 1
        tops = [(top, lines) for page, _, top, lines in self.placed if page == last]
        return min((top - height_of(lines) for top, lines in tops), default=self.ground.later.top)

    def put(self, block: SetBlock, *, may_break: bool) -> bool:
        """Set a block, whole if it fits a page; return whether it was broken.

        If it `may_break`, it is whole only where it fits the pages begun.
        """
        lines = [*block.heading, *(line for row in block.rows for line in row)]
        height = height_of(lines)
        begun = self.used if may_break else len(self.free)
        for page in range(begun):
            if self._put_on(page, block.span, lines, height):
                return False
        if not may_break:
            tallest = max(self._area(len(self.free)).height, self._area(len(self.free) + 1).height)
            while height <= tallest + _HAIR:
                if self._put_on(len(self.free), block.span, lines, height):
                    return False
        self._put_broken(block)
        return True

    def _put_on(self, page: int, span: int, lines: Sequence[Line], height: float) -> bool:
        for left, _, top in sorted(self._places(page, span, height), key=self._rank):
            self._take(page, left, span, top, height)
            self.placed.append((page, self._x(left), top, lines))
            return True
        return False

    def _put_broken(self, block: SetBlock) -> None:
        """Set a block row by row, in free places as they are read, down the columns, its heading over each part."""
        head, page, after = block.heading, 0, _TOP_LEFT
        rows = [row for row in block.rows for row in _bits(row, self.ground.later.height / 2)]
        while rows:
            is_fresh = page >= len(self.free)
            least = height_of(head) + _worth_beginning(rows)
            places = self._places_after(page, after, block.span, least)
            if not places and is_fresh:
                # No page holds so much at once: one row is enough, and where even that is not, it goes without heading.
                places = self._places_after(page, after, block.span, height_of(head) + height_of(rows[0]))
                head = head if places else []
                places = places or self._places_after(page, after, block.span, height_of(rows[0]))
            if not places:
                page, after = page + 1, _TOP_LEFT
                continue
            left, bottom, top = places[0]
            lines, spare = list(head), top - bottom - BLOCK_GAP - height_of(head) + _HAIR
            while rows and height_of(rows[0]) <= spare:
                spare -= height_of(rows[0])
                lines += rows.pop(0)
            self._take(page, left, block.span, top, height_of(lines))
            self.placed.append((page, self._x(left), top, lines))
            after = (left, -top)
            head = block.again if height_of(block.again) < self.ground.later.height / 2 else []

    def _places_after(
        self, page: int, after: tuple[float, float], span: int, height: float
    ) -> list[tuple[int, float, float]]:
        """Return the free places of a page that are read after the place `after`, (first column, -top), in order.

        They lie below it or wholly beside it: a part half beside the one before, and higher, would be read first.
        """
        places = (place for place in self._places(page, span, height) if not after[0] < place[0] < after[0] + span)
        return sorted((p for p in places if (p[0], -p[2]) > after), key=lambda p: (p[0], -p[2]))

    def _rank(self, place: tuple[int, float, float]) -> tuple[float, float]:
        left, _, top = place
        return (left, -top) if self.order == "down" else (-top, left)

    def _places(self, page: int, span: int, height: float) -> Iterator[tuple[int, float, float]]:
        """Yield (first column, bottom, top) of the free places of a page that are so wide and so high."""
        while page >= len(self.free):
            area = self._area(len(self.free))
            self.free.append([[(area.bottom - BLOCK_GAP, area.top)] for _ in range(self.ground.grid.count)])
        columns = self.free[page]
        for left in range(len(columns) - span + 1):
            common = columns[left]
            for other in columns[left + 1 : left + span]:
                common = [
                    (max(a[0], b[0]), min(a[1], b[1]))
                    for a in common
                    for b in other
                    if min(a[1], b[1]) > max(a[0], b[0])
                ]
            for bottom, top in common:
                if top - bottom >= height + BLOCK_GAP - _HAIR and (page, -top) >= self.reached:
                    yield left, bottom, top

    def _take(self, page: int, left: int, span: int, top: float, height: float) -> None:
        """Take a place and the white below it from the columns."""
        if self.in_turn:
            self.reached = (page, -top)
        low = top - height - BLOCK_GAP
        for column in self.free[page][left : left + span]:
            kept = [
                part
                for bottom, upper in column
                for part in ((bottom, min(upper, low)), (max(bottom, top), upper))
                if part[1] - part[0] > _HAIR
            ]
            column[:] = kept

    def _area(self, page: int) -> Box:
        return self.ground.first if page == 0 else self.ground.later

    def _x(self, column: int) -> float:
        grid = self.ground.grid
        return self.ground.later.left + column * (grid.width + grid.gap)

    def texts(self) -> Iterator[tuple[int, Item]]:
        """Yield all texts where they are set, and the rules under them."""
        for page, x, y, lines in self.placed:
            for line in lines:
                y -= line.height
                baseline = y + line.below + line.size * (LEADING - 1.0)
                for aside, text in line.texts:
                    at = (x + aside, baseline)
                    yield page, TextItem(text, at, line.size, BLOCK_LAYER, bold=line.bold, part=line.part)
                if line.rule is not None:
                    yield page, _rule_item(line.rule, x, y)


def _rule_item(rule: Rule, x: float, y: float) -> PathItem:
    """Return a rule as one line from left to right, up and down each upright on the way."""
    places = [(x, y)]
    for upright in rule.uprights:
        foot = (x + upright, y)
        places += [foot, (foot[0], y + rule.height), foot]
    places.append((x + rule.width, y))
    lines = (LineSegment(a, b) for a, b in pairwise(places) if a != b)
    return PathItem(tuple(lines), _RULE, BLOCK_LAYER)


def _worth_beginning(rows: Sequence[Sequence[Line]]) -> float:
    """Return the height of as many of the first rows as are worth beginning a block with, mm."""
    height, lines = 0.0, 0
    for row in rows:
        if lines >= _WORTH:
            break
        height, lines = height + height_of(row), lines + len(row)
    return height


def _bits(row: list[Line], tallest: float) -> Iterator[list[Line]]:
    """Yield a row whole, or line by line where it is taller than `tallest`."""
    if height_of(row) <= tallest:
        yield row
    else:
        yield from ([line] for line in row)
