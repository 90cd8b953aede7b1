"""Write places as figures: points, poses and gauge faces."""

from __future__ import annotations

import math
from typing import Any

from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.rails.rail_parts import RouteFace

Figures = dict[str, Any]
"""A mapping that JSON can hold: lengths in mm, angles in degrees."""


def pose_figures(pose: Pose) -> Figures:
    """Return a pose: place in mm, heading in degrees."""
    return {"x_mm": pose.x, "y_mm": pose.y, "heading_deg": math.degrees(pose.heading)}


def point_figures(point: Point) -> Figures:
    """Return a place in mm."""
    return {"x_mm": point[0], "y_mm": point[1]}


def radius_or_none(curvature: float) -> float | None:
    """Return the signed radius in mm of a curvature, left positive; None where it is straight."""
    return 1.0 / curvature if curvature else None


def owner_figures(owner: RouteFace) -> Figures:
    """Return a gauge face by route, gauge and hand."""
    return {"route": owner.route, "gauge": owner.face.gauge, "hand": owner.face.hand}
