"""Tell the figures of pieces of rail, of the joints and gaps between them, and that each rail adds up."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.reports.places import Figures, owner_figures, point_figures, radius_or_none
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import Bending, face_length
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.pieces.offsets import OffsetTable, offset_tables
from turnout_templates.trackwork.pieces.piece_marks import Mark, marks_of_pieces
from turnout_templates.trackwork.pieces.pieces import PieceEnd, RailPiece
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, Bar, RouteFace, Stretch
from turnout_templates.trackwork.rails.regions import without


def piece_figures(work: Trackwork) -> list[Figures]:
    """Return all pieces."""
    marks = marks_of_pieces(work)
    roles = {bar.id: bar.role for bar in work.bars}
    return [_piece(work, piece, roles[piece.bar], marks[piece.id]) for piece in work.pieces]


def _piece(work: Trackwork, piece: RailPiece, role: str, marks: tuple[Mark, ...]) -> Figures:
    return {
        "id": piece.id,
        "bar": piece.bar,
        "role": role,
        **point_figures(_point(work, piece.ends[0])),
        "face_length_mm": piece.face_length,
        "length_mm": piece.length,
        "cut_length_mm": piece.cut_length,
        "least_length_mm": piece.least_length,
        "part_ids": list(piece.bent_with),
        "ends": [_end(work, end) for end in piece.ends],
        "stretches": [
            {**owner_figures(s.owner), "from_mm": s.low, "to_mm": s.high, "way": s.way} for s in piece.stretches
        ],
        "bends": [_bending(bending) for bending in piece.bendings],
        "work": [_mark(mark) for mark in marks],
    }


def _point(work: Trackwork, end: PieceEnd) -> tuple[float, float]:
    route = work.layout.route(end.owner.route)
    return route.path.point_at(end.station, route.offset_at(end.owner.face, end.station))


def _end(work: Trackwork, end: PieceEnd) -> Figures:
    return {
        "kind": end.kind,
        "at": end.at,
        **owner_figures(end.owner),
        "station_mm": end.station,
        **point_figures(_point(work, end)),
        "turn_deg": None if end.bend is None else math.degrees(end.bend),
    }


def _bending(bending: Bending) -> Figures:
    entry: Figures = {"from_mm": bending.low, "to_mm": bending.high, "length_mm": bending.high - bending.low}
    radii = [radius_or_none(curvature) for curvature in bending.curvatures]
    even = math.isclose(*bending.curvatures, rel_tol=1e-9, abs_tol=1e-12)
    return {**entry, "radius_mm": radii[0]} if even else {**entry, "radii_mm": radii}


def _mark(mark: Mark) -> Figures:
    return {
        "kind": mark.what,
        "from_mm": mark.low,
        "to_mm": mark.high,
        "side": mark.side,
        "at": mark.at,
        "turn_deg": None if mark.angle is None else abs(math.degrees(mark.angle)),
    }


def joint_figures(work: Trackwork) -> list[Figures]:
    """Return all joints, gaps and template ends."""
    return [_joint(joint) for joint in work.joints]


def _joint(joint: Joint) -> Figures:
    cut = joint.cut
    return {
        "id": joint.id,
        "kind": joint.kind,
        "bar": joint.bar,
        **owner_figures(joint.owner),
        "station_mm": joint.station,
        **point_figures(joint.point),
        "ties": list(joint.ties),
        "notched_ties": list(joint.notched),
        "width_mm": cut.width if cut is not None and cut.kind == "gap" else None,
        "frog_ids": list(joint.frogs),
        "isolates": bool(joint.frogs) or (cut is not None and cut.double),
        "double": cut is not None and cut.double,
    }


def sum_figures(work: Trackwork) -> Iterator[Figures]:
    """Yield for each rail how long its gauge face is, and how pieces, gaps and frogs make that up, mm."""
    rails: dict[str, list[Bar]] = {rail.id: [] for rail in work.rails}
    for bar in work.bars:
        rails[_rail_of(bar.id)].append(bar)
    cut: dict[str, list[RailPiece]] = {bar.id: [] for bar in work.bars}
    for piece in work.pieces:
        cut[piece.bar].append(piece)
    for rail in work.rails:
        bars = rails[rail.id]
        lying = [stretch for bar in bars for stretch in bar.stretches]
        taken = [part for stretch in rail.stretches for part in _left(stretch, lying)]
        pieces = [piece for bar in bars for piece in cut[bar.id]]
        told = [p for bar in bars for stretch in bar.stretches for p in _between(stretch, cut[bar.id])]
        yield {
            "id": rail.id,
            **owner_figures(rail.stretches[0].owner),
            "length_mm": face_length(work.layout, rail.stretches),
            "pieces_mm": sum(piece.face_length for piece in pieces),
            "gaps_mm": face_length(work.layout, tuple(told)),
            "frogs_mm": face_length(work.layout, tuple(taken)),
        }


def _rail_of(bar: str) -> str:
    """Return the rail that a bar is part of: R4 of R4, R4b and R4.27."""
    return bar.partition(".")[0].rstrip("abcdefghijklmnopqrstuvwxyz")


def _left(stretch: Stretch, bars: list[Stretch]) -> list[Stretch]:
    """Return what of a stretch no bar lies on."""
    return _without(stretch, [(s.low, s.high) for s in bars if _meets(s, stretch)])


def _between(stretch: Stretch, pieces: list[RailPiece]) -> list[Stretch]:
    """Return what of a bar's stretch none of its pieces lies on: the gaps."""
    own = (s for piece in pieces for s in piece.stretches)
    return _without(stretch, [(s.low, s.high) for s in own if _meets(s, stretch)])


def _meets(one: Stretch, other: Stretch) -> bool:
    return one.owner == other.owner and one.low <= other.high and one.high >= other.low


def _without(stretch: Stretch, holes: list[tuple[float, float]]) -> list[Stretch]:
    left = without((stretch.low, stretch.high), sorted(holes))
    return [Stretch(stretch.owner, low, high, stretch.way) for low, high in left]


def offset_figures(work: Trackwork) -> list[Figures]:
    """Return the tables of offsets of all switches."""
    bars: dict[RouteFace, list[tuple[float, float, str]]] = {}
    for bar in work.bars:
        for stretch in bar.stretches:
            bars.setdefault(stretch.owner, []).append((stretch.low, stretch.high, bar.id))
    return [_table(table, bars) for table in offset_tables(work)]


def _table(table: OffsetTable, bars: dict[RouteFace, list[tuple[float, float, str]]]) -> Figures:
    first = table.rows[0]
    place = table.origin.ahead(first.along).beside(table.left * first.across)
    origin = table.origin
    return {
        "switch": table.switch,
        **owner_figures(table.owner),
        **point_figures(place),
        "origin": {**point_figures(origin.point), "heading_deg": math.degrees(origin.heading)},
        "stock": owner_figures(table.stock),
        "side": "left" if table.left > 0 else "right",
        "step_mm": table.step,
        "rows": [
            {
                "along_mm": row.along,
                "across_mm": row.across,
                "station_mm": row.station,
                "bar": next(
                    (
                        n
                        for low, high, n in bars.get(table.owner, ())
                        if low - SAME_PLACE <= row.station <= high + SAME_PLACE
                    ),
                    None,
                ),
            }
            for row in table.rows
        ],
    }
