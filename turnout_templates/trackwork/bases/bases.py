"""Cut the bases of rails where they come too close: whose base gives way, on which side, from where to where.

One rule for all: a head keeps its place, and whatever base reaches under it or nearer than the least clearance is filed
away, flush with the head it belongs to. Of two bases that would meet, a guard's gives way before a wing's, then a
moving point's, the bars of a frog, closure rails, and last running rails; of equals that of the route later in the
file. A rail with a point behind it gives way to that point, which must stay strong enough to be thrown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import shapely
from msgspec import Struct
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import Layout
from turnout_templates.trackwork.bases.base_bounds import Fouled, fouled_stations, opened_stations, reached_stations
from turnout_templates.trackwork.bases.base_cuts import BaseCut, BaseFoul, BaseRelief, OpenFoul
from turnout_templates.trackwork.bases.base_joints import BarsByFace, Tips, tips_behind
from turnout_templates.trackwork.bases.base_parts import Flange, Part, parts_of_bars, parts_of_guides
from turnout_templates.trackwork.frogs.contacts import Contact
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.points.open_points import OpenPoint
from turnout_templates.trackwork.rails.courses import Section
from turnout_templates.trackwork.rails.rail_parts import Bar, FiledHead, Interval, PointRail, RouteFace
from turnout_templates.trackwork.rails.regions import merged, within, without

CLEARANCE = 0.1
"""A base that is left stays this far from any other head or base, in widths of the head: enough to be seen between them
(common practice, no source). A point that lies against its stock rail needs none, nor do the bars
of a V, which are soldered together."""
AHEAD = 1.0
"""A stock rail's base is filed off from this far before the tip of the point, in widths of the head, so that the tip
never rides up on what the file leaves (common practice, no source)."""


_THIN = 0.005
"""Overlaps thinner than twice this, in widths of the head, come from the chords that regions are made of."""
_BESIDE = 1.0
"""How far (mm) beyond where two bases come near what is left of them is looked at."""


class Cut(Struct, frozen=True):
    """A cut of one flange for the sake of one other part."""

    low: float
    high: float
    against: Part
    why: BaseFoul


class Bases:
    """All parts with their bases, and what must be cut of them."""

    def __init__(self, parts: Sequence[Part], points: Tips, spliced: Sequence[tuple[Part, Part]], head: float) -> None:
        self.parts = parts
        self.clearance = CLEARANCE * head
        self.thin = _THIN * head
        self.ahead = AHEAD * head
        self.points = points
        self.cuts: dict[Flange, list[Cut]] = {}
        flanges = [flange for part in parts for flange in part.flanges]
        wide = [flange.region(flange.course.low, flange.course.high, self.clearance) for flange in flanges]
        self.wide = dict(zip(flanges, wide, strict=True))
        self.spliced = {frozenset((one.id, other.id)) for one, other in spliced}
        for i, j in shapely.STRtree([part.core for part in parts]).query(wide, predicate="intersects").T.tolist():
            flange, part = flanges[i], parts[j]
            if self._apart(flange.part, part) and not self._spliced(flange.part, part):
                self._cut(flange, Fouled(part, part.core, (0.0, head)), "head")
        for one, other in spliced:
            self._file_to_splice(one, other)
            self._file_to_splice(other, one)
        met = shapely.STRtree(wide).query(wide, predicate="intersects").T.tolist()
        pairs = [(flanges[i], flanges[j]) for i, j in met if self._gives_way(flanges[i].part, flanges[j].part)]
        pairs.sort(key=lambda pair: (self._standing(*pair), pair[0].part.standing), reverse=True)
        for gives, stays in pairs:
            self._meet(gives, stays)

    def _apart(self, one: Part, other: Part) -> bool:
        """Tell whether two parts are not one piece of metal."""
        return one is not other and other.id not in one.joined

    def _file_to_splice(self, part: Part, other: Part) -> None:
        """Cut the back of one half of a V where it lies on the head of the other half or reaches beyond it."""
        beyond = shapely.union_all([other.core, *(flange.whole for flange in other.flanges_on("gauge"))])
        for flange in part.flanges_on("outer"):
            self._cut(flange, Fouled(other, beyond, (-other.section.flange, other.section.head)), "head")

    def _standing(self, gives: Flange, stays: Flange) -> tuple[float, ...]:
        """Return what pairs are taken by: those of a point and its stock rail first, then by who stays."""
        return (1.0 if (gives.part.id, stays.part.id) in self.points else 0.0, *stays.part.standing)

    def _lie_together(self, a: Part, b: Part) -> bool:
        return (a.id, b.id) in self.points or (b.id, a.id) in self.points

    def _spliced(self, a: Part, b: Part) -> bool:
        return frozenset((a.id, b.id)) in self.spliced

    def _gives_way(self, part: Part, other: Part) -> bool:
        if not self._apart(part, other):
            return False
        if self._lie_together(part, other):
            return (part.id, other.id) in self.points
        return part.standing < other.standing

    def _left(self, flange: Flange) -> list[Interval]:
        """Return the stations over which a flange is still there."""
        gone = ((cut.low, cut.high) for cut in self.cuts.get(flange, ()))
        return without((flange.course.low, flange.course.high), gone)

    def _meet(self, gives: Flange, stays: Flange) -> None:
        """Cut one flange where another that stays meets it."""
        for near in self._parts_of(self.wide[gives].intersection(self.wide[stays])):
            low, high = reached_stations(stays.course, near)
            whole = self._left(stays)
            left = [stays.region(*part) for part in within(whole, low - _BESIDE, high + _BESIDE)]
            ends = [stays.end_at(s) for part in whole for s in part if low - _BESIDE < s < high + _BESIDE]
            if left:
                across = min(stays.edge, stays.reach()), max(stays.edge, stays.reach())
                self._cut(gives, Fouled(stays.part, shapely.union_all(left), across, ends), "base")

    def _cut(self, flange: Flange, fouled: Fouled, why: BaseFoul) -> None:
        """Cut a flange where it lies on a region of another part, or nearer to it than the clearance.

        A corner that is shorter than the clearance is not told: a stroke of the file takes it.
        """
        other, region = fouled.other, fouled.region
        more = 0.0 if self._lie_together(flange.part, other) or self._spliced(flange.part, other) else self.clearance
        near = self._parts_of(self.wide[flange].intersection(region))
        for common in near if more and why == "head" else self._commons(flange, near, region, more):
            along = fouled_stations(flange, more, common, fouled)
            low, high, told = self._ahead_of_tip(flange, other, along, why)
            if high - low > self.clearance:
                self.cuts.setdefault(flange, []).append(Cut(low, high, other, told))

    def _commons(self, flange: Flange, near: Sequence[Polygon], region: BaseGeometry, more: float) -> Iterator[Polygon]:
        """Yield what a region has in common with what is left of a flange near some places."""
        looked = (reached_stations(flange.course, place) for place in near)
        for low, high in merged((low - _BESIDE, high + _BESIDE) for low, high in looked):
            for part in within(self._left(flange), low, high):
                yield from self._parts_of(flange.region(*part, more).intersection(region))

    def _ahead_of_tip(self, flange: Flange, other: Part, cut: Interval, why: BaseFoul) -> tuple[float, float, BaseFoul]:
        """Return a cut lengthened before the tip of a point that lies behind the flange, and why it is made."""
        low, high = cut
        if not self._lie_together(flange.part, other):
            return low, high, why
        course = flange.course
        for tip in self.points.get((flange.part.id, other.id), ()):
            if low - self.ahead < tip.station < high + self.ahead:
                ahead = tip.station - self.ahead * tip.way
                low, high = (ahead, high) if tip.way > 0 else (low, ahead)
        return max(low, course.low), min(high, course.high), "point"

    def open(self, points: Sequence[OpenPoint]) -> tuple[OpenFoul, ...]:
        """File away what the bases of open points would lie on, and return where not even their heads have room."""
        cores = shapely.STRtree([part.core for part in self.parts])
        beside = shapely.STRtree(list(self.wide.values()))
        flanges, fouls = list(self.wide), []
        inner = {(f.part.id, f.course.owner, f.course.low): f for f in flanges if f.side == "gauge"}
        together: dict[tuple[str, bool], set[str]] = {}
        for point in points:
            together.setdefault(point.opens_with, set()).add(point.bar)
        for point in points:
            own, kept = inner[point.bar, point.stretch.owner, point.stretch.low], together[point.opens_with]
            for index in sorted(cores.query(point.swept(own.reach()), predicate="intersects").tolist()):
                part = self.parts[index]
                if self._in_the_way(own.part, part, kept):
                    run_into = self._reached(own, point, 0.0, part.core, part)
                    fouls += [OpenFoul(point.switch, point.point, point.bar, part.id, *at) for at in run_into]
                    self._open_cut(own, part, self._reached(own, point, own.reach(), part.core, part))
            for index in sorted(beside.query(point.swept(own.reach()), predicate="intersects").tolist()):
                if self._in_the_way(own.part, flanges[index].part, kept):
                    self._meet_open(own, flanges[index], point)
        return tuple(fouls)

    def _in_the_way(self, part: Part, other: Part, kept: set[str]) -> bool:
        """Tell whether an open point may run into another part: not one that it lies against, or that moves with it."""
        return other.id not in kept and self._apart(part, other) and not self._lie_together(part, other)

    def _meet_open(self, own: Flange, other: Flange, point: OpenPoint) -> None:
        """Cut the flange of a point or another one where they meet as the point is opened."""
        left = shapely.union_all([other.region(*part) for part in self._left(other)])
        gives, stays = (own, other) if own.part.standing < other.part.standing else (other, own)
        for flange, against, out in ((other, own.part, 0.0), (gives, stays.part, own.reach())):
            # Where some of the other flange is in the way, the point clears all of it as rolled: that ends at an edge.
            if self._parts_of(point.swept(out).intersection(left)):
                self._open_cut(flange, against, self._reached(flange, point, out, other.whole, other.part))

    def _reached(
        self, flange: Flange, point: OpenPoint, out: float, region: BaseGeometry, other: Part
    ) -> list[Interval]:
        """Return the stations of a flange's course at which an open point comes to lie on a region of another part."""
        commons = self._parts_of(point.swept(out).intersection(region))
        return [opened_stations(flange, point, out, common, other) for common in commons]

    def _parts_of(self, region: BaseGeometry) -> list[Polygon]:
        """Return the parts of a region that are thicker than what chords make of curves that only touch."""
        parts = (part for part in shapely.get_parts(region).tolist() if isinstance(part, Polygon))
        return [part for part in parts if not part.buffer(-self.thin).is_empty]

    def _open_cut(self, flange: Flange, other: Part, reached: Iterable[Interval]) -> None:
        for low, high in reached:
            low, high = max(low, flange.course.low), min(high, flange.course.high)
            if high - low > self.clearance:
                self.cuts.setdefault(flange, []).append(Cut(low, high, other, "open point"))

    def reliefs(self) -> Iterator[BaseRelief]:
        """Yield what is to be filed off the gauge side of rails for the tips of points that lie behind them."""
        for flange, cuts in self.cuts.items():
            own, course = flange.part.id, flange.course
            for other in dict.fromkeys(cut.against for cut in cuts if (own, cut.against.id) in self.points):
                together = merged(((cut.low, cut.high) for cut in cuts if cut.against is other), self.clearance)
                for tip in self.points[own, other.id]:
                    for low, high in together:
                        if low < tip.station < high:
                            yield BaseRelief(own, course.owner, low, high, other.id, tip.point)

    def told(self) -> Iterator[BaseCut]:
        """Yield what is to be filed away: of each side what hangs together as one, part by part."""
        for part in self.parts:
            for flange in part.flanges:
                yield from _together(self.cuts.get(flange, ()), flange)


def _together(cuts: Iterable[Cut], flange: Flange) -> Iterator[BaseCut]:
    """Yield the cuts of one flange, those made one between which less base than its width would be left."""
    cuts = sorted(cuts, key=lambda cut: (cut.low, cut.high))
    part = flange.part
    for low, high in merged(((cut.low, cut.high) for cut in cuts), part.section.base):
        inside = [cut for cut in cuts if low <= cut.low and cut.high <= high]
        against = tuple(dict.fromkeys(cut.against.id for cut in inside))
        why = tuple(dict.fromkeys(cut.why for cut in inside))
        yield BaseCut(part.id, flange.side, flange.course.owner, low, high, against, why)


def cut_bases(
    layout: Layout,
    section: Section,
    bars: Sequence[Bar],
    heads: Sequence[FiledHead],
    wings: Sequence[Wing],
    guards: Sequence[Guard],
    contacts: Sequence[Contact],
    points: Sequence[PointRail],
    in_front: Mapping[RouteFace, Sequence[RouteFace]],
) -> Bases:
    """Return the bases of all parts, in the order of the parts: bars, wings, guards; and what is filed off them.

    `contacts` tell which parts are one bent bar or spliced, and `in_front` are the rails in front of each face of a
    point (see `Filing`).
    """
    parts = [
        *parts_of_bars(layout, section, bars, heads),
        *parts_of_guides(layout, section, wings, guards),
    ]
    by_id = {part.id: part for part in parts}
    by_face = BarsByFace(bars)
    for contact in (contact for contact in contacts if contact.kind in ("elbow", "wing at knuckle")):
        by_id[contact.first].joined.add(contact.second)
        by_id[contact.second].joined.add(contact.first)
    tips = tips_behind(layout, by_face, points, in_front)
    spliced = [(by_id[contact.first], by_id[contact.second]) for contact in contacts if contact.kind == "splice"]
    return Bases(parts, tips, spliced, section.head)
