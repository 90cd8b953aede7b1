"""Say in words what is bought: materials and their sections."""

from __future__ import annotations

from turnout_templates.reports.cut_parts import Supply
from turnout_templates.units import Unit, format_clearance

OWN_RAIL = "own"
"""What rail is called whose section the spec gives itself."""


def section_of(supply: Supply, unit: Unit) -> str:
    """Return the section of a supply: the name of a rail, else width and height in one unit: `2.62 x 2.04 mm`."""
    if supply.name and supply.name != OWN_RAIL:
        return supply.name
    width, height = (format_clearance(size, unit) for size in (supply.width, supply.height))
    return f"{width.removesuffix(f' {unit}')} x {height}"
