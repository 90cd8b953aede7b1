"""Turn switches into what their details show and tell: how far each point is filed, its heel, throw bar and throw."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.drafting.around import Surroundings
from turnout_templates.drafting.base_words import BaseWords
from turnout_templates.drafting.bases import BarsByFace, relief_about_tip
from turnout_templates.drafting.subjects import Remark, Subject, face_length, face_point, side_of
from turnout_templates.drafting.switches import begin_name, named_stations, outer_name
from turnout_templates.drawing.dimensions import Span
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import PointWork, SwitchWork, ThrowBar
from turnout_templates.trackwork.rails.rail_parts import Bar, Interval, PointRail, RouteFace
from turnout_templates.units import format_clearance, format_degrees, format_length, format_reach

_BEFORE, _BEYOND = 4.0, 3.0
"""How far before the tip and beyond full head is shown where the paper has no room for all, in widths of the head."""
_SAME = 0.02
"""Places nearer than this (mm) are one on paper, at any enlargement."""


def switch_subject(around: Surroundings, bases: BaseWords, switch: Switch) -> Subject:
    """Return what the detail of a switch shows, seen from the tip toward the frog."""
    head = around.work.spec.rail.head
    pose = switch.filed_tip
    stations = [(point, station) for point in switch.points for station, _, _ in named_stations(point)]
    marked = [face_point(around.work, point.owner, station) for point, station in stations]
    marked.append(switch.tip.point)
    middle = sum(pose.local(point)[0] for point in marked) / len(marked)
    furthest = max(abs(pose.local(point)[0] - middle) for point in marked)
    work = around.near(pose.ahead(middle).point, furthest + 10.0 * head)
    reach = [*marked, *_rails_beside(work, switch, head)]
    full = [face_point(work, point.owner, point.full_head) for point in switch.points]
    far = max(pose.local(point)[0] for point in full)
    least = (pose.ahead(-_BEFORE * head).point, pose.ahead(far + _BEYOND * head).point)
    words = Remark("switch of {}", (" and ".join(switch.onward),))
    made = next(told for known, told in work.works() if known.id == switch.id)
    spans = tuple(switch_spans(work, switch, made, pose))
    points = [BarsByFace(work).begun(point) for point in switch.moving_points]
    remarks = (*_remarks(work, switch, made), *bases.remarks(points, switch.id))
    return Subject(switch.id, "switch", words, pose, work, tuple(reach), least, spans, remarks)


def _rails_beside(work: Trackwork, switch: Switch, head: float) -> Iterator[Point]:
    """Yield points on the outer edges of the rails that meet at a switch, at its tip and at its heels."""
    parent = work.layout.route(switch.parent)
    for face in parent.faces:
        yield switch.tip.beside(switch.way * (face.offset + 1.5 * face.outward * head))
    for point in switch.points:
        for station in (point.tip, point.heel):
            for out in (-head, 1.5 * head):
                yield face_point(work, point.owner, station, out)


def switch_spans(work: Trackwork, switch: Switch, made: SwitchWork, pose: Pose) -> Iterator[Span]:
    """Yield the lengths that are told of a switch."""
    unit = work.spec.units
    tip, filed = switch.tip.point, switch.filed_tip.point
    if abs(switch.filed_station - switch.station) > _SAME and not switch.swinging:
        length = format_length(abs(switch.filed_station - switch.station), unit)
        yield Span(tip, filed, f"{begin_name(work, switch)} to {outer_name(switch)} {length}", 1)
    if switch.bar_station is not None and switch.throw is not None:
        at = work.layout.route(switch.parent).path.point_at(switch.bar_station, 0.0)
        length = format_length(abs(switch.bar_station - switch.filed_station), unit)
        throw = format_clearance(switch.throw, unit)
        yield Span(filed, at, f"{outer_name(switch)} to throw bar {length}; throw {throw}", -1)
    worst = made.worst
    if worst is not None:
        at = face_point(work, worst.point.owner, worst.least_station)
        text = f"least opening beside the open point {format_clearance(worst.opening.least, unit)}"
        yield Span(at, at, text, side_of(pose, at), BarsByFace(work).begun(worst.point))
    works = {told.point.owner: told for told in made.points}
    for point in (point for point in switch.points if point.begins != "butt"):
        yield from _point_spans(work, point, works.get(point.owner), pose)
    yield from _swinging_spans(work, switch, pose)
    for relief in work.reliefs:
        if relief.point in switch.points:
            start, stop = _ahead(work, relief.beside, (relief.low, relief.high), pose)
            reach = format_reach(*relief_about_tip(work, relief), unit)
            yield Span(start, stop, f"base off, gauge side, {reach} from tip", side_of(pose, start), relief.bar)
    if made.bar is not None:
        yield from _notch_spans(work, made.bar, pose)


def _swinging_spans(work: Trackwork, switch: Switch, pose: Pose) -> Iterator[Span]:
    """Yield over what length each rail of a stub swings, up to its toe, and how far it is thrown there."""
    unit, lead = work.spec.units, switch.onward[0]
    throws = dict(zip(switch.onward[1:], switch.throws, strict=False))
    told = ", ".join(f"{format_clearance(mm, unit)} from {lead} to {name}" for name, mm in throws.items())
    for point in (point for point in switch.points if point.begins == "butt" and point.owner.route == lead):
        ends = (face_point(work, point.owner, station) for station in (point.parts, point.tip))
        length = format_length(face_length(work, point.owner, point.parts, point.tip), unit)
        start, stop = ends
        bars = (bar.id for bar in work.bars if bar.role == "swinging rail" and _ends_at(bar, point))
        yield Span(start, stop, f"swings over {length} to the toe, there {told}", side_of(pose, start), next(bars, ""))


def _ends_at(bar: Bar, point: PointRail) -> bool:
    """Tell whether a swinging rail ends where a butt of the route that leads begins."""
    return any(
        stretch.owner == point.owner and min(abs(end - point.tip) for end in (stretch.low, stretch.high)) < _SAME
        for stretch in bar.stretches
    )


def _notch_spans(work: Trackwork, bar: ThrowBar, pose: Pose) -> Iterator[Span]:
    """Yield over what length the bases of rails that stay are notched for the throw bar; those alike once."""
    told: dict[tuple[int, str], tuple[Point, Point, list[str]]] = {}
    for notch in bar.notches:
        start, stop = _ahead(work, notch.owner, notch.stations, pose)
        length = format_length(face_length(work, notch.owner, *notch.stations), work.spec.units)
        told.setdefault((side_of(pose, start), length), (start, stop, []))[2].append(notch.rail)
    for (side, length), (start, stop, rails) in told.items():
        names = ", ".join(dict.fromkeys(rails))
        yield Span(start, stop, f"base notched over {length} for the throw bar", side, names)


def _ahead(work: Trackwork, owner: RouteFace, stations: Interval, pose: Pose) -> tuple[Point, Point]:
    """Return the places on a gauge face at two stations, the one less far ahead of the pose first."""
    one, other = (face_point(work, owner, station) for station in stations)
    return (one, other) if pose.local(one)[0] <= pose.local(other)[0] else (other, one)


def _point_spans(work: Trackwork, point: PointRail, made: PointWork | None, pose: Pose) -> Iterator[Span]:
    """Yield how far from its tip each marked place of a point lies along its gauge face, and how it is planed."""
    named = named_stations(point)
    begins = next(name for station, name, _ in named if station == point.tip)
    start, bar = face_point(work, point.owner, point.tip), BarsByFace(work).begun(point)
    for station, name, _ in named:
        if abs(station - point.tip) > _SAME:
            stop = face_point(work, point.owner, station)
            length = format_length(face_length(work, point.owner, point.tip, station), work.spec.units)
            text = f"{begins} to {name} {length}"
            if made is not None and station == point.full_head:
                text = f"planed over {format_clearance(made.planed, work.spec.units)}, outer side, {_angles(made)}"
            yield Span(start, stop, text, side_of(pose, start), bar)


def _angles(made: PointWork) -> str:
    """Return the angle to plane at, or from which at the tip to which at full head."""
    tip, full = format_degrees(made.angle_at_tip), format_degrees(made.angle_at_full_head)
    return tip if tip == full else f"{tip.removesuffix(' deg')} to {full}"


def _remarks(work: Trackwork, switch: Switch, made: SwitchWork) -> Iterator[Remark]:
    """Yield how the points are held and stand open, and what is drilled and cut for the throw."""
    unit = work.spec.units
    bars = BarsByFace(work)
    for told in made.points:
        held = "turns at" if told.point.rigid else "springs from"
        names, text = [bars.begun(told.point)], f"{{}} {held} {format_length(told.fix, unit)} behind its tip"
        if told.first_tie:
            names, text = [*names, told.first_tie], f"{text}, soldered from tie {{}} on"
        if told.beside is not None:
            names = [*names, told.beside.label]
            text = f"{text}, open {format_clearance(told.beside.clear, unit)} from {{}}"
        yield Remark(text, tuple(names))
    worst = made.worst
    if worst is not None:
        least, wanted = (format_clearance(mm, unit) for mm in (worst.opening.least, worst.wanted))
        at, name = format_length(worst.opening.at, unit), bars.begun(worst.point)
        text = f"least opening {least} beside {{}}, {at} behind its tip; {wanted} keeps wheel backs clear"
        yield Remark(text, (name,))
    if made.bar is not None:
        bar, slot = made.bar, made.bar.slot
        yield Remark(
            f"throw bar {format_length(bar.length, unit)} by {format_clearance(bar.width, unit)}, travel "
            f"{format_clearance(bar.travel, unit)}, dots: solder the rails there; drilled for a "
            f"{format_clearance(slot.wire, unit)} wire over a slot {format_clearance(slot.length, unit)} by "
            f"{format_clearance(slot.width, unit)}"
        )
        if bar.stops_between:
            stops = (f"{place.route} {format_clearance(bar.from_far_stop(place), unit)}" for place in bar.positions)
            text = f"{len(bar.positions)} positions, from its furthest from the machine: {', '.join(stops)}"
            yield Remark(text)
