"""Turn the name of a scale or a gauge into its ratio, its width in mm and the document that says so.

NMRA and MOROP share the names Z, N, TT and S, with the same ratios and gauges that differ by a few hundredths of a
millimetre (N: 0.353 in = 8.9662 mm, and 9 mm). Whose gauge is taken follows the track standard in force: a MOROP
standard takes MOROP's, any other NMRA's.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Literal

from msgspec import Struct

from turnout_templates.standards.tables import read_table

Family = Literal["NMRA", "MOROP"]
_FILES: dict[Family, str] = {"NMRA": "scales_nmra", "MOROP": "scales_nem"}

PROTOTYPE_GAUGE = Fraction("56.5")
"""Standard gauge in inches, 4 ft 8 1/2 in (49 CFR 213, MIL-HDBK-1005/6)."""


class NamedScale(Struct, frozen=True):
    """A scale of a published table: `ratio` to one, its own gauge by name, and the track standard it takes unsaid."""

    name: str
    ratio: Fraction
    track_standard: str
    source: str


class NamedGauge(Struct, frozen=True):
    """A gauge of a published table: `width` in mm between gauge faces, and the `source` of that figure."""

    name: str
    width: Fraction
    source: str


@cache
def named_scales() -> dict[str, NamedScale]:
    """Return every scale by name; where both bodies have the name (and then the ratio) the NMRA's row stands."""
    found: dict[str, NamedScale] = {}
    for file in ("scales_nem", "scales_nmra"):
        table = read_table(file)
        for row in table.rows:
            source = f"{table.head['document']}: {table.known(row)}"
            found[row["name"]] = NamedScale(row["name"], row["ratio"], row["track_standard"], source)
    return found


@cache
def named_gauges(family: Family) -> dict[str, NamedGauge]:
    """Return every gauge by name, `family`'s figure where both bodies have one."""
    found: dict[str, NamedGauge] = {}
    for body in sorted(_FILES, key=lambda body: body == family):
        table = read_table(_FILES[body])
        for row in table.rows:
            width = table.size(row, "gauge")
            if width is not None:
                source = f"{table.head['document']} nominal gauge, {table.known(row)}"
                found[row["name"]] = NamedGauge(row["name"], width, source)
    return found


def unit_of_scale(name: str) -> Literal["mm", "in"]:
    """Return the unit that goes with a scale: inches for the NMRA's names, mm for MOROP's and for a bare ratio.

    A name that both have counts as the NMRA's. A choice of this program.
    """
    return "in" if any(row["name"] == name for row in read_table(_FILES["NMRA"]).rows) else "mm"


def scaled_standard_gauge(ratio: Fraction) -> NamedGauge:
    """Return full-size standard gauge divided by `ratio`, for a scale without a name."""
    width = PROTOTYPE_GAUGE * Fraction("25.4") / ratio
    return NamedGauge("standard", width, "derived: 4 ft 8 1/2 in divided by the scale")
