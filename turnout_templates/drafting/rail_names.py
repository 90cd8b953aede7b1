"""Write the name of each bar of rail beside it, along the rail, where nothing else is in the way.

The names are those of the figures: R3b is the second bar of the third rail. A bar so hemmed in that its name fits
nowhere beside it goes without.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import is_upside_down
from turnout_templates.drawing.items import Item, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, Room, rectangle
from turnout_templates.trackwork.model import Bar, Stretch, Trackwork

_STEP = 6.0
"""Rails are looked at in lengths of this many mm."""
_GAP = 0.5
"""Space between the head and the name (mm)."""


def name_rails(work: Trackwork) -> Iterator[Item]:
    """Yield the names of all bars, each as near the bar's middle as it fits, outside the gauge first."""
    room = Room(20.0)
    for outline in _in_the_way(work):
        room.take(outline)
    for bar in work.bars:
        for pose, outline in _places(work, bar):
            if room.is_free(outline):
                room.take(outline)
                yield _text(bar, pose)
                break


def _in_the_way(work: Trackwork) -> Iterator[Outline]:
    """Yield what no name may lie on: heads, centre lines with their figures, guiding rails and frog points."""
    head = work.spec.rail.head
    for bar in work.bars:
        for stretch in bar.stretches:
            face = stretch.owner.face
            left, right = (head, 0.0) if face.outward > 0 else (0.0, head)
            for pose in _poses(work, stretch):
                yield rectangle(pose.shifted(face.offset), _STEP / 2, _STEP / 2, right + 0.1, left + 0.1)
    for route in work.layout:
        for i in range(int(route.path.length / _STEP) + 1):
            pose = route.path.pose_at(min((i + 0.5) * _STEP, route.path.length))
            yield rectangle(pose, _STEP / 2, _STEP / 2, 1.0, styles.STATION_SIZE)
    for ring in [*(wing.ring for wing in work.wings), *(guard.ring for guard in work.guards)]:
        half = len(ring) // 2
        for i in range(half - 1):
            yield (ring[i], ring[i + 1], ring[-2 - i], ring[-1 - i])
    for frog in work.frogs:
        yield rectangle(Pose(*frog.point, frog.heading), 3.0, 3.0, 2.0, 2.0)


def _poses(work: Trackwork, stretch: Stretch) -> Iterator[Pose]:
    """Yield poses on the reference line beside the middles of short lengths of a stretch."""
    path = work.layout.route(stretch.owner.route).path
    count = max(1, math.ceil((stretch.high - stretch.low) / _STEP))
    for i in range(count):
        yield path.pose_at(stretch.low + (i + 0.5) * (stretch.high - stretch.low) / count)


def _places(work: Trackwork, bar: Bar) -> Iterator[tuple[Pose, Outline]]:
    """Yield where the middle of a bar's name may lie, as a pose along the rail with the outline of the text."""
    half = text_width(bar.id, styles.RAIL_NAME_SIZE) / 2 + 0.3
    rise = styles.RAIL_NAME_SIZE * 0.45
    for side in (1, -1):
        for stretch in sorted(bar.stretches, key=lambda s: s.low - s.high):
            face = stretch.owner.face
            edge = face.offset + face.outward * (work.spec.rail.head if side > 0 else 0.0)
            offset = edge + side * face.outward * (_GAP + rise)
            poses = list(_poses(work, stretch))
            for pose in sorted(poses, key=lambda p: math.dist(p.point, poses[len(poses) // 2].point)):
                place = pose.shifted(offset)
                yield place, rectangle(place, half, half, rise, rise)


def _text(bar: Bar, pose: Pose) -> TextItem:
    flipped = is_upside_down(pose.heading)
    sink = 0.33 * styles.RAIL_NAME_SIZE
    at = pose.beside(sink if flipped else -sink)
    angle = pose.heading + (math.pi if flipped else 0.0)
    return TextItem(bar.id, at, styles.RAIL_NAME_SIZE, styles.RAIL_NAMES, angle, "middle", halo=True, part=bar.id)
