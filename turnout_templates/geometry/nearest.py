"""Find the station of a path that lies nearest to a point."""

from __future__ import annotations

import math
from functools import lru_cache

from turnout_templates.geometry.parallel import Chunk, Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point


def nearest_station(path: Path, point: Point) -> tuple[float, float]:
    """Return (station, distance) in mm of the point of `path` nearest to `point`; of equals the first."""
    best = (0.0, math.dist(path.start.point, point))
    for chunk, end, length in _chunks(path):
        to_end = math.dist(end, point)
        if to_end - length >= best[1]:
            continue
        foot = chunk.piece.foot(point, 0.5 * (chunk.low + chunk.high))[0]
        if chunk.low < foot < chunk.high:
            distance = math.dist(chunk.piece.pose_at(foot).point, point)
            if distance < best[1]:
                best = (chunk.begin + foot, distance)
        if to_end < best[1]:
            best = (chunk.begin + chunk.high, to_end)
    return best


@lru_cache(maxsize=1024)
def _chunks(path: Path) -> tuple[tuple[Chunk, Point, float], ...]:
    """Return the chunks of a path, each with its far end and its length: no point of it lies further from that end."""
    chunks = Parallel(path, 0.0, 0.0, path.length).chunks()
    return tuple((chunk, chunk.point_at(chunk.high), chunk.high - chunk.low) for chunk in chunks)
