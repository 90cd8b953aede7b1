"""Turn trackwork into the figures that `measure` prints: plain values, lengths in mm, angles in degrees.

The shape of these figures is a contract with other programs: names are added, never changed; `format` counts changes.
"""

from __future__ import annotations

import math
from typing import Any

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.alignment.widened import Widened
from turnout_templates.checks.finding import Finding
from turnout_templates.geometry.parallel import Chunk
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.circuit import Crossing, Group, Ring
from turnout_templates.trackwork.feeds import bar_polarity, frog_joins, frogs_at_ends
from turnout_templates.trackwork.model import Bar, Frog, Guard, PointRail, RouteFace, Stretch, Switch, Tie, Trackwork
from turnout_templates.units import Unit

FORMAT = 1
Figures = dict[str, Any]


def figures(work: Trackwork, findings: tuple[Finding, ...]) -> Figures:
    """Return all figures of `work` and its `findings` as values that JSON can hold, in full precision."""
    spec = work.spec
    at_ends = frogs_at_ends(work)
    return {
        "format": FORMAT,
        "name": spec.name,
        "fingerprint": spec.fingerprint,
        "scale_ratio": spec.scale.ratio,
        "gauges": {name: {"width_mm": gauge.width, "source": gauge.source} for name, gauge in spec.gauges.items()},
        "rail": {"name": spec.rail.name, "head_mm": spec.rail.head, "base_mm": spec.rail.base},
        "routes": {route.name: _route(work, route) for route in work.layout},
        "switches": [_switch(work, switch) for switch in work.switches],
        "frogs": [_frog(work, frog) for frog in work.frogs],
        "guards": [_guard(guard) for guard in work.guards],
        "rails": [_bar(work, bar, at_ends[bar.id]) for bar in work.bars],
        "ties": [_tie(tie) for tie in work.ties],
        "polarity": _polarity(work),
        "findings": [_finding(finding, work.spec.units) for finding in findings],
    }


def _degrees(angle: float) -> float:
    return math.degrees(angle)


def _pose(pose: Pose) -> Figures:
    return {"x_mm": pose.x, "y_mm": pose.y, "heading_deg": _degrees(pose.heading)}


def _point(point: Point) -> Figures:
    return {"x_mm": point[0], "y_mm": point[1]}


def _radius(curvature: float) -> float | None:
    return 1.0 / curvature if curvature else None


def _route(work: Trackwork, route: LaidRoute) -> Figures:
    sharpest = route.path.greatest_curvature
    pieces = []
    for piece in route.path.pieces:
        entry: Figures = {"kind": piece.kind, "length_mm": piece.length}
        if piece.kind == "easement":
            entry["radii_mm"] = [_radius(piece.from_curvature), _radius(piece.to_curvature)]
        else:
            entry["radius_mm"] = _radius(piece.from_curvature)
        pieces.append({**entry, "start": _pose(piece.start)})
    return {
        "length_mm": route.path.length,
        "least_radius_mm": 1.0 / sharpest if sharpest else None,
        "pieces": pieces,
        "end": _pose(route.path.end),
        "turned": work.circuit.turns[route.name] < 0,
        "widening": [_widened(work, route, stretch) for stretch in route.widened],
    }


def _widened(work: Trackwork, route: LaidRoute, stretch: Widened) -> Figures:
    """Return a stretch of wider gauge: between the stations of its profile the widening changes evenly."""
    profile = stretch.within(route.path.length)
    return {
        "inner": stretch.inner,
        "by_mm": stretch.most,
        "profile": [{"station_mm": station, "by_mm": by} for station, by in profile],
        "source": widening_source(work, route),
    }


def widening_source(work: Trackwork, route: LaidRoute) -> str:
    """Return where the figures come from by which the gauge of a route is widened; empty where it is not."""
    widening = next(written.widening for written in work.spec.routes if written.name == route.name)
    return "" if widening is None else widening.source


def _owner(owner: RouteFace) -> Figures:
    return {"route": owner.route, "gauge": owner.face.gauge, "hand": owner.face.hand}


def how_laid(work: Trackwork, switch: Switch) -> str:
    """Return how the turnout at `switch` came about: on the line it leaves, or on straight track and then bent."""
    return "bent from straight" if work.layout.route(switch.branch).bent else "solved on its main"


def _switch(work: Trackwork, switch: Switch) -> Figures:
    return {
        "id": switch.id,
        "main": switch.parent,
        "branch": switch.branch,
        "branches": list(switch.onward[1:]),
        "hand": switch.hand,
        "facing": "with" if switch.way > 0 else "against",
        "laid": how_laid(work, switch),
        "switching": switch.switching,
        "points": len(switch.moving_points),
        "station_mm": switch.station,
        "tip": _pose(switch.tip),
        "filed_tip": {**_pose(switch.filed_tip), "station_mm": switch.filed_station},
        "throw_bar_station_mm": switch.bar_station,
        "throw_mm": switch.throw,
        "throw_to_hold_mm": switch.throw_to_hold,
        "least_opening_mm": switch.least_opening,
        "point_rails": [_point_rail(work, point) for point in switch.moving_points],
        "fixed_rails": [_fixed_rail(work, point) for point in switch.points if point.begins != "point"],
    }


def _point_rail(work: Trackwork, point: PointRail) -> Figures:
    path = work.layout.route(point.owner.route).path
    return {
        **_owner(point.owner),
        "behind": [_owner(owner) for owner in point.outside],
        "tip_station_mm": point.tip,
        "tip": _point(path.point_at(point.tip, point.owner.face.offset)),
        "full_head_station_mm": point.full_head,
        "heel_station_mm": point.heel,
    }


def _fixed_rail(work: Trackwork, point: PointRail) -> Figures:
    """Return a rail that begins at a switch and does not move: behind a stub's toe, or where gauges part."""
    path = work.layout.route(point.owner.route).path
    return {
        **_owner(point.owner),
        "behind": [_owner(owner) for owner in point.outside],
        "parts_station_mm": point.parts,
        "begin_station_mm": point.tip,
        "begin": _point(path.point_at(point.tip, point.owner.face.offset)),
    }


def _frog(work: Trackwork, frog: Frog) -> Figures:
    return {
        "id": frog.id,
        "kind": frog.kind,
        "switch": frog.switch,
        "faces": [_owner(frog.first), _owner(frog.second)],
        "number": frog.number,
        "angle_deg": _degrees(frog.angle),
        **_point(frog.point),
        "stations_mm": {frog.first.route: frog.s, frog.second.route: frog.t},
        "lead_mm": frog.lead,
        "practical": _point(frog.practical) if frog.practical else None,
        "noses": [_nose(work, frog.first, frog.noses[0]), _nose(work, frog.second, frog.noses[1])],
        "joins": frog_joins(work, frog),
    }


def _nose(work: Trackwork, owner: RouteFace, station: float | None) -> Figures | None:
    """Return where a face is broken for the other's flangeway: at a V this is the knuckle."""
    if station is None:
        return None
    point = work.layout.route(owner.route).path.point_at(station, owner.face.offset)
    return {"route": owner.route, "station_mm": station, **_point(point)}


def _guard(guard: Guard) -> Figures:
    guarded = [*guard.frogs, *guard.switches]
    return {
        "id": guard.id,
        "gauge": guard.gauge,
        "guards": guarded[0],
        "guards_all": guarded,
        "beside": _owner(guard.beside),
        "flangeway_mm": guard.flangeway,
        "straight": list(guard.straight),
        "ends": list(guard.ends),
    }


def _bar(work: Trackwork, bar: Bar, frogs: tuple[str | None, str | None]) -> Figures:
    pieces = [piece for stretch in bar.stretches for piece in _face_pieces(work, stretch)]
    return {
        "id": bar.id,
        "role": bar.role,
        "length_mm": sum(p["length_mm"] for p in pieces),
        "polarity": bar_polarity(work, bar),
        "frogs_at_ends": list(frogs),
        "pieces": pieces,
    }


def _face_pieces(work: Trackwork, stretch: Stretch) -> list[Figures]:
    """Return the pieces of a gauge face: exact parallels of its route's pieces, and tapers beside them."""
    curves = work.layout.route(stretch.owner.route).lie(stretch.owner.face, stretch.low, stretch.high)
    chunks = (chunk for curve in curves for chunk in curve.chunks(math.inf))
    return [_face_piece(stretch.owner, chunk) for chunk in chunks if chunk.high - chunk.low > 1e-9]


def _face_piece(owner: RouteFace, chunk: Chunk) -> Figures:
    ends = (chunk.low, chunk.high)
    entry: Figures = {
        "kind": "taper" if chunk.slope else chunk.piece.kind,
        **_owner(owner),
        "offset_mm": chunk.offset,
        "from_mm": chunk.begin + chunk.low,
        "to_mm": chunk.begin + chunk.high,
        "length_mm": chunk.length_between(*ends),
        "start": _pose(chunk.pose_at(chunk.low)),
        "end": _pose(chunk.pose_at(chunk.high)),
    }
    if chunk.slope:
        entry["offset_to_mm"] = chunk.offset_at(chunk.high)
        entry["radii_mm"] = [_radius(chunk.bend_at(s)) for s in ends]
        return entry
    radii = [_face_radius(chunk.piece.curvature_at(s), chunk.offset) for s in ends]
    entry.update({"radii_mm": radii} if chunk.piece.kind == "easement" else {"radius_mm": radii[0]})
    return entry


def _face_radius(curvature: float, offset: float) -> float | None:
    """Return the signed radius of a face beside a reference line of `curvature`."""
    return 1.0 / curvature - offset if curvature else None


def _tie(tie: Tie) -> Figures:
    return {
        "id": tie.id,
        "material": tie.material,
        "role": tie.role,
        "length_mm": tie.length,
        "width_mm": tie.width,
        **_point(tie.centre),
        "angle_deg": _degrees(tie.angle),
        "route": tie.route,
        "station_mm": tie.station,
    }


def _polarity(work: Trackwork) -> Figures:
    circuit = work.circuit
    return {
        "groups": [_group(group) for group in circuit.groups],
        "rings": [_ring(ring) for ring in circuit.rings],
        "opposed_crossings": [_crossing(crossing) for crossing in circuit.opposed],
    }


def _group(group: Group) -> Figures:
    turned = group.turns[group.routes[0]] < 0
    return {"routes": list(group.routes), "fed_with": group.fed_with, "turned": turned}


def _ring(ring: Ring) -> Figures:
    meeting = ring.broken
    return {
        "routes": list(ring.routes),
        "broken": {
            "branch": meeting.branch,
            "parent": meeting.parent,
            "parent_station_mm": meeting.departure.station,
            **_point(meeting.departure.tip.point),
        },
        "section": {"route": ring.section, "length_mm": ring.length},
    }


def _crossing(crossing: Crossing) -> Figures:
    return {"routes": [crossing.first, crossing.second], "frog_ids": list(crossing.frogs), **_point(crossing.point)}


def _finding(finding: Finding, units: Unit) -> Figures:
    """Return a finding: what was measured and its limit in mm, the sentences for people in the spec's `units` first."""
    return {
        "rule": finding.rule,
        "level": finding.level,
        "where": finding.where,
        **_point(finding.at),
        "measured": str(finding.measured),
        "limit": str(finding.limit),
        "source": finding.source,
        "remedy": finding.remedy.in_units(units),
        "sentence": finding.sentence(units),
    }
