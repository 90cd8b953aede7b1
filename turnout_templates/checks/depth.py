"""Check that a rail is high enough for the grooves that are cut in it."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import clearance, phrase
from turnout_templates.trackwork.frogs.knuckles import cut_depth
from turnout_templates.trackwork.model import Trackwork

_LEFT = 0.2
"""Less of a rail's height than this part leaves nothing to solder a frog together by (common practice, no source)."""


def check_depth(work: Trackwork) -> Iterator[Finding]:
    """Report once how much of the rail the deepest flangeway of all frogs leaves, where that is too little."""
    depths = ((cut_depth(frog), frog) for frog in work.frogs)
    known = [(depth, source, frog) for (depth, source), frog in depths if depth is not None]
    if not known:
        return
    depth, source, frog = max(known, key=lambda found: found[0])
    rail = work.spec.rail
    left = rail.height - depth
    if left >= _LEFT * rail.height:
        return
    through = left <= 0.0
    yield Finding(
        "rail-too-low",
        "error" if through else "warning",
        f"{frog.id} and every frog with as deep a flangeway",
        frog.point,
        phrase("flangeways ", clearance(depth), " deep in a rail ", clearance(rail.height), " high"),
        phrase("a groove cuts the rail through" if through else "too little is left to hold the frog together"),
        f"{source}; {rail.source}",
        phrase("Take a higher rail, or state the depth that your wheels need in track_standard: flangeway_depth."),
    )
