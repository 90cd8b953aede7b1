"""Tell the figures of wiring: sections, copper with its gaps, feeders, and how frogs are fed."""

from __future__ import annotations

import math

from turnout_templates.reports.places import Figures, owner_figures, point_figures
from turnout_templates.trackwork.current.copper import CLEAR, TIGHT
from turnout_templates.trackwork.current.feeding import FrogFeed, frog_feeds
from turnout_templates.trackwork.current.wiring_parts import CopperTie, Feeder
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.reversing import Reversing, reversing_sections


def section_figures(work: Trackwork) -> list[Figures]:
    """Return the sections."""
    return [
        {"id": section.id, "kind": section.kind, "frog_ids": list(section.frogs), "part_ids": list(section.parts)}
        for section in work.wiring.sections
    ]


def copper_figures(work: Trackwork) -> list[Figures]:
    """Return the copper-clad ties, then the throw bars, with what lies on each and its gaps."""
    ties = {tie.id for tie in work.ties}
    return [_copper(tie, "tie" if tie.tie in ties else "throw bar") for tie in work.wiring.copper]


def _copper(tie: CopperTie, kind: str) -> Figures:
    return {
        "id": tie.tie,
        "kind": kind,
        "length_mm": tie.length,
        "parts": [
            {
                "part": part.part,
                "section": part.section,
                "from_mm": part.low,
                "to_mm": part.high,
                "soldered": part.soldered,
                "bared_mm": part.bared,
            }
            for part in tie.on
        ],
        "gaps": [
            {
                "along_mm": gap.along,
                "width_mm": gap.width,
                **point_figures(gap.at),
                "heading_deg": math.degrees(gap.heading),
                "leans": gap.leans,
                "tight": gap.tight,
            }
            for gap in tie.gaps
        ],
        "crowded": [
            {
                "part_ids": list(pair.parts),
                "room_mm": pair.room,
                "need_mm": pair.need,
                "bared": pair.bared,
                "cut": pair.cut,
            }
            for pair in tie.crowded
        ],
    }


def feeder_figures(work: Trackwork) -> list[Figures]:
    """Return the feeders."""
    return [_feeder(feeder) for feeder in work.wiring.feeders]


def _feeder(feeder: Feeder) -> Figures:
    return {
        "id": feeder.id,
        "piece": feeder.piece,
        "section": feeder.section,
        **owner_figures(feeder.owner),
        "station_mm": feeder.station,
        "side": feeder.side,
        "tie": feeder.tie,
        **point_figures(feeder.hole),
    }


def wiring_figures(work: Trackwork) -> Figures:
    """Return how frogs are fed, what guards are bonded to, the double gaps, and how far gaps stay from bases."""
    return {
        "frogs": [_feed(feed) for feed in frog_feeds(work)],
        "guards": dict(work.wiring.bonded),
        "double_gaps": [joint.id for joint in work.joints if joint.cut is not None and joint.cut.double],
        "reversing": [_reversing(section) for section in reversing_sections(work)],
        "gap_clear_mm": CLEAR,
        "tight_gap_clear_mm": TIGHT,
    }


def _reversing(section: Reversing) -> Figures:
    return {
        "route": section.route,
        "section_ids": [section.section("left"), section.section("right")] if section.far else [],
        "gap_ids": [[joint.id for joint in joints] for joints in (section.near, section.far)],
        "from_mm": section.low,
        "to_mm": section.high,
        "length_mm": section.length,
    }


def _feed(feed: FrogFeed) -> Figures:
    return {
        "section": feed.section,
        "frog_ids": list(feed.frogs),
        "feeder_ids": list(feed.feeders),
        "switch": feed.switch,
        "routes": dict(feed.routes),
    }
