"""Turn trackwork into blocks that tell the sections of the track, their feeders and the contacts that feed frogs."""

from __future__ import annotations

from collections.abc import Sequence

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block
from turnout_templates.trackwork.model import Trackwork


def wiring_blocks(work: Trackwork, findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Return the blocks."""
    return ()
