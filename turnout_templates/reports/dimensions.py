"""Say what to measure on the joined sheets."""

from __future__ import annotations

import math

from msgspec import Struct

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.drafting.switches import outer_place, point_pose
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch


class Dimension(Struct, frozen=True):
    """A straight length to check when the sheets are joined, between two named places (mm)."""

    start: str
    end: str
    length: float


def _filed_tip(work: Trackwork, switch: Switch) -> Point:
    """Return the filed tip of a switch's outer point, on its gauge face: what a rule can be put on."""
    return point_pose(work, switch.outer, switch.outer.tip).point


def assembly_dimensions(work: Trackwork) -> tuple[Dimension, ...]:
    """Return what to measure on the joined sheets: filed tip to each frog of a switch, tip to tip, ends of routes."""
    dimensions, bars = [], BarsByFace(work)
    for switch in work.switches:
        for frog in work.frogs:
            if frog.switch == switch.id:
                length = math.dist(_filed_tip(work, switch), frog.point)
                dimensions.append(Dimension(outer_place(switch, bars), frog.id, length))
    for one, next_one in zip(work.switches, work.switches[1:], strict=False):
        length = math.dist(_filed_tip(work, one), _filed_tip(work, next_one))
        start, end = (outer_place(switch, bars) for switch in (one, next_one))
        dimensions.append(Dimension(start, end, length))
    if not work.switches:
        for first, second in zip(work.frogs, work.frogs[1:], strict=False):
            dimensions.append(Dimension(first.id, second.id, math.dist(first.point, second.point)))
    for route in work.layout:
        if route.departure is None:
            length = math.dist(route.path.start.point, route.path.end.point)
            dimensions.append(Dimension(f"{route.name}, start of centre line", "its end", length))
    return tuple(dimensions)
