"""Tell the figures of a switch: where it lies, what moves there and how far."""

from __future__ import annotations

from turnout_templates.reports.places import Figures, owner_figures, point_figures, pose_figures
from turnout_templates.trackwork.model import PointRail, Switch, Trackwork


def how_laid(work: Trackwork, switch: Switch) -> str:
    """Return how the turnout at `switch` came about: on the line it leaves, or on straight track and then bent."""
    return "bent from straight" if work.layout.route(switch.branch).bent else "solved on its main"


def switch_figures(work: Trackwork, switch: Switch) -> Figures:
    """Return the figures of a switch."""
    return {
        "id": switch.id,
        "main": switch.parent,
        "branch": switch.branch,
        "branches": list(switch.onward[1:]),
        "hand": switch.hand,
        "facing": "with" if switch.way > 0 else "against",
        "laid": how_laid(work, switch),
        "switching": switch.switching,
        "points": len(switch.moving_points),
        "station_mm": switch.station,
        "tip": pose_figures(switch.tip),
        "filed_tip": {**pose_figures(switch.filed_tip), "station_mm": switch.filed_station},
        "throw_bar_station_mm": switch.bar_station,
        "throw_mm": switch.throw,
        "throw_to_hold_mm": switch.throw_to_hold,
        "least_opening_mm": switch.least_opening,
        "point_rails": [_point_rail(work, point) for point in switch.moving_points],
        "fixed_rails": [_fixed_rail(work, point) for point in switch.points if point.begins != "point"],
    }


def _point_rail(work: Trackwork, point: PointRail) -> Figures:
    path = work.layout.route(point.owner.route).path
    return {
        **owner_figures(point.owner),
        "behind": [owner_figures(owner) for owner in point.outside],
        "tip_station_mm": point.tip,
        "tip": point_figures(path.point_at(point.tip, point.owner.face.offset)),
        "full_head_station_mm": point.full_head,
        "heel_station_mm": point.heel,
        "clear_station_mm": point.clear,
    }


def _fixed_rail(work: Trackwork, point: PointRail) -> Figures:
    """Return a rail that begins at a switch and does not move: behind a stub's toe, or where gauges part."""
    path = work.layout.route(point.owner.route).path
    return {
        **owner_figures(point.owner),
        "behind": [owner_figures(owner) for owner in point.outside],
        "parts_station_mm": point.parts,
        "begin_station_mm": point.tip,
        "begin": point_figures(path.point_at(point.tip, point.owner.face.offset)),
    }
