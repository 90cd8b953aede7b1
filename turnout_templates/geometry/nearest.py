"""Find the station of a path that lies nearest to a point."""

from __future__ import annotations

import math

from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point


def nearest_station(path: Path, point: Point) -> tuple[float, float]:
    """Return (station, distance) in mm of the point of `path` nearest to `point`; of equals the first."""
    best = (0.0, math.dist(path.start.point, point))
    for chunk in Parallel(path, 0.0, 0.0, path.length).chunks():
        foot = chunk.piece.foot(point, 0.5 * (chunk.low + chunk.high))[0]
        for s in (min(max(foot, chunk.low), chunk.high), chunk.high):
            distance = math.dist(chunk.piece.pose_at(s).point, point)
            if distance < best[1]:
                best = (chunk.begin + s, distance)
    return best
