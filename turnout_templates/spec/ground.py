"""Turn the head of a spec's tree (units, scale, track standard, gauges) into what the reading of the rest stands on.

It takes what it can from a spec that is wrong elsewhere, so that every other mistake can be found in the same run.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from turnout_templates import units
from turnout_templates.errors import Problem, QuantityError
from turnout_templates.spec.model import Scale
from turnout_templates.spec.tree import Scalar, Table, problem_at
from turnout_templates.standards.scales import (
    NamedGauge,
    named_gauges,
    named_scales,
    scaled_standard_gauge,
)
from turnout_templates.standards.track import NMRA_2010, PROTOTYPE, family_of, track_standard_named

if TYPE_CHECKING:
    from turnout_templates.spec.scalars import Setting

LARGEST_RATIO = 1000
NARROWEST, WIDEST = Fraction(1), Fraction(3000)
"""Gauges in mm: from below any that was ever laid to above any."""


class GroundGauge(Struct, frozen=True):
    """A gauge of the spec: its `table_name` where it was named, its `width` in mm, and the width's `source`."""

    table_name: str | None
    width: Fraction
    source: str


class Ground(Struct, frozen=True):
    """What a spec's head says. `ratio` is 1 and `gauges` may be empty where `problems` say so."""

    scale: Scale
    ratio: Fraction
    standard: str
    gauges: dict[str, GroundGauge]
    setting: Setting
    problems: tuple[Problem, ...]


def read_ground(tree: Table) -> Ground:
    """Return what the head of `tree` says, with the problems in its scale and gauges."""
    from turnout_templates.spec.scalars import Setting

    problems: list[Problem] = []
    scale, ratio = _scale_of(tree, problems)
    standard = _standard_of(tree, scale, ratio)
    unit = tree.scalar("units")
    bare: units.Unit | None = (
        None if unit is None else "mm" if unit.text == "mm" else "in" if unit.text == "in" else None
    )
    setting = Setting(ratio, bare)
    gauges = _gauges_of(tree, scale, ratio, standard, setting, problems)
    shown = scale if scale is not None else Scale("1:1", 1.0)
    return Ground(shown, ratio or Fraction(1), standard, gauges, setting, tuple(problems))


def _scale_of(tree: Table, problems: list[Problem]) -> tuple[Scale | None, Fraction | None]:
    written = tree.scalar("scale")
    if written is None or written.is_nothing:
        return None, None
    name = written.text.strip()
    known = named_scales().get(name)
    if known is not None:
        return Scale(name, float(known.ratio)), known.ratio
    try:
        if ":" not in name:
            number = name.removeprefix("1/").strip()
            remedy = f'Write "1:{number}".' if number.replace(".", "", 1).isdecimal() else ""
            raise QuantityError(units.quoted(name), "a scale's name or ratio, such as HO or 1:87.1,", remedy)
        ratio = units.read_ratio(name)
        if not 1 <= ratio <= LARGEST_RATIO:
            raise QuantityError(units.quoted(name), f"a ratio from 1:1 to 1:{LARGEST_RATIO}")
    except QuantityError as error:
        problems.append(_problem(written, error.sentence, error.remedy or _nearest(name, tuple(named_scales()))))
        return None, None
    return Scale(units.format_ratio(float(ratio)), float(ratio)), ratio


def _standard_of(tree: Table, scale: Scale | None, ratio: Fraction | None) -> str:
    """Return the track standard in force: the one named (alone or as `from`), else the scale's."""
    named = tree.scalar("track_standard")
    table = tree.table("track_standard")
    if table is not None:
        named = table.scalar("from")
    found = track_standard_named(named.text) if named is not None else None
    if found is not None:
        return found
    if ratio == 1:
        return PROTOTYPE
    known = named_scales().get(scale.name) if scale is not None else None
    return known.track_standard if known is not None else NMRA_2010


def _gauges_of(
    tree: Table,
    scale: Scale | None,
    ratio: Fraction | None,
    standard: str,
    setting: Setting,
    problems: list[Problem],
) -> dict[str, GroundGauge]:
    table = tree.table("gauges")
    if table is None:
        return {"standard": _own_gauge(scale, ratio, standard)} if ratio is not None else {}
    found: dict[str, GroundGauge] = {}
    for name, node in table.entries.items():
        if isinstance(node, Scalar) and not node.is_nothing:
            gauge = _gauge_of(node, standard, ratio, setting, problems)
            found[name] = gauge
    return found


def _own_gauge(scale: Scale | None, ratio: Fraction, standard: str) -> GroundGauge:
    named = named_gauges(family_of(standard)).get(scale.name) if scale is not None else None
    return _as_ground(named) if named is not None else _unnamed(scaled_standard_gauge(ratio))


def _gauge_of(
    node: Scalar, standard: str, ratio: Fraction | None, setting: Setting, problems: list[Problem]
) -> GroundGauge:
    known = named_gauges(family_of(standard))
    named = known.get(node.text.strip())
    if named is not None:
        return _as_ground(named)
    try:
        width = units.read_length(node.text, ratio=ratio or Fraction(1), bare=setting.bare)
        if not NARROWEST <= width <= WIDEST:
            raise QuantityError(units.quoted(node.text), "a gauge from 1 mm to 3 m")
        setting.counts["in" if units.uses_inches(node.text) else "mm"] += 1
        return GroundGauge(None, width, "given in the spec")
    except QuantityError as error:
        looks_named = node.text[:1].isalpha()
        expected = "the name of a gauge or its width" if looks_named else error.expected
        remedy = _nearest(node.text.strip(), tuple(known)) if looks_named else error.remedy
        problems.append(_problem(node, QuantityError(error.found, expected).sentence, remedy))
        return GroundGauge(None, WIDEST, "")


def _as_ground(gauge: NamedGauge) -> GroundGauge:
    return GroundGauge(gauge.name, gauge.width, gauge.source)


def _unnamed(gauge: NamedGauge) -> GroundGauge:
    return GroundGauge(None, gauge.width, gauge.source)


def _problem(node: Scalar, sentence: str, remedy: str) -> Problem:
    return problem_at(node.place, node.path, sentence, remedy)


def _nearest(word: str, known: tuple[str, ...]) -> str:
    from turnout_templates.spec.scalars import nearest

    return nearest(word, known)
