"""Tell the figures of frogs."""

from __future__ import annotations

import math

from turnout_templates.reports.guide_figures import guarded_by
from turnout_templates.reports.places import Figures, owner_figures, point_figures
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.feeds import frog_joins
from turnout_templates.trackwork.rails.rail_parts import RouteFace


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
        "guarded_by": guarded_by(work, frog.id),
    }


def _nose(work: Trackwork, owner: RouteFace, station: float | None) -> Figures | None:
    """Return where a face is broken for the other's flangeway: at a V this is the knuckle."""
    if station is None:
        return None
    point = work.layout.route(owner.route).path.point_at(station, owner.face.offset)
    return {"route": owner.route, "station_mm": station, **point_figures(point)}
