"""Turn pieces of rail, wings, guards and ties into where the base of each lies over which tie.

All parts are looked at as chords of the middle of their heads, and all chords that meet a tie are clipped by it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.bases.base_cuts import BaseCut, cuts_by_part
from turnout_templates.trackwork.bases.base_parts import SIDES, course_of_guide
from turnout_templates.trackwork.bases.materials import section_as_made
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.frogs.metal import HeadsByFace, heads_by_face
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.rails.courses import Section
from turnout_templates.trackwork.rails.rail_parts import Interval
from turnout_templates.trackwork.ties.bearing import between

_BEYOND = 0.05
"""Heads that reach less than this (mm) beyond their gauge faces end with them."""
Numbers = NDArray[np.float64]


class Lying(Struct, frozen=True):
    """A part over a tie: its base reaches from `low` to `high` mm along the tie, from the tie's first end.

    Along the part, the tie lies from `begin` to `end` mm from its first end, on the middle of its head. `inward` is +1
    where its gauge face (of a wing or guard its guiding side) is the one further from the tie's first end, else -1.
    """

    part: str
    low: float
    high: float
    begin: float
    end: float
    inward: int


class Bases:
    """The bases of all pieces, wings and guards, as chords of the middles of their heads.

    Of each chord: the index of its part, how far along the part it starts and ends, how far the base reaches to the
    right and to the left of it, and on which side (+1 left) the gauge face or guiding side lies. The last of a part
    are its square ends and what its head reaches beyond its face, of no length along it and on no side.
    """

    def __init__(self, work: Trackwork) -> None:
        self.section = Section(work.spec.rail.head, work.spec.rail.base)
        self.layout, self.ties = work.layout, work.ties
        self.parts: list[str] = []
        self._starts: list[Point] = []
        self._ends: list[Point] = []
        self._rows: list[tuple[float, float, float, float, float, int]] = []
        cuts = cuts_by_part(work.base_cuts)
        heads = heads_by_face(work.heads)
        for piece in work.pieces:
            self.parts.append(piece.id)
            first = len(self._rows)
            self._add_piece(piece, cuts.get(piece.bar, ()))
            self._add_ends(first)
            self._add_tongues(first, piece, heads)
        guides: tuple[Wing | Guard, ...] = (*work.wings, *work.guards)
        for guide in guides:
            self.parts.append(guide.id)
            self._add_guide(guide, cuts.get(guide.id, ()))
        self.rows = np.array(self._rows).reshape(-1, 6)
        self.starts, self.ends = (np.array(points).reshape(-1, 2) for points in (self._starts, self._ends))
        self.lines = shapely.linestrings(np.stack([self.starts, self.ends], 1))
        self.index = {name: i for i, name in enumerate(self.parts)}
        self._firsts = np.searchsorted(self.rows[:, 0], np.arange(len(self.parts) + 1))
        self._tree: shapely.STRtree | None = None

    @property
    def tree(self) -> shapely.STRtree:
        """The chords by place; which part each is of, `rows` tells."""
        if self._tree is None:
            self._tree = shapely.STRtree(self.lines)
        return self._tree

    def pose(self, part: str, at: float) -> tuple[Pose, int]:
        """Return the pose of the middle of a part's head so far along it, and +1 where its outer side is the left."""
        first, beyond = self._firsts[self.index[part]], self._firsts[self.index[part] + 1]
        beyond -= np.count_nonzero(self.rows[first:beyond, 5] == 0)
        i = first + int(np.searchsorted(self.rows[first:beyond, 2], at))
        i = min(i, beyond - 1)
        (x, y), (u, v) = self.starts[i].tolist(), self.ends[i].tolist()
        heading = math.atan2(v - y, u - x)
        return Pose(x, y, heading).ahead(at - float(self.rows[i, 1])), -int(self.rows[i, 5])

    def _add_piece(self, piece: RailPiece, cuts: Sequence[BaseCut]) -> None:
        along = 0.0
        for stretch in piece.stretches:
            route, face, way = self.layout.route(stretch.owner.route), stretch.owner.face, stretch.way
            own = [cut for cut in cuts if cut.beside == stretch.owner]
            parts = list(_even(stretch.low, stretch.high, own, self.section))
            for low, high, inner, outer in parts if way > 0 else reversed(parts):
                curves = route.lie(face, low, high, self.section.head / 2)
                points = [point for curve in curves for point in flatten(curve)]
                along = self._add(points[::way], along, (inner, outer), -face.outward * way)

    def _add_guide(self, guide: Wing | Guard, cuts: Sequence[BaseCut]) -> None:
        course = course_of_guide(self.layout, guide)
        head = self.section.head
        section = section_as_made(self.section, cuts)
        along = 0.0
        parts = list(_even(course.low, course.high, cuts, section))
        for low, high, inner, outer in parts:
            along = self._add(course.line(head / 2, low, high), along, (inner, outer), -course.outward)
        for end, at, (_, _, inner, outer) in ((course.low, 0.0, parts[0]), (course.high, along, parts[-1])):
            self._starts.append(course.place(end, head / 2 - inner))
            self._ends.append(course.place(end, head / 2 + outer))
            self._rows.append((len(self.parts) - 1, at, at, 0.0, 0.0, 0))

    def _add_tongues(self, first: int, piece: RailPiece, heads: HeadsByFace) -> None:
        """Add what an oblique flangeway leaves of a head beyond the end of its gauge face, as outlines."""
        length = self._rows[-1][2] if len(self._rows) > first else 0.0
        for stretch in piece.stretches:
            face = (stretch.low, stretch.high)
            head = heads.get((stretch.owner, face))
            for part in head.parts if head is not None else ():
                before, behind = part.zone[0] < face[0] - _BEYOND, part.zone[1] > face[1] + _BEYOND
                if part.face == face and (before or behind):
                    along = length if behind == (stretch.way > 0) else 0.0
                    for one, two in pairwise((*part.rings[0], part.rings[0][0])):
                        if math.dist(one, two) > 0.0:
                            self._starts.append(one)
                            self._ends.append(two)
                            self._rows.append((len(self.parts) - 1, along, along, 0.0, 0.0, 0))

    def _add_ends(self, first: int) -> None:
        """Add the square ends of a part whose chords begin at `first`, as lines from the right edge to the left."""
        for i, at_end in ((first, False), (len(self._rows) - 1, True)):
            if i < first:
                return
            index, begin, end, right, left, _ = self._rows[i]
            (x, y), (u, v) = self._starts[i], self._ends[i]
            pose = Pose(*((u, v) if at_end else (x, y)), math.atan2(v - y, u - x))
            along = end if at_end else begin
            self._starts.append(pose.beside(-right))
            self._ends.append(pose.beside(left))
            self._rows.append((index, along, along, 0.0, 0.0, 0))

    def _add(self, points: Sequence[Point], begin: float, reach: Interval, gauge_side: int) -> float:
        """Add the chords between points of the last part; return how far along it they end."""
        index = len(self.parts) - 1
        right, left = reach if gauge_side < 0 else reach[::-1]
        for one, two in pairwise(points):
            end = begin + math.dist(one, two)
            if end > begin:
                self._starts.append(one)
                self._ends.append(two)
                self._rows.append((index, begin, end, right, left, gauge_side))
            begin = end
        return begin

    def on_ties(self) -> tuple[list[list[Lying]], dict[str, list[tuple[int, Lying]]]]:
        """Return what lies on each tie, in order along it, and by part the ties it lies on, in order along the part."""
        by_tie: list[list[Lying]] = [[] for _ in self.ties]
        by_part: dict[str, list[tuple[int, Lying]]] = {name: [] for name in self.parts}
        if self.ties and len(self.rows):
            for tie, lying in self._clipped():
                by_tie[tie].append(lying)
                by_part[lying.part].append((tie, lying))
        for on_tie in by_tie:
            on_tie.sort(key=lambda lying: lying.low)
        for ties in by_part.values():
            ties.sort(key=lambda found: found[1].begin)
        return by_tie, by_part

    def _clipped(self) -> Iterator[tuple[int, Lying]]:
        """Yield each part that lies on a tie, with the index of the tie.

        Three lines of each part are clipped by each tie: both edges of its base and the middle of its head.
        """
        places = np.array([(*tie.centre, tie.angle, tie.length / 2, tie.width / 2) for tie in self.ties])
        axes = np.stack([np.cos(places[:, 2]), np.sin(places[:, 2])], 1)
        reach = np.abs(axes) * places[:, 3:4] + np.abs(axes[:, ::-1]) * places[:, 4:] + self.rows[:, 3:5].max()
        boxes = shapely.box(*(places[:, :2] - reach).T, *(places[:, :2] + reach).T)
        which, on = shapely.STRtree(boxes).query(self.lines)
        start, way, row = self.starts[which], self.ends[which] - self.starts[which], self.rows[which]
        length = np.hypot(*way.T)
        left = np.stack([-way[:, 1], way[:, 0]], 1) / length[:, None]
        axis, half, side = axes[on], places[on, 3], places[on, 4]
        square = np.stack([-axis[:, 1], axis[:, 0]], 1)
        lines = []
        for out in (-row[:, 3], np.zeros(len(which)), row[:, 4]):
            from_middle = start + out[:, None] * left - places[on, :2]
            first, slope = np.sum(from_middle * axis, 1), np.sum(way * axis, 1)
            ahead, rise = np.sum(from_middle * square, 1), np.sum(way * square, 1)
            (enter, leave), (near, far) = between(first, slope, half), between(ahead, rise, side)
            low, high = np.maximum(np.maximum(enter, near), 0.0), np.minimum(np.minimum(leave, far), 1.0)
            met = np.flatnonzero(high > low)
            low, high, slope = low[met], high[met], slope[met]
            # The first end lies half a length ahead of the centre.
            one, two = half[met] - first[met] - low * slope, half[met] - first[met] - high * slope
            run = row[met, 2] - row[met, 1]
            begin, end = row[met, 1] + low * run, row[met, 1] + high * run
            key = row[met, 0].astype(np.int64) * len(self.ties) + on[met]
            toward = -row[met, 5] * np.sum(left[met] * axis[met], 1)
            lines.append((key, np.minimum(one, two), np.maximum(one, two), begin, end, toward))
        yield from self._grouped([np.concatenate(column) for column in zip(*lines, strict=True)])

    def _grouped(self, columns: Sequence[Numbers]) -> Iterator[tuple[int, Lying]]:
        """Yield what clipped chords of one part on one tie make together."""
        keys, which = np.unique(columns[0], return_inverse=True)
        figures = []
        extremes = ((np.minimum, np.inf), (np.maximum, -np.inf)) * 2
        for values, (extreme, start) in zip(columns[1:5], extremes, strict=True):
            figures.append(np.full(len(keys), start))
            extreme.at(figures[-1], which, values)
        toward_gauge = np.bincount(which, columns[5], len(keys))
        inward = np.where(toward_gauge > 0.0, 1, -1)
        for key, (low, high, begin, end), toward in zip(
            keys.tolist(), np.stack(figures, 1).tolist(), inward.tolist(), strict=True
        ):
            part, tie = divmod(key, len(self.ties))
            yield tie, Lying(self.parts[part], low, high, begin, end, toward)


def _even(
    low: float, high: float, cuts: Sequence[BaseCut], section: Section
) -> Iterator[tuple[float, float, float, float]]:
    """Yield the stations between which a base is alike, with its reach from the middle of the head: inner, outer."""
    edges = {low, high, *(s for cut in cuts for s in (cut.low, cut.high) if low < s < high)}
    for begin, end in pairwise(sorted(edges)):
        middle = (begin + end) / 2
        gone = {cut.side for cut in cuts if cut.low < middle < cut.high}
        inner, outer = ((section.head if side in gone else section.base) / 2 for side in SIDES)
        yield begin, end, inner, outer
