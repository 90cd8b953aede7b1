"""Turn frogs into what their details show and tell: how each bar is filed or cranked, from where, and the wing rails.

TP is short for the theoretical point, as the page says.

Every length is one `Span` of a short list, from point to point: what else is to be told of filing is one more of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from turnout_templates.drafting.around import Surroundings
from turnout_templates.drafting.bases import BarsByFace, materials
from turnout_templates.drafting.subjects import Subject, face_length, face_point, side_of
from turnout_templates.drawing.dimensions import Span
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.base_parts import course_of_guide
from turnout_templates.trackwork.fits import Fit
from turnout_templates.trackwork.frog_parts import Frog, GuidingSide, Wing
from turnout_templates.trackwork.knuckles import cut_depth, knuckle_of
from turnout_templates.trackwork.materials import Material
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance, format_degrees, format_length

_REACH = 45.0
"""How far from a frog things are looked at, in widths of the head: a wing rail of a No. 10 ends well within."""
_BENT = ("knuckle", "groove")
"""How a bar may end without being filed."""
_FILED = {"point": "point", "spliced": "splice", "nose": "filed"}
"""What a filing is called by what the end of the bar is."""
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
    remarks = tuple(_remarks(around.work, work, frog))
    return Subject(frog.id, f"{frog.kind} frog", words, pose, work, tuple(reach), least, spans, remarks)


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
    made_of = materials(work)
    for wing in work.wings:
        if wing.frog == frog.id:
            yield from _wing_spans(work, wing, made_of[wing.id], pose)
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


def _remarks(work: Trackwork, near: Trackwork, frog: Frog) -> Iterator[str]:
    """Yield how deep flangeways are cut, and the guards of a frog."""
    depth, _ = cut_depth(frog)
    if depth is not None:
        yield f"flangeways cut at least {format_clearance(depth, work.spec.units)} deep"
    made_of, bars = materials(near), BarsByFace(near)
    for guard in near.guards:
        if frog.id in guard.frogs:
            strip = "strip" if made_of[guard.id] == "strip" else "guard"
            length = format_length(course_of_guide(work.layout, guard).length_between(*guard.ends), work.spec.units)
            flangeway = format_clearance(guard.flangeway, work.spec.units)
            beside = bars.named(guard.beside, sum(guard.straight) / 2)
            yield f"{strip} {guard.id}, {length} long, flangeway {flangeway}, beside {beside}"


def _wing_spans(work: Trackwork, wing: Wing, material: Material, pose: Pose) -> Iterator[Span]:
    """Yield how long a wing rail is straight, at which flangeway, and how long its flare is."""
    unit, beside = work.spec.units, wing.beside
    inward = -(wing.flangeway + work.spec.rail.head)
    low, high = wing.straight
    onward = wing.end >= high
    ends = [face_point(work, beside, station, inward) for station in (low, high, wing.end)]
    side = side_of(pose, *ends)
    straight = format_length(face_length(work, beside, low, high), unit)
    text = f"straight {straight}, flangeway {format_clearance(wing.flangeway, unit)}"
    text += ", strip" if material == "strip" else ""
    yield Span(ends[0], ends[1], text, side, wing.id)
    turn = high if onward else low
    if abs(wing.end - turn) > _SAME:
        flare = format_length(face_length(work, beside, turn, wing.end), unit)
        yield Span(ends[1] if onward else ends[0], ends[2], f"flare {flare}", side, wing.id)
