"""Turn trackwork into tables of the pieces of rail: what to cut, how to bend and file it, where each is joined."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of, reach_of
from turnout_templates.reports.offset_rows import offset_blocks
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import Bending
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.pieces.piece_marks import Mark, What, marks_of_pieces
from turnout_templates.trackwork.pieces.pieces import EndKind, PieceEnd, RailPiece
from turnout_templates.units import format_clearance, format_degrees

_CUT_HEAD: Row = (
    "piece",
    "what it is",
    "length",
    "gauge face",
    "one end",
    "other end",
    "one bar with",
    "no shorter than",
)
_CUT = (
    "Length: along the middle of the head, which keeps its length when rail is bent; allow a little more at an end "
    "that is filed. One bar with: bend it in one with these, cut to the length told, that of all. No shorter than: "
    "so much must be one piece of rail, because no joint may lie in it; the rest can be joined from what is at hand, "
    "over ties, away from joints in the other rail."
)
_BEND_HEAD: Row = ("piece", "from", "bend (radius of the middle of its head), else straight", "file")
_BEND = (
    "All from the end named, along the middle of the head. Left and right: as seen from that end, rail standing on "
    "its base. Between two radii the curve eases evenly. A piece that is not here is straight and square."
)
_JOINT_HEAD: Row = ("id", "what", "rail", "station", "at ties", "notched", "for")
_JOINTS = (
    "Stations are on the centre line of the route named. A joint is a rail joiner over a notched tie. At an isolating "
    "gap two pieces are laid with a slip as wide between them, and what does not conduct is left in it. E is where "
    "this template ends and track goes on: the ties notched there are for the joiner to it. Where it stands for a "
    "frog, the gap belongs there."
)
_ENDS: Mapping[EndKind, str] = {
    "square": "square",
    "cut off": "square, for a flangeway",
    "point of switch": "filed tip, {}",
    "fixed rail": "square, fixed at {}",
    "butt": "square, toe of {}",
    "point": "point, {}",
    "spliced": "splice, {}",
    "nose": "nose, {}",
    "elbow": "elbow, {}",
    "mitre": "mitre, {}",
    "knuckle": "knuckle, {}",
    "groove": "end at groove, {}",
    "joint": "joint {}",
    "gap": "gap {}",
    "template end": "end {}",
    "hinge": "hinge",
}
"""How an end is prepared, with the frog, switch, joint or gap that asks for it."""
_WORK: Mapping[What, str] = {
    "filed": "filed for {at}",
    "planed": "planed",
    "head cut": "head cut for a flangeway",
    "guiding side": "side cut as guard",
    "base relief": "base off for point {at}, {side} side",
    "base filed off": "base off, {side} side",
    "base notch": "base notched for the throw bar",
    "bend": "",
}


def rail_pieces_blocks(work: Trackwork, findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Return the tables of pieces, of what is done to them, of joints and gaps, and of offsets."""
    made = (_cut_block(work), _bend_block(work), _joint_block(work), *offset_blocks(work))
    return tuple(block for block in made if block.rows)


def _cut_block(work: Trackwork) -> Block:
    roles = {bar.id: bar.role for bar in work.bars}
    rows = [
        (
            piece.id,
            f"{roles[piece.bar]}, {_faces(piece)}",
            _size(work, piece.length),
            _size(work, piece.face_length),
            *(_end(end) for end in piece.ends),
            f"{', '.join(piece.bent_with)}: {length_of(work, piece.cut_length)}" if piece.bent_with else "-",
            length_of(work, piece.least_length),
        )
        for piece in work.pieces
    ]
    return Block("Pieces of rail to cut", (_CUT_HEAD, *rows, _CUT) if rows else (), has_head=True)


def _size(work: Trackwork, mm: float) -> str:
    """Return a length to cut, a small one to the hundredth of a mm or the thousandth of an inch."""
    return format_clearance(mm, work.spec.units) if mm < _SMALL else length_of(work, mm)


_SMALL = 5.0
"""What is shorter than this (mm) is not cut by a rule."""


def _faces(piece: RailPiece) -> str:
    """Return the gauge faces that a piece runs along, in words."""
    return ", then ".join(dict.fromkeys(stretch.owner.label for stretch in piece.stretches))


def _end(end: PieceEnd) -> str:
    """Return how an end is prepared, and by how much it is cranked on."""
    words = _ENDS[end.kind].format(end.at)
    return words if end.bend is None else f"{words}: crank {format_degrees(abs(end.bend), 2)}"


def _bend_block(work: Trackwork) -> Block:
    marks = marks_of_pieces(work)
    rows = [
        (piece.id, _end_name(piece.ends[0]), bends or "straight", filed or "-")
        for piece in work.pieces
        for bends, filed in [("; ".join(_bends(work, piece)), "; ".join(_filed(work, marks[piece.id])))]
        if bends or filed
    ]
    return Block("What is done to each piece", (_BEND_HEAD, *rows, _BEND) if rows else (), has_head=True)


def _end_name(end: PieceEnd) -> str:
    """Return what a piece is measured from."""
    return _ENDS[end.kind].format(end.at)


def _bends(work: Trackwork, piece: RailPiece) -> Iterator[str]:
    """Yield each curve and each crank of a piece, from its first end on."""
    told = [(bending.low, _curve(work, bending)) for bending in piece.bendings if any(bending.curvatures)]
    told += [
        (at, f"crank {_side(turn)} {format_degrees(abs(turn), 2)} at {length_of(work, at)}") for at, turn in piece.kinks
    ]
    yield from (words for _, words in sorted(told))


def _curve(work: Trackwork, bending: Bending) -> str:
    """Return to which radius, or from which to which, rail is bent from where to where."""
    first, last = bending.curvatures
    where = reach_of(work, bending.low, bending.high)
    if math.isclose(first, last, rel_tol=_EVEN):
        return f"{_side(first)} {length_of(work, 1 / abs(first))}, {where}"
    return f"{_radius(work, first)} easing to {_radius(work, last)}, {where}"


_STRAIGHT = 1e-6
"""A curvature (1/mm) told as straight: radii of a kilometre and more."""
_EVEN = 1e-6
"""Curvatures that differ by less than this part of each other are one radius."""


def _radius(work: Trackwork, curvature: float) -> str:
    return f"{_side(curvature)} {length_of(work, 1 / abs(curvature))}" if abs(curvature) > _STRAIGHT else "straight"


def _side(turn: float) -> str:
    return "left" if turn > 0 else "right"


def _filed(work: Trackwork, marks: Sequence[Mark]) -> Iterator[str]:
    """Yield what is filed off a piece and from where to where."""
    for mark in marks:
        if mark.what != "bend" and (mark.what in _BASE or mark.high - mark.low >= _TOLD):
            words = _WORK[mark.what].format(at=mark.at or "", side=mark.side)
            yield f"{words} {reach_of(work, mark.low, mark.high)}"


_TOLD = 0.2
"""What is filed off a head and is shorter than this (mm), a stroke of a file, is done with what lies beside it."""
_BASE: tuple[What, ...] = ("base relief", "base filed off", "base notch")
"""What the table of bases tells as well, however short: what is too short for it is in no table (see `bases`)."""


def _joint_block(work: Trackwork) -> Block:
    rows = [_joint(work, joint) for joint in work.joints]
    return Block("Joints, gaps and template ends", (_JOINT_HEAD, *rows, _JOINTS) if rows else (), has_head=True)


def _joint(work: Trackwork, joint: Joint) -> Row:
    what = {"joint": "joiner", "gap": "isolating gap", "end": "template end"}[joint.kind]
    if joint.kind == "gap" and joint.cut is not None:
        what += f", {format_clearance(joint.cut.width, work.spec.units)} wide"
    apart = "left meets right" if joint.cut is not None and joint.cut.double else ", ".join(joint.frogs) or "-"
    ties = f"{'on ' if joint.kind == 'joint' else ''}{', '.join(joint.ties)}"
    return (
        joint.id,
        what,
        f"{joint.bar} {joint.owner.label}",
        length_of(work, joint.station),
        ties,
        ", ".join(joint.notched),
        apart,
    )
