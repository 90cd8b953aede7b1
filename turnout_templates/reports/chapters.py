"""The chapters that follow the tables of the map: under what word each can be left out, its heading, who makes it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from msgspec import Struct

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block
from turnout_templates.reports.build_sheet import build_sheet_blocks
from turnout_templates.reports.cut_list import cut_list_blocks
from turnout_templates.reports.gauging_record import gauging_record_blocks
from turnout_templates.reports.rail_pieces import rail_pieces_blocks
from turnout_templates.reports.wiring_rows import wiring_blocks
from turnout_templates.trackwork.model import Trackwork


class ReportChapter(Struct, frozen=True):
    """A chapter: left out as `part`, headed `heading`, its blocks made by `make`; `in_turn`: read in their order."""

    part: str
    heading: str
    make: Callable[[Trackwork, Sequence[Finding]], tuple[Block, ...]]
    in_turn: bool = False


def chapters(*, is_joined: bool) -> tuple[ReportChapter, ...]:
    """Return the chapters in the order in which they are needed; `is_joined`: there are several sheets to be joined."""
    build = partial(build_sheet_blocks, is_joined=is_joined)
    return (
        ReportChapter("rails", "Rails", rail_pieces_blocks),
        ReportChapter("cut-list", "Cut list", cut_list_blocks),
        ReportChapter("build-sheet", "Build sheet", build, in_turn=True),
        ReportChapter("wiring", "Wiring", wiring_blocks),
        ReportChapter("gauging-record", "Gauging record", gauging_record_blocks, in_turn=True),
    )
