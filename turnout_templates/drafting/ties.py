"""Draw ties: outlines, hatching on copper-clad ones, headblocks marked, joiners' notches, number and cut length."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import LabelRoom, baseline
from turnout_templates.drawing.bounds import HALO_PADDING
from turnout_templates.drawing.items import Item, RegionItem, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import polyline
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.ties.tie_parts import Tie
from turnout_templates.units import format_length

_NEAR, _FAR = (
    tuple((gap, end) for gap in gaps for end in (1, -1))
    for gaps in ((0.7, 2.5, 5.0), (6.5, 8.0, 9.5, 11.0, 12.5, 14.0))
)
"""Where a tie's number may stand: mm from its end, and which end, +1 the left of the track; the best first.

On the tie itself it is better placed than in those that are far.
"""
_FROM_END = 0.4
"""A number that stands on its tie keeps this far (mm) from the tie's end."""
_SIZE, _SMALL = styles.TIE_TEXT_SIZE, styles.ON_TIE_SIZE
"""Sizes of the text at a tie's end, and on the tie (mm)."""
_STEP, _FINE_STEP = 1.0, 0.2
"""Distance (mm) of the places that are tried on the tie for the whole text, and for its parts."""


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
        yield from _numbered(work, tie, room)


def _corridor(work: Trackwork, tie: Tie) -> Outline:
    """Return the tie's place with half the space on either side, so that no label comes to lie between the rails."""
    half, side = tie.length / 2, work.spec.ties.spacing * 0.6
    return rectangle(Pose(*tie.centre, tie.angle), half, half, side, side)


def tie_text(work: Trackwork, tie: Tie) -> str:
    """Return what is written at a tie's end: its number and the length to cut."""
    return f"{tie.id} · {_length(work, tie)}"


def _length(work: Trackwork, tie: Tie) -> str:
    return format_length(tie.length, work.spec.units).removesuffix(" mm").removesuffix(" in")


def _numbered(work: Trackwork, tie: Tie, room: LabelRoom) -> Iterator[TextItem]:
    """Yield the text at the end of a tie where it is free, the left end of the track first, or on the tie.

    It stands far off where no other text lies between, which would seem to be the tie's. Where it finds no place in
    one, number and length stand apart on the tie, or else far off after all. At the worst the number is alone there.
    """
    text = tie_text(work, tie)
    whole = _beyond_end(tie, text, _NEAR, room) or _on_tie(tie, (text,), room, _STEP)
    whole = whole or _beyond_end(tie, text, _FAR, room, is_clear=True)
    whole = whole or _on_tie(tie, (tie.id, _length(work, tie)), room, _FINE_STEP) or _beyond_end(tie, text, _FAR, room)
    alone = _text(tie, tie.id, _along(tie, tie.length / 2 - _width(tie.id, _SMALL) - _FROM_END), _SMALL, 1, halo=True)
    yield from whole or _on_tie(tie, (tie.id,), room, _STEP) or [alone]


def _width(text: str, size: float) -> float:
    """Return the width (mm) of what stands on a tie."""
    return text_width(text, size)


def _beyond_end(
    tie: Tie, text: str, places: Iterable[tuple[float, int]], room: LabelRoom, *, is_clear: bool = False
) -> list[TextItem]:
    """Return the text at the first free place beyond an end of its tie, off which no text lies if it `is_clear`."""
    width = text_width(text, _SIZE)
    for gap, end in places:
        pose = _along(tie, end * (tie.length / 2 + gap))
        back, ahead = (0.0, width) if end > 0 else (width, 0.0)
        outline = rectangle(pose, back, ahead, 0.45 * _SIZE, 0.45 * _SIZE)
        if room.room.is_free(outline) and not (is_clear and not room.texts.is_free(_way(tie, gap, end))):
            room.take_text(outline)
            return [_text(tie, text, pose, _SIZE, end, halo=False)]
    return []


def _way(tie: Tie, gap: float, end: int) -> Outline:
    """Return the strip from a tie's end to a text `gap` mm off, as wide as that is high."""
    pose = _along(tie, end * tie.length / 2)
    back, ahead = (0.0, gap) if end > 0 else (gap, 0.0)
    return rectangle(pose, back, ahead, 0.45 * _SIZE, 0.45 * _SIZE)


def _on_tie(tie: Tie, texts: Sequence[str], room: LabelRoom, step: float) -> list[TextItem]:
    """Return texts at the first places on their tie that are free of rails, names and marks.

    They are tried each `step` mm from the left end on; where not all find one there are none.
    """
    placed: list[tuple[TextItem, Outline]] = []
    for text in texts:
        found = _first_on_tie(tie, text, room, step)
        if found is None:
            for _, outline in placed:
                room.track.give_up(outline)
            return []
        room.track.take(found[1])
        placed.append(found)
    for _, outline in placed:
        room.take_name(outline)
    return [item for item, _ in placed]


def _first_on_tie(tie: Tie, text: str, room: LabelRoom, step: float) -> tuple[TextItem, Outline] | None:
    """Return a text at the first free place on its tie from the left end on, with its outline and white round it."""
    width, pad, rise = _width(text, _SMALL), HALO_PADDING * _SMALL, (0.35 + HALO_PADDING) * _SMALL
    first = tie.length / 2 - width - _FROM_END
    for k in range(int((tie.length - width - 2 * _FROM_END) / step) + 1):
        pose = _along(tie, first - k * step)
        outline = rectangle(pose, pad, width + pad, rise, rise)
        if room.track.is_free(outline):
            return _text(tie, text, pose, _SMALL, 1, halo=True), outline
    return None


def _along(tie: Tie, along: float) -> Pose:
    return Pose(*tie.centre, tie.angle).ahead(along)


def _text(tie: Tie, text: str, pose: Pose, size: float, end: int, *, halo: bool) -> TextItem:
    """Return a text that begins at `pose` and runs on away from the track, whichever way that is read."""
    place, turned = baseline(pose, size)
    anchor: Literal["start", "end"] = "start" if (end > 0) != turned else "end"
    part = f"tie {tie.id}"
    return TextItem(text, place.point, size, styles.TIE_TEXT, place.heading, anchor, grey=0.25, halo=halo, part=part)
