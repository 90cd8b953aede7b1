"""Turn lengths to be told into dimension lines in rows above and below a strip, as engineering drawings have them.

From each end a thin line runs out of the strip to the row, a slash marks where it meets the dimension line, and the
text stands on that line: between the ends where it fits, else beside them. No text lies on another or is struck out:
where a line must pass one, it is broken there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct, field

from turnout_templates.drawing.bounds import Box
from turnout_templates.drawing.items import Item, MarkItem, PathItem, Stroke, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.segments import LineSegment

DIMENSIONS = "dimensions"
TEXT_SIZE = 1.9
"""Text on dimension lines, mm: 5.4 pt, about the smallest that is read at arm's length (common practice, no source)."""
ROW = 2.9
"""From row to row, mm: the text, the line under it and white between."""
_FIRST = 0.9
"""White between the strip and what is nearest to it, mm."""
_LINE, _POST = Stroke(0.08, grey=0.35), Stroke(0.05, grey=0.6)
_SLASH, _SLASH_STROKE = 0.9, Stroke(0.12)
_SHORT = 0.7
"""How far (mm) a post stops short of the place that it runs out from."""
_OVERSHOOT, _RAISED, _APART = 0.6, 0.5, 0.8
"""Mm: of a post beyond its row; of a text above its line; between things in a row."""
_BETWEEN = (0.5, 0.25, 0.75, 0.0, 1.0)
"""Where a text may stand between its ends, in parts of what it leaves free: in the middle if it can."""
_OFFSETS = (0.9, 4.0, 8.0, 13.0, 20.0)
"""How far from the end beside which it stands a text may begin, mm."""
_LETTERS = 0.75
"""Height of letters in parts of the text's size, without what hangs below the line."""
_HANGING = 0.25


class Span(Struct, frozen=True):
    """A length to be told: from `start` to `end` (mm as printed; one place: a remark), `text`, and `side` +1 above.

    `part` is whose length it is, said before the text.
    """

    start: Point
    end: Point
    text: str
    side: int
    part: str = ""

    @property
    def words(self) -> str:
        """What is printed."""
        return f"{self.part} {self.text}".strip()

    @property
    def ends(self) -> tuple[Point, ...]:
        """Where it begins and ends, from left to right: once, if that is one place."""
        return (self.start,) if self.start == self.end else tuple(sorted((self.start, self.end)))


class _Placed(Struct):
    """A span in a row: the x that it takes up, from and to, and where its text begins and ends."""

    span: Span
    low: float
    high: float
    text: tuple[float, float]


class _Side(Struct):
    """The rows on one side of the strip, the nearest first, and the posts that run out to them as (x, row).

    Posts pass no text, or they pass texts `is_broken`.
    """

    is_broken: bool
    rows: list[list[_Placed]] = field(default_factory=list)
    posts: list[tuple[float, int]] = field(default_factory=list)

    def place(self, ways: Sequence[_Placed], most: int) -> bool:
        """Put a span, lying in the first of `ways` that goes, into the nearest row; return whether there was room."""
        for row in range(min(len(self.rows) + 1, most)):
            for way in ways:
                if self._is_free(way, row):
                    if row == len(self.rows):
                        self.rows.append([])
                    self.rows[row].append(way)
                    self.posts += [(x, row) for x, _ in way.span.ends]
                    return True
        return False

    def _is_free(self, way: _Placed, row: int) -> bool:
        there = self.rows[row] if row < len(self.rows) else []
        if any(way.low < other.high + _APART and other.low < way.high + _APART for other in there):
            return False
        if self.is_broken:
            return True
        if any(_hits(way.text, x) for x, out in self.posts if out > row):
            return False
        return not any(_hits(other.text, x) for below in self.rows[:row] for other in below for x, _ in way.span.ends)


def _hits(text: tuple[float, float], x: float) -> bool:
    return text[0] - _RAISED < x < text[1] + _RAISED


def _ways(span: Span, feet: Sequence[float]) -> Iterator[_Placed]:
    """Yield how a span may lie: its text between its ends where it fits, else to their right, else to their left.

    The last ways are beyond all `feet`.
    """
    width = text_width(span.words, TEXT_SIZE)
    low, high = span.ends[0][0], span.ends[-1][0]
    spare = high - low - width - 2 * _APART
    for part in _BETWEEN if spare >= 0.0 else ():
        begin = low + _APART + part * spare
        yield _Placed(span, low, high, (begin, begin + width))
    beyond = ((feet[-1] - high + _OFFSETS[0], low - feet[0] + _OFFSETS[0]),) if feet else ()
    for after, before in (*((off, off) for off in _OFFSETS), *beyond):
        yield _Placed(span, low, high + after + width, (high + after, high + after + width))
        yield _Placed(span, low - before - width, high, (low - before - width, low - before))


def draw_spans(
    spans: Sequence[Span], strip: Box, *, left: float, right: float, rows: int
) -> tuple[tuple[Item, ...], int]:
    """Return the dimension lines of `spans` round `strip`, and how many found no room.

    All lies between `left` and `right` (mm), in at most `rows` rows on either side. Shorter spans lie nearer; one that
    finds no room on its side may go to the other. Posts are broken at texts where there is no room else.
    """
    feet = sorted({x for span in spans for x, _ in span.ends})
    made, missing = _placed(sorted(spans, key=_shortest_first), left, right, rows, (), is_broken=False)
    tries = [*((order, feet, False) for order in _ORDERS), (_shortest_first, (), True)]
    for order, clear_of, is_broken in tries if missing else ():
        other = _placed(sorted(spans, key=order), left, right, rows, clear_of, is_broken=is_broken)
        if other[1] < missing:
            made, missing = other
        if not missing:
            break
    return tuple(item for side, rows_there in made.items() for item in _drawn(rows_there, strip, side)), missing


def _placed(
    order: Sequence[Span], left: float, right: float, rows: int, feet: Sequence[float], *, is_broken: bool
) -> tuple[dict[int, _Side], int]:
    """Return both sides with the spans placed one after the other, and how many found no room.

    No text stands over any of the `feet`, the x of posts that may come later.
    """
    sides = {1: _Side(is_broken), -1: _Side(is_broken)}
    missing = 0
    for span in order:
        ways = [
            way
            for way in _ways(span, feet)
            if left <= way.low and way.high <= right and not any(_hits(way.text, x) for x in feet)
        ]
        if not any(sides[side].place(ways, rows) for side in (span.side, -span.side)):
            missing += 1
    return sides, missing


def _shortest_first(span: Span) -> tuple[float, Point, str]:
    return (span.ends[-1][0] - span.ends[0][0], span.ends[0], span.words)


def _from_the_left(span: Span) -> tuple[float, Point, str]:
    return (span.ends[0][0], span.ends[-1], span.words)


def _from_the_right(span: Span) -> tuple[float, Point, str]:
    return (-span.ends[-1][0], span.ends[0], span.words)


_ORDERS = (_shortest_first, _from_the_left, _from_the_right)


def _drawn(made: _Side, strip: Box, side: int) -> Iterator[Item]:
    for number, row in enumerate(made.rows):
        for placed in row:
            y = _line_y(strip, side, number)
            for x, foot in placed.span.ends:
                gaps = [
                    _line_y(strip, side, below)
                    for below in range(number)
                    if any(_hits(other.text, x) for other in made.rows[below])
                ]
                yield from _post(x, foot + side * _SHORT, y + side * _OVERSHOOT, gaps, placed.span.part)
            yield from _drawn_span(placed, y)


def _post(x: float, start: float, stop: float, gaps: Sequence[float], part: str) -> Iterator[Item]:
    """Yield a post at `x` from one height to another, broken at the texts that stand on lines at the heights `gaps`."""
    way = 1.0 if stop > start else -1.0
    for line in gaps:
        near, far = line + _RAISED - _HANGING * TEXT_SIZE, line + _RAISED + _LETTERS * TEXT_SIZE
        low, high = (near, far) if way > 0 else (far, near)
        if (low - start) * way > 0.0:
            yield PathItem((LineSegment((x, start), (x, low)),), _POST, DIMENSIONS, part)
        start = high if (high - start) * way > 0.0 else start
    if (stop - start) * way > 0.0:
        yield PathItem((LineSegment((x, start), (x, stop)),), _POST, DIMENSIONS, part)


def _line_y(strip: Box, side: int, row: int) -> float:
    """Return the height of the dimension lines of a row: their texts stand above them on either side."""
    if side > 0:
        return strip.top + _FIRST + row * ROW
    return strip.bottom - _FIRST - _RAISED - _LETTERS * TEXT_SIZE - row * ROW


def _drawn_span(placed: _Placed, y: float) -> Iterator[Item]:
    span, part = placed.span, placed.span.part
    yield PathItem((LineSegment((placed.low, y), (placed.high, y)),), _LINE, DIMENSIONS, part)
    if len(span.ends) > 1:
        for x, _ in span.ends:
            yield MarkItem("slash", (x, y), _SLASH, DIMENSIONS, 0.0, _SLASH_STROKE, part)
    else:
        yield MarkItem("dot", span.start, 0.5, DIMENSIONS, part=part)
    yield TextItem(span.words, (placed.text[0], y + _RAISED), TEXT_SIZE, DIMENSIONS, part=part)


def row_space(rows: int) -> float:
    """Return the height in mm that `rows` rows take on one side of the strip."""
    return _FIRST + rows * ROW + _HANGING * TEXT_SIZE + _OVERSHOOT
