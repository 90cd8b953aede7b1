"""Sort subjects of details into groups that look alike, so that a ladder's many frogs are drawn once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from msgspec import Struct

from turnout_templates.drafting.subjects import Subject
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.pose import Point

_ALIKE = 0.03
"""How far places of details that are alike may be apart at full size, mm: finer than anyone files (our choice)."""
_LOOKED_AT = (0.03, 0.47, 0.96)
"""Where rails are compared, in parts of what is shown: where none of them ends, which rounding would decide."""
_Places = tuple[str, tuple[Point, ...]]
"""Words, and the places that they are told of."""


class _Look(Struct, frozen=True):
    """How a subject looks from its pose: what is `told` of it, and where `rails` cross its ends and its middle."""

    told: tuple[_Places, ...]
    rails: tuple[tuple[_Places, ...], ...]


def group_alike(subjects: Sequence[Subject]) -> list[list[Subject]]:
    """Return the subjects in groups that differ by no more than `_ALIKE` mm anywhere, in the order of their firsts."""
    groups: list[list[Subject]] = []
    same_words: dict[tuple[str, ...], list[Subject]] = {}
    for subject in subjects:
        words = (remark.text for remark in (subject.words, *subject.remarks))
        same_words.setdefault((*words, *sorted(span.text for span in subject.spans)), []).append(subject)
    for members in same_words.values():
        groups += _grouped(members)
    place = {subject.id: number for number, subject in enumerate(subjects)}
    return sorted(groups, key=lambda group: place[group[0].id])


def _grouped(subjects: Sequence[Subject]) -> list[list[Subject]]:
    """Return the groups of subjects of which the same is told."""
    if len(subjects) == 1:
        return [list(subjects)]
    groups: list[tuple[_Look, list[Subject]]] = []
    for subject in subjects:
        look = _look(subject)
        group = next((members for other, members in groups if _are_alike(look, other)), None)
        if group is None:
            groups.append((look, [subject]))
        else:
            group.append(subject)
    return [members for _, members in groups]


def _are_alike(a: _Look, b: _Look) -> bool:
    return _match(a.told, b.told) and all(_match(p, q) for p, q in zip(a.rails, b.rails, strict=True))


def _match(a: Sequence[_Places], b: Sequence[_Places]) -> bool:
    """Tell whether each of `a` has a partner of its own in `b` with the same words and the same places."""
    left = list(b)
    for words, places in a:
        partner = next(
            (i for i, (other, there) in enumerate(left) if words == other and _are_near(places, there)), None
        )
        if partner is None:
            return False
        del left[partner]
    return not left


def _are_near(a: tuple[Point, ...], b: tuple[Point, ...]) -> bool:
    """Tell whether places are the same, from either end: where a route runs the other way, its lengths do."""
    return any(all(math.dist(p, q) <= _ALIKE for p, q in zip(a, way, strict=True)) for way in (b, b[::-1]))


def _look(subject: Subject) -> _Look:
    """Return how a subject looks from its pose."""
    local = subject.pose.local
    told = tuple((span.text, (local(span.start), local(span.end))) for span in subject.spans)
    xs = [local(point)[0] for point in subject.reach]
    low, high = min(xs), max(xs)
    return _Look(told, tuple(_rails_at(subject, low + share * (high - low)) for share in _LOOKED_AT))


def _rails_at(subject: Subject, x: float) -> tuple[_Places, ...]:
    """Return where gauge faces cross the line square to the pose, `x` mm ahead of it."""
    half = max(abs(subject.pose.local(point)[1]) for point in subject.reach)
    return tuple(("", ((0.0, y),)) for y in _faces_at(subject, x) if abs(y) < half)


def _faces_at(subject: Subject, x: float) -> Iterator[float]:
    for bar in subject.work.bars:
        for stretch in bar.stretches:
            route = subject.work.layout.route(stretch.owner.route)
            for curve in route.lie(stretch.owner.face, stretch.low, stretch.high):
                points = [subject.pose.local(point) for point in flatten(curve)]
                for (ax, ay), (bx, by) in pairwise(points):
                    if (ax - x) * (bx - x) < 0.0:
                        yield ay + (by - ay) * (x - ax) / (bx - ax)
