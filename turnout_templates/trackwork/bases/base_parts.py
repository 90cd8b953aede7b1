"""Turn bars, wings and guards into parts with bases: what each is, how it runs, and what of it lies where.

A rail's base is wider than its head and lies centred under it. What of it lies under the head as filed is the part's
core and stays; what reaches out on either side is a flange, which can be filed away. What is filed off a head is filed
off the web and base below as well where they are in the way, so that a flange then counts from the filed side on.
Distances `out` are mm from the gauge face (of a guiding rail, from its guiding side) toward the far side of the head.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from msgspec import Struct, field
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.trackwork.frogs.cutting import WHOLE
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.frogs.metal import heads_by_face
from turnout_templates.trackwork.rails.bars import SLIDING
from turnout_templates.trackwork.rails.courses import Course, Section
from turnout_templates.trackwork.rails.rail_parts import Bar, FiledHead, Interval, RailSide, RouteFace
from turnout_templates.trackwork.rails.regions import within

SIDES: tuple[RailSide, RailSide] = ("gauge", "outer")
_SEAM = WHOLE / 2
"""What is made of several regions has them overlap by this much (mm), where the same metal is on both sides, so that no
crack is between them: a whole head what is told of it as filed, a flange the place of a filed head."""


class Flange(Struct, frozen=True, eq=False):
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
                from_face = self.course.region(0.0, self.edge + _SEAM, max(begin, low), min(end, high))
                whole = whole.union(from_face.difference(left))
        return whole


class Part(Struct, eq=False):
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
                course.region(0.0, section.head, max(low - _SEAM, stretch.low), min(high + _SEAM, stretch.high))
                for low, high in within(head.edges, stretch.low, stretch.high)
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
