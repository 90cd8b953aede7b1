"""Turn trackwork into blocks that tell the steps of building, in working order.

The order in which parts are laid is `trackwork.working_order`'s; what comes before and after it is common practice.
Steps that would tell of nothing are left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.bench_gauges import bench_gauges_block
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.build_steps import Step
from turnout_templates.reports.finishing_steps import finishing_steps
from turnout_templates.reports.laying_steps import laying_steps
from turnout_templates.reports.preparing_steps import preparing_steps
from turnout_templates.trackwork.model import Trackwork

_ROW_HEIGHT = 6.0
"""The least height of a step, mm: room for a tick (ours)."""
_HEAD: Row = ("step", "part of the work", "what to do", "what to check", "done")


def build_sheet_blocks(work: Trackwork, findings: Sequence[Finding], *, is_joined: bool = True) -> tuple[Block, ...]:
    """Return the gauges that are needed, then all steps in one table, which is broken between them.

    `is_joined` tells that there are several sheets to be joined.
    """
    rows: list[Row] = [_HEAD]
    told: tuple[str, ...] = ()
    for number, step in enumerate(_steps(work, is_joined=is_joined), start=1):
        rows += [f"Take care: {caution}" for caution in step.cautions if caution not in told]
        told = step.cautions
        rows.append((str(number), step.title, "\n".join(step.do), "\n".join(step.check), ""))
    steps = Block("Steps in working order", tuple(rows), has_head=True, row_height=_ROW_HEIGHT, fill_in=1)
    return bench_gauges_block(work), steps


def _steps(work: Trackwork, *, is_joined: bool) -> Iterator[Step]:
    yield from preparing_steps(work, is_joined=is_joined)
    yield from laying_steps(work)
    yield from finishing_steps(work)
