"""Turn trackwork into points that its drawing surely shows, without drawing it: how far it reaches is known at once."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.model import Trackwork


def points_to_show(work: Trackwork, step: float) -> Iterator[Point]:
    """Yield points on gauge faces, then on the long sides of ties, no more than `step` mm of station or side apart."""
    for bar in work.bars:
        for stretch in bar.stretches:
            route = work.layout.route(stretch.owner.route)
            for s in _steps(stretch.low, stretch.high, step):
                yield route.path.point_at(s, route.offset_at(stretch.owner.face, s))
    for tie in work.ties:
        (x, y), (to_x, to_y), *_ = tie.corners()
        for u in _steps(0.0, 1.0, step / tie.length):
            yield x + u * (to_x - x), y + u * (to_y - y)


def _steps(low: float, high: float, step: float) -> Iterator[float]:
    count = max(1, math.ceil((high - low) / step))
    return (low + (high - low) * i / count for i in range(count + 1))
