"""Tell the figures of how bars are filed and fitted together: at each frog, at each end of a bar, and all contacts."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.reports.places import Figures, owner_figures, point_figures
from turnout_templates.trackwork.frogs.contacts import BarEnd
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.frogs.knuckles import FrogEnd, cut_depth, heel_of, knuckle_of, toe_of, unguided
from turnout_templates.trackwork.frogs.metal import BarMetal, FiledPlace
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Ring

_NOTHING = 1e-9
"""Shorter filings than this (mm) are none: at right angles every end is square."""


def frog_filing_figures(work: Trackwork, frog: Frog, fits: tuple[Fit, ...]) -> Figures:
    """Return what is filed at a frog, by its `fits`, and the places and lengths that go with it."""
    head = work.spec.rail.head
    depth, source = cut_depth(frog)
    return {
        "filing": [fit_figures(work, fit) for fit in fits],
        "knuckle": _knuckle(work, frog, fits),
        "elbow": _elbow(frog, fits),
        "toe": _end(frog, toe_of(work.layout, frog, head)),
        "heel": _end(frog, heel_of(work.layout, frog, head)),
        "unguided_mm": list(unguided(work.layout, frog)),
        "cut_depth_mm": depth,
        "cut_depth_source": source,
    }


def fit_figures(work: Trackwork, fit: Fit) -> Figures:
    """Return how a bar is filed or bent at a frog, from the end of its gauge face to where its head is whole."""
    path = work.layout.route(fit.owner.route).path
    return {
        "bar": fit.bar,
        "what": fit.what,
        "side": side_of(fit),
        "angle_deg": math.degrees(fit.angle),
        "face": owner_figures(fit.owner),
        "against": owner_figures(fit.against),
        "from_mm": fit.end,
        "to_mm": fit.whole,
        "length_mm": fit.length if side_of(fit) and fit.length > _NOTHING else None,
        "tip": point_figures(path.point_at(fit.end, fit.owner.face.offset)),
    }


def side_of(fit: Fit) -> str | None:
    """Return the side of the head that is filed: "outer", away from the gauge face; None where a bar is bent."""
    return "outer" if fit.what in ("point", "spliced", "nose", "mitre") else None


def _knuckle(work: Trackwork, frog: Frog, fits: tuple[Fit, ...]) -> Figures | None:
    knuckle = knuckle_of(work.layout, frog)
    if knuckle is None:
        return None
    bends = [math.degrees(fit.angle) for fit in fits if fit.what in ("knuckle", "groove")]
    return {**point_figures(knuckle.middle), "throat_mm": knuckle.throat, "bends_deg": bends}


def _elbow(frog: Frog, fits: tuple[Fit, ...]) -> Figures | None:
    bars = [fit.bar for fit in fits if fit.what in ("elbow", "mitre")]
    return {**point_figures(frog.point), "bend_deg": math.degrees(frog.angle), "bars": bars} if bars else None


def _end(frog: Frog, end: FrogEnd | None) -> Figures | None:
    if end is None:
        return None
    stations = dict(zip((frog.first.route, frog.second.route), end.stations, strict=True))
    return {"spread_mm": end.spread, "length_mm": end.length, "stations_mm": stations}


def bar_filing_figures(work: Trackwork, metal: BarMetal, ends: tuple[BarEnd, BarEnd]) -> Figures:
    """Return how a bar's ends are prepared, where its head is whole, and its outline wherever it is filed."""
    return {
        "ends": [{"as": end.prepared, "at": end.at} for end in ends],
        "whole": [
            {**owner_figures(stretch.owner), "from_mm": stretch.low, "to_mm": stretch.high} for stretch in metal.whole
        ],
        "filed": [_filed(work, place) for place in metal.filed],
    }


def _filed(work: Trackwork, place: FiledPlace) -> Figures:
    """Return the outline of what is left of a head, and the stations between which it lies."""
    path, (low, high) = work.layout.route(place.owner.route).path, place.part.zone
    stations = [path.foot_near(corner, (low + high) / 2)[0] for corner in place.part.rings[0]]
    return {
        **owner_figures(place.owner),
        "from_mm": max(low, min(stations)),
        "to_mm": min(high, max(stations)),
        "outline": _corners(place.part.rings[0]),
        "holes": [_corners(ring) for ring in place.part.rings[1:]],
    }


def _corners(ring: Ring) -> list[list[float]]:
    return [[x, y] for x, y in ring]


def contact_figures(work: Trackwork) -> Iterator[Figures]:
    """Yield all contacts between parts."""
    for contact in work.contacts:
        yield {"kind": contact.kind, "parts": [contact.first, contact.second], "at": contact.at}
