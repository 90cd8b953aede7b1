"""Turn a few words into specs, specs into trackwork, and trackwork into regions to hold against the rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import Any

import pytest
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.errors import InputProblems
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.pipeline import Job, work_out
from turnout_templates.spec.load import read_spec
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import FiledHead, RouteFace

HEAD = """\
spec: 1
name: Brindle Fen, a test
units: mm
scale: {scale}
gauges: {{{gauges}}}
track_standard: {clearances}
rail: {rail}
"""
THIN = 0.01
"""Overlaps thinner than this (mm) come from chords of 0.002 mm sagitta on both sides."""
TWO_GAUGES = "standard: HO, narrow: HOn3"


def spec(routes: str, *, gauges: str = "standard: HO", scale: str = "HO", rail: str = "code 70", **more: str) -> str:
    """Return a spec with the given `routes`, one a line; `more` are further keys."""
    clearances = more.pop("clearances", "NMRA S-3.2 (2010)")
    text = HEAD.format(scale=scale, gauges=gauges, clearances=clearances, rail=rail)
    text += "".join(f"{key}: {value}\n" for key, value in more.items())
    lines = [line.strip() for line in routes.strip().splitlines()]
    return text + "routes:\n" + "".join(f"  {line}\n" for line in lines)


@cache
def job(text: str) -> Job:
    """Return a spec worked out (the same object every time: read only)."""
    return work_out(read_spec(text, file="test.yaml", folder=None))


def built(routes: str, **keys: Any) -> Trackwork:
    """Return the trackwork of some routes."""
    return job(spec(routes, **keys)).trackwork


def refusal(routes: str, **keys: str) -> str:
    """Return what is said of routes that cannot be laid: one problem, with its place and its remedy."""
    with pytest.raises(InputProblems) as refused:
        job(spec(routes, **keys))
    (only,) = refused.value.problems
    assert only.line is not None and only.remedy
    return str(only)


def plain(frog: float = 6, hand: str = "left", **more: str) -> str:
    """Return the routes of a turnout on straight main."""
    extra = "".join(f", {key}: {value}" for key, value in more.items())
    return f"""
        main: {{path: [straight: 330]}}
        branch: {{leaves: main, at: 60, hand: {hand}{extra}, path: [{{frog: {frog}}}, {{straight: 60}}]}}
    """


def two_gauge(case: str, common: str, hand: str, *, frog: float = 6, length: float = 420) -> str:
    """Return the routes of one of the twenty turnouts of two gauges."""
    carried = {"both": "[standard, narrow]", "wide": "[standard]", "narrow": "[narrow]"}[case.split()[-1]]
    branch = f"gauges: {carried}, hand: {hand}, path: [{{frog: {frog}}}, {{straight: 60}}]"
    if not case.startswith("parting"):
        return f"""
            main: {{common_rail: {common}, path: [straight: {length}]}}
            branch: {{leaves: main, at: 80, {branch}}}
        """
    rest = "[narrow]" if case == "parting wide" else "[standard]"
    return f"""
        main: {{common_rail: {common}, path: [straight: 80]}}
        on: {{leaves: main, at: end, gauges: {rest}, path: [straight: {length - 80}]}}
        branch: {{leaves: main, at: end, {branch}}}
    """


TWENTY = [
    (case, common, hand)
    for case in ("both", "wide", "narrow", "parting narrow", "parting wide")
    for common in ("left", "right")
    for hand in ("left", "right")
]


def strip(work: Trackwork, owner: RouteFace, first: float, second: float, low: float, high: float) -> Polygon:
    """Return the region between two distances from a face (mm, to the left) from station to station, sampled finely."""
    path = work.layout.route(owner.route).path
    count = max(2, int(high - low) + 1)
    stations = [low + (high - low) * i / count for i in range(count + 1)]
    there = [path.point_at(s, owner.face.offset + first) for s in stations]
    back = [path.point_at(s, owner.face.offset + second) for s in reversed(stations)]
    return Polygon([*there, *back])


def whole_head(work: Trackwork, owner: RouteFace, low: float, high: float) -> Polygon:
    """Return a head as rolled, between two stations."""
    return strip(work, owner, 0.0, owner.face.outward * work.spec.rail.head, low, high)


def flangeway(work: Trackwork, owner: RouteFace, low: float, high: float, width: float | None = None) -> Polygon:
    """Return the groove beside a face between two stations, at its frog flangeway unless told otherwise."""
    wide = owner.face.flangeway if width is None else width
    return strip(work, owner, 0.0, -owner.face.outward * wide, low, high)


def left_of(work: Trackwork, head: FiledHead) -> BaseGeometry:
    """Return what is left of a head after filing."""
    parts = [whole_head(work, head.stretch.owner, low, high) for low, high in head.edges if high > low]
    return shapely.union_all([*parts, *(Polygon(ring).buffer(0) for ring in head.rings)])


@dataclass(frozen=True)
class Metal:
    """What is left of the head of one stretch of a rail."""

    rail: str
    owner: RouteFace
    region: BaseGeometry


def heads(work: Trackwork) -> tuple[Metal, ...]:
    """Return what is left of every head."""
    if id(work) not in _METAL:
        found = tuple(Metal(head.rail, head.stretch.owner, left_of(work, head)) for head in work.heads)
        _METAL[id(work)] = (work, found)
    return _METAL[id(work)][1]


_METAL: dict[int, tuple[Trackwork, tuple[Metal, ...]]] = {}
"""Heads by the trackwork's id; the trackwork is kept beside them so that no other can take its id."""


def overlaps(work: Trackwork) -> Iterator[tuple[Metal, Metal, BaseGeometry]]:
    """Yield the pairs of heads that overlap by more than rounding, and each piece of the overlap."""
    for a, b in combinations(heads(work), 2):
        if a.rail != b.rail:
            for part in shapely.get_parts(a.region.intersection(b.region)).tolist():
                if not is_thin(part, THIN):
                    yield a, b, part


def face_line(work: Trackwork, owner: RouteFace, low: float, high: float) -> LineString:
    """Return a face between two stations as fine chords."""
    route = work.layout.route(owner.route)
    return LineString(flatten(Parallel(route.path, owner.face.offset, low, high), sagitta=1e-4))


def all_faces(work: Trackwork) -> Iterator[RouteFace]:
    """Yield every gauge face of every route."""
    yield from (RouteFace(route.name, face) for route in work.layout for face in route.faces)


def station_beside(work: Trackwork, route: str, of: RouteFace, station: float) -> float:
    """Return the station of `route` beside a place on a face."""
    place = work.layout.route(of.route).path.point_at(station, of.face.offset)
    return nearest_station(work.layout.route(route).path, place)[0]


def gap_at(frog: Frog, owner: RouteFace) -> tuple[float | None, float]:
    """Return (nose, far end) of the gap that a frog makes in one of its two faces, as stations."""
    i = (frog.first, frog.second).index(owner)
    far = frog.practical_stations[i] if frog.practical_stations else (frog.s, frog.t)[i]
    return frog.noses[i], far


def splice_of(work: Trackwork, frog: Frog) -> float | None:
    """Return where a V's second face leaves the outer edge of the head on its first, None where it never does.

    On lines sampled finely: the first place from the frog's point on where the two heads begin to lie side by side.
    """
    first, second = (work.layout.route(owner.route) for owner in (frog.first, frog.second))
    face = frog.first.face
    whole = Parallel(first.path, face.offset + face.outward * work.spec.rail.head, 0.0, first.path.length)
    edge = LineString(flatten(whole, sagitta=1e-4))
    line = face_line(work, frog.second, 0.0, second.path.length)
    way = frog.heel_directions[1]
    meetings = [
        nearest_station(second.path, (p.x, p.y))[0] for p in shapely.get_parts(edge.intersection(line)).tolist()
    ]
    beyond = [station for station in meetings if (station - frog.t) * way > -work.spec.rail.head]
    return min(beyond, key=lambda station: abs(station - frog.t), default=None)


def is_thin(region: BaseGeometry, thickness: float) -> bool:
    """Say whether a region is nowhere thicker than that (mm)."""
    return bool(region.buffer(-thickness / 2).is_empty)
