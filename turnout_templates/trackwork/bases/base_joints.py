"""Tell which bars lie in front of moving points, and where beside them the tips of those are."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import Layout, Way
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.rails.rail_parts import Bar, PointRail, RouteFace


class TipBeside(Struct, frozen=True):
    """The tip of a `point` lies beside the `station` of the route of a rail outside it; `way` leads to its heel."""

    station: float
    way: Way
    point: PointRail


Tips = Mapping[tuple[str, str], Sequence[TipBeside]]
"""By (bar, bar of the points behind it): where their tips lie; none where they lie behind it further on only."""


class BarsByFace:
    """The bars of a layout, found by the gauge face they run along."""

    def __init__(self, bars: Sequence[Bar]) -> None:
        self._by_face: dict[RouteFace, list[tuple[float, float, Bar]]] = {}
        for bar in bars:
            for stretch in bar.stretches:
                self._by_face.setdefault(stretch.owner, []).append((stretch.low, stretch.high, bar))

    def at(self, owner: RouteFace, station: float) -> Bar | None:
        """Return the bar that lies nearest to a station of a face, None where nothing is left of it."""
        there = self._by_face.get(owner, [])
        nearest = min(there, key=lambda bar: max(bar[0] - station, station - bar[1], 0.0), default=None)
        return None if nearest is None else nearest[2]


def tips_behind(
    layout: Layout, bars: BarsByFace, points: Sequence[PointRail], in_front: Mapping[RouteFace, Sequence[RouteFace]]
) -> Tips:
    """Return the moving points behind each bar; `in_front` are the rails that lie in front of each point's face."""
    found: dict[tuple[str, str], list[TipBeside]] = {}
    for point in (point for point in points if point.begins == "point"):
        path = layout.route(point.owner.route).path
        pose = path.pose_at(point.tip).shifted(point.owner.face.offset)
        own = bars.at(point.owner, point.tip)
        for owner in dict.fromkeys((*point.outside, *in_front.get(point.owner, ()))):
            other = layout.route(owner.route).path
            station = nearest_station(other, pose.point)[0]
            outside = bars.at(owner, station)
            if own is not None and outside is not None and own is not outside:
                tips = found.setdefault((outside.id, own.id), [])
                if owner in point.outside:
                    same = math.cos(other.heading_at(station) - pose.heading) > 0
                    against: Way = -1 if point.way > 0 else 1
                    tips.append(TipBeside(station, point.way if same else against, point))
    return found
