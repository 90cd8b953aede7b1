"""Turn trackwork into the drawing of what lies under the baseboard, as it is seen from below.

It shows the throw slots with the axes of their machines, the holes of the feeders, and where no framing may lie.
Rails are there to find one's way by: the middle of each head as a pale dashed line. No tie and no gauge face is drawn,
so that nobody lays rail on it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import Label, LabelRoom
from turnout_templates.drafting.rails import face_lines
from turnout_templates.drafting.styles import LABEL_SIZE
from turnout_templates.drafting.switches import slot_outline
from turnout_templates.drawing.bounds import text_corners
from turnout_templates.drawing.items import (
    Anchor,
    Drawing,
    Fill,
    Item,
    MarkItem,
    PathItem,
    RegionItem,
    Stroke,
    TextItem,
)
from turnout_templates.drawing.mirror import mirrored_drawing
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import ArcSegment, LineSegment, polyline
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.switch_parts import SwitchWork, ThrowBar
from turnout_templates.trackwork.wiring_parts import Feeder, Section
from turnout_templates.units import format_clearance

TRACK, KEEP_CLEAR, HOLES = "track above", "no framing", "holes"

MACHINE_BESIDE = 40.0
"""No framing lies nearer than this (mm) to a machine's axis on either side: common practice, no source; most machines
are up to 75 mm wide, whatever the scale."""
MACHINE_REACH = 60.0
"""Nor within this (mm) of the throw along the axis: a machine's body and its screws. Common practice, no source."""
FEEDER_CLEAR = 10.0
"""Nor within this (mm) of a feeder's hole, so that a drill and a hand get there: common practice, no source."""

_TRACK_LINE = Stroke(0.07, dash=(1.5, 1.5), grey=0.35)
_CLEAR_EDGE = Stroke(0.12, dash=(3.0, 1.0))
_CLEAR_FILL = Fill(hatch=5.0, hatch_stroke=Stroke(0.04, grey=0.65))
_AXIS = Stroke(0.15, dash=(8.0, 1.2, 1.2, 1.2))
_SLOT = Stroke(0.15)
_CENTRE, _HOLE = 3.0, 1.6
"""Size of the mark at the middle of a throw slot, and of the ring at a feeder's hole (mm)."""
_MARK_ROOM = 6.0
"""What texts keep off round a mark of the sheet (mm)."""
_NAME_ROOM = 12.0
"""What they keep off to either side of it, where its name stands (mm)."""
_AXIS_ROOM = 0.6
"""What they keep off to either side of a machine's axis (mm)."""
_BEYOND = 150.0
"""How far (mm) beyond the place on a sheet texts are kept from: further than any label would move."""
_WORDS_AT = 0.75
"""Where on the axis the words on framing stand, in parts of its reach."""
_OFF_HOLE = 2.5
"""How far (mm) from its hole a feeder's name begins."""


def draft_underside(work: Trackwork) -> Drawing:
    """Return the drawing seen from below, with an anchor at each throw and each hole; without anchors nothing is there.

    The words are drafted for each sheet (`draft_words`), so that they stand whole on it.
    """
    items: list[Item] = [*_track(work)]
    anchors = []
    for made in work.switch_works:
        if made.bar is not None:
            items += _machine(made, made.bar)
            anchors.append(Anchor(made.switch, made.bar.slot.pose.point))
    for feeder in work.wiring.feeders:
        items += _hole(feeder)
        anchors.append(Anchor(feeder.id, feeder.hole))
    return mirrored_drawing(Drawing(tuple(items), anchors=tuple(anchors)))


def draft_words(work: Trackwork, told: Collection[str], place: Outline, marks: Sequence[Point]) -> Drawing:
    """Return the words for the throws and holes with the names `told`, inside `place` and off `marks`, from below.

    `place` are the corners of a rectangle, counter-clockwise, and `marks` points of the sheet, all as seen from above
    (mm of the drawing).
    """
    room = LabelRoom()
    for outline in _beyond(place):
        room.take(outline)
    for x, y in marks:
        room.take_text(rectangle(Pose(x, y, 0.0), _NAME_ROOM, _NAME_ROOM, _MARK_ROOM, _MARK_ROOM))
    sections = {section.id: section for section in work.wiring.sections}
    items: list[Item] = []
    labels: list[Label] = []
    for made in work.switch_works:
        if made.bar is not None and made.switch in told:
            room.take(rectangle(made.bar.slot.pose, MACHINE_REACH, MACHINE_REACH, _AXIS_ROOM, _AXIS_ROOM))
            labels += _machine_labels(work, made, made.bar)
            words = _no_framing(made, made.bar)
            room.take_text(text_corners(words))
            items.append(words)
    for feeder in work.wiring.feeders:
        if feeder.id in told:
            room.take(rectangle(Pose(*feeder.hole, 0.0), *[_HOLE] * 4))
            labels.append(_hole_label(work, feeder, sections.get(feeder.section)))
    items += room.place_all(labels)
    return mirrored_drawing(Drawing(tuple(items)))


def _beyond(place: Outline) -> Iterator[Outline]:
    """Yield four rectangles that surround another one."""
    for (x, y), (to_x, to_y) in zip(place, (*place[1:], place[0]), strict=True):
        side = Pose(x, y, math.atan2(to_y - y, to_x - x))
        yield rectangle(side, _BEYOND, math.dist((x, y), (to_x, to_y)) + _BEYOND, _BEYOND, 0.0)


def _track(work: Trackwork) -> Iterator[Item]:
    """Yield the middle of each rail's head, to find one's way by."""
    for bar in work.bars:
        for stretch in bar.stretches:
            line = face_lines(work, stretch.owner, stretch.low, stretch.high, work.spec.rail.head / 2)
            yield PathItem(line, _TRACK_LINE, TRACK, bar.id)


def _machine(made: SwitchWork, bar: ThrowBar) -> Iterator[Item]:
    """Yield where no framing may lie for a switch machine, its axis, the slot with its end holes, and its middle."""
    pose, slot = bar.slot.pose, bar.slot
    clear = rectangle(pose, MACHINE_REACH, MACHINE_REACH, MACHINE_BESIDE, MACHINE_BESIDE)
    yield RegionItem((polyline(clear, closed=True),), _CLEAR_FILL, _CLEAR_EDGE, KEEP_CLEAR, made.switch)
    axis = LineSegment(pose.ahead(-MACHINE_REACH).point, pose.ahead(MACHINE_REACH).point)
    yield PathItem((axis,), _AXIS, HOLES, made.switch)
    yield RegionItem((polyline(slot_outline(bar), closed=True),), styles.NO_FILL, _SLOT, HOLES, made.switch)
    for way in (-1, 1):
        end = pose.ahead(way * (slot.length - slot.width) / 2).point
        yield MarkItem("ring", end, slot.width, HOLES, 0.0, styles.DRILL, made.switch)
    yield MarkItem("saltire", pose.point, _CENTRE, HOLES, pose.heading, styles.DRILL, made.switch)


def _machine_labels(work: Trackwork, made: SwitchWork, bar: ThrowBar) -> Iterator[Label]:
    """Yield what is to be told of a throw, beyond the track on the side it is thrown from."""
    units, slot = work.spec.units, bar.slot
    clear = max(gauge.width for gauge in work.spec.gauges.values()) + work.spec.ties.overhang
    size = f"{format_clearance(slot.length, units)} by {format_clearance(slot.width, units)}"
    at, heading = slot.pose.point, bar.pose.heading
    yield Label(f"{made.switch} machine axis", at, heading, bar.side, clear, 0, bold=True, part=made.switch)
    yield Label(f"slot {size}, drill both ends", at, heading, bar.side, clear, 1, part=made.switch)
    text = f"bar travels {format_clearance(bar.travel, units)}"
    yield Label(text, at, heading, bar.side, clear, 1, part=made.switch)


def _no_framing(made: SwitchWork, bar: ThrowBar) -> TextItem:
    """Return the words in the hatched place, along the track and beyond it."""
    place = Pose(*bar.slot.pose.point, bar.pose.heading).shifted(-bar.side * _WORDS_AT * MACHINE_REACH)
    words = "no framing here"
    return TextItem(words, place.point, LABEL_SIZE, KEEP_CLEAR, place.heading, "middle", halo=True, part=made.switch)


def _hole(feeder: Feeder) -> Iterator[Item]:
    """Yield the hole of a feeder, and the circle in which no framing may lie."""
    circle = (ArcSegment(feeder.hole, FEEDER_CLEAR, 0.0, math.tau),)
    yield RegionItem((circle,), styles.NO_FILL, _CLEAR_EDGE, KEEP_CLEAR, feeder.id)
    for shape, size in (("ring", _HOLE), ("cross", 2 * _HOLE)):
        yield MarkItem(shape, feeder.hole, size, HOLES, 0.0, styles.DRILL, feeder.id)


def _hole_label(work: Trackwork, feeder: Feeder, section: Section | None) -> Label:
    """Return a feeder's name with what it feeds: the left or the right rails, or a frog."""
    fed = feeder.section
    if section is not None and section.kind == "frog":
        fed = f"frog wire {', '.join(section.frogs)}"
    pose = work.layout.route(feeder.owner.route).path.pose_at(feeder.station)
    side = 1 if pose.local(feeder.hole)[1] >= 0.0 else -1
    return Label(f"{feeder.id} {fed}", feeder.hole, pose.heading, side, _OFF_HOLE, 2, part=feeder.id)
