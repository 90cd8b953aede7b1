"""Write lengths in the units of a spec."""

from __future__ import annotations

from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance_with_mm, format_length, format_reach


def length_of(work: Trackwork, mm: float) -> str:
    """Return a length to lay out by in the spec's units: mm to a tenth, inches to 1/64."""
    return format_length(mm, work.spec.units)


def reach_of(work: Trackwork, low: float, high: float) -> str:
    """Return from where to where in the spec's units (see `format_reach`)."""
    return format_reach(low, high, work.spec.units)


def fine_of(work: Trackwork, mm: float, places: int = 2, bracket: str = "(") -> str:
    """Return a small length in the spec's units (see `format_clearance_with_mm`)."""
    return format_clearance_with_mm(mm, work.spec.units, places, bracket)
