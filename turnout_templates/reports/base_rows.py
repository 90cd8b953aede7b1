"""Tell what base is to be filed away, in a table for the bench: parts that are alike share a row.

Cells are as short as can be, for five columns share half a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from turnout_templates.reports.base_figures import cuts_by_part, parts_by_id
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.trackwork.base_cuts import BaseCut
from turnout_templates.trackwork.bases import AHEAD
from turnout_templates.trackwork.feeds import frogs_at_ends
from turnout_templates.trackwork.frog_parts import Guard, Wing
from turnout_templates.trackwork.materials import Measured, material_of, measure_cut
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import Bar, PointRail

_TITLE = "Bases to file off flush (- is before a tip)"
_NAMED = 4
"""How many parts of a row, and how many that they foul, are named one by one."""


def bases_block(work: Trackwork) -> Block:
    """Return the table of bases to file away."""
    rows: dict[tuple[str, ...], tuple[list[str], list[str]]] = {}
    parts, at_ends = parts_by_id(work), frogs_at_ends(work)
    reliefs = {(relief.bar, relief.low, relief.high) for relief in work.reliefs}
    for name, cuts in cuts_by_part(work).items():
        part = parts[name]
        if not isinstance(part, Bar) and material_of(cuts) == "strip":
            _add(rows, ("all: use strip", "end to end", ""), name, (other for cut in cuts for other in cut.against))
            continue
        for cut in cuts:
            along = measure_cut(work.layout, part, cut)
            if (cut.part, cut.low, cut.high) in reliefs:
                _add(rows, (_side(part, cut), _about_tip(work, along), "tip beside it"), name, cut.against)
                continue
            reach = _reach(work, along.low, along.high)
            _add(rows, (_side(part, cut), reach, _end(work, part, along, at_ends)), name, cut.against)
    head: Row = ("part", "side", "from, to", "measured from", "clear of")
    told = [(_named(names), *cells, _named(against)) for cells, (names, against) in rows.items()]
    return Block(
        "Bases to file off, flush with the head (- is before the tip)", (head, *told) if told else (), has_head=True
    )


def _add(
    rows: dict[tuple[str, ...], tuple[list[str], list[str]]], cells: tuple[str, ...], name: str, against: Iterable[str]
) -> None:
    """Add a part to the row with these cells."""
    names, others = rows.setdefault(cells, ([], []))
    names += [name] if name not in names else []
    others += [other for other in dict.fromkeys(against) if other not in others]


def _about_tip(work: Trackwork, along: Measured) -> str:
    """Return from where to where a rail is relieved for the tip of a point that lies behind it."""
    ahead = AHEAD * work.spec.rail.head
    return _reach(work, -ahead, along.high - along.low - ahead)


def _reach(work: Trackwork, low: float, high: float) -> str:
    """Return from where to where, the unit said once: `13.1 to 18.2 mm`; what lies before a tip is negative."""
    return f"{length_of(work, low).removesuffix(f' {work.spec.units}')} to {length_of(work, high)}"


def _side(part: Bar | Wing | Guard, cut: BaseCut) -> str:
    if isinstance(part, Bar):
        return cut.side
    return "flangeway" if cut.side == "gauge" else "back"


def _end(
    work: Trackwork, part: Bar | Wing | Guard, along: Measured, at_ends: dict[str, tuple[str | None, str | None]]
) -> str:
    """Return what a cut is measured from: a tip, a frog's end of a bar, a knuckle, else where the end lies."""
    if isinstance(part, Wing) and min(abs(along.end - s) for s in part.straight) < abs(along.end - part.end):
        return "knuckle"
    if isinstance(part, Bar):
        if any(p.owner == along.owner and abs(p.tip - along.end) < _AT for p in _moving(work)):
            return "its tip"
        if at_ends[part.id][0 if along.first else 1] is not None:
            return "frog end"
    return f"end at {length_of(work, along.end)}"


_AT = 1e-6
"""An end lies at a tip that is this near (mm)."""


def _moving(work: Trackwork) -> Iterable[PointRail]:
    return (point for switch in work.switches for point in switch.moving_points)


def _named(names: Sequence[str]) -> str:
    """Return names in a row; of many the first and how many there are."""
    if len(names) <= _NAMED:
        return ", ".join(names)
    return f"{', '.join(names[: _NAMED - 1])} ... {names[-1]} ({len(names)})"
