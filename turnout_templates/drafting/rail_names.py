"""Write the name of each bar of rail beside it, along the rail, where nothing else is in the way.

The names are those of the figures: R3b is the second bar of the third rail. A bar so hemmed in that its name fits
nowhere beside it goes without.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import LabelRoom, baseline
from turnout_templates.drafting.obstacles import poses_along
from turnout_templates.drafting.switches import mark_outlines
from turnout_templates.drawing.items import Item, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import Bar

_GAP = 0.5
"""Space between the head and the name (mm)."""


def name_rails(work: Trackwork, room: LabelRoom) -> Iterator[Item]:
    """Yield the names of all bars, each as near the bar's middle as it fits, outside the gauge first."""
    for outline in mark_outlines(work):
        room.track.take(outline)
    for bar in work.bars:
        for pose, outline in _places(work, bar):
            if room.track.is_free(outline):
                room.track.take(outline)
                yield _text(bar, pose)
                break


def _places(work: Trackwork, bar: Bar) -> Iterator[tuple[Pose, Outline]]:
    """Yield where the middle of a bar's name may lie, as a pose along the rail with the outline of the text."""
    half = text_width(bar.id, styles.RAIL_NAME_SIZE) / 2 + 0.3
    rise = styles.RAIL_NAME_SIZE * 0.46
    for side in (1, -1):
        for stretch in sorted(bar.stretches, key=lambda s: s.low - s.high):
            face = stretch.owner.face
            edge = face.outward * (work.spec.rail.head if side > 0 else 0.0)
            offset = edge + side * face.outward * (_GAP + rise)
            poses = list(poses_along(work, stretch))
            for pose in sorted(poses, key=lambda p: math.dist(p.point, poses[len(poses) // 2].point)):
                place = pose.shifted(offset)
                yield place, rectangle(place, half, half, rise, rise)


def _text(bar: Bar, pose: Pose) -> TextItem:
    place, _ = baseline(pose, styles.RAIL_NAME_SIZE)
    size = styles.RAIL_NAME_SIZE
    return TextItem(bar.id, place.point, size, styles.RAIL_NAMES, place.heading, "middle", halo=True, part=bar.id)
