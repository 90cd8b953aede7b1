"""Tell in tables how far each rail lies from the stock rail at each step along it, to lay track by measure alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.drafting.switches import outer_name
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.offsets import OffsetTable, offset_tables
from turnout_templates.units import format_clearance


def offset_blocks(work: Trackwork) -> Iterator[Block]:
    """Yield for each switch a table of what lies across from its stock rail, a column for each rail."""
    bars = BarsByFace(work)
    for name, tables in groupby(offset_tables(work), key=lambda table: table.switch):
        yield _block(work, name, list(tables), bars)


def _block(work: Trackwork, name: str, tables: list[OffsetTable], bars: BarsByFace) -> Block:
    """Return the table of a switch, whose tables share their origin and their step."""
    first = tables[0]
    across = [{round(row.along / table.step): row.across for row in table.rows} for table in tables]
    kept = [_told(column) for column in across]
    steps = sorted(set().union(*kept))
    unit = f" {work.spec.units}"
    head: Row = ("along", *(_rail(table, bars) for table in tables))
    rows: list[Row] = [
        (
            length_of(work, step * first.step).removesuffix(unit),
            *(
                _bare(work, column[step]) if step in shown else _STRAIGHT_ON if step in column else "-"
                for column, shown in zip(across, kept, strict=True)
            ),
        )
        for step in steps
    ]
    side = "left" if first.left > 0 else "right"
    told = (
        f"Along: on a straight-edge that touches the gauge face of {first.stock.label} where {_origin(work, first)} "
        f"lies beside it, from there toward the frog. Across: square to it, to the {side}; each to the gauge face."
    )
    if any(row.across < 0.0 for table in tables for row in table.rows):
        told += f" With a minus sign it lies to the {'right' if first.left > 0 else 'left'}."
    if any(len(shown) < len(column) for column, shown in zip(across, kept, strict=True)):
        told += f" “{_STRAIGHT_ON}”: straight from the figure above to that below. Steps without a figure are left out."
    words = "inches" if work.spec.units == "in" else "mm"
    return Block(
        f"Offsets at {name} in {words}, every {length_of(work, first.step)}", (head, *rows, told), has_head=True
    )


def _told(column: Mapping[int, float]) -> set[int]:
    """Return the steps whose offsets say all: of those in one line only the first and the last."""
    steps = sorted(column)
    kept: list[int] = []
    for step in steps:
        while len(kept) > 1 and _is_between(column, kept[-2], step):
            kept.pop()
        kept.append(step)
    return set(kept)


def _is_between(column: Mapping[int, float], first: int, last: int) -> bool:
    """Tell whether all offsets between two steps lie on the line from the one to the other."""
    slope = (column[last] - column[first]) / (last - first)
    return all(
        abs(column[step] - column[first] - slope * (step - first)) < _STRAIGHT
        for step in range(first + 1, last)
        if step in column
    )


_STRAIGHT = 1e-6
"""What strays no more than this (mm) from a line is straight: a curve of 1 km strays 50 times as far in 20 mm."""
_STRAIGHT_ON = "|"
"""Stands for the figures between the first and the last of what is straight."""


def _origin(work: Trackwork, table: OffsetTable) -> str:
    """Return what the place is called that the offsets of a switch are measured from."""
    return f"the {outer_name(work.switch(table.switch))}"


def _bare(work: Trackwork, mm: float) -> str:
    """Return an offset without its unit, which stands in the title."""
    return format_clearance(mm, work.spec.units).removesuffix(f" {work.spec.units}")


def _rail(table: OffsetTable, bars: BarsByFace) -> str:
    """Return what a column is called: the bars that its rows touch, and the rail in words."""
    names = dict.fromkeys(bars.at(table.owner, row.station) for row in table.rows)
    return f"{', '.join(name for name in names if name)} {table.owner.label}".strip()
