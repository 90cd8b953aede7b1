"""Find on a page what people measure by: firm lines, crosses and rings of frogs, registration marks, bars."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from paper.reading import Ink, Points, Sheet, Words
from paper.samples import Laid

BAR = 0.01
"""mm: the design's bar for a point read back."""
FACE, MARK, REGISTRATION, FEEDER, DRILL = 0.2, 0.15, 0.12, 0.11, 0.08
"""Widths in mm of gauge faces, of the marks of frogs and switches, of registration marks."""
TICKS = (0.18, 0.12)
"""Widths in mm of bars to measure: beside the drawing, and over it."""
CROSS, RING = 3.0, 0.8
"""Arms of the cross at a frog's theoretical point and diameter of the ring at its practical one, mm, at the most."""
CROSS_HEADS, RING_HEADS = 3.0, 1.0
"""The same in widths of the rail's head, at the most."""


def distances(points: Points, lines: list[Any]) -> Any:
    """Return how far each of the points is from the nearest of the lines, mm."""
    return shapely.STRtree(lines).query_nearest(shapely.points(points), return_distance=True, all_matches=False)[1]


def along(chain: Points, step: float = 1.0) -> Points:
    """Return points on a chain, at most `step` mm apart."""
    return shapely.get_coordinates(shapely.segmentize(shapely.LineString(chain), step))


def firm_lines(laid: Laid) -> list[Any]:
    """Return the firm lines of a sheet in mm of the drawing."""
    return [
        shapely.LineString(laid.home(chain))
        for ink in laid.sheet.lines(width=FACE)
        if ink.window is not None
        for chain in ink.chains
    ]


def crosses(page: Sheet) -> Iterator[Points]:
    """Yield the middle of every cross: two lines of one length that halve each other squarely."""
    for ink in page.lines(width=MARK):
        if len(ink.chains) == 2 and all(len(chain) == 2 for chain in ink.chains):
            first, second = ink.chains
            assert abs(math.dist(*first) - math.dist(*second)) < BAR and 1.0 < math.dist(*first) < CROSS + BAR
            assert math.dist(first.mean(axis=0), second.mean(axis=0)) < BAR
            assert abs(np.dot(first[1] - first[0], second[1] - second[0])) < BAR
            yield first.mean(axis=0)


def rings(page: Sheet) -> Iterator[Points]:
    """Yield the middle of every ring."""
    for ink in page.lines(width=MARK):
        if len(ink.chains) == 1 and len(ink.points) > 40:
            (diameter, _) = np.ptp(ink.chains[0], axis=0)
            assert 0.4 < diameter < RING + BAR
            yield _middle_of_circle(ink.chains[0], diameter)


def registration_marks(page: Sheet) -> list[Points]:
    """Return the middle of every registration mark: a circle of 2.4 mm in a cross of 4 mm, over the drawing."""
    found = []
    for ink in page.lines(width=REGISTRATION):
        if len(ink.chains) == 3 and ink.window is None:
            circle, *cross = ink.chains
            middle = _middle_of_circle(circle, 2.4)
            for line in cross:
                assert abs(math.dist(*line) - 4.0) < BAR and math.dist(line.mean(axis=0), middle) < BAR
            found.append(middle)
    return found


def _middle_of_circle(points: Points, diameter: float) -> Points:
    low, high = points.min(axis=0), points.max(axis=0)
    assert np.abs(high - low - diameter).max() < BAR
    return (low + high) / 2


@dataclass(frozen=True)
class Joint:
    """Two sheets that share marks: the places of the marks on the page of either, and the move between the pages."""

    here: Laid
    there: Laid
    own: Points
    other: Points

    @property
    def _turn(self) -> Any:
        first, second = (math.atan2(*(marks[1] - marks[0])[::-1]) for marks in (self.own, self.other))
        cosine, sine = math.cos(first - second), math.sin(first - second)
        return np.array([[cosine, sine], [-sine, cosine]])

    def to_here(self, points: Points) -> Points:
        """Return where points of the later page come to lie on the earlier one when mark lies on mark."""
        return (points - self.other.mean(axis=0)) @ self._turn + self.own.mean(axis=0)


def joints(laid: list[Laid]) -> list[Joint]:
    """Return every pair of sheets with marks that are one in the drawing; fails where a mark has no partner."""
    marks = {sheet.number: registration_marks(sheet.sheet) for sheet in laid}
    matched: dict[int, set[int]] = {number: set() for number in marks}
    found = []
    for k, here in enumerate(laid):
        for there in laid[k + 1 :]:
            pairs = [
                (i, j)
                for i, own in enumerate(marks[here.number])
                for j, other in enumerate(marks[there.number])
                if math.dist(here.home(own), there.home(other)) < BAR
            ]
            if pairs:
                own = np.array([marks[here.number][i] for i, _ in pairs])
                other = np.array([marks[there.number][j] for _, j in pairs])
                found.append(Joint(here, there, own, other))
                matched[here.number] |= {i for i, _ in pairs}
                matched[there.number] |= {j for _, j in pairs}
    assert all(len(matched[number]) == len(marks[number]) for number in marks), "a mark without a partner"
    return found


@dataclass(frozen=True)
class MeasuredBar:
    """A bar to measure as it lies on the page: what it says it is, in mm, and how far its end ticks are apart."""

    label: str
    says: float
    also_says: float
    is_upright: bool
    measures: float


_LABEL = re.compile(r"([\d.]+) (mm|in)(?: = ([\d.]+) in)?")


def bars(page: Sheet) -> list[MeasuredBar]:
    """Return the bars of a page, by their labels; each has two ticks square to it, their middles on its line."""
    every = [ink for width in TICKS for ink in page.lines(width=width)]
    lines = [ink for ink in every if ink.window is None and len(ink.points) == 2]
    found = []
    for words in page.words:
        if words.window is None and (said := _LABEL.fullmatch(words.text)):
            length = float(said[1]) * (25.4 if said[2] == "in" else 1.0)
            inches = float(said[3]) * 25.4 if said[3] else length
            is_upright = abs(words.angle - math.pi / 2) < 1e-6
            assert is_upright or abs(words.angle) < 1e-6
            found.append(MeasuredBar(words.text, length, inches, is_upright, _between_ticks(words, lines, is_upright)))
    return found


def _between_ticks(words: Words, lines: list[Ink], is_upright: bool) -> float:
    """Return the distance of the ticks at the far ends of the two halves of the bar that a label stands between."""
    axis = 1 if is_upright else 0
    corners = np.array(words.corners())
    near, far = corners[:, axis].min(), corners[:, axis].max()
    level = corners[:, 1 - axis].mean()
    ticks = [line.points.mean(axis=0) for line in lines if np.ptp(line.points[:, axis]) < 1e-6]
    halves = [line.points for line in lines if np.ptp(line.points[:, 1 - axis]) < 1e-6]
    halves = [half for half in halves if abs(half[0, 1 - axis] - level) < 0.5 * words.size]
    (before,) = (half for half in halves if near - 2.0 < half[:, axis].max() <= near)
    (after,) = (half for half in halves if far <= half[:, axis].min() < far + 2.0)
    ends = (before[before[:, axis].argmin()], after[after[:, axis].argmax()])
    first, second = (min(ticks, key=lambda tick, end=end: math.dist(tick, end)) for end in ends)
    assert math.dist(first, ends[0]) < 1e-4 and math.dist(second, ends[1]) < 1e-4
    return math.dist(first, second)
