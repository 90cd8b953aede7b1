"""Tell of each frog its number, angle, lead and rails, in a table."""

from __future__ import annotations

from turnout_templates.drafting.switches import begin_name
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_degrees


def frogs_block(work: Trackwork) -> Block:
    """Return the table of frogs."""
    begins = tuple(dict.fromkeys(begin_name(work, switch) for switch in work.switches))
    head: Row = ("frog", "number", "angle", *([f"lead (from the {' or '.join(begins)})"] if begins else []), "rails")
    rows: list[Row] = [head] if work.frogs else []
    for frog in work.frogs:
        lead = "-" if frog.lead is None else length_of(work, frog.lead)
        name = frog.id if frog.kind == "V" else f"{frog.id} (K)"
        rails = f"{frog.first.label} × {frog.second.label}"
        rows.append((name, f"{frog.number:.2f}", format_degrees(frog.angle), *([lead] if begins else []), rails))
    return Block("Frogs", tuple(rows), has_head=True)
