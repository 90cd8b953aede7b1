"""Tell which points of other switches move beside a point, at the same stock rail."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.pose import Pose
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace


class PointsBeside:
    """All moving points, found by the places of their tips."""

    def __init__(self, layout: Layout, switches: Sequence[Switch]) -> None:
        self._points = [point for switch in switches for point in switch.moving_points]
        self._tips = {point: _tip(layout, point) for point in self._points}
        self._tree = shapely.STRtree([shapely.Point(self._tips[point].point) for point in self._points])
        self._reach = 2.0 * max((point.moving for point in self._points), default=0.0)

    def faces(self, point: PointRail) -> set[RouteFace]:
        """Return the faces of the points that move beside one, and of the rails that those lie behind."""
        return {face for other in self._moving_beside(point) for face in (other.owner, *other.outside)}

    def _moving_beside(self, point: PointRail) -> Iterator[PointRail]:
        """Yield the other points at the same rails that move there: one's tip lies between the other's tip and heel."""
        tip, rails = self._tips[point], {point.owner, *point.outside}
        near = self._tree.query(shapely.Point(tip.point), predicate="dwithin", distance=self._reach)
        for other in (self._points[i] for i in sorted(near.tolist())):
            ahead = tip.local(self._tips[other].point)[0]
            if other != point and rails & {other.owner, *other.outside} and -other.moving < ahead < point.moving:
                yield other


def _tip(layout: Layout, point: PointRail) -> Pose:
    """Return the pose of a point's tip on its gauge face, heading toward its heel."""
    pose = layout.route(point.owner.route).path.pose_at(point.tip).shifted(point.owner.face.offset)
    return pose if point.way > 0 else pose.turned(math.pi)
