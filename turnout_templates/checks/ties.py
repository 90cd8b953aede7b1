"""Check of ties: what must be held and is not."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.ties.holding import SPACES


def check_missing_ties(work: Trackwork) -> Iterator[Finding]:
    """Report each place that no tie could be laid or moved to hold."""
    for missing in work.missing_ties:
        none = phrase("no tie reaches it")
        away = phrase("the middle of the nearest tie lies ", Size(missing.away), " from it")
        yield Finding(
            "tie-missing",
            "warning",
            missing.what,
            missing.at,
            away if math.isfinite(missing.away) else none,
            phrase(Size(missing.limit), f", {SPACES} tie spaces, at the most"),
            "common practice, no source",
            phrase("Put a short tie of your own there, or glue a block under the rail."),
        )
