"""Run every check over the trackwork."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from turnout_templates.checks.bars import check_short_bars
from turnout_templates.checks.bases import check_bases_left
from turnout_templates.checks.closed_points import check_closed_points
from turnout_templates.checks.depth import check_depth
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.frogs import (
    check_heel_curve,
    check_heel_there,
    check_wings,
)
from turnout_templates.checks.grooves import check_shared_grooves
from turnout_templates.checks.guarding import check_guarding
from turnout_templates.checks.leads import check_lead_begins
from turnout_templates.checks.moving import check_points_apart, check_points_touch
from turnout_templates.checks.parting import (
    check_butts,
    check_butts_whole,
    check_gauges_told_apart,
    check_one_toe,
)
from turnout_templates.checks.pieces import (
    check_gaps_missing,
    check_rail_lengths,
    check_short_pieces,
)
from turnout_templates.checks.points import (
    check_bars_apart,
    check_bars_between_ties,
    check_frog_on_point,
    check_spots,
)
from turnout_templates.checks.polarity import check_opposed_crossings, check_rings
from turnout_templates.checks.rails import (
    check_bare_rails,
    check_crossings_complete,
    check_lost_rails,
    check_own_crossings,
)
from turnout_templates.checks.spans import check_facing_guides, check_span
from turnout_templates.checks.switches import (
    check_frog_possible,
    check_frog_reached,
    check_hand,
    check_opening,
    check_third_rail,
)
from turnout_templates.checks.ties import check_missing_ties
from turnout_templates.checks.tips import check_frogs_before_tips, check_tips_backed, check_tips_there
from turnout_templates.checks.widening import check_gauge_max, check_widened_ends
from turnout_templates.checks.wiring import check_copper_gaps, check_fed, check_sections_apart
from turnout_templates.trackwork.model import Trackwork

CHECKS: tuple[Callable[[Trackwork], Iterator[Finding]], ...] = (
    check_lost_rails,
    check_own_crossings,
    check_hand,
    check_lead_begins,
    check_span,
    check_facing_guides,
    check_shared_grooves,
    check_third_rail,
    check_frog_possible,
    check_frog_reached,
    check_crossings_complete,
    check_gauges_told_apart,
    check_butts,
    check_butts_whole,
    check_one_toe,
    check_guarding,
    check_wings,
    check_frog_on_point,
    check_tips_there,
    check_tips_backed,
    check_frogs_before_tips,
    check_heel_curve,
    check_heel_there,
    check_depth,
    check_short_bars,
    check_points_apart,
    check_points_touch,
    check_spots,
    check_bars_apart,
    check_bars_between_ties,
    check_gauge_max,
    check_widened_ends,
    check_rings,
    check_opposed_crossings,
    check_opening,
    check_bare_rails,
    check_missing_ties,
    check_bases_left,
    check_gaps_missing,
    check_rail_lengths,
    check_short_pieces,
    check_sections_apart,
    check_closed_points,
    check_copper_gaps,
    check_fed,
)


def check_trackwork(work: Trackwork) -> tuple[Finding, ...]:
    """Return all findings, errors first, in the order of the checks."""
    found = [finding for check in CHECKS for finding in check(work)]
    return tuple(sorted(found, key=lambda finding: finding.level != "error"))
