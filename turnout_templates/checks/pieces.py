"""Checks of how rails are cut: gaps and joints that find no room, pieces too short."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Size, clearance, phrase
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.cut_to_length import short_pieces
from turnout_templates.trackwork.pieces.gaps import WORKABLE_SPACES

_SOURCE = "the plain rule of this program (common practice, no source)"


def check_gaps_missing(work: Trackwork) -> Iterator[Finding]:
    """Report bars beside a frog that joins left and right on which no isolating gap finds room."""
    for gap in work.rail_cuts.missing:
        yield Finding(
            "gap-missing",
            "warning",
            f"{gap.bar} beside {' and '.join(gap.frogs) or 'the place where left meets right'}",
            gap.at,
            phrase("the longest place clear of ties between what may not be cut is ", clearance(gap.room), " long"),
            phrase("an isolating gap lies between two ties, in ", clearance(gap.need), " clear of them"),
            _SOURCE,
            phrase("Feed what lies at its ends as one section if that can be, or space ties or frogs further apart."),
        )


def check_rail_lengths(work: Trackwork) -> Iterator[Finding]:
    """Report rails that no allowed joint keeps within the longest piece that can be had."""
    for bar in work.rail_cuts.too_long:
        yield Finding(
            "rail-too-long",
            "warning",
            bar.bar,
            bar.at,
            phrase(
                "no place for joints leaves it in pieces that can be had; ", Size(bar.length), " have to be cut in one"
            ),
            phrase("rail comes in pieces of ", Size(bar.limit), " at most"),
            "longest_rail of the spec, one yard if it is unsaid (common practice, no source)",
            phrase("Use longer rail and say so with longest_rail, or cut it where it harms least."),
        )


def check_short_pieces(work: Trackwork) -> Iterator[Finding]:
    """Report pieces that gaps leave shorter than can be held, what they are bent into included."""
    least = WORKABLE_SPACES * work.spec.ties.switch_spacing
    for piece in short_pieces(work, work.rail_cuts):
        end = piece.ends[0]
        path = work.layout.route(end.owner.route).path
        yield Finding(
            "piece-short",
            "warning",
            piece.id,
            path.point_at(end.station, end.owner.face.offset),
            phrase("it is ", clearance(piece.cut_length), " long with what it is bent into"),
            phrase("a piece reaches over a tie space, ", clearance(least)),
            _SOURCE,
            phrase("Cut the gap only after the rail is soldered down on both sides of it, or space the ties closer."),
        )
