"""Turn a gauge and the name of a track standard into the clearances that wheels of that standard need.

How the columns of each table become our four figures:

| standard                 | flangeway         | check_gauge | span    | point_spread                             |
|--------------------------|-------------------|-------------|---------|------------------------------------------|
| NMRA S-3.2 (2010)        | F target          | C target    | S upper | P target                                 |
| NMRA S-3.2 (older)       | F max             | C min       | S max   | P max, electrical (mechanical if alone)  |
| NMRA S-3.1               | F max at the frog | C min       | S max   | P max                                    |
| NMRA RP-3                | F max             | C min       | S max   | P max, electrical                        |
| MOROP NEM 110 (2009)     | F max             | C min       | S max   | E max                                    |
| prototype                | F                 | G - F       | G - 2 F | G - throw                                |

Targets are what the 2010 edition says to build to. Its S is taken at its upper tolerance, because the span is a limit:
the targets of C and F leave S plus 0.002 in between guard and wing from O to HO, which is just that limit. In the
tables with limits, C min and S max are the limits that bear on the wheels, RP-13.5 says to lay to C min, and F max is
the widest groove that still carries them. In every row check gauge less flangeway stays within the span. NEM 110
note 5 asks for F max in curves from 30 to 42 gauges and for less in wider ones; the widest serves them all. The
electrical P is the smaller: backs of wheels must not touch an open point of the other polarity.

The widest that the gauge itself may be is G at its upper tolerance or G max; the table of full-size practice has none.
What the document allows of each figure when it is measured is read from the same row (`Limits`): a target with its
tolerances, or the columns min and max, of which a table may have one; nothing of a row that was reduced or enlarged.
The least depth of a flangeway is H min of every table that has the column; where a row lacks it, it is not stated.

A gauge for which the named standard has no complete row falls back, and says so, to a row of the same gauge (within
`SAME_GAUGE`): of the same document, then NEM 110, S-3.2 (2010), S-3.2 (older), RP-3 and S-3.1. Where none has it, the
row whose gauge is nearest is enlarged or reduced in proportion: common practice, no source.
"""

from __future__ import annotations

import math
from fractions import Fraction
from functools import cache

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.standards.scales import Family
from turnout_templates.standards.tables import Row, Table, read_table

SAME_GAUGE = Fraction("0.1")
"""Two tables mean the same gauge where their widths differ by no more than this (mm): they round differently."""

NMRA_2010 = "NMRA S-3.2 (2010)"
NEM_110 = "MOROP NEM 110 (2009)"
PROTOTYPE = "prototype"
_FILES = {
    NMRA_2010: "track_nmra_s3_2_2010",
    "NMRA S-3.2 (older)": "track_nmra_s3_2_older",
    "NMRA S-3.1": "track_nmra_s3_1",
    "NMRA RP-3": "track_nmra_rp3",
    NEM_110: "track_nem110",
    PROTOTYPE: "track_prototype",
}
_OTHER_NAMES = {
    "NEM 110": NEM_110,
    "NEM 110 (2009)": NEM_110,
    "MOROP NEM 110": NEM_110,
    "NMRA S-3.2 (older min/max edition)": "NMRA S-3.2 (older)",
}
_FALLBACK = (NEM_110, NMRA_2010, "NMRA S-3.2 (older)", "NMRA RP-3", "NMRA S-3.1")
_COLUMNS: dict[str, tuple[str, str, str, str, tuple[str, ...]]] = {
    NMRA_2010: ("G", "F", "C", "S", ("P",)),
    "NMRA S-3.2 (older)": ("G_min", "F_max", "C_min", "S_max", ("P_elec", "P_mech")),
    "NMRA S-3.1": ("G_min", "F_frog_max", "C_min", "S_max", ("P_max",)),
    "NMRA RP-3": ("G_min", "F_max", "C_min", "S_max", ("P_elec", "P_mech")),
    NEM_110: ("G", "F_max", "C_min", "S_max", ("E_max",)),
    PROTOTYPE: ("G", "F", "C", "S", ("P",)),
}
_ALLOWED: dict[str, tuple[tuple[str, str], ...]] = {
    NMRA_2010: (("G", "G"), ("C", "C"), ("S", "S"), ("F", "F"), ("P", "P")),
    "NMRA S-3.1": (
        ("G_min", "G_max"),
        ("C_min", "C_max"),
        ("S_min", "S_max"),
        ("F_frog_min", "F_frog_max"),
        ("", "P_max"),
    ),
    NEM_110: (("", "G_max"), ("C_min", "C_max"), ("S_min", "S_max"), ("F_min", "F_max"), ("", "E_max")),
}
"""The columns of the least and the greatest of gauge, check gauge, span, flangeway and point spread; "" where a table
has none. The tables with one column for some of them are read by `_MIN_MAX`."""
_MIN_MAX = (("G_min", "G_max"), ("C_min", ""), ("", "S_max"), ("", "F_max"), ("", "P_elec"))
_DEPTH = "H_min"
"""The column of the least depth of a flangeway."""
_GAUGE_MAX = {NMRA_2010: "G", PROTOTYPE: ""}
"""The column of the widest gauge, where it is not G_max; the prototype's table has none."""


Allowed = tuple[Fraction | None, Fraction | None]
"""The least and the greatest that a document allows (mm), None where it states none."""
_UNSTATED: Allowed = (None, None)


class Limits(Struct, frozen=True):
    """What the document allows to be measured at the bench; of flangeways it is the frog's that is meant."""

    gauge: Allowed = _UNSTATED
    check_gauge: Allowed = _UNSTATED
    span: Allowed = _UNSTATED
    flangeway: Allowed = _UNSTATED
    point_spread: Allowed = _UNSTATED


class Clearances(Struct, frozen=True):
    """What wheels need, in mm: frog `flangeway`, `check_gauge`, `span`, `point_spread`; and the `source`.

    `gauge_max` is the widest that the same document lets the gauge be, and `depth` the least that a flangeway is deep;
    None where it says nothing of that.
    """

    flangeway: Fraction
    check_gauge: Fraction
    span: Fraction
    point_spread: Fraction
    source: str
    gauge_max: Fraction | None = None
    depth: Fraction | None = None
    limits: Limits = Limits()


class _TrackRow(Struct, frozen=True):
    name: str
    ratio: Fraction | None
    gauge: Fraction
    figures: Clearances


def track_standard_names() -> tuple[str, ...]:
    """Return the names of the track standards, as they are printed."""
    return tuple(_FILES)


def track_standard_named(text: str) -> str | None:
    """Return the printed name of the standard that `text` names, None where there is none."""
    names = {**{name: name for name in _FILES}, **_OTHER_NAMES}
    return {name.casefold(): found for name, found in names.items()}.get(" ".join(text.split()).casefold())


def family_of(standard: str) -> Family:
    """Return whose gauges go with the track standard `standard`."""
    return "MOROP" if standard == NEM_110 else "NMRA"


def clearances_for(standard: str, gauge: str | None, width: Fraction, ratio: Fraction) -> Clearances:
    """Return the clearances for a gauge `width` mm wide at 1:`ratio`; `gauge` is its name in the tables, if it has one.

    `standard` is a name of `track_standard_names()`. The rule by which a row is taken is in the module's docstring.
    """
    if standard == PROTOTYPE:
        return _full_size_practice(width, ratio)
    own = next((row for row in _rows(standard) if row.name == gauge and _is_same(row, width)), None)
    if own is not None:
        return own.figures
    same = _row_of_width(standard, width, ratio)
    if same is not None:
        return _told(same, _why_same(standard, gauge))
    for other in _FALLBACK:
        same = _row_of_width(other, width, ratio)
        if same is not None:
            return _told(same, f": same gauge; {standard} has no row for {_gauge_words(gauge, width)} that was read")
    return _in_proportion(standard, gauge, width)


def _gauge_words(gauge: str | None, width: Fraction) -> str:
    return gauge if gauge is not None else f"{float(width):.4g} mm"


def _why_same(standard: str, gauge: str | None) -> str:
    if gauge is None or standard in (NEM_110, "NMRA RP-3"):
        return ", taken by its gauge"
    return f": same gauge; the row for {gauge} was not read"


def _told(row: _TrackRow, why: str) -> Clearances:
    return replace(row.figures, source=f"{row.figures.source}{why}")


def _is_same(row: _TrackRow, width: Fraction) -> bool:
    return abs(row.gauge - width) <= SAME_GAUGE


def _row_of_width(standard: str, width: Fraction, ratio: Fraction) -> _TrackRow | None:
    fitting = [row for row in _rows(standard) if _is_same(row, width)]
    return min(fitting, key=lambda row: (abs(row.gauge - width), abs((row.ratio or ratio) - ratio)), default=None)


def _in_proportion(standard: str, gauge: str | None, width: Fraction) -> Clearances:
    rows = [row for name in dict.fromkeys((standard, NMRA_2010, NEM_110)) for row in _rows(name)]
    row = min(rows, key=lambda row: abs(math.log(row.gauge / width)))
    by, figures = width / row.gauge, row.figures
    source = (
        f"common practice, no source: {_gauge_words(gauge, width)} is in no table that was read; "
        f"in proportion from {figures.source}"
    )
    return Clearances(
        figures.flangeway * by,
        figures.check_gauge * by,
        figures.span * by,
        figures.point_spread * by,
        source,
        depth=None if figures.depth is None else figures.depth * by,
    )


def _full_size_practice(width: Fraction, ratio: Fraction) -> Clearances:
    row = _rows(PROTOTYPE)[0]
    figures, full = row.figures, width * ratio
    less = full - row.gauge
    source = f"{figures.source}, for wheels of full-size contour" + ("" if ratio == 1 else ", divided by the scale")
    return Clearances(
        figures.flangeway / ratio,
        (figures.check_gauge + less) / ratio,
        (figures.span + less) / ratio,
        (figures.point_spread + less) / ratio,
        source,
    )


@cache
def _rows(standard: str) -> tuple[_TrackRow, ...]:
    table = read_table(_FILES[standard])
    found = (_track_row(standard, table, row) for row in table.rows)
    return tuple(row for row in found if row is not None)


def _track_row(standard: str, table: Table, row: Row) -> _TrackRow | None:
    gauge_column, flangeway_column, check, span, spread_columns = _COLUMNS[standard]
    gauge, flangeway = table.size(row, gauge_column), table.size(row, flangeway_column)
    spreads = [size for column in spread_columns if (size := table.size(row, column)) is not None]
    check_gauge, guard_span = table.size(row, check), _upper(table, row, span)
    if gauge is None or flangeway is None or check_gauge is None or guard_span is None or not spreads:
        return None
    source = f"{row.get('document') or standard}, row {row['name']}"
    known = table.known(row)
    figures = Clearances(
        flangeway,
        check_gauge,
        guard_span,
        spreads[0],
        source if known == "read" else f"{source} ({known})",
        _upper(table, row, _GAUGE_MAX.get(standard, "G_max")),
        table.size(row, _DEPTH),
        Limits(*(_allowed(table, row, *columns) for columns in _ALLOWED.get(standard, _MIN_MAX))),
    )
    return _TrackRow(row["name"], row.get("ratio"), gauge, figures)


def _upper(table: Table, row: Row, column: str) -> Fraction | None:
    """Return a figure at its upper tolerance, where the table gives [target, upper, lower]."""
    target = table.size(row, column)
    if target is None or not isinstance(row.get(column), list):
        return target
    return target + (table.size(row, column, 1) or Fraction(0))


def _allowed(table: Table, row: Row, least: str, greatest: str) -> Allowed:
    """Return the least and the greatest from their columns, or from one that gives [target, upper, lower]."""
    if least == greatest and isinstance(row.get(least), list):
        target, upper, lower = (table.size(row, least, place) or Fraction(0) for place in range(3))
        return target - lower, target + upper
    return table.size(row, least), table.size(row, greatest)
