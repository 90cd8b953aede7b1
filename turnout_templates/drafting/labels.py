"""Place labels so that none lies on another, on a tie or on its number, each tied to its feature by a thin leader.

A leader keeps off texts, and texts keep off leaders.

Labels stand square to the track, beyond the tie ends, so that many fit on a short length of track and all read the same
way round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.drafting.styles import LABEL_SIZE, LABELS, LEADER, LEADERS
from turnout_templates.drawing.items import PathItem, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.drawing.upright import is_upside_down
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.room import Outline, Room, rectangle
from turnout_templates.geometry.segments import LineSegment

_LINE = 1.25
"""Height of a line of text in text sizes."""
_GAP = 0.8
"""Clear space kept before a label's first letter (mm)."""
_SINK = 0.33
"""How far a baseline lies below the middle of its letters, in text sizes."""
_LEADER_SPACE = 0.15
"""Clear space kept on either side of a leader (mm)."""
_ASIDE = 26
"""How far along the track a label may step aside, in half lines of text to either hand."""
_REACHES, _FAR = 16, 32
"""How far out it may move, in steps, and how far where no place nearer is clear of texts with its leader."""
_REACH_STEP = 2.5
"""One step outward (mm)."""
_ASIDE_COST, _OTHER_SIDE_COST = 1.6, 6.0
"""What a mm aside costs against a mm outward, and what the other side of the track costs in mm."""


class Label(Struct, frozen=True):
    """A text for the feature at `at`; `heading` is that of the track there, `side` +1 to put it on the left if it fits.

    `clear` is how far from `at` the text begins at least (mm); labels of a lower `rank` are placed first. What it
    says is true at the poses `elsewhere` too, which are tried where it finds no good spot.
    """

    text: str
    at: Point
    heading: float
    side: int
    clear: float
    rank: int = 5
    size: float = LABEL_SIZE
    bold: bool = False
    part: str = ""
    layer: str = LABELS
    elsewhere: tuple[Pose, ...] = ()


_MOVABLE = 2
"""So many spots are tried to which other labels would have to give way: each costs as much as placing those anew."""
Spot = tuple[Label, Pose]
"""A label, told of one of the places it may be told of, and where its text begins and which way it runs."""


class LabelRoom:
    """Places labels among what is already on the paper.

    `room` holds what texts outside the track keep off, `texts` what leaders may not strike out, and `track` what the
    small texts amid the track keep off, which are placed last.
    """

    def __init__(self) -> None:
        self.room = Room(25.0)
        self.texts = Room(25.0)
        self.track = Room(20.0)
        self._fixed = Room(25.0)

    def take(self, outline: Outline) -> None:
        """Keep texts off a convex outline."""
        self.room.take(outline)

    def take_text(self, outline: Outline) -> None:
        """Keep texts and leaders off the convex outline of a text that stays where it is."""
        self.room.take(outline)
        self.take_name(outline)

    def take_name(self, outline: Outline) -> None:
        """Keep leaders off the convex outline of a text amid the track."""
        self.texts.take(outline)
        self._fixed.take(outline)

    def place_all(self, labels: list[Label]) -> Iterator[PathItem | TextItem]:
        """Yield leader and text of all labels; each is placed at the nearest free spot, the most important first.

        One that finds none pushes those aside that its leader would strike, if they find another.
        """
        placed: list[Spot] = []
        for wanted in sorted(labels, key=lambda label: label.rank):
            spot, others = self._spot(wanted)
            if spot is None and others:
                # Of several the first to which all give way; at the worst some stay where they are struck.
                spot = next((other for other in others if self._make_way(other, placed)), others[0])
            placed.append(spot or (wanted, next(_spots(wanted, _REACHES))))
            self._put(*placed[-1])
        for told in placed:
            yield from _drawn(*told)

    def place_if_clean(self, label: Label) -> Iterator[PathItem | TextItem]:
        """Yield leader and text of a label that is left out where one of them would lie on something."""
        spot, _ = self._spot(label)
        if spot is not None:
            self._put(*spot)
            yield from _drawn(*spot)

    def _put(self, label: Label, pose: Pose) -> None:
        outline, leader = _outline(label, pose), _leader(label, pose)
        self.room.take(outline)
        self.texts.take(outline)
        self.room.take(leader)
        self.track.take(leader)

    def _lift(self, label: Label, pose: Pose) -> None:
        outline, leader = _outline(label, pose), _leader(label, pose)
        self.room.give_up(outline)
        self.texts.give_up(outline)
        self.room.give_up(leader)
        self.track.give_up(leader)

    def _make_way(self, coming: Spot, placed: list[Spot]) -> bool:
        """Move the labels among those `placed` that the leader of one to come would strike, if all find another."""
        leader = Room(self.texts.cell)
        leader.take(_leader(*coming))
        struck = [k for k, told in enumerate(placed) if not leader.is_free(_outline(*told))]
        before = [placed[k] for k in struck]
        self._put(*coming)
        for k in struck:
            self._lift(*placed[k])
            spot, _ = self._spot(placed[k][0])
            if spot is None:
                self._put(*placed[k])
                break
            placed[k] = spot
            self._put(*spot)
        else:
            self._lift(*coming)
            return True
        for k, told in zip(struck, before, strict=True):
            if placed[k] is not told:
                self._lift(*placed[k])
                self._put(*told)
                placed[k] = told
        self._lift(*coming)
        return False

    def _spot(self, label: Label) -> tuple[Spot | None, Sequence[Spot]]:
        """Return the first spot where both text and leader are free, None without one, and then the next best.

        Those are spots whose leaders strike labels alone, which can move, and last of all one where the text is free.
        With each the label, told of the place among those it may be told of that has such a spot.
        """
        movable: list[Spot] = []
        fallback: Spot | None = None
        placed = (label, *(replace(label, at=pose.point, heading=pose.heading) for pose in label.elsewhere))
        for told, reaches in ((told, reaches) for reaches in (_REACHES, _FAR) for told in placed):
            for pose in _spots(told, reaches):
                if self.room.is_free(_outline(told, pose)):
                    leader = _leader(told, pose)
                    if self.texts.is_free(leader):
                        return (told, pose), ()
                    fallback = fallback or (told, pose)
                    if len(movable) < _MOVABLE and self._fixed.is_free(leader):
                        movable.append((told, pose))
        return None, movable or [spot for spot in (fallback,) if spot is not None]


def _outline(label: Label, pose: Pose) -> Outline:
    half = label.size * _LINE / 2
    return rectangle(pose, _GAP / 2, text_width(label.text, label.size, bold=label.bold) + _GAP, half, half)


def _leader(label: Label, pose: Pose) -> Outline:
    """Return the place of the leader to a label that begins at `pose`."""
    (x, y), (to_x, to_y) = label.at, _leader_end(pose)
    along = Pose(x, y, math.atan2(to_y - y, to_x - x))
    return rectangle(along, 0.0, math.dist(label.at, (to_x, to_y)), _LEADER_SPACE, _LEADER_SPACE)


def _leader_end(pose: Pose) -> Point:
    return pose.ahead(-_GAP / 2).point


def _spots(label: Label, reaches: int) -> Iterator[Pose]:
    """Yield where a label may begin and which way it runs outward, the one with the shortest leader first."""
    for aside, out, sign in _steps(label.size * _LINE / 2, reaches):
        side = sign * label.side
        x, y = Pose(*label.at, label.heading).ahead(aside).beside(side * (label.clear + out))
        yield Pose(x, y, label.heading + side * math.pi / 2)


@lru_cache(maxsize=32)
def _steps(half_line: float, reaches: int) -> tuple[tuple[float, float, int], ...]:
    """Return (mm aside, mm outward, +1 for the wanted side) of all spots that are tried, the best first."""
    spots = [
        (abs(i) * half_line * _ASIDE_COST + out * _REACH_STEP + (_OTHER_SIDE_COST if sign < 0 else 0.0), i, out, sign)
        for i in range(-_ASIDE, _ASIDE + 1)
        for out in range(reaches)
        for sign in (1, -1)
    ]
    return tuple((i * half_line, out * _REACH_STEP, sign) for _, i, out, sign in sorted(spots))


def baseline(pose: Pose, size: float) -> tuple[Pose, bool]:
    """Return where the baseline of text of `size` mm runs that is centred on `pose`, and whether it was turned over.

    Text turned over reads against `pose`, so what was its start is its end.
    """
    turned = is_upside_down(pose.heading)
    place = pose.shifted(_SINK * size if turned else -_SINK * size)
    return (place.turned(math.pi) if turned else place), turned


def _drawn(label: Label, pose: Pose) -> Iterator[PathItem | TextItem]:
    """Yield the leader and the text that begins at `pose`, turned so that it is never upside down."""
    yield PathItem((LineSegment(label.at, _leader_end(pose)),), LEADER, LEADERS, label.part)
    place, turned = baseline(pose, label.size)
    anchor: Literal["start", "end"] = "end" if turned else "start"
    yield TextItem(
        label.text, place.point, label.size, label.layer, place.heading, anchor, bold=label.bold, part=label.part
    )
