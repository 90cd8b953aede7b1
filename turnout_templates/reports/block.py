"""A titled list of rows, which is all that the pages before the sheets are made of."""

from __future__ import annotations

from msgspec import Struct

Row = str | tuple[str, ...]


class Block(Struct, frozen=True):
    """A titled list of rows: sentences, or cells of a table; `has_head` where the first row names the columns.

    One that `leads` begins on the first page, however long it is.
    A table with a `row_height` (mm) is ruled, and its last `fill_in` columns are left to be written in at the bench. In
    smaller type its rows may be lower in proportion, but not than `least_row` (mm).
    """

    title: str
    rows: tuple[Row, ...]
    has_head: bool = False
    leads: bool = False
    row_height: float = 0.0
    fill_in: int = 0
    least_row: float = 0.0
