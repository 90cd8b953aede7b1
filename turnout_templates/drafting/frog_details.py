"""Turn frogs into what their details show and tell: how each bar is filed or cranked, from where, and the wing rails.

TP is short for the theoretical point, as the page says.

Every length is one `Span` of a short list, from point to point: what else is to be told of filing is one more of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from turnout_templates.drafting.around import Surroundings
from turnout_templates.drafting.base_words import BaseWords
from turnout_templates.drafting.frog_remarks import frog_remarks, guards_at
from turnout_templates.drafting.subjects import Remark, Subject, face_length, face_point, side_of
from turnout_templates.drawing.dimensions import Span
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.bases.materials import Material
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard, GuidingSide, Wing
from turnout_templates.trackwork.frogs.knuckles import knuckle_of
from turnout_templates.trackwork.guides.guide_edges import edge_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance, format_degrees, format_length

_REACH = 45.0
"""How far from a frog things are looked at, in widths of the head: a wing rail of a No. 10 ends well within."""
_GAP_NEAR, _GAP_ROOM = 4.0, 2.0
"""A gap so near to what is shown is shown too, with so much beyond it for its name; in widths of the head."""
_ACROSS = 2.0
"""But at least so many gauges far: what guards it lies across the track."""
_BENT = ("knuckle", "groove")
"""How a bar may end without being filed."""
_FILED = {"point": "point", "spliced": "splice", "nose": "filed"}
"""What a filing is called by what the end of the bar is."""
_SAME = 0.02
"""Places nearer than this (mm) are one on paper, at any enlargement."""


def frog_subject(around: Surroundings, bases: BaseWords, frog: Frog) -> Subject:
    """Return what the detail of a frog shows; its heel lies to the right."""
    head = around.work.spec.rail.head
    across = max(gauge.width for gauge in around.work.spec.gauges.values())
    work = around.near(frog.point, max(_REACH * head, _ACROSS * across))
    pose = frog_pose(work, frog)
    spans = tuple(frog_spans(work, bases, frog, pose))
    reach = [point for span in spans for point in (span.start, span.end)]
    guides: list[Wing | Guard] = [wing for wing in work.wings if wing.frog == frog.id]
    guides += guards_at(work, frog)
    reach += [point for guide in guides for point in guide.ring]
    reach += [pose.beside(side * 2.5 * head) for side in (1, -1)]
    words = Remark(f"{frog.kind} frog No. {frog.number:.2f}, {format_degrees(frog.angle)}")
    least = (pose.ahead(-4.0 * head).point, pose.ahead(6.0 * head).point)
    remarks = tuple(frog_remarks(work, bases, frog))
    gaps = tuple(_gaps_near(work, frog, pose, reach))
    return Subject(frog.id, f"{frog.kind} frog", words, pose, work, tuple(reach), least, spans, remarks, gaps)


def _gaps_near(work: Trackwork, frog: Frog, pose: Pose, reach: Sequence[Point]) -> Iterator[Point]:
    """Yield what is to be seen of the gaps of a frog that lie just beyond the points that are seen anyhow."""
    low, high = (end(pose.local(point)[0] for point in reach) for end in (min, max))
    near, room = (part * work.spec.rail.head for part in (_GAP_NEAR, _GAP_ROOM))
    for joint in work.joints:
        x, _ = pose.local(joint.point)
        if joint.cut is not None and frog.id in joint.cut.frogs and low - near < x < high + near:
            yield from (pose.ahead(x + way * room).point for way in (-1, 1))


def frog_pose(work: Trackwork, frog: Frog) -> Pose:
    """Return the theoretical point, heading between the two faces toward the heel."""
    headings = [
        work.layout.route(owner.route).path.heading_at(station) + (0.0 if way > 0 else math.pi)
        for owner, station, way in zip((frog.first, frog.second), (frog.s, frog.t), frog.heel_directions, strict=True)
    ]
    between = headings[0] + math.remainder(headings[1] - headings[0], math.tau) / 2
    return Pose(*frog.point, between)


def frog_spans(work: Trackwork, bases: BaseWords, frog: Frog, pose: Pose) -> Iterator[Span]:
    """Yield the lengths that are told of a frog."""
    unit = work.spec.units
    if frog.practical is not None and frog.practical_stations is not None:
        faces = zip((frog.first, frog.second), frog.practical_stations, strict=True)
        wide = format_clearance(math.dist(*(face_point(work, owner, station) for owner, station in faces)), unit)
        apart = format_clearance(math.dist(frog.point, frog.practical), unit)
        yield Span(frog.point, frog.practical, f"TP to practical point {apart}, {wide} wide there", 1)
    fits = [fit for fit in work.fits if fit.frog == frog.id and fit.bar is not None]
    for fit in fits:
        if fit.what in _BENT:
            yield _bent(work, frog, fit, pose)
        else:
            yield from _filed(work, frog, fit, pose)
    yield from _elbow(work, frog, fits, pose)
    yield from _knuckle(work, frog, pose)
    for wing in work.wings:
        if wing.frog == frog.id:
            yield from _guide_spans(work, wing, bases.material(wing.id), pose)
    for guard in guards_at(work, frog):
        yield from _guide_spans(work, guard, bases.material(guard.id), pose)
    for side in work.sides:
        if frog.id in side.guarded:
            yield from _side_spans(work, side, pose)


def place_of(work: Trackwork, frog: Frog, fit: Fit) -> str:
    """Return where a bar's gauge face ends, as "0.29 in before TP": of a V toward its knuckle, "past" toward its heel.

    The halves of a K lie to all sides of it: theirs is "from TP".
    """
    first = fit.owner == frog.first
    station, way = (frog.s if first else frog.t), frog.heel_directions[0 if first else 1]
    away = face_length(work, fit.owner, fit.end, station)
    if away < _SAME:
        return "at TP"
    side = "from" if frog.kind == "K" else "past" if (fit.end - station) * way > 0 else "before"
    return f"{format_clearance(away, work.spec.units)} {side} TP"


def _away(work: Trackwork, frog: Frog, fit: Fit) -> tuple[Point, Point, str]:
    """Return where a bar's gauge face ends, the theoretical point, and in words how the one lies to the other."""
    station = frog.s if fit.owner == frog.first else frog.t
    return face_point(work, fit.owner, fit.end), face_point(work, fit.owner, station), place_of(work, frog, fit)


def _bent(work: Trackwork, frog: Frog, fit: Fit, pose: Pose) -> Span:
    """Return where and by how much a bar is cranked into a wing rail, or where it ends at the groove."""
    start, stop, place = _away(work, frog, fit)
    crank = f"crank {format_degrees(fit.angle)} away from the V"
    text = f"{crank if fit.what == 'knuckle' else 'ends at groove'}, {place}"
    return Span(start, stop, text, side_of(pose, start, stop), fit.bar or "")


def _filed(work: Trackwork, frog: Frog, fit: Fit, pose: Pose) -> Iterator[Span]:
    """Yield where a bar that is filed ends, and at what angle and over what length it is filed from there."""
    if fit.what not in _FILED:
        return
    start, stop, place = _away(work, frog, fit)
    bar, side = fit.bar or "", side_of(pose, start)
    if fit.what == "spliced":
        yield Span(start, stop, f"splice begins {place}", side, bar)
    elif fit.what == "nose":
        yield Span(start, stop, f"nose {place}, no guidance from TP to there", side, bar)
    if fit.whole is not None and fit.length > _SAME:
        whole = face_point(work, fit.owner, fit.whole)
        angle, over = format_degrees(fit.angle), format_clearance(fit.length, work.spec.units)
        yield Span(start, whole, f"{_FILED[fit.what]} {angle} over {over}", side_of(pose, start, whole), bar)


def _elbow(work: Trackwork, frog: Frog, fits: Sequence[Fit], pose: Pose) -> Iterator[Span]:
    """Yield at a theoretical point how the bars that meet there are one bar with a crank, or mitred."""
    for what, word in (("elbow", "one bar, crank {} away from its gauge face"), ("mitre", "mitre, each at {}")):
        bars = [fit for fit in fits if fit.what == what]
        if bars:
            angle = format_degrees(frog.angle if what == "elbow" else bars[0].angle / 2)
            names = " and ".join(dict.fromkeys(fit.bar or "" for fit in bars))
            at = face_point(work, bars[0].owner, bars[0].end)
            yield Span(at, at, word.format(angle), side_of(pose, at), names)


def _knuckle(work: Trackwork, frog: Frog, pose: Pose) -> Iterator[Span]:
    """Yield the throat at the knuckle of a V."""
    knuckle = knuckle_of(work.layout, frog)
    first = frog.noses[0]
    if knuckle is not None and first is not None:
        at = face_point(work, frog.first, first)
        yield Span(at, at, f"knuckle, throat {format_clearance(knuckle.throat, work.spec.units)}", side_of(pose, at))


def _side_spans(work: Trackwork, side: GuidingSide, pose: Pose) -> Iterator[Span]:
    """Yield over what length the side of a rail is cut as a guard, and at which flangeway."""
    low, high = side.cut
    ends = sorted(
        (face_point(work, side.beside, s, -side.flangeway) for s in (low, high)), key=lambda p: pose.local(p)[0]
    )
    length = format_length(face_length(work, side.beside, low, high), work.spec.units)
    text = f"side cut as guard over {length}, flangeway {format_clearance(side.flangeway, work.spec.units)}"
    yield Span(ends[0], ends[1], text, side_of(pose, *ends))


def _guide_spans(work: Trackwork, guide: Wing | Guard, material: Material, pose: Pose) -> Iterator[Span]:
    """Yield how long a wing or a guard is straight, at which flangeway, and how long and by how much it is flared.

    Lengths are along its guiding edge, as they are cut and bent.
    """
    unit, edge = work.spec.units, edge_of(work, guide)
    low, high = guide.straight
    straight = [_back_point(work, guide, station) for station in (low, high)]
    side = side_of(pose, *straight)
    length = format_length(edge.length - sum(edge.flares), unit)
    text = f"straight {length}, flangeway {format_clearance(guide.flangeway, unit)}"
    text += ", strip" if material == "strip" else ""
    yield Span(straight[0], straight[1], text, side, guide.id)
    bends = {bend.station: bend.angle for bend in edge.bends if bend.at == "flare"}
    for turn, end, flare in zip(guide.straight, guide.ends, edge.flares, strict=True):
        if flare > _SAME:
            text = f"flare {format_length(flare, unit)} at {format_degrees(bends[turn], 1)}"
            yield Span(_back_point(work, guide, turn), _back_point(work, guide, end), text, side, guide.id)


def _back_point(work: Trackwork, guide: Wing | Guard, station: float) -> Point:
    """Return the point behind a guide, a head's width from its straight guiding side, at a station of its route."""
    return face_point(work, guide.beside, station, -(guide.flangeway + work.spec.rail.head))
