"""Measure a guiding rail along its guiding edge: the length to cut, and where and by how much it is bent.

The edge is exact: a parallel of the gauge face over the straight part, and a straight line over each flare.
"""

from __future__ import annotations

import math

from msgspec import Struct

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point, wrapped
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.guides.guides import flare_more
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace


class Bend(Struct, frozen=True):
    """A bend of a guiding rail: how far (mm) from its lower end along the edge, at which station, and by how much.

    `angle` is in radians, without a sign; `at` is "flare", "knuckle" or the id of the guard that goes on there.
    """

    along: float
    station: float
    angle: float
    at: str


class GuideEdge(Struct, frozen=True):
    """The guiding edge of a wing or a guard: `length` to cut, `flares` at the lower and the upper end, and `bends`."""

    length: float
    flares: tuple[float, float]
    bends: tuple[Bend, ...]


def edge_of(work: Trackwork, guide: Guard | Wing) -> GuideEdge:
    """Return the guiding edge of a guard or a wing."""
    if isinstance(guide, Wing):
        frog = work.frog(guide.frog)
        nose = frog.noses[0 if guide.continues == frog.first else 1]
        if nose is None:
            raise TypeError("a wing begins at the knuckle")
        return wing_edge(work.layout, guide, work.layout.route(guide.continues.route).path.heading_at(nose))
    others = {other.id: other for other in work.guards} if guide.bent_at else {}
    angles = {name: elbow_angle(work.layout, guide, others[name]) for name, _ in guide.bent_at}
    return guard_edge(work.layout, guide, angles)


def guard_edge(layout: Layout, guard: Guard, angles: dict[str, float]) -> GuideEdge:
    """Return the guiding edge of a guard; `angles` are those of the bends round elbows by the other guard's id."""
    edge = _edge(layout, guard.beside, guard.flangeway, guard.straight, guard.ends)
    bends = [*edge.bends]
    for name, station in guard.bent_at:
        along = 0.0 if station <= guard.ends[0] else edge.length
        bends.append(Bend(along, station, angles[name], name))
    return GuideEdge(edge.length, edge.flares, tuple(sorted(bends, key=lambda bend: bend.along)))


def elbow_angle(layout: Layout, guard: Guard, other: Guard) -> float:
    """Return by how much (rad) the bar of two guards is bent where they meet."""
    stations = (dict(guard.bent_at)[other.id], dict(other.bent_at)[guard.id])
    headings = [layout.route(g.beside.route).path.heading_at(s) for g, s in zip((guard, other), stations, strict=True)]
    return _between(*headings)


def wing_edge(layout: Layout, wing: Wing, knuckle_heading: float) -> GuideEdge:
    """Return the guiding edge of a wing from its knuckle; `knuckle_heading` is that of the face it goes on from."""
    edge = _edge(layout, wing.beside, wing.flangeway, wing.straight, wing.ends)
    onward = wing.end >= wing.straight[1]
    station = wing.straight[0] if onward else wing.straight[1]
    angle = _between(layout.route(wing.beside.route).path.heading_at(station), knuckle_heading)
    knuckle = Bend(0.0 if onward else edge.length, station, angle, "knuckle")
    bends = (knuckle, *edge.bends) if onward else (*edge.bends, knuckle)
    return GuideEdge(edge.length, edge.flares, bends)


def _between(a: float, b: float) -> float:
    """Return the angle between two lines, whichever way they are run."""
    turn = abs(wrapped(a - b))
    return min(turn, math.pi - turn)


def _edge(layout: Layout, beside: RouteFace, flangeway: float, straight: Interval, ends: Interval) -> GuideEdge:
    path, face = layout.route(beside.route).path, beside.face
    curve = Parallel(path, face.offset - face.outward * flangeway, *straight)
    middle = curve.length_between(*straight)
    flares, angles = [], []
    for station, end in zip(straight, ends, strict=True):
        tip = path.point_at(end, face.offset - face.outward * (flangeway + flare_more(abs(end - station))))
        root = curve.point_at(station)
        flares.append(math.dist(root, tip))
        angles.append(_lean(root, tip, path.heading_at(station)))
    places = (flares[0], flares[0] + middle)
    bends = [Bend(places[k], straight[k], angles[k], "flare") for k in (0, 1) if flares[k] > 0.0]
    return GuideEdge(flares[0] + middle + flares[1], (flares[0], flares[1]), tuple(bends))


def _lean(root: Point, tip: Point, heading: float) -> float:
    return _between(math.atan2(tip[1] - root[1], tip[0] - root[0]), heading) if root != tip else 0.0
