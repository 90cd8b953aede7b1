"""Tell in a table of every bar of rail what it is, the length of its gauge face and how both ends are prepared."""

from __future__ import annotations

from collections.abc import Mapping

from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.reports.rail_figures import bar_length
from turnout_templates.trackwork.contacts import BarEnd, Prepared, bar_ends
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import Bar

_HEAD: Row = ("bar", "what it is", "rail", "length of its gauge face", "one end", "other end")
_EXPLAINED = (
    "A bar that cranks into another part is best one piece of rail with it: cut the two lengths as one. Allow a little "
    "more at an end that is filed."
)
_WORDS: Mapping[Prepared, str] = {
    "square": "square",
    "cut off": "square, for a flangeway",
    "point of switch": "filed tip at {}",
    "fixed rail": "square, fixed rail at {}",
    "butt": "square, toe of {}",
    "point": "point at {}",
    "spliced": "splice at {}",
    "nose": "nose at {}",
    "elbow": "crank at the elbow of {}",
    "mitre": "mitre at {}",
    "knuckle": "crank at the knuckle of {}",
    "groove": "end at the groove of {}",
}
"""How an end is prepared, with the frog or switch that asks for it."""


def bars_block(work: Trackwork) -> Block:
    """Return the table of bars: the end from which a bar runs, then the one that it runs to."""
    ends = bar_ends(work.rails, work.switches, work.bars, work.fits)
    into = {(contact.at, contact.first): contact.second for contact in work.contacts if contact.kind != "splice"}
    into |= {(c.at, c.second): c.first for c in work.contacts if c.kind == "elbow"}
    rows: list[Row] = [
        (
            bar.id,
            bar.role,
            _rail(bar),
            length_of(work, bar_length(work, bar)),
            *(_end(bar, end, into) for end in ends[bar.id]),
        )
        for bar in work.bars
    ]
    return Block("Bars of rail to cut", (_HEAD, *rows, _EXPLAINED) if rows else (), has_head=True)


def _rail(bar: Bar) -> str:
    """Return the gauge faces that a bar runs along, in words."""
    return ", then ".join(dict.fromkeys(stretch.owner.label for stretch in bar.stretches))


def _end(bar: Bar, end: BarEnd, into: Mapping[tuple[str, str], str]) -> str:
    """Return how one end of a bar is prepared, and what it cranks into."""
    words = _WORDS[end.prepared].format(end.at)
    other = into.get((end.at or "", bar.id)) if end.prepared in ("elbow", "knuckle") else None
    return f"{words}, into {other}" if other else words
