"""Parallels: their own length, the way there and back, and the chunks that searches run on."""

from __future__ import annotations

import math

import pytest
from geometry.curves import dense_line, floats, near, paths, whole
from hypothesis import given, settings
from hypothesis import strategies as st

from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.tolerances import CHUNK_TURN

offsets = floats(-80, 80)


@settings(max_examples=30)
@given(paths, offsets)
def test_a_parallel_is_as_long_as_its_chords_come_to(path: Path, offset: float) -> None:
    curve = whole(path, offset)
    count = 4000
    chords = dense_line(curve, count).length
    # A chord over the turn w falls short by w^2/24 of its length; w is at most length/(250 count).
    short = chords * (path.length / 250 / count) ** 2 / 10
    assert chords - 1e-7 <= curve.length_between(0.0, path.length) <= chords + short + 1e-7


def test_the_length_of_a_parallel_in_closed_form() -> None:
    # A quarter circle of 600 mm radius, 8.25 mm to its left: radius 591.75; then a straight.
    path = join(Pose(0, 0, 0.3), [Shape(300 * math.pi, 1 / 600, 1 / 600), Shape(50)])
    assert whole(path, 8.25).length_between(0.0, path.length) == pytest.approx(591.75 * math.pi / 2 + 50, abs=1e-10)
    # However curvature is spread over it, a parallel loses offset times turning: here 8.25 x 120/(2 x 600).
    eased = join(Pose(0, 0, 0), [Shape(120, 0.0, 1 / 600)])
    assert whole(eased, 8.25).length_between(0.0, 120.0) == pytest.approx(120 - 8.25 * 0.1, abs=1e-12)


@given(paths, offsets, floats(0, 1), floats(-1, 1))
def test_a_distance_along_a_parallel_there_and_back(path: Path, offset: float, part: float, way: float) -> None:
    curve = whole(path, offset)
    s = part * path.length
    distance = way * 100
    there = curve.station_after(s, distance)
    assert curve.length_between(s, there) == pytest.approx(distance, abs=1e-9)
    assert curve.station_after(there, -distance) == pytest.approx(s, abs=1e-8)


@given(paths, offsets, floats(0, 1))
def test_a_parallel_lies_at_its_offset(path: Path, offset: float, part: float) -> None:
    s = part * path.length
    point = whole(path, offset).point_at(s)
    assert path.foot_near(point, s)[1] == pytest.approx(offset, abs=1e-9)
    assert whole(path, offset).pose_at(s).heading == path.heading_at(s)


@given(st.lists(st.tuples(floats(20, 500), floats(-1 / 250, 1 / 250)), min_size=1, max_size=4), offsets, floats(0, 1))
def test_the_parallel_of_a_parallel_is_the_path(bends: list[tuple[float, float]], offset: float, part: float) -> None:
    """The parallel of lines and arcs is lines and arcs: written out as a path, and moved back, it is the first."""
    path = join(Pose(3, -2, 0.7), [Shape(length, k, k) for length, k in bends])
    shapes = [Shape(length * (1 - offset * k), k / (1 - offset * k), k / (1 - offset * k)) for length, k in bends]
    beside = join(path.start.shifted(offset), shapes)
    s = part * path.length
    along = whole(path, offset).length_between(0.0, s)
    assert near(beside.point_at(along), whole(path, offset).point_at(s), 1e-8)
    assert near(beside.point_at(along, -offset), path.point_at(s), 1e-8)


@given(paths, offsets, floats(0, 0.4), floats(0.6, 1))
def test_chunks_follow_one_another_and_turn_little(path: Path, offset: float, a: float, b: float) -> None:
    curve = Parallel(path, offset, a * path.length, b * path.length)
    at = curve.low
    for chunk in curve.chunks():
        assert chunk.begin + chunk.low == pytest.approx(at, abs=1e-9)
        assert 0.0 <= chunk.low < chunk.high <= chunk.piece.length
        assert chunk.piece.turning(chunk.low, chunk.high) <= CHUNK_TURN + 1e-9
        at = chunk.begin + chunk.high
    assert at == pytest.approx(curve.high, abs=1e-9)


@given(paths, offsets)
def test_a_chunk_lies_in_its_box(path: Path, offset: float) -> None:
    for chunk in whole(path, offset).chunks():
        left, bottom, right, top = chunk.box()
        for i in range(21):
            x, y = chunk.point_at(chunk.low + (chunk.high - chunk.low) * i / 20)
            assert left <= x <= right and bottom <= y <= top
