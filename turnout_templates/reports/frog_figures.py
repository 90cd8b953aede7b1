"""Tell the figures of frogs and of what guides wheels through them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from turnout_templates.reports.places import Figures, owner_figures, point_figures
from turnout_templates.trackwork.feeds import frog_joins
from turnout_templates.trackwork.materials import material_of
from turnout_templates.trackwork.model import BaseCut, Frog, Guard, Ring, RouteFace, Trackwork, Wing


def frog_figures(work: Trackwork, frog: Frog) -> Figures:
    """Return the figures of a frog (see the table in DEVELOPERS.md)."""
    return {
        "id": frog.id,
        "kind": frog.kind,
        "switch": frog.switch,
        "faces": [owner_figures(frog.first), owner_figures(frog.second)],
        "number": frog.number,
        "angle_deg": math.degrees(frog.angle),
        **point_figures(frog.point),
        "stations_mm": {frog.first.route: frog.s, frog.second.route: frog.t},
        "lead_mm": frog.lead,
        "practical": point_figures(frog.practical) if frog.practical else None,
        "noses": [_nose(work, frog.first, frog.noses[0]), _nose(work, frog.second, frog.noses[1])],
        "joins": frog_joins(work, frog),
    }


def _nose(work: Trackwork, owner: RouteFace, station: float | None) -> Figures | None:
    """Return where a face is broken for the other's flangeway: at a V this is the knuckle."""
    if station is None:
        return None
    point = work.layout.route(owner.route).path.point_at(station, owner.face.offset)
    return {"route": owner.route, "station_mm": station, **point_figures(point)}


def guard_figures(guard: Guard, cuts: Sequence[BaseCut]) -> Figures:
    """Return the figures of a guard rail, whose base is filed by `cuts`."""
    guarded = [*guard.frogs, *guard.switches]
    return {
        "id": guard.id,
        "gauge": guard.gauge,
        "guards": guarded[0],
        "guards_all": guarded,
        "beside": owner_figures(guard.beside),
        "flangeway_mm": guard.flangeway,
        "straight": list(guard.straight),
        "ends": list(guard.ends),
        "material": material_of(cuts),
        "outline": outline_figures(guard.ring),
    }


def wing_figures(wing: Wing, cuts: Sequence[BaseCut]) -> Figures:
    """Return the figures of a wing rail, its base filed by `cuts`; stations are those of the route it lies beside."""
    return {
        "id": wing.id,
        "frog": wing.frog,
        "goes_on_from": owner_figures(wing.continues),
        "beside": owner_figures(wing.beside),
        "flangeway_mm": wing.flangeway,
        "straight": list(wing.straight),
        "end": wing.end,
        "material": material_of(cuts),
        "outline": outline_figures(wing.ring),
    }


def outline_figures(ring: Ring) -> list[list[float]]:
    """Return the corners of an outline as [x, y] in mm; curves are flattened."""
    return [[x, y] for x, y in ring]
