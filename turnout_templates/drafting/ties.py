"""Draw ties: outlines, hatching on copper-clad ones, headblocks marked, joiners' notches, number and cut length."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import LabelRoom, baseline
from turnout_templates.drawing.items import Item, RegionItem, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import polyline
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.tie_parts import Tie
from turnout_templates.units import format_length

_PLACES = tuple((gap, end) for gap in (0.7, 2.5, 5.0, 8.0, 11.0, 14.0) for end in (1, -1))
"""Where a tie's number may stand: mm from its end, and which end, +1 the left of the track; the best first."""

_FROM_END = 0.4
"""A number that stands on its tie keeps this far (mm) from the tie's end."""


def draw_ties(work: Trackwork, room: LabelRoom) -> Iterator[Item]:
    """Yield all ties with their texts, and take their places from `room`."""
    for tie in work.ties:
        room.take(_corridor(work, tie))
        fill = styles.COPPER_FILL if tie.material == "copper-clad" else styles.NO_FILL
        edge = styles.HEADBLOCK_EDGE if tie.role == "headblock" else styles.TIE_EDGE
        yield RegionItem((polyline(tie.corners(), closed=True),), fill, edge, styles.TIES, f"tie {tie.id}")
        for notch in tie.notches:
            outline = polyline(notch.outline(tie.centre, tie.angle), closed=True)
            yield RegionItem((outline,), styles.NOTCH_FILL, styles.NOTCH_EDGE, styles.TIES, f"tie {tie.id}")
    for tie in work.ties:
        yield _number(work, tie, room)


def _corridor(work: Trackwork, tie: Tie) -> Outline:
    """Return the tie's place with half the space on either side, so that no label comes to lie between the rails."""
    half, side = tie.length / 2, work.spec.ties.spacing * 0.6
    return rectangle(Pose(*tie.centre, tie.angle), half, half, side, side)


def tie_text(work: Trackwork, tie: Tie) -> str:
    """Return what is written at a tie's end: its number and the length to cut."""
    length = format_length(tie.length, work.spec.units)
    return f"{tie.id} · {length.removesuffix(' mm').removesuffix(' in')}"


def _number(work: Trackwork, tie: Tie, room: LabelRoom) -> TextItem:
    """Return the text at the end of a tie where it is free, the left end of the track first.

    Between tracks so near that it finds no place, the number alone stands on the tie itself, at its left end.
    """
    size = styles.TIE_TEXT_SIZE
    text = tie_text(work, tie)
    width = text_width(text, size)
    for gap, end in _PLACES:
        pose = Pose(*tie.centre, tie.angle).ahead(end * (tie.length / 2 + gap))
        back, ahead = (0.0, width) if end > 0 else (width, 0.0)
        outline = rectangle(pose, back, ahead, size * 0.45, size * 0.45)
        if room.room.is_free(outline):
            room.take_text(outline)
            return _text(tie, text, pose, end, halo=False)
    inside = text_width(tie.id, size) + _FROM_END
    return _text(tie, tie.id, Pose(*tie.centre, tie.angle).ahead(tie.length / 2 - inside), 1, halo=True)


def _text(tie: Tie, text: str, pose: Pose, end: int, *, halo: bool) -> TextItem:
    """Return a text that begins at `pose` and runs on away from the track, whichever way that is read."""
    size = styles.TIE_TEXT_SIZE
    place, turned = baseline(pose, size)
    anchor: Literal["start", "end"] = "start" if (end > 0) != turned else "end"
    part = f"tie {tie.id}"
    return TextItem(text, place.point, size, styles.TIE_TEXT, place.heading, anchor, grey=0.25, halo=halo, part=part)
