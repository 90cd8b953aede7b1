"""Say what wing and guard rails are made of, and from which end cuts of bases are measured.

Where nothing is near, rail; where its base fouls on one side, rail with the base filed off there. A flat strip without
a base is used where both sides foul, and where another head stands so near that not even its base has room beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.bases.base_cuts import BaseCut
from turnout_templates.trackwork.bases.base_parts import course_of_guide
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.courses import Course, Section
from turnout_templates.trackwork.rails.rail_parts import Bar, RouteFace

Material = Literal["rail", "rail, base filed off on one side", "strip"]


_EVEN = 1e-6
"""A cut whose two ends lie equally far (mm) from those of its part is measured from the first."""


def material_of(cuts: Sequence[BaseCut]) -> Material:
    """Return what a wing or guard with these cuts of its base is made of."""
    if len({cut.side for cut in cuts}) > 1 or any("head" in cut.why for cut in cuts):
        return "strip"
    return "rail, base filed off on one side" if cuts else "rail"


def section_as_made(section: Section, cuts: Sequence[BaseCut]) -> Section:
    """Return the section of a wing or guard with these cuts of its base: without a base where it is of strip."""
    return Section(section.head, section.head) if material_of(cuts) == "strip" else section


def parts_by_id(work: Trackwork) -> dict[str, Bar | Wing | Guard]:
    """Return bars, wings and guards by their ids."""
    parts: tuple[Bar | Wing | Guard, ...] = (*work.bars, *work.wings, *work.guards)
    return {part.id: part for part in parts}


class Measured(Struct, frozen=True):
    """A cut measured along its part, on its gauge face or guiding side: `low` and `high` mm from the nearer end.

    That end lies at station `end` of the route of `owner`, at `place`; `first` tells that it is the part's first end.
    """

    low: float
    high: float
    owner: RouteFace
    end: float
    place: Point
    first: bool


def measure_cut(layout: Layout, part: Bar | Wing | Guard, cut: BaseCut) -> Measured:
    """Return where along its part a cut lies."""
    run = _run_of(layout, part)
    lengths = [course.length_between(course.low, course.high) for course, _ in run]
    middle = (cut.low + cut.high) / 2
    misses = [
        (max(course.low - middle, middle - course.high, 0.0), i)
        for i, (course, _) in enumerate(run)
        if course.owner == cut.beside
    ]
    index = min(misses)[1]
    (course, way), length, before = run[index], lengths[index], sum(lengths[:index])
    along = (course.length_between(course.low, min(max(s, course.low), course.high)) for s in (cut.low, cut.high))
    ends = sorted(before + (at if way > 0 else length - at) for at in along)
    first = ends[0] <= sum(lengths) - ends[1] + _EVEN
    course, way = run[0] if first else run[-1]
    end = course.low if (way > 0) == first else course.high
    low, high = ends if first else (sum(lengths) - ends[1], sum(lengths) - ends[0])
    return Measured(low, high, course.owner, end, course.place(end), first)


def _run_of(layout: Layout, part: Bar | Wing | Guard) -> list[tuple[Course, int]]:
    """Return the courses of a part from its first end to its last, each with the direction of its stations."""
    if not isinstance(part, Bar):
        return [(course_of_guide(layout, part), 1)]
    return [(Course(layout.route(s.owner.route).path, s.owner, s.low, s.high), s.way) for s in part.stretches]


def longest_bare(cuts: Sequence[BaseCut]) -> tuple[BaseCut, float, float] | None:
    """Return a cut and the longest stretch over which the base on the other side is gone as well, None without one."""
    best: tuple[BaseCut, float, float] | None = None
    for gauge in (cut for cut in cuts if cut.side == "gauge"):
        for outer in (cut for cut in cuts if cut.side == "outer" and cut.beside == gauge.beside):
            low, high = max(gauge.low, outer.low), min(gauge.high, outer.high)
            if high - low > (0.0 if best is None else best[2] - best[1]):
                best = gauge, low, high
    return best
