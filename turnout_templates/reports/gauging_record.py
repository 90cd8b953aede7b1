"""Turn trackwork into blocks that tell a table to fill in at the bench."""

from __future__ import annotations

from collections.abc import Sequence

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block
from turnout_templates.trackwork.model import Trackwork


def gauging_record_blocks(work: Trackwork, findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Return the blocks."""
    return ()
