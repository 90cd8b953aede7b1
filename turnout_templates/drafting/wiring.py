"""Draw wiring: gap lines across copper, copper that is taken off, holes of feeders with their ids."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import Label
from turnout_templates.drawing.items import Item, MarkItem, PathItem, RegionItem
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import LineSegment, polyline
from turnout_templates.trackwork.current.copper import first_end
from turnout_templates.trackwork.current.feeders import HOLE
from turnout_templates.trackwork.current.wiring_parts import TieGap
from turnout_templates.trackwork.model import Trackwork

_BEYOND = 1.5
"""White between the ends of ties and labels, mm."""
_OVER = 0.3
"""How far a gap line reaches beyond the sides of its tie (mm)."""


def draw_copper_gaps(work: Trackwork) -> Iterator[Item]:
    """Yield the gaps of ties and throw bars, and where copper is taken off under a rail."""
    ties = {tie.id: tie for tie in work.ties}
    bars = {made.switch: made.bar for made in work.switch_works}
    for copper in work.wiring.copper:
        tie = ties.get(copper.tie)
        bar = bars.get(copper.tie)
        if tie is not None:
            for part in copper.on:
                if part.bared is not None:
                    end, side = first_end(tie), tie.width / 2
                    outline = rectangle(end, part.bared - part.low, part.high + part.bared, side, side)
                    yield RegionItem(
                        (polyline(outline, closed=True),),
                        styles.COPPER_OFF_FILL,
                        styles.COPPER_OFF,
                        styles.BARE,
                        f"tie {tie.id}",
                    )
            yield from (_gap(gap, tie.angle, tie.width, f"tie {tie.id}") for gap in copper.gaps)
        elif bar is not None:
            across = bar.pose.heading + math.pi / 2
            yield from (_gap(gap, across, bar.width, copper.tie) for gap in copper.gaps)


def _gap(gap: TieGap, angle: float, width: float, part: str) -> PathItem:
    """Return the line of a gap in what lies at an angle and is so wide."""
    way = Pose(*gap.at, gap.heading)
    half = (width / 2 + _OVER) / abs(math.sin(gap.heading - angle))
    line = LineSegment(way.ahead(-half).point, way.ahead(half).point)
    return PathItem((line,), styles.COPPER_GAP, styles.WIRING, part)


def draw_feeders(work: Trackwork) -> Iterator[Item]:
    """Yield the holes of feeders."""
    for feeder in work.wiring.feeders:
        yield MarkItem("ring", feeder.hole, HOLE, styles.WIRING, 0.0, styles.FEEDER, feeder.id)
        yield MarkItem("saltire", feeder.hole, HOLE, styles.WIRING, 0.0, styles.FEEDER, feeder.id)


def feeder_outlines(work: Trackwork) -> Iterator[Outline]:
    """Yield the places of the holes, which small texts amid the track keep off."""
    half = HOLE / 2
    yield from (rectangle(Pose(*feeder.hole, 0.0), half, half, half, half) for feeder in work.wiring.feeders)


def label_feeders(work: Trackwork) -> Iterator[Label]:
    """Yield the labels of feeders, their ids, beyond the ends of ties; the chapter on wiring says what each feeds."""
    for feeder in work.wiring.feeders:
        route = work.layout.route(feeder.owner.route)
        pose = route.path.pose_at(feeder.station)
        left = pose.local(feeder.hole)[1]
        half = max(abs(face.offset) for face in route.faces) + work.spec.ties.overhang
        side = 1 if left > 0.0 else -1
        reach = max(half - abs(left), 0.0) + _BEYOND
        yield Label(feeder.id, feeder.hole, pose.heading, side, reach, 7, 1.8, part=feeder.id)
