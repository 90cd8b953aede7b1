"""Turn a data file into a `Table` of rows, every number exact.

The files are YAML written in its JSON form, one row a line, so that the standard library reads them in well under a
millisecond where a YAML reader takes tens. Numbers become Fractions, sizes millimetres.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from importlib.resources import files
from typing import Any

from msgspec import Struct

from turnout_templates.units import MM_PER_INCH

Row = Mapping[str, Any]


class Table(Struct, frozen=True):
    """One published table: its head (`document`, `edition`, `table`, `unit`, notes) and its `rows`."""

    head: Mapping[str, Any]
    rows: tuple[Row, ...]

    @property
    def in_mm(self) -> Fraction:
        """The table's unit in mm."""
        return MM_PER_INCH if self.head["unit"] == "in" else Fraction(1)

    def size(self, row: Row, column: str, place: int = 0) -> Fraction | None:
        """Return a figure of `row` in mm (entry `place` where it has several), None where the table has none."""
        figure = row.get(column)
        if isinstance(figure, list):
            figure = figure[place]
        return None if figure is None else figure * self.in_mm

    def known(self, row: Row) -> str:
        """Say how the figures of `row` are known."""
        return str(row.get("known") or self.head["known"])


@cache
def read_table(name: str) -> Table:
    """Return the data file `name` (without its ending)."""
    content = (files("turnout_templates.standards") / "data" / f"{name}.yaml").read_text("utf-8")
    head: dict[str, Any] = json.loads(content, parse_float=Fraction, parse_int=Fraction)
    rows = tuple(head.pop("rows", ()))
    return Table(head, rows)
