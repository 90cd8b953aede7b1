"""Turn frogs into what their details show and tell: where each bar ends and how far it is filed, and the wing rails.

Every length is one `Span` of a short list, from point to point: what else is to be told of filing is one more of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.drafting.around import Surroundings, shared
from turnout_templates.drafting.subjects import Subject, bars_on, face_length, face_point, side_of
from turnout_templates.drawing.dimensions import Span
from turnout_templates.geometry.pose import Pose
from turnout_templates.trackwork.frog_parts import Frog, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import Bar, RouteFace
from turnout_templates.units import format_clearance, format_degrees, format_length

_REACH = 45.0
"""How far from a frog things are looked at, in widths of the head: a wing rail of a No. 10 ends well within."""
_MOST = 30.0
"""How far from a frog a length that is told of it may end, in widths of the head."""
_SAME = 0.02
"""Places nearer than this (mm) are one on paper, at any enlargement."""


def frog_subject(around: Surroundings, frog: Frog) -> Subject:
    """Return what the detail of a frog shows; its heel lies to the right."""
    head = around.work.spec.rail.head
    work = around.near(frog.point, _REACH * head)
    pose = frog_pose(work, frog)
    spans = tuple(frog_spans(work, frog, pose))
    reach = [point for span in spans for point in (span.start, span.end)]
    reach += [point for wing in work.wings if wing.frog == frog.id for point in wing.ring]
    reach += [pose.beside(side * 2.5 * head) for side in (1, -1)]
    words = f"{frog.kind} frog No. {frog.number:.2f}, {format_degrees(frog.angle)}"
    least = (pose.ahead(-4.0 * head).point, pose.ahead(6.0 * head).point)
    return Subject(frog.id, f"{frog.kind} frog", words, pose, work, tuple(reach), least, spans)


def frog_pose(work: Trackwork, frog: Frog) -> Pose:
    """Return the theoretical point, heading between the two faces toward the heel."""
    headings = [
        work.layout.route(owner.route).path.heading_at(station) + (0.0 if way > 0 else math.pi)
        for owner, station, way in zip((frog.first, frog.second), (frog.s, frog.t), frog.heel_directions, strict=True)
    ]
    between = headings[0] + math.remainder(headings[1] - headings[0], math.tau) / 2
    return Pose(*frog.point, between)


def frog_spans(work: Trackwork, frog: Frog, pose: Pose) -> Iterator[Span]:
    """Yield the lengths that are told of a frog."""
    unit = work.spec.units
    if frog.practical is not None:
        apart = math.dist(frog.point, frog.practical)
        text = f"theoretical to practical point {format_clearance(apart, unit)}"
        yield Span(frog.point, frog.practical, text, 1)
    for owner, station in ((frog.first, frog.s), (frog.second, frog.t)):
        yield from _bar_spans(work, frog, owner, station, pose)
    yield from _knuckle(work, frog, pose)
    for wing in work.wings:
        if wing.frog == frog.id:
            yield from _wing_spans(work, wing, pose)


def _bar_spans(work: Trackwork, frog: Frog, owner: RouteFace, station: float, pose: Pose) -> Iterator[Span]:
    """Yield where the bars before and behind a frog end on one of its faces, and how far they are filed from there."""
    most = _MOST * work.spec.rail.head
    bars = list(bars_on(work, owner))
    before = max((bar for bar in bars if bar[2] < station + _SAME), key=lambda bar: bar[2], default=None)
    behind = min((bar for bar in bars if bar[1] > station - _SAME), key=lambda bar: bar[1], default=None)
    blunt = (frog.practical_stations or (None, None))[owner is frog.second]
    ends = [(*before, before[2])] if before else []
    ends += [(*behind, behind[1])] if behind else []
    for bar, low, high, end in ends:
        if abs(end - station) > most:
            continue
        if blunt is None or abs(end - blunt) > _SAME:
            yield _to_the_point(work, bar, owner, end, station, pose)
        yield from _filed(work, bar, owner, (low, high), end, pose)


def _to_the_point(work: Trackwork, bar: Bar, owner: RouteFace, end: float, station: float, pose: Pose) -> Span:
    """Return how far the end of a bar lies from the theoretical point."""
    start, stop = face_point(work, owner, end), face_point(work, owner, station)
    if abs(end - station) < _SAME:
        return Span(start, start, "ends at the theoretical point", side_of(pose, start), bar.id)
    length = format_length(face_length(work, owner, end, station), work.spec.units)
    return Span(start, stop, f"ends {length} from the theoretical point", side_of(pose, start, stop), bar.id)


def _filed(
    work: Trackwork, bar: Bar, owner: RouteFace, lies: tuple[float, float], end: float, pose: Pose
) -> Iterator[Span]:
    """Yield over what length a bar is filed from an end of it."""
    for head in work.heads:
        if head.stretch.owner != owner:
            continue
        for part in head.filed:
            for low, high in shared(lies, (part,)):
                if min(abs(low - end), abs(high - end)) > _SAME or high - low < 5 * _SAME:
                    continue
                start, stop = face_point(work, owner, low), face_point(work, owner, high)
                length = format_length(face_length(work, owner, low, high), work.spec.units)
                yield Span(start, stop, f"filed over {length}", side_of(pose, start, stop), bar.id)


def _knuckle(work: Trackwork, frog: Frog, pose: Pose) -> Iterator[Span]:
    """Yield the width of the throat, told at the knuckle of a V."""
    first, second = frog.noses
    if frog.kind == "V" and first is not None and second is not None:
        at = face_point(work, frog.first, first)
        throat = math.dist(at, face_point(work, frog.second, second))
        yield Span(at, at, f"knuckle, throat {format_clearance(throat, work.spec.units)}", side_of(pose, at))


def _wing_spans(work: Trackwork, wing: Wing, pose: Pose) -> Iterator[Span]:
    """Yield how long a wing rail is straight, at which flangeway, and how long its flare is."""
    unit, beside = work.spec.units, wing.beside
    inward = -(wing.flangeway + work.spec.rail.head)
    low, high = wing.straight
    onward = wing.end >= high
    ends = [face_point(work, beside, station, inward) for station in (low, high, wing.end)]
    side = side_of(pose, *ends)
    straight = format_length(face_length(work, beside, low, high), unit)
    text = f"straight {straight}, flangeway {format_clearance(wing.flangeway, unit)}"
    yield Span(ends[0], ends[1], text, side, wing.id)
    turn = high if onward else low
    if abs(wing.end - turn) > _SAME:
        flare = format_length(face_length(work, beside, turn, wing.end), unit)
        yield Span(ends[1] if onward else ends[0], ends[2], f"flare {flare}", side, wing.id)
