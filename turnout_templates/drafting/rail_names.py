"""Write the name of each piece of rail, wing and joint beside it, along the rail, where nothing else is in the way.

The names are those of the tables: R3b/2 is the second piece of the second bar of the third rail. What is so hemmed in
that its name fits nowhere beside it, or shorter than its name, is named beyond the ties, with a leader.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from turnout_templates.drafting import styles
from turnout_templates.drafting.bases import beyond_ties
from turnout_templates.drafting.joints import CLEAR_RISE, joint_pose, name_places
from turnout_templates.drafting.labels import Label, LabelRoom, baseline
from turnout_templates.drafting.obstacles import poses_along
from turnout_templates.drawing.items import PathItem, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.trackwork.frogs.frog_parts import Wing
from turnout_templates.trackwork.guides.guides import flare_more
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.rails.rail_parts import RouteFace, Stretch

_RISE = 0.46
"""Half the height of a name, in parts of its size."""
_GAP = 0.5
"""Space between the head and the name (mm)."""


def name_rails(work: Trackwork, room: LabelRoom) -> Iterator[PathItem | TextItem]:
    """Yield the names of all but short pieces, each as near its middle as it fits, outside the gauge first.

    Labels with their leaders come last.
    """
    hemmed_in = []
    for piece in work.pieces:
        if _is_short(piece):
            continue
        text = _named(piece.id, _places(work, piece), room, styles.RAIL_NAMES)
        if text is None:
            hemmed_in.append(_piece_label(work, piece, 9))
        else:
            yield text
    yield from room.place_all(hemmed_in)


def _named(name: str, places: Iterator[tuple[Pose, Outline]], room: LabelRoom, layer: str) -> TextItem | None:
    """Return a name at the first free place, None where none is free."""
    for pose, outline in places:
        if room.track.is_free(outline):
            room.track.take(outline)
            room.take_name(outline)
            return _text(name, pose, layer)
    return None


def name_small_parts(work: Trackwork, room: LabelRoom) -> tuple[list[TextItem], list[Label]]:
    """Return the names of joints, short pieces and wings that find room beside them, and labels for all others.

    They are named before anything else, having little choice. A short piece shares the label of the joint it ends at.
    """
    texts: list[TextItem] = []
    labels: dict[str, Label] = {}
    for joint in work.joints:
        text = _named(joint.id, name_places(work, joint), room, styles.JOINTS)
        if text is None:
            labels[joint.id] = _label(work, joint.id, [joint_pose(work, joint)], joint.owner, 4)
        else:
            texts.append(text)
    for piece in filter(_is_short, work.pieces):
        text = _named(piece.id, _places(work, piece), room, styles.RAIL_NAMES)
        shared = next((labels[end.at] for end in piece.ends if end.at in labels), None)
        if text is not None:
            texts.append(text)
        elif shared is not None:
            labels[shared.part] = replace(shared, text=f"{shared.text}, {piece.id}")
        else:
            labels[piece.id] = _piece_label(work, piece, 4)
    for wing in work.wings:
        text = _named(wing.id, _places_of_wing(work, wing), room, styles.RAIL_NAMES)
        if text is None:
            poses = list(_poses(work, Stretch(wing.beside, *wing.straight)))
            labels[wing.id] = _label(work, wing.id, poses, wing.beside, 4)
        else:
            texts.append(text)
    return texts, list(labels.values())


def _is_short(piece: RailPiece) -> bool:
    return piece.length < text_width(piece.id, styles.RAIL_NAME_SIZE)


def _piece_label(work: Trackwork, piece: RailPiece, rank: int) -> Label:
    longest = max(piece.stretches, key=lambda stretch: stretch.high - stretch.low)
    return _label(work, piece.id, list(_poses(work, longest)), longest.owner, rank)


_TOLD_AT = (0.5, 0.3, 0.7, 0.1, 0.9, 0.2, 0.4, 0.6, 0.8)
"""Where along a stretch the leader of its name may begin, in parts of its length, the best first."""


def _poses(work: Trackwork, stretch: Stretch) -> Iterator[Pose]:
    """Yield poses on the gauge face along a stretch, its middle first."""
    route = work.layout.route(stretch.owner.route)
    for part in _TOLD_AT:
        station = stretch.low + part * (stretch.high - stretch.low)
        yield route.path.pose_at(station).shifted(route.offset_at(stretch.owner.face, station))


def _label(work: Trackwork, name: str, poses: Sequence[Pose], owner: RouteFace, rank: int) -> Label:
    """Return the label, told at one of some poses, of what finds no room for its name beside it."""
    pose, clear = poses[0], beyond_ties(work, owner)
    elsewhere = tuple(poses[1:])
    size = styles.RAIL_NAME_SIZE
    return Label(name, pose.point, pose.heading, owner.face.outward, clear, rank, size, part=name, elsewhere=elsewhere)


def _places(work: Trackwork, piece: RailPiece) -> Iterator[tuple[Pose, Outline]]:
    """Yield where the middle of a piece's name may lie, as a pose along the rail with the outline of the text."""
    rise = _RISE * styles.RAIL_NAME_SIZE
    for side in (1, -1):
        for stretch in sorted(piece.stretches, key=lambda s: s.low - s.high):
            face = stretch.owner.face
            edge = face.outward * (work.spec.rail.head if side > 0 else 0.0)
            offset = edge + side * face.outward * (_GAP + rise)
            poses = list(poses_along(work, stretch))
            for pose in sorted(poses, key=lambda p: math.dist(p.point, poses[len(poses) // 2].point)):
                yield _place(piece.id, pose.shifted(offset))


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
    half, rise = text_width(name, styles.RAIL_NAME_SIZE) / 2 + 0.3, CLEAR_RISE * styles.RAIL_NAME_SIZE
    return place, rectangle(place, half, half, rise, rise)


def _text(name: str, pose: Pose, layer: str) -> TextItem:
    place, _ = baseline(pose, styles.RAIL_NAME_SIZE)
    size = styles.RAIL_NAME_SIZE
    return TextItem(name, place.point, size, layer, place.heading, "middle", halo=True, part=name)
