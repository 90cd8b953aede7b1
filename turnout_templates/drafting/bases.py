"""Mark where bases are filed off, bars spliced, and sides cut as guards: light dashes beside a rail, lines on it.

The dashes lie on the edge that the base has before it is filed, from where to where the figures say.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import Label
from turnout_templates.drafting.rails import draw_splices, face_lines
from turnout_templates.drafting.subjects import face_length
from turnout_templates.drawing.items import PathItem
from turnout_templates.geometry.flatten import segments_of
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import ArcSegment, LineSegment, Segment
from turnout_templates.trackwork.bases.base_cuts import BaseCut, BaseRelief, cuts_by_part
from turnout_templates.trackwork.bases.base_parts import course_of_guide
from turnout_templates.trackwork.bases.bases import AHEAD
from turnout_templates.trackwork.bases.materials import Material, material_of
from turnout_templates.trackwork.frogs.frog_parts import Guard, GuidingSide, Wing
from turnout_templates.trackwork.guides.guides import flare_more
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.courses import Course, Section
from turnout_templates.trackwork.rails.rail_parts import Interval, PointRail, RailSide, RouteFace
from turnout_templates.units import format_clearance, format_length

_BEYOND = 1.5
"""White between the ends of ties and labels, mm."""
_STEP, _HALF = 6.0, 0.15
"""Marks keep small texts off over chords of this length and half this width, mm."""
_SIDES: tuple[RailSide, ...] = ("gauge", "outer")


def draw_bases(work: Trackwork) -> Iterator[PathItem]:
    """Yield splices, the marks of all cuts of bases and of notches over throw bars, and sides cut as guards."""
    yield from draw_splices(work)
    guides: dict[str, Wing | Guard] = {wing.id: wing for wing in work.wings}
    guides |= {guard.id: guard for guard in work.guards}
    for cut in work.base_cuts:
        out = _edge(work, cut.side)
        guide = guides.get(cut.part)
        if guide is not None:
            course = course_of_guide(work.layout, guide)
            for chain in _chains(course, out, cut):
                yield _dashes(chain, cut.part)
        else:
            yield _dashes(face_lines(work, cut.beside, cut.low, cut.high, out), cut.part)
    for _, made in work.works():
        for notch in made.bar.notches if made.bar is not None else ():
            for side in _SIDES:
                chain = face_lines(work, notch.owner, *notch.stations, _edge(work, side))
                yield PathItem(chain, styles.BASE_NOTCH, styles.BASES, notch.rail)
    for told in work.sides:
        yield PathItem(side_line(work, told), styles.CUT_SIDE, styles.BASES, told.owner.label)


def mark_outlines(mark: PathItem) -> Iterator[Outline]:
    """Yield the places that a mark takes, which small texts amid the track keep off."""
    for segment in mark.segments:
        places = [segment.start, segment.end]
        if isinstance(segment, ArcSegment):
            count = max(1, math.ceil(abs(segment.sweep) * segment.radius / _STEP))
            places = [segment.point_at(segment.start_angle + segment.sweep * k / count) for k in range(count + 1)]
        for (x, y), (to_x, to_y) in pairwise(places):
            along = Pose(x, y, math.atan2(to_y - y, to_x - x))
            yield rectangle(along, 0.0, math.dist((x, y), (to_x, to_y)), _HALF, _HALF)


def label_bases(work: Trackwork) -> Iterator[Label]:
    """Yield a label for each relief of a stock rail, beyond the tie ends of its side, and for each side cut as a guard.

    Reliefs of one length that begin side by side share one.
    """
    told: dict[tuple[float, float, str], list[str]] = {}
    places: dict[tuple[float, float, str], tuple[BaseRelief, Pose]] = {}
    for relief in work.reliefs:
        route = work.layout.route(relief.beside.route)
        at = relief.low if relief.point.way > 0 else relief.high
        pose = route.path.pose_at(at).shifted(route.offset_at(relief.beside.face, at))
        past = format_length(relief_about_tip(work, relief)[1], work.spec.units)
        key = (round(pose.x, 1), round(pose.y, 1), past)
        told.setdefault(key, []).append(relief.bar)
        places.setdefault(key, (relief, pose))
    for key, (relief, pose) in places.items():
        names = ", ".join(dict.fromkeys(told[key]))
        reach = beyond_ties(work, relief.beside)
        text = f"{names} base off to {key[2]} past tip"
        yield Label(text, pose.point, pose.heading, relief.beside.face.outward, reach, 8, 1.8, part=relief.bar)
    for side in work.sides:
        path, face = work.layout.route(side.beside.route).path, side.beside.face
        pose = path.pose_at(sum(side.cut) / 2).shifted(face.offset - face.outward * side.flangeway)
        text = f"side cut as guard, flangeway {format_clearance(side.flangeway, work.spec.units)}"
        yield Label(text, pose.point, pose.heading, face.outward, beyond_ties(work, side.beside), 6, 1.8)


def relief_about_tip(work: Trackwork, relief: BaseRelief) -> Interval:
    """Return from where to where (mm) a stock rail is relieved for a tip beside it; what lies before that is negative.

    Lengths are along the gauge face of the relieved rail.
    """
    ahead = AHEAD * work.spec.rail.head
    return -ahead, face_length(work, relief.beside, relief.low, relief.high) - ahead


def beyond_ties(work: Trackwork, owner: RouteFace) -> float:
    """Return how far outward of a face labels begin: beyond the ends of the ties (mm)."""
    half = max(abs(face.offset) for face in work.layout.route(owner.route).faces) + work.spec.ties.overhang
    return max(half - abs(owner.face.offset), 0.0) + _BEYOND


def side_line(work: Trackwork, side: GuidingSide) -> tuple[Segment, ...]:
    """Return the line along which the side of a rail is cut as a guard."""
    return face_lines(work, side.beside, *side.cut, -side.flangeway)


def _edge(work: Trackwork, side: RailSide) -> float:
    """Return how far (mm) outward of a gauge face, or of a guiding side, the unfiled base's edge lies on one side."""
    section = Section(work.spec.rail.head, work.spec.rail.base)
    return -section.flange if side == "gauge" else section.head + section.flange


def _dashes(chain: tuple[Segment, ...], part: str) -> PathItem:
    return PathItem(chain, styles.BASE_CUT, styles.BASES, part)


def _chains(course: Course, out: float, cut: BaseCut) -> Iterator[tuple[Segment, ...]]:
    """Yield what lies at a distance `out` of a guide over a cut: along the straight part and along each flare."""
    straight = course.straight or (course.low, course.high)
    low, high = max(cut.low, straight[0]), min(cut.high, straight[1])
    if high > low:
        yield segments_of(Parallel(course.path, course.offset(out), low, high))
    for end, bend in ((course.low, straight[0]), (course.high, straight[1])):
        first, last = (min(max(s, min(end, bend)), max(end, bend)) for s in (cut.low, cut.high))
        if last > first:
            root = course.path.point_at(bend, course.offset(out))
            tip = course.path.point_at(end, course.offset(out, flare_more(abs(bend - end))))
            shares = ((s - bend) / (end - bend) for s in (first, last))
            ends = [(root[0] + k * (tip[0] - root[0]), root[1] + k * (tip[1] - root[1])) for k in shares]
            yield (LineSegment(*ends),)


def materials(work: Trackwork) -> dict[str, Material]:
    """Return what each wing and guard is made of, by its id."""
    cuts = cuts_by_part(work.base_cuts)
    names = (*(wing.id for wing in work.wings), *(guard.id for guard in work.guards))
    return {name: material_of(cuts.get(name, ())) for name in names}


class BarsByFace:
    """Finds the bar that lies on a gauge face at a station."""

    def __init__(self, work: Trackwork) -> None:
        self._bars: dict[RouteFace, list[tuple[float, float, str]]] = {}
        for bar in work.bars:
            for stretch in bar.stretches:
                self._bars.setdefault(stretch.owner, []).append((stretch.low, stretch.high, bar.id))

    def at(self, owner: RouteFace, station: float) -> str:
        """Return the id of the bar there; nothing where there is none."""
        there = (name for low, high, name in self._bars.get(owner, ()) if low - _NEAR <= station <= high + _NEAR)
        return next(there, "")

    def begun(self, point: PointRail) -> str:
        """Return the id of the bar that begins as a point, or as what else begins at a switch; nothing without one."""
        there = self._bars.get(point.owner, ())
        ends = ((abs((low if point.way > 0 else high) - point.tip), name) for low, high, name in there)
        away, name = min(ends, default=(1.0, ""))
        return name if away < _BEGINS else ""

    def nearest(self, owner: RouteFace, station: float) -> str:
        """Return the id of the bar on a face that lies there or next to there; nothing where it has no bar."""
        there = self._bars.get(owner, ())
        return min(((max(low - station, station - high, 0.0), name) for low, high, name in there), default=(0.0, ""))[1]

    def named(self, owner: RouteFace, station: float) -> str:
        """Return the id of the bar there, or next to there, with its face in words: `R3 main common right`."""
        return f"{self.nearest(owner, station)} {owner.label}".strip()

    def beside(self, guide: Wing | Guard) -> str:
        """Return the id of the bar that a guide lies along: of a guard at its middle, of a wing at its far end.

        A wing begins beside the gap before its bar, and a guard round an elbow stands beside the gap of a K.
        """
        return self.nearest(guide.beside, _laid_at(guide))

    def along(self, guide: Wing | Guard) -> str:
        """Return the same with its face in words."""
        return self.named(guide.beside, _laid_at(guide))


def _laid_at(guide: Wing | Guard) -> float:
    return guide.end if isinstance(guide, Wing) else sum(guide.ends) / 2


_BEGINS = 0.02
"""A bar begins as a point whose tip is this near (mm) to its end."""
_NEAR = 1e-3
"""A bar reaches to a station that is this near (mm) to its end."""
