"""Mark where rails are cut: a line across at a joint or a template end, two at an isolating gap, and their names."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from turnout_templates.drafting import styles
from turnout_templates.drawing.items import PathItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import LineSegment
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.joints import Joint

_BEYOND_HEADS = 0.8
"""How far a line across a rail reaches beyond its head on both sides, in widths of the head."""
_HALF = 0.15
"""Half the width kept free for such a line (mm)."""
_GAP = 0.4
"""Space between a line and its name (mm)."""
_RISE, CLEAR_RISE = 0.46, 0.62
"""Half the height of a name, and what is kept free for it with the foot of a stroke, in parts of its size."""


class NamePlace(NamedTuple):
    """Where the middle of a name may lie, along the rail, and the outline of its text."""

    pose: Pose
    outline: Outline


def draw_joints(work: Trackwork) -> Iterator[PathItem]:
    """Yield the lines across rails at all joints, gaps and template ends."""
    reach = cut_reach(work)
    for joint in work.joints:
        for pose in cut_lines(work, joint):
            ends = (pose.beside(-reach), pose.beside(reach))
            yield PathItem((LineSegment(*ends),), styles.JOINT, styles.JOINTS, joint.id)


def joint_outlines(work: Trackwork) -> Iterator[Outline]:
    """Yield the places that those lines take, which texts keep off."""
    reach = cut_reach(work)
    for joint in work.joints:
        for pose in cut_lines(work, joint):
            yield rectangle(pose, _HALF, _HALF, reach, reach)


def joint_pose(work: Trackwork, joint: Joint) -> Pose:
    """Return the pose of the middle of the head at a joint, heading as its route does."""
    route = work.layout.route(joint.owner.route)
    offset = route.offset_at(joint.owner.face, joint.station) + joint.owner.face.outward * work.spec.rail.head / 2
    return route.path.pose_at(joint.station).shifted(offset)


def name_places(work: Trackwork, joint: Joint) -> Iterator[NamePlace]:
    """Yield where the name of a joint may stand: beside the rail next to its line, then beyond an end of the line."""
    size, pose = styles.RAIL_NAME_SIZE, joint_pose(work, joint)
    half, rise, clear = text_width(joint.id, size) / 2 + 0.3, _RISE * size, CLEAR_RISE * size
    beside = work.spec.rail.head / 2 + _GAP + rise
    aside = half + _GAP + (joint.cut.width / 2 if joint.cut is not None else 0.0)
    inward = 1 if joint.station < work.layout.route(joint.owner.route).path.length / 2 else -1
    ways = (inward,) if joint.kind == "end" else (1, -1)
    outward = joint.owner.face.outward
    places = [pose.ahead(way * aside).shifted(side * outward * beside) for side in (1, -1) for way in ways]
    beyond = cut_reach(work) + _GAP + rise
    aheads = (0.0, *(way * aside for way in ways)) if joint.kind != "end" else (inward * aside,)
    places += [pose.ahead(ahead).shifted(side * outward * beyond) for side in (1, -1) for ahead in aheads]
    yield from (NamePlace(place, rectangle(place, half, half, clear, clear)) for place in places)


def cut_reach(work: Trackwork) -> float:
    """Return how far (mm) a line across a rail reaches to either side of the middle of its head."""
    return (0.5 + _BEYOND_HEADS) * work.spec.rail.head


def cut_lines(work: Trackwork, joint: Joint) -> Iterator[Pose]:
    """Yield the poses that lines across the rail are square to: both sides of a gap, else the place itself."""
    pose = joint_pose(work, joint)
    if joint.kind == "gap" and joint.cut is not None:
        yield from (pose.ahead(way * joint.cut.width / 2) for way in (-1, 1))
    else:
        yield pose
