"""Turn frames into rows on the fewest pages, where the height of a frame follows from the width that its row gives it.

What a row leaves of the width is shared out among its frames: words over a drawing then take fewer lines, and the row
is as low as its frames allow.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct

from turnout_templates.drawing.bounds import Box


class Frame(Struct, frozen=True):
    """What is framed: its `number` in the order of reading, its least `width` and its `height` for a width, mm."""

    number: int
    width: float
    height: Callable[[float], float]


class Row(Struct, frozen=True):
    """Frames side by side that share out `across` mm with `gap` between them, and the height of the tallest, mm."""

    frames: tuple[Frame, ...]
    across: float
    gap: float
    height: float

    @property
    def spare(self) -> float:
        """What is left of the width; below zero where the frames find no room."""
        return self.across - sum(frame.width for frame in self.frames) - self.gap * (len(self.frames) - 1)

    def widths(self) -> Iterator[float]:
        """Yield the width of each frame."""
        return (frame.width + self.spare / len(self.frames) for frame in self.frames)


def fewest_pages(frames: Sequence[Frame], area: Box, gap: float) -> list[list[Row]]:
    """Return `frames` as pages of rows in `area`, `gap` mm apart both ways: read in their order as nearly as can be.

    They are placed in their order, or the tallest or the widest first where that saves pages. One that is too large
    for a page has a page of its own.
    """
    pages = _packed(frames, area, gap)
    for measure in (_tallness, _width) if len(pages) > 1 else ():
        other = _packed(sorted(frames, key=measure, reverse=True), area, gap)
        pages = min(pages, other, key=len)
    return _in_order(pages)


def _tallness(frame: Frame) -> float:
    return frame.height(frame.width)


def _width(frame: Frame) -> float:
    return frame.width


def frame_boxes(rows: Sequence[Row], area: Box) -> Iterator[tuple[Frame, Box]]:
    """Yield each frame of a page with its place: from the top of `area` down and from left to right."""
    top = area.top
    for row in rows:
        left = area.left
        for frame, width in zip(row.frames, row.widths(), strict=True):
            yield frame, Box(left, top - row.height, left + width, top)
            left += width + row.gap
        top -= row.height + row.gap


def _packed(frames: Sequence[Frame], area: Box, gap: float) -> list[list[Row]]:
    """Return the frames by page and row: each in the first row that has room for it, else in a new one."""
    pages: list[list[Row]] = []
    for frame in frames:
        alone = _row((frame,), area.width, gap)
        if not any(_put(rows, alone, area.height) for rows in pages):
            pages.append([alone])
    return pages


def _put(rows: list[Row], alone: Row, tallest: float) -> bool:
    """Put the one frame of the row `alone` on a page: beside others if they then fit the page, else under them."""
    gap = alone.gap
    used = sum(row.height + gap for row in rows)
    for index, row in enumerate(rows):
        if row.spare < gap + alone.frames[0].width:
            continue
        wider = _row((*row.frames, *alone.frames), row.across, gap)
        if used - gap - row.height + wider.height <= tallest:
            rows[index] = wider
            return True
    if used + alone.height > tallest:
        return False
    rows.append(alone)
    return True


def _row(frames: tuple[Frame, ...], across: float, gap: float) -> Row:
    bare = Row(frames, across, gap, 0.0)
    return Row(
        frames, across, gap, max(frame.height(width) for frame, width in zip(frames, bare.widths(), strict=True))
    )


def _in_order(pages: Sequence[Sequence[Row]]) -> list[list[Row]]:
    """Return pages, their rows and the frames of these in the order in which they are read."""

    def first(row: Row) -> int:
        return row.frames[0].number

    sorted_rows = [sorted((_sorted_row(row) for row in rows), key=first) for rows in pages]
    return sorted(sorted_rows, key=lambda rows: first(rows[0]))


def _sorted_row(row: Row) -> Row:
    return Row(tuple(sorted(row.frames, key=lambda frame: frame.number)), row.across, row.gap, row.height)
