"""Tell the figures of a route: its pieces, its least radius and where its gauge is widened."""

from __future__ import annotations

from turnout_templates.alignment.faces import COMMON
from turnout_templates.alignment.model import LaidRoute
from turnout_templates.alignment.widened import Widened
from turnout_templates.reports.places import Figures, pose_figures, radius_or_none
from turnout_templates.trackwork.model import Trackwork


def route_figures(work: Trackwork, route: LaidRoute) -> Figures:
    """Return the figures of a route."""
    sharpest = route.path.greatest_curvature
    pieces = []
    for piece in route.path.pieces:
        entry: Figures = {"kind": piece.kind, "length_mm": piece.length}
        if piece.kind == "easement":
            entry["radii_mm"] = [radius_or_none(piece.from_curvature), radius_or_none(piece.to_curvature)]
        else:
            entry["radius_mm"] = radius_or_none(piece.from_curvature)
        pieces.append({**entry, "start": pose_figures(piece.start)})
    common = next((face.hand for face in route.faces if face.gauge == COMMON), None)
    return {
        "gauges": list(dict.fromkeys(gauge.name for face in route.faces for gauge in face.gauges)),
        "common_rail": common,
        "length_mm": route.path.length,
        "least_radius_mm": 1.0 / sharpest if sharpest else None,
        "pieces": pieces,
        "end": pose_figures(route.path.end),
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
