"""Turn throws and feeders into where no framing may lie under the baseboard, as much of it as one sheet shows.

Places that overlap are one: what is drawn is the outline of them all. It is cut off where the sheet ends, and round
what the sheet itself says.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from msgspec.structs import replace
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.drafting.labels import LabelRoom
from turnout_templates.drafting.styles import LABEL_SIZE
from turnout_templates.drawing.bounds import text_corners
from turnout_templates.drawing.items import Fill, Item, PathItem, RegionItem, Stroke, TextItem
from turnout_templates.geometry.pose import Point
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import LineSegment, polyline
from turnout_templates.trackwork.model import Trackwork

KEEP_CLEAR = "no framing"
MACHINE_BESIDE = 40.0
"""No framing lies nearer than this (mm) to a machine's axis on either side: common practice, no source; most machines
are up to 75 mm wide, whatever the scale."""
MACHINE_REACH = 60.0
"""Nor within this (mm) of the throw along the axis: a machine's body and its screws. Common practice, no source."""
FEEDER_CLEAR = 10.0
"""Nor within this (mm) of a feeder's hole, so that a drill and a hand get there: common practice, no source."""

_EDGE = Stroke(0.12, dash=(3.0, 1.0))
_FILL = Fill(hatch=5.0, hatch_stroke=Stroke(0.04, grey=0.65))
_QUARTER = 40
"""Chords in a quarter of a circle round a feeder: they stray by 0.002 mm."""
_WORDS = "no framing here"
_STEP = 4.0
"""Distance (mm) of the places that are tried for the words."""


def machine_rooms(work: Trackwork) -> dict[str, Polygon]:
    """Return by switch the place under the board that its machine may take."""
    return {
        made.switch: Polygon(
            rectangle(made.bar.slot.pose, MACHINE_REACH, MACHINE_REACH, MACHINE_BESIDE, MACHINE_BESIDE)
        )
        for made in work.switch_works
        if made.bar is not None
    }


def machines_sharing(work: Trackwork) -> dict[str, tuple[str, ...]]:
    """Return by switch those others whose machines may take some of the same place; none for one that has its own."""
    rooms = machine_rooms(work)
    ids, tree = list(rooms), shapely.STRtree(list(rooms.values()))
    found: dict[str, tuple[str, ...]] = {}
    for name, room in rooms.items():
        others = sorted(tree.query(room, predicate="overlaps").tolist())
        if others:
            found[name] = tuple(ids[index] for index in others)
    return found


class NoFraming:
    """All places of a track where no framing may lie, joined where they overlap."""

    def __init__(self, work: Trackwork) -> None:
        """Find the places of `work`: one round each machine's axis and each feeder's hole."""
        around: list[BaseGeometry] = [*machine_rooms(work).values()]
        holes = [feeder.hole for feeder in work.wiring.feeders]
        around += shapely.buffer(shapely.points(holes), FEEDER_CLEAR, quad_segs=_QUARTER).tolist() if holes else ()
        self._tree = shapely.STRtree(shapely.get_parts(shapely.union_all(around)))

    def on(self, shown: BaseGeometry) -> list[Polygon]:
        """Return the places that reach into a region, whole."""
        return [self._tree.geometries[index] for index in self._tree.query(shown, predicate="intersects")]


def shown_on(place: Outline, taken: Sequence[Outline]) -> BaseGeometry:
    """Return the part of a sheet's rectangle that is left round what is `taken` on it."""
    return Polygon(place).difference(shapely.union_all([Polygon(outline) for outline in taken]))


def draw_no_framing(places: Sequence[Polygon], shown: BaseGeometry) -> Iterator[Item]:
    """Yield the hatching of places and their edges, as far as they are `shown`."""
    for place in places:
        for part in shapely.get_parts(place.intersection(shown)).tolist():
            if isinstance(part, Polygon):
                rings = (part.exterior, *part.interiors)
                chains = tuple(polyline(ring.coords[:-1], closed=True) for ring in rings)
                yield RegionItem(chains, _FILL, None, KEEP_CLEAR, "no framing")
        for chain in shown_lines(place.boundary, shown):
            yield PathItem(chain, _EDGE, KEEP_CLEAR, "no framing")


def shown_lines(line: BaseGeometry, shown: BaseGeometry) -> Iterator[tuple[LineSegment, ...]]:
    """Yield the chains of chords of a line that are `shown`."""
    left = line.intersection(shown)
    joined = shapely.line_merge(left) if left.geom_type == "MultiLineString" else left
    for chain in shapely.get_parts(joined).tolist():
        if isinstance(chain, LineString) and not chain.is_empty:
            yield polyline(chain.coords)


def name_no_framing(
    places: Sequence[Polygon], shown: BaseGeometry, along: float, room: LabelRoom
) -> Iterator[TextItem]:
    """Yield the words in each place larger than a feeder's, at the free spot nearest to the middle of what is shown.

    They run at the angle `along`, that of the sheet's foot. A place that shows too little of itself has none.
    """
    for place in places:
        if place.area > 2 * math.pi * FEEDER_CLEAR**2:
            part = max(shapely.get_parts(place.intersection(shown)).tolist(), key=lambda part: part.area)
            for at in _spots(part):
                words = TextItem(_WORDS, at, LABEL_SIZE, KEEP_CLEAR, along, "middle", halo=True, part="no framing")
                outline = text_corners(replace(words, text=f"  {_WORDS}  "))
                if room.room.is_free(outline) and part.contains(Polygon(outline)):
                    room.take_text(outline)
                    yield words
                    break


def _spots(part: Polygon) -> list[Point]:
    """Return places in the box round a part, the nearest to its middle first."""
    left, bottom, right, top = part.bounds
    middle = part.centroid.coords[0]
    across, up = (int((high - low) / _STEP) for low, high in ((left, right), (bottom, top)))
    spots = [(left + i * _STEP, bottom + j * _STEP) for i in range(across + 1) for j in range(up + 1)]
    return sorted(spots, key=lambda spot: math.dist(spot, middle))
