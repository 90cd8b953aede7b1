"""Tell where along a bar the ties lie that it crosses."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from msgspec import Struct

from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import rectangle
from turnout_templates.trackwork.pieces.bar_runs import BarRun
from turnout_templates.trackwork.rails.rail_parts import Stretch
from turnout_templates.trackwork.ties.tie_parts import Tie

_STEPS = 20
_CLOSE = 1e-10
_SAGITTA = 0.02
"""How far chords may stray from a rail (mm) to tell which ties it lies on."""
_ON = 1e-9


class TiePlace(Struct, frozen=True):
    """A tie under a bar: its middle line lies `middle` mm along the bar, its sides at `low` and `high`."""

    tie: Tie
    middle: float
    low: float
    high: float


class TiesByPlace:
    """All ties, found by the bars that cross them."""

    def __init__(self, ties: Sequence[Tie]) -> None:
        self.ties = ties
        self.tree = shapely.STRtree([shapely.Polygon(_wider(tie)) for tie in ties])

    def under(self, run: BarRun, low: float, high: float) -> list[TiePlace]:
        """Return the ties whose middle lines a bar crosses between two distances along it, in order."""
        found: dict[str, TiePlace] = {}
        for stretch in run.between(low, high):
            lies = run.layout.route(stretch.owner.route).lie(
                stretch.owner.face, stretch.low, stretch.high, run.head / 2
            )
            points = [point for curve in lies for point in flatten(curve, sagitta=_SAGITTA)]
            if len(points) < 2:
                continue
            index = next(i for i, own in enumerate(run.bar.stretches) if _holds(own, stretch))
            for i in sorted(self.tree.query(shapely.LineString(points), predicate="intersects").tolist()):
                tie = self.ties[i]
                place = _place(run, index, tie)
                if place is not None and low - _ON <= place.middle <= high + _ON:
                    found.setdefault(tie.id, place)
        return sorted(found.values(), key=lambda place: place.middle)

    def beyond(self, pose: Pose, reach: float) -> list[tuple[float, float, Tie]]:
        """Return the ties whose middle lines are crossed by what goes straight on from a pose, `reach` mm.

        With each how far from there (mm) its nearer side and its middle lie, in order.
        """
        line = shapely.LineString([pose.point, pose.ahead(reach).point])
        found = []
        for i in self.tree.query(line, predicate="intersects").tolist():
            tie = self.ties[i]
            x, y = tie.centre[0] - pose.x, tie.centre[1] - pose.y
            lean = math.cos(pose.heading - tie.angle - math.pi / 2)
            if abs(lean) > _LEAST:
                square = tie.angle + math.pi / 2
                middle = (x * math.cos(square) + y * math.sin(square)) / lean
                if 0.0 < middle <= reach:
                    found.append((middle - tie.width / 2 / abs(lean), middle, tie))
        return sorted(found, key=lambda place: place[1])


def _wider(tie: Tie) -> list[tuple[float, float]]:
    """Return the corners of a tie as wide as its space may be, so that a line that ends beside it still meets it."""
    half = tie.length / 2
    return list(rectangle(Pose(*tie.centre, tie.angle), half, half, tie.width, tie.width))


def _holds(own: Stretch, part: Stretch) -> bool:
    return own.owner == part.owner and own.low <= part.low + _ON and part.high <= own.high + _ON


def _place(run: BarRun, index: int, tie: Tie) -> TiePlace | None:
    """Return where the stretch `index` of a bar crosses the middle line of a tie, None where it ends before."""
    stretch = run.bar.stretches[index]
    route = run.layout.route(stretch.owner.route)
    face = stretch.owner.face
    square = tie.angle + math.pi / 2
    near = tie.station if tie.route == stretch.owner.route else (stretch.low + stretch.high) / 2
    station = route.path.foot_near(tie.centre, near)[0]
    for _ in range(_STEPS):
        pose = route.path.pose_at(station)
        offset = route.offset_at(face, station) + face.outward * run.head / 2
        x, y = pose.beside(offset)
        lean = math.cos(pose.heading - square)
        if abs(lean) < _LEAST:
            return None
        away = (x - tie.centre[0]) * math.cos(square) + (y - tie.centre[1]) * math.sin(square)
        station -= away / (lean * (1.0 - offset * route.path.curvature_at(station)))
        if abs(away) < _CLOSE:
            break
    if not stretch.low <= station <= stretch.high:
        return None
    middle = run.distance(index, station)
    half = tie.width / 2 / abs(lean)
    return TiePlace(tie, middle, middle - half, middle + half)


_LEAST = math.sin(math.radians(30))
"""A rail that crosses a tie's axis at less than this angle does not lie on the tie."""
