"""Find the rails that fill the place of a guard: cut to the guard flangeway, the side of such a rail is the guard.

Where the wide nose of a K, or any other rail that must be there, stands in a gap where the guard would lie, no bar has
room. That head is cut anyway, for the flange that runs beside the guarded wheel's other rail. Cut at gauge minus check
gauge in place of the frog flangeway, its side holds wheels as a guard would.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from msgspec.structs import replace
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.trackwork.frogs.bands import Filing
from turnout_templates.trackwork.frogs.cutting import whole_head
from turnout_templates.trackwork.frogs.frog_parts import GuidingSide, Need
from turnout_templates.trackwork.frogs.frogs import flangeway_edge
from turnout_templates.trackwork.guides.guides import LEAST_FLARE
from turnout_templates.trackwork.rails.rail_parts import Interval, Rail, RouteFace, Stretch
from turnout_templates.trackwork.rails.regions import overlap, stations_of

_NEAR = 0.5
"""How far (mm) an end told by flattened regions may be off: their sagitta over the slope of what is met, and more."""
_ROUNDING = 0.05
"""Metal that a line runs through for less than this (mm) is a corner."""


class _Heads:
    """The whole heads of all rails by place."""

    def __init__(self, filing: Filing, needs: Sequence[Need], rails: Sequence[Rail]) -> None:
        self.filing = filing
        self.found = [(rail, stretch) for rail in rails for stretch in rail.stretches if stretch.high > stretch.low]
        self.regions = [whole_head(filing.layout, stretch, filing.head) for _, stretch in self.found]
        self._gaps: dict[RouteFace, list[Interval]] = {}
        for need in needs:
            self._gaps.setdefault(need.face, []).append(need.gap)
        self.tree = shapely.STRtree(self.regions)

    def broken(self, face: RouteFace, over: Interval) -> bool:
        """Tell whether a frog breaks a face: what lies beside it there is that frog's own."""
        return any(overlap(gap, over) for gap in self._gaps.get(face, ()))

    def along(self, line: LineString, beside: RouteFace) -> Iterator[tuple[Rail, Stretch, Polygon]]:
        """Yield the heads of other routes that a line beside a face runs into."""
        for index in self.tree.query(line, predicate="intersects").tolist():
            rail, stretch = self.found[index]
            if stretch.owner.route != beside.route:
                yield rail, stretch, self.regions[index]


def find_sides(filing: Filing, needs: Sequence[Need], rails: Sequence[Rail]) -> tuple[GuidingSide, ...]:
    """Return the sides that guide over part of a gap at least, each once for all that it guards."""
    heads = _Heads(filing, needs, rails)
    found: list[GuidingSide] = []
    for need in needs:
        for side in _sides(heads, need):
            _take(found, side)
    return tuple(found)


def _sides(heads: _Heads, need: Need) -> Iterator[GuidingSide]:
    face = need.beside.face
    flangeway = min(need.gauge.guard_flangeway, face.flangeway)
    for rail, stretch, head in heads.along(_line(heads.filing, need.beside, flangeway, need.gap), need.beside):
        left = _filed_for_others(heads.filing, stretch, head, need.beside)
        edges = tuple(_edges(heads.filing, stretch, head))
        near = _far_around(need.gap, heads.filing.head)
        guiding = _stations(heads.filing, need.beside, flangeway, near, left, edges)
        for cut in _stations(heads.filing, need.beside, face.flangeway, near, left, edges):
            for guides in (overlap(cut, part) for part in guiding):
                if guides is None or guides[1] - guides[0] < LEAST_FLARE * flangeway or not overlap(guides, need.gap):
                    continue
                if not heads.broken(need.beside, guides) and not _moves(heads.filing, rail, stretch, need, cut):
                    owner = stretch.owner
                    yield GuidingSide(owner, need.beside, need.gauge.name, flangeway, cut, guides, (need.guarded,))


def _line(filing: Filing, beside: RouteFace, distance: float, over: Interval) -> LineString:
    """Return the line `distance` mm inside a face."""
    path = filing.layout.route(beside.route).path
    low, high = max(over[0], 0.0), min(over[1], path.length)
    return LineString(flatten(Parallel(path, beside.face.offset - beside.face.outward * distance, low, high)))


def _far_around(gap: Interval, head: float) -> Interval:
    """Return a gap with as much beyond it as a head takes to leave the groove, three gaps and more."""
    length = gap[1] - gap[0]
    return gap[0] - 3 * length - head, gap[1] + 3 * length + head


def _filed_for_others(filing: Filing, stretch: Stretch, head: Polygon, beside: RouteFace) -> BaseGeometry:
    """Return what is left of a head when it is filed for every flangeway but that of `beside`."""
    takers = [region for band, region in filing.cutters(stretch, head) if band.owner != beside]
    return head.difference(shapely.union_all(takers)) if takers else head


def _edges(filing: Filing, stretch: Stretch, head: Polygon) -> Iterator[Parallel]:
    """Yield what bounds a head as it is filed: its own two sides, and those of the flangeways that reach it."""
    face = stretch.owner.face
    path = filing.layout.route(stretch.owner.route).path
    for offset in (face.offset, face.offset + face.outward * filing.head):
        yield Parallel(path, offset, stretch.low, stretch.high)
    for band, _ in filing.cutters(stretch, head):
        yield Parallel(band.route.path, band.owner.face.offset, band.low, band.high)
        yield flangeway_edge(band.route, band.owner.face)


def _stations(
    filing: Filing, beside: RouteFace, distance: float, over: Interval, metal: BaseGeometry, edges: Sequence[Parallel]
) -> list[Interval]:
    """Return the stations over which the line `distance` mm inside a face lies in metal that has certain `edges`."""
    path = filing.layout.route(beside.route).path
    inside = _line(filing, beside, distance, over).intersection(metal)
    parts = [part for part in shapely.get_parts(inside).tolist() if isinstance(part, LineString)]
    offset = beside.face.offset - beside.face.outward * distance
    along = (stations_of(part, path) for part in parts if part.length > _ROUNDING)
    return [(_exact(path, offset, low, edges), _exact(path, offset, high, edges)) for low, high in along]


def _exact(path: Path, offset: float, station: float, edges: Sequence[Parallel]) -> float:
    """Return where a line crosses the edge of metal exactly, near a station told by flattened regions."""
    line = Parallel(path, offset, max(station - _NEAR, 0.0), min(station + _NEAR, path.length))
    found = [crossing.s for edge in edges for crossing in find_crossings(line, edge)]
    return min(found, key=lambda s: abs(s - station), default=station)


def _moves(filing: Filing, rail: Rail, stretch: Stretch, need: Need, cut: Interval) -> bool:
    """Tell whether the head moves where its side would guide: a point between tip and heel."""
    path = filing.layout.route(stretch.owner.route).path
    beside = filing.layout.route(need.beside.route).path
    offset = need.beside.face.offset
    places = [nearest_station(path, beside.point_at(station, offset))[0] for station in cut]
    moving = [(min(p.tip, p.heel), max(p.tip, p.heel)) for p in rail.points_on(stretch) if p.begins == "point"]
    return any(overlap((min(places), max(places)), part) is not None for part in moving)


def _take(found: list[GuidingSide], new: GuidingSide) -> None:
    """Add a side; what is cut for one need already serves the other as well, at the smaller flangeway."""
    for i, old in enumerate(found):
        if (old.owner, old.beside) == (new.owner, new.beside) and overlap(old.cut, new.cut):
            tight = old if old.flangeway <= new.flangeway else new
            found[i] = replace(tight, guarded=tuple(dict.fromkeys((*old.guarded, *new.guarded))))
            return
    found.append(new)
