"""Tell the figures of a bar: its role, its length and the pieces of gauge face that it follows."""

from __future__ import annotations

import math

from turnout_templates.geometry.parallel import Chunk
from turnout_templates.reports.places import Figures, owner_figures, pose_figures, radius_or_none
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.feeds import bar_polarity
from turnout_templates.trackwork.rails.rail_parts import Bar, RouteFace, Stretch


def bar_figures(work: Trackwork, bar: Bar, frogs: tuple[str | None, str | None]) -> Figures:
    """Return the figures of a bar; `frogs` are the frogs at its two ends."""
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
        **owner_figures(owner),
        "offset_mm": chunk.offset,
        "from_mm": chunk.begin + chunk.low,
        "to_mm": chunk.begin + chunk.high,
        "length_mm": chunk.length_between(*ends),
        "start": pose_figures(chunk.pose_at(chunk.low)),
        "end": pose_figures(chunk.pose_at(chunk.high)),
    }
    if chunk.slope:
        entry["offset_to_mm"] = chunk.offset_at(chunk.high)
        entry["radii_mm"] = [radius_or_none(chunk.bend_at(s)) for s in ends]
        return entry
    radii = [_face_radius(chunk.piece.curvature_at(s), chunk.offset) for s in ends]
    entry.update({"radii_mm": radii} if chunk.piece.kind == "easement" else {"radius_mm": radii[0]})
    return entry


def _face_radius(curvature: float, offset: float) -> float | None:
    """Return the signed radius of a face beside a reference line of `curvature`."""
    return 1.0 / curvature - offset if curvature else None
