"""Throw the points of switches: how far, where the throw bar lies, and how they stand open, hinged or bent.

A point that is one bar with its closure rail bends from where that bar is fast: before the first V frog on it, where a
tie, the isolating gap and its clearances still fit, or before its end at a K that comes first. One that is planed
straight, or hinged because the spec says so, turns about its heel as a rigid bar. Lengths are told along the point's
gauge face from its filed tip, as one measures the bar.
"""

from __future__ import annotations

from msgspec.structs import replace

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.points.bar_places import BarPlaces, bar_width
from turnout_templates.trackwork.points.fast_places import FastPlaces, PointFace, face_of, frogs_on
from turnout_templates.trackwork.points.hinges import refuse_hinge
from turnout_templates.trackwork.points.opening_laws import moved_share
from turnout_templates.trackwork.points.separations import separations_of
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switches import wanted_opening
from turnout_templates.trackwork.polarity.circuit import Circuit
from turnout_templates.trackwork.rails.across import station_at

_BAR_SHARE = 0.25
"""The throw bar lies within this part of a point's free length (common practice, no source)."""


def throw_switches(
    spec: Spec, layout: Layout, switches: tuple[Switch, ...], frogs: tuple[Frog, ...], circuit: Circuit
) -> tuple[Switch, ...]:
    """Return the switches with their moving points thrown.

    Raises LayoutError where a hinge is asked for on the planed part of a point, or beyond the toe of its frog.
    """
    held = FastPlaces(spec, layout, frogs_on(frogs), circuit)
    places = BarPlaces(spec, layout)
    return tuple(
        _thrown(spec, layout, switch, held, places) if switch.moving_points else _stub_thrown(switch, places)
        for switch in switches
    )


def _stub_thrown(switch: Switch, places: BarPlaces) -> Switch:
    """Return a stub switch with its bar placed half a tie space before its toe; any other as it is."""
    if switch.bar_station is None or switch.throw is None:
        return switch
    to_bar = switch.bar_from_tip
    return _with_bar(switch, places, to_bar, to_bar, 2 * switch.throw)


def _with_bar(switch: Switch, places: BarPlaces, to_bar: float, last: float, travel: float) -> Switch:
    """Return a switch with its throw bar placed (see `BarPlaces.place`)."""
    place = places.place(switch, to_bar, last, travel)
    blocks = tuple(places.headblocks(switch, place))
    return replace(switch, bar_station=place.station, bar_turn=place.turn, headblocks=blocks)


def _bar_behind(layout: Layout, switch: Switch, face: PointFace) -> float:
    """Return how far behind a point's filed tip (mm of its route) the throw bar that was placed crosses its face.

    Nothing where it lies before the tip, as where a point that cannot be made has no length to move.
    """
    point = face.point
    path = layout.route(point.owner.route).path
    pose = switch.bar_pose(layout.route(switch.parent).path)
    if pose is None:
        return 0.0
    near = point.tip + point.way * switch.bar_from_tip
    return max(0.0, point.beyond_tip(station_at(path, point.owner.face.offset, pose, 0.0, near)))


def _begun(layout: Layout, switch: Switch, face: PointFace, behind: float) -> float:
    """Return how far (mm of the parent) behind the switch's filed tip a point's rail begins, `behind` its own tip."""
    place = face.line.point_at(face.station_at(behind))
    beside = nearest_station(layout.route(switch.parent).path, place)[0]
    return (beside - switch.filed_station) * switch.way


def _fix_of(face: PointFace, fast: float | None) -> float:
    """Return how far behind its tip (mm) a point is held as drawn: at its heel, or where its bar is `fast`."""
    return face.length_to(face.point.heel) if face.point.rigid or fast is None else fast


def _thrown(spec: Spec, layout: Layout, switch: Switch, held: FastPlaces, places: BarPlaces) -> Switch:
    """Return a switch thrown, judged by the point that opens from the stock rail of the branch."""
    head = spec.rail.head
    faces = [face_of(layout, point) for point in switch.moving_points]
    fasts = [held.fast_behind(face) for face in faces]
    for face, fast in zip(faces, fasts, strict=True):
        refuse_hinge(spec, layout, switch, face, fast)
    fixes = [_fix_of(face, fast) for face, fast in zip(faces, fasts, strict=True)]
    at = switch.moving_points.index(switch.outer)
    outer, fast, fix = faces[at], fasts[at], fixes[at]
    toe = held.toe_behind(outer)
    wanted = wanted_opening(switch.outer)
    last = _BAR_SHARE * max(fix, 0.0)
    late = [(face, behind) for face in faces if (behind := held.begins_behind(face)) > 0.0]
    begun = max((_begun(layout, switch, face, behind) for face, behind in late), default=0.0)
    near = max(spec.ties.switch_spacing / 2, begun + bar_width(spec) / 2)
    switch = _with_bar(switch, places, min(near, last), last, spec.throw or wanted)
    bars = tuple(_bar_behind(layout, switch, face) for face in faces)
    to_bar = outer.length_to(switch.outer.tip + switch.outer.way * bars[at])
    apart = separations_of(layout, outer, to_bar, head, fast or 0.0, toe)
    throw = spec.throw
    if throw is None:
        throw = wanted / moved_share(0.0, bar=to_bar, fix=fix, bent=not switch.outer.rigid)
    openings = apart.openings(throw, wanted, fix, toe)
    drawn = openings[0]
    return replace(
        switch,
        throw=throw,
        least_opening=drawn.least,
        least_station=outer.station_at(drawn.at),
        fixes=tuple(face.point.beyond_tip(face.station_at(at)) for face, at in zip(faces, fixes, strict=True)),
        fasts=tuple(fasts),
        bars=bars,
        openings=openings,
    )
