"""Where a branch begins: its start pose beside or at an angle to the route it leaves.

The points are judged on gauge faces, because that is where they are planed: the branch's face on the side away from
its hand opens from the face of the parent that it coincides with. Everything is converted to the branch's own
reference line here and nowhere else.
"""

from __future__ import annotations

import math
from itertools import pairwise

from msgspec import Struct

from turnout_templates.alignment.faces import Face, outermost, side
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import EntryPoints, Hand, Points, StraightPoints, StubPoints, other

_ON_FACE = 1e-9
"""A face that starts this near (mm) to its parent's starts on it; the rest is rounding."""
_NOTICED = 1e-6
"""A joint of the parent this near (mm) to an end of the planed part is that end."""


class Start(Struct, frozen=True):
    """The start of a branch: its `pose`, and the `planed` pieces of the points that come before its path, if any."""

    pose: Pose
    planed: tuple[Shape, ...] = ()


def shift_of(parent: tuple[Face, ...], branch: tuple[Face, ...]) -> float:
    """Return how far to the left of the parent's reference line the branch's own begins (mm).

    Both carry the same common rail, so the faces that they share tell: the branch's outermost face on the common side
    lies on a face of the parent with the same hand and gauges.
    """
    for face in branch:
        for candidate in parent:
            wanted = {gauge.name for gauge in face.gauges}
            if candidate.hand == face.hand and wanted <= {gauge.name for gauge in candidate.gauges}:
                return candidate.offset - face.offset
    raise ValueError("the branch shares no rail with its parent")


def start_branch(
    parent: Path, station: float, shift: float, branch: tuple[Face, ...], hand: Hand | None, points: Points
) -> Start:
    """Return where a branch starts that has its tip at `station` of the path `parent`.

    `shift` is that of `shift_of`. Straight points (length a, heel spread h, tip thickness t) leave the face at a
    vertex t/tan S before the tip, turned by S = asin((h - t)/a), and keep the parent's curvature up to the heel, so
    that h stays true on a curve; given entry angles have their vertex at the tip.
    """
    turned = angled(points)
    if turned is None or hand is None:
        return Start(parent.pose_at(station).shifted(shift))
    angle, tip = _entry(turned)
    face = outermost(branch, other(hand))
    line = Parallel(parent, shift + face.offset, 0.0, parent.length)
    vertex = line.station_after(station, -tip / math.tan(angle))
    pose = line.pose_at(vertex).turned(side(hand) * angle).shifted(-face.offset)
    if not isinstance(turned, StraightPoints):
        return Start(pose)
    heel = line.station_after(vertex, tip / math.sin(angle) + turned.length)
    return Start(pose, tuple(_planed(line, vertex, heel, face.offset)))


def angled(points: Points) -> StraightPoints | EntryPoints | None:
    """Return what points that begin at an angle are laid out by, None where they begin tangent.

    The rails of a stub that are thrown straight lie as straight points do that spread by the throw, from no tip.
    """
    if isinstance(points, StubPoints) and points.length is not None:
        return StraightPoints(points.length, points.throw, 0.0)
    return points if isinstance(points, StraightPoints | EntryPoints) else None


def _entry(points: StraightPoints | EntryPoints) -> tuple[float, float]:
    """Return (angle at the vertex in radians, thickness at the tip in mm)."""
    if isinstance(points, EntryPoints):
        return points.angle, 0.0
    return math.asin((points.spread - points.tip) / points.length), points.tip


def _planed(line: Parallel, vertex: float, heel: float, offset: float) -> list[Shape]:
    """Return the pieces of a branch whose face `offset` bends as `line` does from station `vertex` to `heel`.

    One for each piece of the line's path on the way, so that the spread stays true where the curvature steps as well;
    pieces that go on with the same curvature are one.
    """
    path = line.path
    joints = [s for s in path.starts[1:] if vertex + _NOTICED < s < heel - _NOTICED]
    shapes: list[Shape] = []
    for low, high in pairwise([vertex, *joints, heel]):
        index = path.index_at((low + high) / 2)
        piece, begin = path.pieces[index], path.starts[index]
        first, last = (_on_reference(line.offset, piece.curvature_at(s - begin), offset) for s in (low, high))
        length = line.length_between(low, high) / (1.0 - offset * (first + last) / 2)
        if shapes and shapes[-1].from_curvature == shapes[-1].to_curvature == first == last:
            length += shapes.pop().length
        shapes.append(Shape(length, first, last))
    return shapes


def _on_reference(line_offset: float, curvature: float, offset: float) -> float:
    """Return the curvature of a reference line whose face `offset` is as curved as a parallel of a path.

    The parallel lies `line_offset` beside the path, which has the given `curvature` there.
    """
    own = curvature / (1.0 - line_offset * curvature)
    return own / (1.0 + offset * own)


def vertex_before_tip(points: Points) -> float:
    """Return how far before the tip the points' vertex lies (mm, along the face)."""
    turned = angled(points)
    if turned is None:
        return 0.0
    angle, tip = _entry(turned)
    return tip / math.tan(angle)


def face_begin(path: Path, offset: float, parent: Path, station: float, shift: float) -> float:
    """Return the station on the branch's `path` at which its face `offset` leaves the parent's face it goes on from.

    Zero where the branch starts tangent. Where it starts at an angle, only the face that is planed begins at the start
    of the path; each other one lies inside the parent's at first and begins where it crosses it: the bend of the stock
    rail.
    """

    def apart(s: float) -> float:
        return parent.foot_near(path.point_at(s, offset), station)[1] - shift - offset

    first = apart(0.0)
    low, high = 0.0, 1e-3
    if abs(first) < _ON_FACE:
        return 0.0
    while apart(high) * first > 0.0:
        low, high = high, 2.0 * high
        if high > path.length:
            return 0.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if apart(middle) * first > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
