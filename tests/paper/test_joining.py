"""Sheets joined as people join them: mark on mark, and what both show lies on itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from paper.marks import BAR, DRILL, FEEDER, MARK, REGISTRATION, Joint, along, distances, joints
from paper.reading import Points, Sheet
from paper.samples import CASES, sheets

every_case = pytest.mark.parametrize(("name", "paper"), CASES)


@every_case
def test_all_sheets_hang_together_by_pairs_of_marks(name: str, paper: str | None) -> None:
    laid = sheets(name, paper)
    reached = {laid[0].number}
    for joint in joints(laid):
        assert len(joint.own) == 2
        assert abs(math.dist(*joint.own) - math.dist(*joint.other)) < BAR
        # Marks near the quarters of an edge, so half an edge apart; the shortest edge that is joined has 20 mm.
        assert math.dist(*joint.own) > 0.3 * 20.0
        for here in (joint.here, joint.there):
            assert here.framed(joint.own if here is joint.here else joint.other, inside=2.0).all()
    for joint in [*joints(laid)] * len(laid):
        pair = {joint.here.number, joint.there.number}
        reached |= pair if pair & reached else set()
    assert reached == {sheet.number for sheet in laid}


@every_case
def test_neighbours_laid_mark_on_mark_show_the_same(name: str, paper: str | None) -> None:
    """The move from sheet to sheet is taken from the marks on the paper alone."""
    compared = 0
    for joint in joints(sheets(name, paper)):
        points = np.concatenate([along(line) for line in drawn_lines(joint.there.sheet)])
        moved = joint.to_here(points)
        shared = joint.here.framed(moved, inside=0.1) & joint.there.framed(points, inside=0.1)
        lines = [shapely.LineString(line) for line in drawn_lines(joint.here.sheet)]
        assert distances(moved[shared], lines).max() < BAR
        compared += int(shared.sum())
    assert compared > 100 or len(sheets(name, paper)) == 1


def drawn_lines(page: Sheet) -> list[Points]:
    """All lines of the drawing on a page but the marks, which show only where they are whole."""
    return [
        chain
        for ink in page.ink
        if ink.window is not None and ink.paint == "S" and not _is_mark(ink.width, len(ink.points))
        for chain in ink.chains
    ]


def _is_mark(width: float, count: int) -> bool:
    thin = {REGISTRATION: 2, DRILL: 4}
    return min(abs(width - MARK), abs(width - FEEDER)) < 1e-6 or any(
        abs(width - pen) < 1e-6 and count == points for pen, points in thin.items()
    )


def test_a_mark_that_is_off_is_seen() -> None:
    joint = joints(sheets("02-two-gauge-curve-narrow-leaves", None))[0]
    off = Joint(joint.here, joint.there, joint.own + (0.02, 0.0), joint.other)
    points = drawn_lines(joint.there.sheet)[0]
    assert math.dist(off.to_here(points)[0], joint.to_here(points)[0]) > BAR
