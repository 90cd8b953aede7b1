"""What the sheets add inside their frames keeps off the drawing: notes on edges, names of edges, bars' words, marks."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from paper.reading import Points, Sheet, Words
from paper.samples import CASES, Laid, drawn, sheets

LONG = "13-long-two-gauge-junction"
every_case = pytest.mark.parametrize(("name", "paper"), [*CASES, (LONG, "A4")])
LETTERS = 0.05
"""mm: how much smaller than the reader's boxes the letters are at least, all round."""
Box = tuple[float, float, float, float]


def added(laid: Laid, *beginnings: str) -> Iterator[tuple[Words, Box]]:
    """Yield the words that a sheet adds inside its frame, with the box of their letters."""
    bottom = laid.frame[1]
    for words in laid.sheet.words:
        upright_bar = words.text.split()[1:3] == ["mm", "="] and words.angle > 1.0
        if words.window is None and (words.text.startswith(beginnings) or ("bar" in beginnings and upright_bar)):
            box = box_of(np.array(words.corners()))
            assert box[1] > bottom
            yield words, box


def box_of(points: Points) -> Box:
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    return (left + LETTERS, bottom + LETTERS, right - LETTERS, top - LETTERS)


def lines_in(page: Sheet, box: Box) -> int:
    """Return how many straight bits of the drawing's lines reach into a box (Liang and Barsky's clipping)."""
    count = 0
    for ink in page.ink:
        if ink.window is None or not touch(ink.box, box):
            continue
        for chain in ink.chains:
            count += int(_crossed(chain[:-1], chain[1:], box).sum())
    return count


def touch(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _crossed(starts: Points, ends: Points, box: Box) -> Points:
    enter, leave = np.zeros(len(starts)), np.ones(len(starts))
    outside = np.zeros(len(starts), dtype=bool)
    for axis in (0, 1):
        step = ends[:, axis] - starts[:, axis]
        for sign, bound in ((-1.0, box[axis]), (1.0, box[axis + 2])):
            ahead, room = sign * step, sign * (bound - starts[:, axis])
            outside |= (ahead == 0.0) & (room < 0.0)
            with np.errstate(divide="ignore", invalid="ignore"):
                at = room / ahead
            enter = np.where(ahead < 0.0, np.maximum(enter, at), enter)
            leave = np.where(ahead > 0.0, np.minimum(leave, at), leave)
    return ~outside & (enter < leave)


def texts_in(page: Sheet, box: Box) -> list[str]:
    """Return the texts of the drawing whose letters reach into a box: none of the four directions separates the two."""
    corners = np.array([(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])])
    found = []
    for words in page.words:
        if words.window is None:
            continue
        own = np.array(words.corners())
        angles = (0.0, math.pi / 2, words.angle, words.angle + math.pi / 2)
        spans = [(side @ own.T, side @ corners.T) for side in (np.array([math.cos(a), math.sin(a)]) for a in angles)]
        if all(a.min() + 2 * LETTERS < b.max() and b.min() + 2 * LETTERS < a.max() for a, b in spans):
            found.append(words.text)
    return found


@every_case
def test_notes_on_edges_and_words_in_bars_stand_on_bare_paper(name: str, paper: str | None) -> None:
    for laid in sheets(name, paper):
        for words, box in added(laid, "cut here", "glue under", "bar"):
            assert texts_in(laid.sheet, box) == [], words.text
            assert lines_in(laid.sheet, box) == 0, words.text


@every_case
def test_names_of_edges_and_marks_lie_on_no_text(name: str, paper: str | None) -> None:
    for laid, sheet in zip(sheets(name, paper), drawn(name, paper).plan.sheets, strict=True):
        boxes = [box for _, box in added(laid, "edge of sheet")]
        middles = [sheet.placement.apply(mark) for join in sheet.joins for mark in join.marks]
        boxes += [(x - 2.0, y - 2.0, x + 2.0, y + 2.0) for x, y in middles]
        for box in boxes:
            assert texts_in(laid.sheet, box) == []


@every_case
def test_each_edge_of_a_sheet_has_its_note_by_its_own_edge(name: str, paper: str | None) -> None:
    """A note may reach past what two sheets share, but into nothing that the same side shares with a third."""
    for laid, sheet in zip(sheets(name, paper), drawn(name, paper).plan.sheets, strict=True):
        notes = {int(words.text.split()[-1]): box for words, box in added(laid, "cut here", "glue under")}
        assert set(notes) == {join.neighbour for join in sheet.joins}
        for join in sheet.joins:
            box, axis = notes[join.neighbour], 1 if join.side in ("left", "right") else 0
            for other in sheet.joins:
                if other is not join and other.side == join.side:
                    own, others = (
                        (j.area.bottom, j.area.top) if axis else (j.area.left, j.area.right) for j in (join, other)
                    )
                    middle = (box[axis] + box[axis + 2]) / 2
                    assert _away(middle, own) < _away(middle, others) or _away(middle, own) == 0.0


def _away(place: float, span: tuple[float, float]) -> float:
    return max(span[0] - place, place - span[1], 0.0)
