"""Turn bars, wings and guards into parts with bases: what each is, how it runs, and what of it lies where.

A rail's base is wider than its head and lies centred under it. What of it lies under the head as filed is the part's
core and stays; what reaches out on either side is a flange, which can be filed away. What is filed off a head is filed
off the web and base below as well where they are in the way, so that a flange then counts from the filed side on.
Distances `out` are mm from the gauge face (of a guiding rail, from its guiding side) toward the far side of the head.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.bars import SLIDING
from turnout_templates.trackwork.frog_parts import Guard, Wing
from turnout_templates.trackwork.guides import FLARE_LENGTH, FLARE_OPENING
from turnout_templates.trackwork.metal import heads_by_face
from turnout_templates.trackwork.rail_parts import Bar, FiledHead, Interval, RailSide, RouteFace
from turnout_templates.trackwork.regions import strip, within

SIDES: tuple[RailSide, RailSide] = ("gauge", "outer")
_ENDS = 1e-9
"""A flare shorter than this (mm) is none."""


@dataclass(frozen=True, slots=True)
class Section:
    """A rail's `head` and `base` widths in mm."""

    head: float
    base: float

    @property
    def flange(self) -> float:
        """How far (mm) the base reaches beyond the head on either side."""
        return (self.base - self.head) / 2


@dataclass(frozen=True, slots=True)
class Course:
    """How a part runs along one route: its face lies beside that of `owner` from station `low` to `high`.

    `apart` is how far (mm) inward of the owner's face it lies, nothing for a bar; its flares reach from `straight` to
    `low` and `high`.
    """

    path: Path
    owner: RouteFace
    low: float
    high: float
    apart: float = 0.0
    straight: Interval | None = None

    @property
    def outward(self) -> int:
        """The direction from the part's face to the far side of its head: +1 to the left."""
        return self.owner.face.outward if self.straight is None else -self.owner.face.outward

    def offset(self, out: float, opening: float = 0.0) -> float:
        """Return how far (mm) left of the route the place `out` lies, `opening` further off where it is flared."""
        return self.owner.face.offset - self.owner.face.outward * (self.apart + opening) + self.outward * out

    def region(self, first: float, last: float, low: float, high: float) -> Polygon:
        """Return the region between two distances out, from one station to another."""
        if self.straight is None:
            return strip(self.path, self.offset(first), self.offset(last), low, high)
        there, back = (self.line(out, low, high) for out in (first, last))
        return Polygon([*there, *reversed(back)])

    def line(self, out: float, low: float, high: float) -> list[Point]:
        """Return the places at a distance `out` from one station to another, flares being straight lines."""
        straight = self.straight or (self.low, self.high)
        begin, end = max(low, straight[0]), min(high, straight[1])
        points = flatten(Parallel(self.path, self.offset(out), begin, end)) if end > begin else []
        first = [s for s in (low, min(high, straight[0])) if s < straight[0]]
        last = [s for s in (max(low, straight[1]), high) if s > straight[1]]
        return [
            *(self._on_flare(self.low, straight[0], out, s) for s in first),
            *points,
            *(self._on_flare(self.high, straight[1], out, s) for s in last),
        ]

    def _on_flare(self, end: float, bend: float, out: float, s: float) -> Point:
        """Return the place beside station `s` on the flare that reaches from the station `bend` to `end`."""
        opening = FLARE_OPENING / FLARE_LENGTH * abs(bend - end)
        (x, y), (u, v) = self.path.point_at(bend, self.offset(out)), self.path.point_at(end, self.offset(out, opening))
        part = (s - bend) / (end - bend)
        return x + part * (u - x), y + part * (v - y)

    def length_between(self, low: float, high: float) -> float:
        """Return how long (mm) the part is along its face between two stations."""
        begin, end = self.straight or (self.low, self.high)
        whole = Parallel(self.path, self.offset(0.0), begin, end)
        length = max(whole.length_between(max(low, begin), min(high, end)), 0.0)
        for at, bend in ((self.low, begin), (self.high, end)):
            first, last = (min(max(s, min(at, bend)), max(at, bend)) for s in (low, high))
            if last - first > _ENDS:
                length += math.dist(*(self._on_flare(at, bend, 0.0, s) for s in (first, last)))
        return length

    def place(self, s: float, out: float = 0.0) -> Point:
        """Return the place beside a station, on the part's face or at a distance `out` from it."""
        straight = self.straight or (self.low, self.high)
        if s < straight[0]:
            return self._on_flare(self.low, straight[0], out, s)
        if s > straight[1]:
            return self._on_flare(self.high, straight[1], out, s)
        return self.path.point_at(s, self.offset(out))

    def across(self, s: float, first: float, last: float) -> Parallel:
        """Return the line across the part beside a station, from one distance out to another."""
        return line_between(self.place(s, first), self.place(s, last))

    def curves(self, out: float) -> Iterator[Parallel]:
        """Yield what lies at a distance `out`: a parallel of the route, and the straight lines of the flares."""
        low, high = self.straight or (self.low, self.high)
        if high > low:
            yield Parallel(self.path, self.offset(out), low, high)
        for end, bend in ((self.low, low), (self.high, high)):
            if abs(bend - end) > _ENDS:
                opening = FLARE_OPENING / FLARE_LENGTH * abs(bend - end)
                first = self.path.point_at(bend, self.offset(out))
                yield line_between(first, self.path.point_at(end, self.offset(out, opening)))

    def corners(self, outs: Sequence[float]) -> Iterator[Point]:
        """Yield the places at both ends at some distances out."""
        for end, bend in zip((self.low, self.high), self.straight or (self.low, self.high), strict=True):
            opening = FLARE_OPENING / FLARE_LENGTH * abs(bend - end)
            yield from (self.path.point_at(end, self.offset(out, opening)) for out in outs)


def line_between(first: Point, last: Point) -> Parallel:
    """Return the straight line between two places as a curve."""
    (x, y), (u, v) = first, last
    piece = Piece(Pose(x, y, math.atan2(v - y, u - x)), math.dist(first, last), 0.0, 0.0)
    return Parallel(Path((piece,)), 0.0, 0.0, piece.length)


@dataclass(frozen=True, slots=True, eq=False)
class Flange:
    """What of the base of a part reaches out on one `side` along one `course`."""

    part: Part
    side: RailSide
    course: Course
    scraps: tuple[tuple[Interval, BaseGeometry], ...]

    @property
    def edge(self) -> float:
        """How far out (mm) the side of the head lies that the flange reaches out from."""
        return 0.0 if self.side == "gauge" else self.part.section.head

    def reach(self, more: float = 0.0) -> float:
        """Return how far out (mm) the edge of the base lies, and `more` beyond it."""
        over = self.part.section.flange + more
        return -over if self.side == "gauge" else self.edge + over

    def end_at(self, s: float) -> Parallel:
        """Return the square end that the flange has where it is filed away from a station on."""
        return self.course.across(s, 0.0, self.reach())

    @property
    def whole(self) -> BaseGeometry:
        """The flange from end to end."""
        return self.region(self.course.low, self.course.high)

    def region(self, low: float, high: float, more: float = 0.0) -> BaseGeometry:
        """Return the flange between two stations, made wider by `more`: from the head as it is filed."""
        first, last = sorted((self.edge, self.reach(more)))
        whole: BaseGeometry = self.course.region(first, last, low, high)
        for (begin, end), left in self.scraps if self.side == "outer" else ():
            if begin < high and low < end:
                from_face = self.course.region(0.0, self.edge, max(begin, low), min(end, high))
                whole = whole.union(from_face.difference(left))
        return whole


@dataclass(slots=True, eq=False)
class Part:
    """A bar, wing or guard: its `courses`, the `core` that stays, and its flanges.

    `standing` tells whose base gives way: of two the part with the lesser one. `joined` are parts that it is one with.
    `grooves` are the far edges of the flangeways that its head is filed for.
    """

    id: str
    section: Section
    courses: tuple[Course, ...]
    core: BaseGeometry
    standing: tuple[float, ...]
    flanges: tuple[Flange, ...] = ()
    grooves: tuple[Parallel, ...] = ()
    joined: set[str] = field(default_factory=set)

    def flanges_on(self, side: RailSide) -> Iterator[Flange]:
        """Yield the flanges on one side."""
        yield from (flange for flange in self.flanges if flange.side == side)


_STANDING: dict[str, int] = {
    "guard": 0,
    "wing": 1,
    **{role: 2 for role in SLIDING},
    "frog rail": 3,
    "closure rail": 4,
    "running rail": 5,
    "stock rail": 5,
}


def parts_of_bars(layout: Layout, section: Section, bars: Sequence[Bar], heads: Sequence[FiledHead]) -> Iterator[Part]:
    """Yield a part for each bar."""
    known = heads_by_face(heads)
    order = _order(layout)
    for bar in bars:
        courses, cores, scraps = [], [], []
        grooves: list[Parallel] = []
        for stretch in bar.stretches:
            path = layout.route(stretch.owner.route).path
            course = Course(path, stretch.owner, stretch.low, stretch.high)
            face = (stretch.low, stretch.high)
            head = known[stretch.owner, face]
            left = [Polygon(part.rings[0], part.rings[1:]).buffer(0) for part in head.parts if part.face == face]
            cores += [
                course.region(0.0, section.head, *whole) for whole in within(head.edges, stretch.low, stretch.high)
            ]
            cores += left
            grooves += head.grooves
            filed = shapely.union_all(left)
            courses.append(course)
            scraps.append(tuple((zone, filed) for zone in within(head.filed, stretch.low, stretch.high)))
        standing = (_STANDING[bar.role], *_later(order, bar.stretches[0].owner, bar.stretches[0].low))
        part = Part(bar.id, section, tuple(courses), shapely.union_all(cores), standing, grooves=tuple(grooves))
        part.flanges = tuple(
            Flange(part, side, course, zones) for course, zones in zip(courses, scraps, strict=True) for side in SIDES
        )
        yield part


def parts_of_guides(layout: Layout, section: Section, wings: Sequence[Wing], guards: Sequence[Guard]) -> Iterator[Part]:
    """Yield a part for each wing and guard."""
    order = _order(layout)
    for wing in wings:
        yield _guide(layout, section, wing, (_STANDING["wing"], *_later(order, wing.continues, wing.straight[0])))
    for guard in guards:
        yield _guide(layout, section, guard, (_STANDING["guard"], *_later(order, guard.beside, guard.straight[0])))


def _guide(layout: Layout, section: Section, guide: Wing | Guard, standing: tuple[float, ...]) -> Part:
    course = course_of_guide(layout, guide)
    part = Part(guide.id, section, (course,), Polygon(guide.ring).buffer(0), standing)
    part.flanges = tuple(Flange(part, side, course, ()) for side in SIDES)
    return part


def course_of_guide(layout: Layout, guide: Wing | Guard) -> Course:
    """Return how a wing or guard runs beside the rail that it lies beside."""
    at = guide.ends if isinstance(guide, Guard) else (*guide.straight, guide.end)
    path = layout.route(guide.beside.route).path
    return Course(path, guide.beside, min(at), max(at), guide.flangeway, guide.straight)


def _order(layout: Layout) -> dict[str, int]:
    """Return the places of the routes in the file."""
    return {route.name: i for i, route in enumerate(layout)}


def _later(order: dict[str, int], owner: RouteFace, station: float) -> tuple[float, ...]:
    """Return what tells parts of a kind apart: the later route of the file gives way, the inner face, the later end."""
    return -order[owner.route], abs(owner.face.offset), -station
