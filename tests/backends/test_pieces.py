"""Pieces: a path taken apart is the same line; each view is given just the pieces that it shows."""

import math
from itertools import pairwise

import pytest
from drawing.shapes import angles, arcs, paths, placements, points_along
from hypothesis import given
from hypothesis import strategies as st

from turnout_templates.backends.pieces import ARC_STEP, PIECE_LENGTH, Piece, arc_cubics, cut_to_pieces, shown_in
from turnout_templates.drawing.bounds import Box, item_bounds
from turnout_templates.drawing.items import Item, MarkItem, PathItem, Stroke, TextItem
from turnout_templates.drawing.place import placed
from turnout_templates.geometry.pose import Placement
from turnout_templates.geometry.segments import ArcSegment, LineSegment
from turnout_templates.sheets.pages import View


@given(arcs)
def test_cubics_follow_their_arc_within_a_micrometre(arc: ArcSegment) -> None:
    cubics = list(arc_cubics(arc))
    assert cubics[0].start == pytest.approx(arc.start, abs=1e-9)
    assert cubics[-1].end == pytest.approx(arc.end, abs=1e-6)
    for cubic in cubics:
        for x, y in points_along(cubic, 16):
            # A cubic for an angle a errs by about R a^6 / 11,600 (2.7e-4 R at 90 degrees, to the sixth power below).
            worst = 2.8e-4 * arc.radius * (ARC_STEP / (math.pi / 2)) ** 6 + 1e-9
            assert abs(math.hypot(x - arc.centre[0], y - arc.centre[1]) - arc.radius) <= worst


def test_the_error_at_a_radius_of_15_metres_is_about_a_micrometre() -> None:
    arc = ArcSegment((0.0, 0.0), 15_000.0, 0.0, ARC_STEP)
    (cubic,) = arc_cubics(arc)
    worst = max(abs(math.hypot(*point) - 15_000.0) for point in points_along(cubic, 500))
    assert worst < 0.0012


@given(
    st.lists(
        st.tuples(st.floats(10, 900), st.floats(-0.9, 0.9).filter(lambda s: abs(s) > 0.01)), min_size=1, max_size=6
    ),
    angles,
)
def test_pieces_of_a_smooth_path_join_up_to_the_path(turns: list[tuple[float, float]], heading: float) -> None:
    segments = []
    x, y = 0.0, 0.0
    for radius, sweep in turns:
        hand = math.copysign(1.0, sweep)
        centre = (x - hand * radius * math.sin(heading), y + hand * radius * math.cos(heading))
        segments.append(ArcSegment(centre, radius, heading - hand * math.pi / 2, sweep))
        x, y = segments[-1].end
        heading += sweep
    path = PathItem(tuple(segments), Stroke(0.2, (6.0, 2.0)), "lines")
    pieces = cut_to_pieces([path])
    parts = [segment for piece in pieces for segment in piece.item.segments]  # type: ignore[union-attr]
    for one, following in pairwise(parts):
        assert one.end == pytest.approx(following.start, abs=1e-7)
    total = sum(abs(sweep) * radius for radius, sweep in turns)
    assert sum(abs(part.sweep) * part.radius for part in parts) == pytest.approx(total, rel=1e-3)
    lengths = [sum(abs(s.sweep) * s.radius for s in piece.item.segments) for piece in pieces]  # type: ignore[union-attr]
    assert max(lengths) < 2.6 * PIECE_LENGTH
    for before, piece in zip([0.0, *list(_running(lengths))], pieces, strict=False):
        assert piece.before == pytest.approx(before, rel=1e-9, abs=1e-6)


def _running(lengths: list[float]) -> list[float]:
    totals, total = [], 0.0
    for length in lengths:
        total += length
        totals.append(total)
    return totals


def test_a_path_is_not_taken_apart_at_a_corner() -> None:
    corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (400.0, 200.0)]
    path = PathItem(tuple(LineSegment(p, q) for p, q in pairwise(corners)), Stroke(0.5), "lines")
    assert list(cut_to_pieces([path])) == [Piece(path, item_bounds(path))]


@given(st.lists(paths, max_size=6), placements, st.floats(0.05, 1))
def test_a_view_leaves_out_no_piece_that_reaches_into_it(lines: list[Item], move: Placement, scale: float) -> None:
    view = View(move, Box(-300.0, -200.0, 400.0, 350.0), scale)
    pieces = cut_to_pieces(lines)
    shown = set(shown_in(view, pieces))
    for index, piece in enumerate(pieces):
        for segment in piece.item.segments:  # type: ignore[union-attr]
            for point in points_along(segment, 40):
                x, y = view.page_point(point)
                if -300 <= x <= 400 and -200 <= y <= 350:
                    assert index in shown


@given(st.floats(-60, 160), st.floats(-60, 160), angles)
def test_a_text_is_shown_just_where_it_is_whole(x: float, y: float, angle: float) -> None:
    text = TextItem("a name of some length", (x, y), 4.0, "labels", angle)
    view = View(Placement(0.3, 10.0, -5.0), Box(0.0, 0.0, 120.0, 90.0), texts=Box(0.0, 0.0, 115.0, 90.0))
    box = item_bounds(placed(text, view.placement))
    whole = box.left >= 0 and box.bottom >= 0 and box.right <= 115 and box.top <= 90
    assert list(shown_in(view, cut_to_pieces([text]))) == ([0] if whole else [])


def test_each_of_many_views_looks_at_few_pieces() -> None:
    """Work is capped: a window on a long drawing asks for what is near it, however long the drawing is."""
    marks = [MarkItem("cross", (10.0 * k, 0.0), 2.0, "marks") for k in range(3000)]
    pieces = cut_to_pieces(marks)
    for start in range(0, 30_000, 3000):
        near = pieces.near(Box(start, -50.0, start + 200.0, 50.0))
        assert len(list(near)) <= 60
    assert list(pieces.near(Box(-1e6, -1e6, 1e6, 1e6))) == list(range(3000))


def test_a_very_large_piece_is_near_everything() -> None:
    huge = PathItem((LineSegment((-50_000.0, -50_000.0), (50_000.0, 50_000.0)),), Stroke(0.2), "lines")
    pieces = cut_to_pieces([huge, *(MarkItem("cross", (200.0 * k, 0.0), 2.0, "marks") for k in range(50))])
    assert list(pieces.near(Box(910.0, 910.0, 990.0, 990.0))) == [0]
