"""Tell what base is to be filed away, in a table for the bench: parts that are alike share a row.

Cells are as short as can be, for five columns share half a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from turnout_templates.reports.base_figures import parts_by_id
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of, reach_of
from turnout_templates.trackwork.base_cuts import BaseCut, cuts_by_part
from turnout_templates.trackwork.bases import AHEAD
from turnout_templates.trackwork.contacts import BarEnd, Prepared, bar_ends
from turnout_templates.trackwork.frog_parts import Guard, Wing
from turnout_templates.trackwork.materials import Measured, material_of, measure_cut
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import Bar, PointRail

_TITLE = "Bases to file off, flush with the head (- is before the tip)"
_IN_ORDER = "Of parts that share a row, what each is to be clear of follows in their order, after semicolons."
_SHARED = 4
"""At most so many parts that are alike share a row, each named."""

Parts = list[tuple[str, tuple[str, ...]]]
"""Parts that are alike, each with what it must be clear of."""


def bases_block(work: Trackwork) -> Block:
    """Return the table of bases to file away."""
    rows: dict[tuple[str, ...], Parts] = {}
    parts, ends = parts_by_id(work), bar_ends(work.rails, work.switches, work.bars, work.fits)
    reliefs = {(relief.bar, relief.low, relief.high) for relief in work.reliefs}
    for name, cuts in cuts_by_part(work.base_cuts).items():
        part = parts[name]
        if not isinstance(part, Bar) and material_of(cuts) == "strip":
            against = tuple(dict.fromkeys(other for cut in cuts for other in cut.against))
            rows.setdefault(("all: use strip", "end to end", ""), []).append((name, against))
            continue
        for cut in cuts:
            along = measure_cut(work.layout, part, cut)
            if (cut.part, cut.low, cut.high) in reliefs:
                cells = (_side(part, cut), _about_tip(work, along), "tip beside it")
            else:
                cells = (_side(part, cut), reach_of(work, along.low, along.high), _end(work, part, along, ends))
            rows.setdefault(cells, []).append((name, cut.against))
    head: Row = ("part", "side", "from, to", "measured from", "clear of")
    told = [
        (", ".join(name for name, _ in few), *cells, _clear_of([against for _, against in few]))
        for cells, alike in rows.items()
        for few in (alike[k : k + _SHARED] for k in range(0, len(alike), _SHARED))
    ]
    shared = (_IN_ORDER,) if any(len(alike) > 1 for alike in rows.values()) else ()
    return Block(_TITLE, (head, *told, *shared) if told else (), has_head=True)


def _clear_of(against: Sequence[tuple[str, ...]]) -> str:
    """Return what each part of a row must be clear of, in the order of the parts: `R5a, R6a; R7`."""
    return "; ".join(", ".join(others) for others in against)


def _about_tip(work: Trackwork, along: Measured) -> str:
    """Return from where to where a rail is relieved for the tip of a point behind it; what lies before is negative."""
    ahead = AHEAD * work.spec.rail.head
    return reach_of(work, -ahead, along.high - along.low - ahead)


def _side(part: Bar | Wing | Guard, cut: BaseCut) -> str:
    if isinstance(part, Bar):
        return cut.side
    return "flangeway" if cut.side == "gauge" else "back"


def _end(work: Trackwork, part: Bar | Wing | Guard, along: Measured, ends: dict[str, tuple[BarEnd, BarEnd]]) -> str:
    """Return what a cut is measured from: a tip, a bar's end or elbow at a frog, a knuckle, else where the end lies."""
    if isinstance(part, Wing) and min(abs(along.end - s) for s in part.straight) < abs(along.end - part.end):
        return "knuckle"
    if isinstance(part, Bar):
        if any(p.owner == along.owner and abs(p.tip - along.end) < _AT for p in _moving(work)):
            return "its tip"
        end = ends[part.id][0 if along.first else 1]
        if end.fit is not None:
            return f"{_AT_FROG.get(end.prepared, 'its end at')} {end.at}"
    return f"end at {length_of(work, along.end)} of {along.owner.route}"


_AT_FROG: Mapping[Prepared, str] = {"elbow": "the elbow of", "knuckle": "the knuckle of"}
"""What the end of a bar at a frog is called where the rail goes on."""
_AT = 1e-6
"""An end lies at a tip that is this near (mm)."""


def _moving(work: Trackwork) -> Iterable[PointRail]:
    return (point for switch in work.switches for point in switch.moving_points)
