"""Turn the name of a published rule and a scale into how much the gauge is widened on which curves.

A rule is a list of steps, each a radius and what the gauge is widened by on curves tighter than that. It is made for
the full size and divided by the scale; it says nothing of any gauge but its own.
"""

from __future__ import annotations

import math
from fractions import Fraction

from msgspec import Struct

from turnout_templates.standards.tables import Row, Table, read_table
from turnout_templates.units import MM_PER_INCH

PROTOTYPE = "prototype"
"""What the one rule that was read is also called."""
_CHORD = 100 * 12 * MM_PER_INCH
"""The degree of a curve is the angle at its centre that a chord of 100 ft spans (mm)."""


class WideningRule(Struct, frozen=True):
    """A published rule at a scale: `steps` of (radius, by) in mm, the widest curve first, and the `source`."""

    steps: tuple[tuple[float, float], ...]
    source: str


def widening_rule_names() -> tuple[str, ...]:
    """Return the names of the rules, as they are printed."""
    return tuple(row["name"] for row in read_table("widening").rows)


def widening_rule_named(text: str) -> str | None:
    """Return the printed name of the rule that `text` names, None where there is none."""
    names = {name.casefold(): name for name in widening_rule_names()}
    return {PROTOTYPE: widening_rule_names()[0], **names}.get(" ".join(text.split()).casefold())


def is_gauge_of_rule(name: str, width: float, ratio: Fraction) -> bool:
    """Tell whether a rule speaks of a gauge `width` mm wide at 1:`ratio`."""
    table, row = _rule(name)
    gauge, within = table.size(row, "gauge"), table.head["gauge_within"]["value"]
    assert gauge is not None
    return abs(width * float(ratio / gauge) - 1.0) <= float(within)


def widening_rule(name: str, ratio: Fraction) -> WideningRule:
    """Return a rule at 1:`ratio`: a step for each further widening, until the gauge is as wide as it may be."""
    table, row = _rule(name)
    gauge, by, most = (table.size(row, column) for column in ("gauge", "by", "gauge_max"))
    assert gauge is not None and by is not None and most is not None
    steps = []
    for count in range(1, math.ceil((most - gauge) / by) + 1):
        degrees = row["above_degrees"] + (count - 1) * row["per_degrees"]
        steps.append((radius_of_degree(float(degrees)) / float(ratio), float(min(count * by, most - gauge) / ratio)))
    known = "" if table.known(row) == "read" else f" ({table.known(row)})"
    source = f"{table.head['document']}{known}" + ("" if ratio == 1 else ", divided by the scale")
    return WideningRule(tuple(steps), source)


def radius_of_degree(degrees: float) -> float:
    """Return the radius in mm of a curve of so many degrees: R = 50 ft / sin(D/2) (MIL-HDBK-1005/6)."""
    return float(_CHORD) / 2 / math.sin(math.radians(degrees) / 2)


def taper_slope() -> float:
    """Return the length of a taper for each mm of widening, where none is given: common practice, no source."""
    return float(read_table("widening").head["taper"]["value"])


def _rule(name: str) -> tuple[Table, Row]:
    table = read_table("widening")
    return table, next(row for row in table.rows if row["name"] == name)
