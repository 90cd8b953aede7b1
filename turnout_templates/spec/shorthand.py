"""Turn the shorthand `turnout` of a spec's tree into the routes that it stands for.

    turnout: {hand: left, frog: 6}

becomes a route `main`, long enough to hold the turnout, and a route `branch` that leaves it. Every key written out
points back to the key of the shorthand that it came from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from turnout_templates import units
from turnout_templates.errors import KeyPath
from turnout_templates.spec.forms import SpecForm, TurnoutForm
from turnout_templates.spec.ground import Ground
from turnout_templates.spec.mean_routes import frog_angle
from turnout_templates.spec.tree import Listing, Node, Place, Scalar, Table
from turnout_templates.standards.practice import tie_practice
from turnout_templates.standards.rail import default_rail, rail_named

TIES_BEFORE_TIP = 5
TIES_BEHIND_FROG = 5
"""Plain track at either end, in tie spacings: common practice, no source."""
TOE_HEADS = 2.5
"""A frog's toe reaches to where the faces are this many rail heads apart: common practice (see RP-12.7)."""
HEEL_BY_TOE = 1.6
"""A frog's heel length by its toe length, as in AREA's No. 8 (from memory); only the length of the main rests on it."""
STEPS = {"mm": Fraction(10), "in": Fraction(127, 10)}
"""Lengths written out are rounded up to this, in mm: a centimetre, or half an inch."""


@dataclass(frozen=True, slots=True)
class _Lengths:
    """Lengths in mm: the `tip`'s station on the main, the whole `main`, the `heel` piece behind the frog."""

    tip: Fraction
    main: Fraction
    heel: Fraction


def write_out(tree: Table, form: SpecForm, ground: Ground, unit: units.Unit) -> Table:
    """Return `tree` with its `turnout` replaced by the routes it stands for, lengths in `unit`."""
    written = tree.table("turnout")
    assert written is not None and form.turnout is not None
    lengths = _lengths(form, form.turnout, ground, unit)
    writer = _Writer(written, unit)
    entries = {key: node for key, node in tree.entries.items() if key not in ("turnout", "units")}
    keys = {key: place for key, place in tree.keys.items() if key in entries}
    entries["units"] = tree.entries.get("units") or writer.word(unit)
    entries["routes"] = writer.table(
        {"main": writer.main(form.turnout, lengths), "branch": writer.branch(form.turnout, lengths)}
    )
    keys["units"] = keys["routes"] = tree.keys["turnout"]
    return Table(entries, keys, tree.place, tree.path)


def _lengths(form: SpecForm, turnout: TurnoutForm, ground: Ground, unit: units.Unit) -> _Lengths:
    """Return lengths that hold the turnout: exact on a straight main, near enough on a curved one."""
    gauge = float(max(gauge.width for gauge in ground.gauges.values()))
    spacing = form.ties.spacing if form.ties is not None and form.ties.spacing is not None else None
    spacing = spacing or float(tie_practice(ground.ratio, Fraction(gauge)).spacing)
    head = _rail_head(form, ground)
    angle = _frog_angle(turnout, gauge, head)
    toe = TOE_HEADS * head / (2 * math.sin(angle / 2))
    lead = _lead(turnout, gauge, angle, _straight_before(turnout, toe))
    tip = _rounded_up(TIES_BEFORE_TIP * spacing, unit)
    main = _rounded_up(float(tip) + lead + HEEL_BY_TOE * toe + TIES_BEHIND_FROG * spacing, unit)
    foot = float(tip) + lead - gauge / 2 * math.sin(angle)
    return _Lengths(tip, main, _rounded_up((float(main) - foot) / math.cos(angle) - float(STEPS[unit]) / 2, unit))


def _rail_head(form: SpecForm, ground: Ground) -> float:
    if form.rail is None:
        return float(default_rail(ground.ratio).head)
    named = rail_named(form.rail.word, ground.ratio)
    return form.rail.head if named is None else float(named.head)


def _frog_angle(turnout: TurnoutForm, gauge: float, head: float) -> float:
    """Return the frog's angle in radians; for a radius the one it comes to, from (R + g/2)(1 - cos F) + k sin F = g."""
    given = frog_angle(turnout)
    if given is not None:
        return given
    bend = 1 / turnout.radius
    if turnout.main is not None:
        bend -= (1 if turnout.main.turn == turnout.hand else -1) / turnout.main.radius
    radius = 1 / bend if bend > 1 / (1000 * gauge) else 1000 * gauge
    offset = gauge - (
        0.0 if turnout.through is not None and turnout.through.word else min(TOE_HEADS * head, 0.9 * gauge)
    )
    return math.acos(max(0.5, 1 - offset / (radius + gauge / 2)))


def _straight_before(turnout: TurnoutForm, toe: float) -> float:
    if turnout.through is None:
        return toe
    return 0.0 if turnout.through.word else turnout.through.straight


def _lead(turnout: TurnoutForm, gauge: float, frog: float, straight: float) -> float:
    """Return the lead in mm: a cos S + (R + g/2)(sin F - sin S) + k cos F, S and a being zero for tangent points."""
    points = turnout.points
    entry, length, offset = 0.0, 0.0, gauge
    if points is not None and points.given("entry"):
        entry = points.entry
    elif points is not None and points.straight is not None:
        length, spread, tip = points.straight
        entry, offset = math.asin((spread - tip) / length), gauge - spread
    turned = math.cos(entry) - math.cos(frog)
    rise = offset - straight * math.sin(frog)
    if turned <= 0 or rise <= 0:
        return gauge / math.tan(frog / 2)
    outer = rise / turned
    return length * math.cos(entry) + outer * (math.sin(frog) - math.sin(entry)) + straight * math.cos(frog)


def _rounded_up(mm: float, unit: units.Unit) -> Fraction:
    step = STEPS[unit]
    return max(1, math.ceil(Fraction(mm) / step)) * step


@dataclass(frozen=True, slots=True)
class _Writer:
    """Writes nodes that stand where the shorthand stands."""

    origin: Table
    unit: units.Unit

    def main(self, turnout: TurnoutForm, lengths: _Lengths) -> Table:
        length = self.length(lengths.main)
        curve = self.origin.table("main")
        piece: dict[str, Node] = {"straight": length}
        if curve is not None:
            piece = {"curve": self.over(curve, {**curve.entries, "length": length})}
        entries: dict[str, Node] = {"path": self.listing([self.table(piece)])}
        if (rail := self.origin.entries.get("common_rail")) is not None:
            entries["common_rail"] = rail
        return self.table(entries)

    def branch(self, turnout: TurnoutForm, lengths: _Lengths) -> Table:
        written = self.origin.entries
        entries: dict[str, Node] = {
            "leaves": self.word("main"),
            "at": self.length(lengths.tip),
            "hand": written["hand"],
        }
        if "points" in written:
            entries["points"] = written["points"]
        heel = self.table({"straight": self.length(lengths.heel)})
        entries["path"] = self.listing([self.to_frog(turnout), heel])
        return self.table(entries)

    def to_frog(self, turnout: TurnoutForm) -> Table:
        written = self.origin.entries
        through = {"through": written["through"]} if "through" in written else {}
        if "radius" in written:
            curve = {"radius": written["radius"], "turn": written["hand"], "to": self.word("frog"), **through}
            return self.table({"curve": self.table(curve)})
        key = turnout.frog_keys[0]
        return self.table({key: written[key], **through})

    def word(self, text: str) -> Scalar:
        return Scalar(text, True, self.place, self.path)

    def length(self, mm: Fraction) -> Scalar:
        return self.word(units.exact_length(float(mm), self.unit))

    def listing(self, items: list[Node]) -> Listing:
        return Listing(tuple(items), self.place, self.path)

    def table(self, entries: dict[str, Node]) -> Table:
        return self.over(self.origin, entries)

    def over(self, origin: Table, entries: dict[str, Node]) -> Table:
        return Table(entries, {key: node.place for key, node in entries.items()}, origin.place, origin.path)

    @property
    def place(self) -> Place:
        return self.origin.place

    @property
    def path(self) -> KeyPath:
        return self.origin.path
