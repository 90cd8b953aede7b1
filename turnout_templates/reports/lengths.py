"""Write lengths in the units of a spec."""

from __future__ import annotations

from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance, format_clearance_with_mm, format_length


def length_of(work: Trackwork, mm: float) -> str:
    """Return a length to lay out by in the spec's units: mm to a tenth, inches to 1/64."""
    return format_length(mm, work.spec.units)


def reach_of(work: Trackwork, low: float, high: float) -> str:
    """Return from where to where, the unit said once: `13.1 to 18.2 mm`.

    Where both would read alike, both are told finely: `0 to 0.004 in`.
    """
    units = work.spec.units
    ends = [format_length(mm, units) for mm in (low, high)]
    if ends[0] == ends[1]:
        ends = [format_clearance(mm, units) for mm in (low, high)]
    return f"{ends[0].removesuffix(f' {units}')} to {ends[1]}"


def fine_of(work: Trackwork, mm: float, places: int = 2, bracket: str = "(") -> str:
    """Return a small length in the spec's units (see `format_clearance_with_mm`)."""
    return format_clearance_with_mm(mm, work.spec.units, places, bracket)
