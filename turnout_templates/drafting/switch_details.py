"""Turn switches into what their details show and tell: how far each point is filed, its heel, throw bar and throw."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.drafting.around import Surroundings
from turnout_templates.drafting.subjects import Subject, bars_on, face_length, face_point, side_of
from turnout_templates.drafting.switches import begin_name, named_stations, outer_name
from turnout_templates.drawing.dimensions import Span
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import PointRail
from turnout_templates.trackwork.switch_model import Switch
from turnout_templates.units import format_clearance, format_length

_BEFORE, _BEYOND = 4.0, 3.0
"""How far before the tip and beyond full head is shown where the paper has no room for all, in widths of the head."""
_SAME = 0.02
"""Places nearer than this (mm) are one on paper, at any enlargement."""


def switch_subject(around: Surroundings, switch: Switch) -> Subject:
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
    words = f"switch of {' and '.join(switch.onward)}"
    spans = tuple(switch_spans(work, switch, pose))
    return Subject(switch.id, "switch", words, pose, work, tuple(reach), least, spans)


def _rails_beside(work: Trackwork, switch: Switch, head: float) -> Iterator[Point]:
    """Yield points on the outer edges of the rails that meet at a switch, at its tip and at its heels."""
    parent = work.layout.route(switch.parent)
    for face in parent.faces:
        yield switch.tip.beside(switch.way * (face.offset + 1.5 * face.outward * head))
    for point in switch.points:
        for station in (point.tip, point.heel):
            for out in (-head, 1.5 * head):
                yield face_point(work, point.owner, station, out)


def switch_spans(work: Trackwork, switch: Switch, pose: Pose) -> Iterator[Span]:
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
    if switch.least_opening is not None and switch.least_station is not None:
        at = face_point(work, switch.outer.owner, switch.least_station)
        text = f"least opening beside the open point {format_clearance(switch.least_opening, unit)}"
        yield Span(at, at, text, side_of(pose, at))
    for point in switch.points:
        yield from _point_spans(work, point, pose)


def _point_spans(work: Trackwork, point: PointRail, pose: Pose) -> Iterator[Span]:
    """Yield how far from its tip each marked place of a point lies, along its gauge face."""
    named = named_stations(point)
    begins = next(name for station, name, _ in named if station == point.tip)
    start = face_point(work, point.owner, point.tip)
    for station, name, _ in named:
        if abs(station - point.tip) > _SAME:
            stop = face_point(work, point.owner, station)
            length = format_length(face_length(work, point.owner, point.tip, station), work.spec.units)
            side = side_of(pose, start)
            yield Span(start, stop, f"{begins} to {name} {length}", side, _bar_of(work, point))


def _bar_of(work: Trackwork, point: PointRail) -> str:
    """Return the name of the bar that begins as a point."""
    bars = bars_on(work, point.owner)
    ends = ((abs((low if point.way > 0 else high) - point.tip), bar.id) for bar, low, high in bars)
    away, name = min(ends, default=(1.0, ""))
    return name if away < _SAME else ""
