"""Turn trackwork into the drawing of what lies under the baseboard, as it is seen from below.

It shows the throw slots with the axes of their machines, the holes of the feeders, and where no framing may lie.
Rails are there to find one's way by: the middle of each head as a pale dashed line. No tie and no gauge face is drawn,
so that nobody lays rail on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec.structs import replace
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import Label, LabelRoom
from turnout_templates.drafting.no_framing import (
    MACHINE_REACH,
    NoFraming,
    draw_no_framing,
    machines_sharing,
    name_no_framing,
    shown_lines,
    shown_on,
)
from turnout_templates.drafting.rails import face_lines
from turnout_templates.drafting.switches import slot_outline
from turnout_templates.drawing.items import Anchor, Drawing, Item, MarkItem, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.drawing.mirror import mirrored_drawing
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import polyline
from turnout_templates.sheets.underside import UnderSheet
from turnout_templates.trackwork.current.wiring_parts import Feeder, Section
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_parts import SwitchWork, ThrowBar
from turnout_templates.units import Unit, format_clearance

TRACK, HOLES = "track above", "holes"

_TRACK_LINE = Stroke(0.07, dash=(1.5, 1.5), grey=0.35)
_AXIS = Stroke(0.15, dash=(8.0, 1.2, 1.2, 1.2))
_SLOT = Stroke(0.15)
_CENTRE, _HOLE = 3.0, 1.6
"""Size of the mark at the middle of a throw slot, and of the ring at a feeder's hole (mm)."""
_AXIS_ROOM = 0.6
"""What texts keep off to either side of a machine's axis (mm)."""
_BEYOND = 150.0
"""How far (mm) beyond the place on a sheet texts are kept from: further than any label would move."""
_OFF_HOLE = 2.5
"""How far (mm) from its hole a feeder's name begins."""


def draft_underside(work: Trackwork) -> Drawing:
    """Return the track as it is seen from below, with anchors at the ends of each throw slot and at each hole.

    Without anchors nothing is to be done there. What is, is drafted for each sheet (`draft_sheets_below`).
    """
    anchors = [
        Anchor(made.switch, at) for made in work.switch_works if made.bar is not None for at in slot_outline(made.bar)
    ]
    anchors += [Anchor(feeder.id, feeder.hole) for feeder in work.wiring.feeders]
    return mirrored_drawing(Drawing(tuple(_track(work)), anchors=tuple(anchors)))


def draft_sheets_below(work: Trackwork, below: Sequence[UnderSheet]) -> list[Drawing]:
    """Return for each of some sheets the throws and holes that it tells of, with their words, as seen from below.

    Each is drawn inside the sheet's own place and off what is taken there; and so is what it shows of the places
    where no framing may lie.
    """
    fields, sharing = NoFraming(work), machines_sharing(work)
    sections = {section.id: section for section in work.wiring.sections}
    return [mirrored_drawing(Drawing(tuple(_sheet_below(work, own, fields, sections, sharing)))) for own in below]


def _sheet_below(
    work: Trackwork,
    own: UnderSheet,
    fields: NoFraming,
    sections: dict[str, Section],
    sharing: dict[str, tuple[str, ...]],
) -> Iterator[Item]:
    """Yield what one sheet shows, seen from above: places without framing, throws, holes and words."""
    room, shown = _room_on(own), shown_on(own.place, own.taken)
    places = fields.on(shown)
    yield from draw_no_framing(places, shown)
    labels: list[Label] = []
    for made in work.switch_works:
        if made.bar is not None and made.switch in own.told:
            yield from _machine(made, made.bar, shown)
            room.take(rectangle(made.bar.slot.pose, MACHINE_REACH, MACHINE_REACH, _AXIS_ROOM, _AXIS_ROOM))
            labels += _machine_labels(work, made, made.bar, sharing.get(made.switch, ()))
    for feeder in work.wiring.feeders:
        if feeder.id in own.told:
            yield from _hole(feeder)
            room.take(rectangle(Pose(*feeder.hole, 0.0), *[_HOLE] * 4))
            labels.append(_hole_label(work, feeder, sections.get(feeder.section)))
    for item in room.place_all(labels):
        yield replace(item, halo=True) if isinstance(item, TextItem) else item
    (x, y), (to_x, to_y), *_ = own.place
    yield from name_no_framing(places, shown, math.atan2(to_y - y, to_x - x), room)


def _room_on(own: UnderSheet) -> LabelRoom:
    """Return the room for words on a sheet: inside its place and off what is taken on it."""
    room = LabelRoom()
    for outline in _beyond(own.place):
        room.take(outline)
    for outline in own.taken:
        room.take_text(outline)
    return room


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


def _machine(made: SwitchWork, bar: ThrowBar, shown: BaseGeometry) -> Iterator[Item]:
    """Yield a switch machine's axis as far as it is `shown`, the slot with its end holes, and its middle."""
    pose, slot = bar.slot.pose, bar.slot
    axis = LineString((pose.ahead(-MACHINE_REACH).point, pose.ahead(MACHINE_REACH).point))
    yield from (PathItem(line, _AXIS, HOLES, made.switch) for line in shown_lines(axis, shown))
    yield RegionItem((polyline(slot_outline(bar), closed=True),), styles.NO_FILL, _SLOT, HOLES, made.switch)
    for way in (-1, 1):
        end = pose.ahead(way * (slot.length - slot.width) / 2).point
        yield MarkItem("ring", end, slot.width, HOLES, 0.0, styles.DRILL, made.switch)
    yield MarkItem("saltire", pose.point, _CENTRE, HOLES, pose.heading, styles.DRILL, made.switch)


def _machine_labels(work: Trackwork, made: SwitchWork, bar: ThrowBar, sharing: Sequence[str]) -> Iterator[Label]:
    """Yield what is to be told of a throw, beyond the track on the side it is thrown from.

    The machines of the switches `sharing` its place have to be fitted in beside it.
    """
    units, slot = work.spec.units, bar.slot
    clear = max(gauge.width for gauge in work.spec.gauges.values()) + work.spec.ties.overhang
    size = f"{format_clearance(slot.length, units)} by {format_clearance(slot.width, units)}"
    at, heading = slot.pose.point, bar.pose.heading
    words = [f"slot {size}, drill both ends", *_travel_words(bar, units)]
    beside = f", fit in beside {' and '.join(sharing)}" if sharing else ""
    yield Label(f"{made.switch} machine axis{beside}", at, heading, bar.side, clear, 0, bold=True, part=made.switch)
    for text in words:
        yield Label(text, at, heading, bar.side, clear, 1, part=made.switch)


def _travel_words(bar: ThrowBar, units: Unit) -> Iterator[str]:
    """Yield how far a bar travels, and where a machine must hold it on the way, from where it lies furthest from it."""
    travel = f"bar travels {format_clearance(bar.travel, units)}"
    if not bar.stops_between:
        yield travel
        return
    stops = (f"{place.route} {format_clearance(bar.from_far_stop(place), units)}" for place in bar.positions)
    yield f"{travel}, in {len(bar.positions)} positions"
    yield f"from its far stop: {', '.join(stops)}"


def _hole(feeder: Feeder) -> Iterator[Item]:
    """Yield the hole of a feeder."""
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
