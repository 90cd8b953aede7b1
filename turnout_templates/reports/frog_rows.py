"""Tell of each frog its number, angle, lead and rails, in a table."""

from __future__ import annotations

from turnout_templates.drafting.switches import begin_name
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace
from turnout_templates.units import format_degrees


def frogs_block(work: Trackwork) -> Block:
    """Return the table of frogs."""
    begins = tuple(dict.fromkeys(begin_name(work, switch) for switch in work.switches))
    bars: dict[tuple[str, RouteFace], list[str]] = {(f.id, o): [] for f in work.frogs for o in (f.first, f.second)}
    for fit in work.fits:
        bars[fit.frog, fit.owner] += [] if fit.bar is None else [fit.bar]
    head: Row = ("frog", "number", "angle", *([f"lead (from the {' or '.join(begins)})"] if begins else []), "rails")
    rows: list[Row] = [head] if work.frogs else []
    for frog in work.frogs:
        lead = "-" if frog.lead is None else length_of(work, frog.lead)
        name = frog.id if frog.kind == "V" else f"{frog.id} (K)"
        rails = " × ".join(_rail(owner, bars[frog.id, owner]) for owner in (frog.first, frog.second))
        rows.append((name, f"{frog.number:.2f}", format_degrees(frog.angle), *([lead] if begins else []), rails))
    return Block("Frogs", tuple(rows), has_head=True)


def _rail(owner: RouteFace, bars: list[str]) -> str:
    """Return a rail at a frog in words, with the bars of it that meet there: `main common right (R3a, R3b)`."""
    return f"{owner.label} ({', '.join(sorted(set(bars)))})" if bars else owner.label
