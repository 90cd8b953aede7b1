"""Tell how wide an isolating gap is, how far it stays from what is beside it, and what room before a frog it needs."""

from __future__ import annotations

from turnout_templates.spec.model import TieRules
from turnout_templates.trackwork.ties.holding import bound

GAP_HEADS = 0.75
"""Width of an isolating gap in heads of the rail, about what a fine saw leaves in HO: common practice, no source."""
CLEAR_HEADS = 0.25
"""How far a gap stays from the side of a tie and from what may not be cut, in heads: common practice, no source."""


def gap_width(head: float) -> float:
    """Return the width of an isolating gap in rail with heads `head` mm wide, mm."""
    return GAP_HEADS * head


def gap_clear(head: float) -> float:
    """Return how far a gap in such rail stays from ties and from what may not be cut, mm."""
    return CLEAR_HEADS * head


def room_for_gap(rules: TieRules, head: float) -> float:
    """Return how far before the place at which rail ends at a frog it must be fast, so that a gap fits between, mm.

    A tie lies wholly within twice what a tie may lie from what it holds and its own width; then come the gap and a
    clearance on both its sides. Common practice, no source: both ends of rail at a gap are soldered to something.
    """
    return 2 * bound(rules) + rules.switch_width + gap_width(head) + 2 * gap_clear(head)
