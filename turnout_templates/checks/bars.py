"""Checks of bars between frogs close together: whether their filings leave something to hold them by."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import clearance, phrase
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.frogs.between import Between, bars_between_frogs
from turnout_templates.trackwork.model import Trackwork

_SOURCE = "the plain rule of this program (common practice, no source)"


def check_short_bars(work: Trackwork) -> Iterator[Finding]:
    """Report bars between two frogs whose filings leave no whole head, and pieces of rail shorter than a tie space.

    A head counts as whole where it is so over its own width at least, in one run.
    """
    least, reach = work.spec.rail.head, work.spec.ties.switch_spacing
    for bar in bars_between_frogs(work):
        where = f"{bar.id} between {bar.frogs[0]} and {bar.frogs[1]}"
        if bar.whole < least:
            yield Finding(
                "bar-filed-away",
                "warning",
                where,
                _middle(work, bar),
                phrase("it is ", clearance(bar.length), " long and filed until ", clearance(bar.whole), " is whole"),
                phrase("a whole head of at least ", clearance(least), ", its own width, is left between filings"),
                _SOURCE,
                phrase("Make both frogs of one casting or soldered block, or take a larger frog number."),
            )
        elif bar.piece < reach:
            yield Finding(
                "bar-short",
                "warning",
                where,
                _middle(work, bar),
                phrase("the piece of rail is ", clearance(bar.piece), " long with what it is cranked into"),
                phrase("it reaches over a tie space, ", clearance(reach)),
                _SOURCE,
                phrase("Solder it to a strip of brass with its neighbours, or take a larger frog number."),
            )


def _middle(work: Trackwork, bar: Between) -> Point:
    stretch = bar.bar.stretches[len(bar.bar.stretches) // 2]
    path = work.layout.route(stretch.owner.route).path
    return path.point_at((stretch.low + stretch.high) / 2, stretch.owner.face.offset)
