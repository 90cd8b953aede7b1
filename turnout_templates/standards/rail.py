"""Turn the name of a rail into its section in mm, with the table it stands in.

Codes are NMRA RP-15.1 sections, model sizes as they are. AREA sections are full size and are divided by the scale.
"""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from turnout_templates.standards.tables import Table, read_table

_FILES = ("rail_nmra_rp15_1", "rail_area_1939")


class NamedRail(Struct, frozen=True):
    """A rail section: `height`, `head` width and `base` width in mm, and their `source`."""

    name: str
    height: Fraction
    head: Fraction
    base: Fraction
    source: str


def rail_names() -> tuple[str, ...]:
    """Return the name of every rail in the tables."""
    return tuple(row["name"] for file in _FILES for row in read_table(file).rows)


def rail_named(name: str, ratio: Fraction) -> NamedRail | None:
    """Return the rail called `name` (in any case) at the scale 1:`ratio`, None where no table has it."""
    wanted = " ".join(name.split()).casefold()
    for file in _FILES:
        table = read_table(file)
        for row in table.rows:
            if row["name"].casefold() == wanted:
                return _rail_of(table, row["name"], ratio)
    return None


def default_rail(ratio: Fraction) -> NamedRail:
    """Return the rail that goes with the scale 1:`ratio` where a spec names none."""
    choices = read_table("practice").head["rail"]
    choice = next(entry for entry in choices if ratio >= entry["ratio_from"])
    rail = rail_named(choice["name"], ratio)
    assert rail is not None, choice
    return NamedRail(rail.name, rail.height, rail.head, rail.base, f"{rail.source}; chosen by {choice['known']}")


def _rail_of(table: Table, name: str, ratio: Fraction) -> NamedRail:
    row = next(row for row in table.rows if row["name"] == name)
    by = table.in_mm / ratio if table.head["full_size"] else table.in_mm
    source = f"{table.head['document']}, {table.head['table']}"
    if table.head["full_size"]:
        divided = "" if ratio == 1 else ", divided by the scale"
        source = f"{table.head['document']} ({table.head['edition']}){divided}"
    return NamedRail(name, row["A"] * by, row["C"] * by, row["B"] * by, source)
