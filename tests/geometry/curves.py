"""Turn choices into poses, pieces and paths of the sizes that track has, and measure curves by brute force."""

from __future__ import annotations

import math

from hypothesis import strategies as st
from shapely.geometry import LineString

from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Point, Pose


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Return finite numbers between two bounds."""
    return st.floats(low, high, allow_nan=False, allow_subnormal=False)


poses = st.builds(Pose, floats(-2000, 2000), floats(-2000, 2000), floats(-math.pi, math.pi))
signs = st.sampled_from([1.0, -1.0])
bends = st.builds(lambda sign, radius: sign / radius, signs, floats(250, 20000))
lengths = floats(5, 900)

lines = st.builds(Shape, lengths)
arcs = st.builds(lambda length, bend: Shape(length, bend, bend), lengths, bends)
easements = st.builds(Shape, lengths, st.just(0.0) | bends, bends).filter(
    lambda shape: abs(shape.to_curvature - shape.from_curvature) > 1e-6
)
shapes = lines | arcs | easements
pieces = st.builds(lambda pose, shape: join(pose, [shape]).pieces[0], poses, shapes)
clothoids = st.builds(lambda pose, shape: join(pose, [shape]).pieces[0], poses, easements)
paths = st.builds(join, poses, st.lists(shapes, min_size=1, max_size=4))


def whole(path: Path, offset: float = 0.0) -> Parallel:
    """Return the parallel of a path over its whole length."""
    return Parallel(path, offset, 0.0, path.length)


def arc_path(pose: Pose, *shapes: Shape) -> Path:
    """Return a path of some shapes."""
    return join(pose, shapes)


def dense(curve: Parallel, count: int) -> list[Point]:
    """Return `count` + 1 points of a curve, evenly spaced by station."""
    step = (curve.high - curve.low) / count
    return [curve.point_at(curve.low + i * step) for i in range(count + 1)]


def dense_line(curve: Parallel, count: int) -> LineString:
    """Return a polyline through many points of a curve."""
    return LineString(dense(curve, count))


def near(a: Point, b: Point, within: float) -> bool:
    """Say whether two points lie within so many mm of each other."""
    return math.dist(a, b) <= within


def same_pose(a: Pose, b: Pose, within: float = 1e-9) -> bool:
    """Say whether two poses agree in place (mm) and in direction (rad)."""
    turn = math.remainder(a.heading - b.heading, math.tau)
    return math.dist(a.point, b.point) <= within and abs(turn) <= within / 100


def ends_of(piece: Piece) -> tuple[Pose, Pose]:
    """Return both end poses."""
    return piece.start, piece.end
