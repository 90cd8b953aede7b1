"""Tell which ties a point slides on: those that its rail crosses before a tie lies wholly beyond where it is held."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.trackwork.rails.rail_parts import Interval, PointRail
from turnout_templates.trackwork.rails.regions import SLIVER
from turnout_templates.trackwork.ties.tie_parts import Tie

SAGITTA = 0.02
"""How far chords may stray from a rail (mm) to tell which ties it lies on."""
_TIES_ON = 4.0
"""Ties are looked for as far as so many spaces beyond where a point is held."""


def tie_outlines(ties: Sequence[Tie]) -> list[Polygon]:
    """Return the outlines of ties as regions, all made at once, which for a yard takes a tenth of the time."""
    return list(shapely.polygons([tie.corners() for tie in ties])) if ties else []


class TiesUnderPoints:
    """The ties of a layout, found by the points that lie on them."""

    def __init__(self, layout: Layout, ties: Sequence[Tie], spacing: float) -> None:
        """Take ties that lie `spacing` mm apart at switches."""
        self.layout, self.ties, self.spacing = layout, ties, spacing
        self.outlines = tie_outlines(ties)
        self.tree = shapely.STRtree(self.outlines)

    def under(self, point: PointRail, fix: float) -> Iterator[tuple[Tie, Interval]]:
        """Yield the ties that the rail of a point crosses, from its tip to some beyond its `fix` (mm from there).

        With each, how far behind the tip (mm) the rail crosses its edges.
        """
        path, offset = self.layout.route(point.owner.route).path, point.owner.face.offset
        end = point.tip + point.way * (fix + _TIES_ON * self.spacing)
        low, high = sorted((point.tip, min(max(end, 0.0), path.length)))
        if high - low < SLIVER:
            return
        line = shapely.LineString(flatten(Parallel(path, offset, low, high), sagitta=SAGITTA))
        crossed = []
        for index in self.tree.query(line, predicate="intersects").tolist():
            common = line.intersection(self.outlines[index])
            behind = []
            for corner, along in zip(shapely.get_coordinates(common).tolist(), _along(line, common), strict=True):
                behind.append(point.beyond_tip(path.foot_near((corner[0], corner[1]), low + along)[0]))
            crossed.append((min(behind), max(behind), index))
        yield from ((self.ties[index], (near, far)) for near, far, index in sorted(crossed))


def _along(line: shapely.LineString, common: BaseGeometry) -> list[float]:
    """Return how far along a line (mm) the corners of a part of it lie: nearly their stations from its begin."""
    found: list[float] = shapely.line_locate_point(line, shapely.points(shapely.get_coordinates(common))).tolist()
    return found
