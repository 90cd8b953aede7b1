"""Sort subjects of details into groups that look alike, so that a ladder's many frogs are drawn once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from turnout_templates.drafting.subjects import Subject
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.pose import Point

_ALIKE = 0.03
"""How far places of details that are alike may be apart at full size, mm: finer than anyone files (our choice)."""
Outline = tuple[tuple[Point, ...], ...]


def group_alike(subjects: Sequence[Subject]) -> list[list[Subject]]:
    """Return the subjects in groups that differ by no more than `_ALIKE` mm anywhere, in the order of their firsts."""
    groups: list[list[Subject]] = []
    same_words: dict[tuple[str, ...], list[Subject]] = {}
    for subject in subjects:
        same_words.setdefault((subject.kind, *sorted(span.text for span in subject.spans)), []).append(subject)
    for members in same_words.values():
        groups += _grouped(members)
    place = {subject.id: number for number, subject in enumerate(subjects)}
    return sorted(groups, key=lambda group: place[group[0].id])


def _grouped(subjects: Sequence[Subject]) -> list[list[Subject]]:
    """Return the groups of subjects of which the same is told."""
    if len(subjects) == 1:
        return [list(subjects)]
    groups: list[tuple[Outline, list[Subject]]] = []
    for subject in subjects:
        outline = _outline(subject)
        group = next((members for other, members in groups if _are_alike(outline, other)), None)
        if group is None:
            groups.append((outline, [subject]))
        else:
            group.append(subject)
    return [members for _, members in groups]


def _are_alike(a: Outline, b: Outline) -> bool:
    if [len(chain) for chain in a] != [len(chain) for chain in b]:
        return False
    return all(math.dist(p, q) <= _ALIKE for p, q in zip(_points(a), _points(b), strict=True))


def _points(outline: Outline) -> Iterator[Point]:
    return (point for chain in outline for point in chain)


def _outline(subject: Subject) -> Outline:
    """Return what tells how a subject looks, as seen from its pose: its spans, and the rails through what it shows."""
    local = subject.pose.local
    told = sorted((span.text, local(span.start), local(span.end)) for span in subject.spans)
    spans = tuple((start, end) for _, start, end in told)
    xs = [local(point)[0] for point in subject.reach]
    left, right = min(xs), max(xs)
    return (*spans, *(_rails_at(subject, x) for x in (left, 0.0, right)))


def _rails_at(subject: Subject, x: float) -> tuple[Point, ...]:
    """Return where gauge faces cross the line square to the pose, `x` mm ahead of it, from right to left."""
    half = max(abs(subject.pose.local(point)[1]) for point in subject.reach)
    return tuple((x, y) for y in sorted(_faces_at(subject, x)) if abs(y) < half)


def _faces_at(subject: Subject, x: float) -> Iterator[float]:
    for bar in subject.work.bars:
        for stretch in bar.stretches:
            route = subject.work.layout.route(stretch.owner.route)
            for curve in route.lie(stretch.owner.face, stretch.low, stretch.high):
                points = [subject.pose.local(point) for point in flatten(curve)]
                for (ax, ay), (bx, by) in pairwise(points):
                    if (ax - x) * (bx - x) < 0.0:
                        yield ay + (by - ay) * (x - ax) / (bx - ax)
