"""Tell what base is to be filed away, in a table for the bench: parts that are alike share a row.

Cells are as short as can be, for five columns share half a page.
"""

from __future__ import annotations

from collections.abc import Sequence

from turnout_templates.drafting.base_words import BaseWords
from turnout_templates.reports.block import Block, Row
from turnout_templates.trackwork.bases.base_cuts import cuts_by_part
from turnout_templates.trackwork.bases.materials import material_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Bar

_TITLE = "Bases to file off, flush with the head (- is before the tip)"
_IN_ORDER = "Of parts that share a row, what each is to be clear of follows in their order, after semicolons."
_SHARED = 4
"""At most so many parts that are alike share a row, each named."""

Parts = list[tuple[str, tuple[str, ...]]]
"""Parts that are alike, each with what it must be clear of."""


def bases_block(work: Trackwork) -> Block:
    """Return the table of bases to file away."""
    rows: dict[tuple[str, ...], Parts] = {}
    words = BaseWords(work)
    for name, cuts in cuts_by_part(work.base_cuts).items():
        if not isinstance(words.parts[name], Bar) and material_of(cuts) == "strip":
            against = tuple(dict.fromkeys(other for cut in cuts for other in cut.against))
            rows.setdefault(("all: use strip", "end to end", ""), []).append((name, against))
            continue
        for cut in cuts:
            told = words.of(cut)
            rows.setdefault((told.side, told.reach, told.place), []).append((name, cut.against))
    head: Row = ("part", "side", "from, to", "measured from", "clear of")
    cells = [
        (", ".join(name for name, _ in few), *cells, _clear_of([against for _, against in few]))
        for cells, alike in rows.items()
        for few in (alike[k : k + _SHARED] for k in range(0, len(alike), _SHARED))
    ]
    shared = (_IN_ORDER,) if any(len(alike) > 1 for alike in rows.values()) else ()
    return Block(_TITLE, (head, *cells, *shared) if cells else (), has_head=True)


def _clear_of(against: Sequence[tuple[str, ...]]) -> str:
    """Return what each part of a row must be clear of, in the order of the parts: `R5a, R6a; R7`."""
    return "; ".join(", ".join(others) for others in against)
