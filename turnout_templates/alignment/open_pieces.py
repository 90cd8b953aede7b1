"""Turn the pieces of a path that leave something open into unknowns, and figures found for them into shapes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from turnout_templates.alignment.closing import Unknown
from turnout_templates.errors import ordinal
from turnout_templates.geometry.path import Shape
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Curve, Easement, OpenPiece, PathPiece, Straight

_LENGTHS = (1.0, 0.3, 3.0)
_RADII = (1.0, 4.0, 20.0)
"""The search begins from these multiples of the distance that the path has to bridge."""
_MOST_TURN = math.radians(330.0)
"""No curve found turns further, so that a loop still closes; ours, no source. A curve that would have to turn a little
to the other side comes to nearly a whole circle."""
_ROUNDING = 1e-9
"""A length found that is negative by less than this (mm) is nothing."""


def shape_of(piece: PathPiece) -> Shape:
    """Return the shape of a piece that leaves nothing open."""
    match piece:
        case Straight(length):
            return Shape(length)
        case Curve(length, curvature):
            return Shape(length, curvature, curvature)
        case Easement(length, first, last):
            return Shape(length, first, last)
        case _:
            raise TypeError("an open piece has no shape before it is solved")


def unknowns_of(index: int, piece: OpenPiece, distance: float, gauge: float) -> Iterator[Unknown]:
    """Yield what is to be found of the piece `index`; `distance` is what the path has to bridge (mm).

    The curvature comes before the length where both are open. No radius found is smaller than the `gauge`.
    """
    name = f"the {ordinal(index + 1)} piece"
    if piece.from_curvature is None and piece.angle is None:
        signs = (1, -1) if piece.turn == 0 else (piece.turn,)
        starts = tuple(sign / (times * distance) for sign in signs for times in _RADII)
        low = 0.0 if piece.turn > 0 else -1.0 / gauge
        high = 0.0 if piece.turn < 0 else 1.0 / gauge
        yield Unknown(f"the radius of {name}", "curvature", starts, low, high)
    if piece.length is None:
        starts = tuple(times * distance for times in _LENGTHS)
        yield Unknown(f"the length of {name}", "length", starts, -_ROUNDING, math.inf)


def without_whole_turns(path: Sequence[PathPiece], values: Sequence[float]) -> list[float]:
    """Return `values` of the unknowns of `path` with each curve's length less its whole circles, which lead nowhere.

    What is left of a curve turns by no more than `_MOST_TURN`; beyond that it is told as the little that it would turn
    to the other side, a negative length. Values that follow those of the pieces are kept.
    """
    kept, figures = list(values), iter(enumerate(values))
    for piece in path:
        if not isinstance(piece, OpenPiece):
            continue
        curvature = piece.from_curvature
        if curvature is None and piece.angle is None:
            curvature = next(figures)[1]
        if piece.length is not None:
            continue
        index, length = next(figures)
        if piece.angle is None and curvature and piece.from_curvature == piece.to_curvature:
            circle = math.tau / abs(curvature)
            most = _MOST_TURN / abs(curvature)
            kept[index] = length - circle * math.ceil((length - most) / circle)
    return kept


def solved_shape(piece: OpenPiece, values: Iterator[float]) -> Shape | None:
    """Return the shape of an open piece with the next of `values`; None where they make no piece.

    Its length is negative where the search comes to that.
    """
    first, last = piece.from_curvature, piece.to_curvature
    if first is None and piece.angle is None:
        first = last = next(values)
    length = piece.length if piece.length is not None else next(values)
    if first is None and piece.angle is not None:
        if length <= 0.0:
            return None
        first = last = piece.angle / length
    if first is None or last is None or (first != last and length <= 0.0):
        return None
    return Shape(length, first, last)


def end_of(start: Pose, shapes: Sequence[Shape]) -> Pose:
    """Return where `shapes` end that begin at `start`; one of negative length runs back."""
    pose = start
    for shape in shapes:
        if shape.length != 0.0:
            piece = Piece(pose, abs(shape.length), shape.from_curvature, shape.to_curvature)
            pose = piece.pose_at(shape.length)
    return pose
