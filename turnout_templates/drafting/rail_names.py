"""Write the name of each bar and wing rail beside it, along the rail, where nothing else is in the way.

The names are those of the figures: R3b is the second bar of the third rail. A bar or a wing
so hemmed in that its name fits nowhere beside it goes without.
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
from turnout_templates.trackwork.frog_parts import Wing
from turnout_templates.trackwork.guides import flare_more
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import Bar, Stretch

_RISE = 0.46
"""Half the height kept free for a name, in parts of its size."""
_GAP = 0.5
"""Space between the head and the name (mm)."""


def name_rails(work: Trackwork, room: LabelRoom) -> Iterator[Item]:
    """Yield the names of all bars and wings, each as near its middle as it fits, outside the gauge first."""
    for outline in mark_outlines(work):
        room.track.take(outline)
    named = [(bar.id, _places(work, bar)) for bar in work.bars]
    named += [(wing.id, _places_of_wing(work, wing)) for wing in work.wings]
    for name, places in named:
        for pose, outline in places:
            if room.track.is_free(outline):
                room.track.take(outline)
                yield _text(name, pose)
                break


def _places(work: Trackwork, bar: Bar) -> Iterator[tuple[Pose, Outline]]:
    """Yield where the middle of a bar's name may lie, as a pose along the rail with the outline of the text."""
    rise = _RISE * styles.RAIL_NAME_SIZE
    for side in (1, -1):
        for stretch in sorted(bar.stretches, key=lambda s: s.low - s.high):
            face = stretch.owner.face
            edge = face.outward * (work.spec.rail.head if side > 0 else 0.0)
            offset = edge + side * face.outward * (_GAP + rise)
            poses = list(poses_along(work, stretch))
            for pose in sorted(poses, key=lambda p: math.dist(p.point, poses[len(poses) // 2].point)):
                yield _place(bar.id, pose.shifted(offset))


def _places_of_wing(work: Trackwork, wing: Wing) -> Iterator[tuple[Pose, Outline]]:
    """Yield where the middle of a wing's name may lie: behind it, then beyond the end of its flare."""
    face, path = wing.beside.face, work.layout.route(wing.beside.route).path
    behind = wing.flangeway + work.spec.rail.head + _GAP + _RISE * styles.RAIL_NAME_SIZE
    turn = wing.straight[1] if wing.end >= wing.straight[1] else wing.straight[0]
    poses = list(poses_along(work, Stretch(wing.beside, *wing.straight)))
    middle = poses[len(poses) // 2].point
    for pose in sorted(poses, key=lambda pose: math.dist(pose.point, middle)):
        yield _place(wing.id, pose.shifted(-face.outward * behind))
    flare = path.pose_at((wing.end + turn) / 2).shifted(face.offset)
    yield _place(wing.id, flare.shifted(-face.outward * (behind + flare_more(abs(wing.end - turn)))))


def _place(name: str, place: Pose) -> tuple[Pose, Outline]:
    """Return a place for a name with the outline of the text."""
    half, rise = text_width(name, styles.RAIL_NAME_SIZE) / 2 + 0.3, _RISE * styles.RAIL_NAME_SIZE
    return place, rectangle(place, half, half, rise, rise)


def _text(name: str, pose: Pose) -> TextItem:
    place, _ = baseline(pose, styles.RAIL_NAME_SIZE)
    size = styles.RAIL_NAME_SIZE
    return TextItem(name, place.point, size, styles.RAIL_NAMES, place.heading, "middle", halo=True, part=name)
