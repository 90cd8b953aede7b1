"""Regions: the stations of what lies far along a route, and intervals put together and taken apart."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from turnout_templates.geometry.path import Shape, join
from turnout_templates.geometry.pose import Pose
from turnout_templates.trackwork.rails.regions import SLIVER, merged, stations_of, strip, without

WINDING = [
    [Shape(803, 1 / 5370, 0.0), Shape(252, -1 / 2183, 1 / 4310), Shape(737)],
    [Shape(84, -1 / 634, 1 / 1195), Shape(303, 1 / 2246, 1 / 1617), Shape(471)],
    [Shape(420, 0.0, 1 / 300), Shape(300, 1 / 300, -1 / 300), Shape(200, -1 / 300, -1 / 300)],
    [Shape(500, 1 / 500, -1 / 500), Shape(500, -1 / 500, 1 / 500), Shape(900)],
    [Shape(1000)],
]


@pytest.mark.parametrize("shapes", WINDING, ids=range(len(WINDING)))
@pytest.mark.parametrize("part", [0.02, 0.3, 0.55, 0.8, 0.97])
def test_a_region_is_found_where_it_lies(shapes: list[Shape], part: float) -> None:
    path = join(Pose(30, -20, 2.4), shapes)
    low = part * path.length
    high = low + 0.02 * path.length
    found = stations_of(strip(path, 3.0, 5.5, low, high), path)
    assert found == pytest.approx((low, high), abs=1e-6)


spans = st.lists(
    st.tuples(st.integers(0, 60), st.integers(1, 12)).map(lambda pair: (float(pair[0]), float(sum(pair)))), max_size=6
)


@given(spans)
def test_what_is_left_and_what_is_taken_make_the_whole(holes: list[tuple[float, float]]) -> None:
    whole = (5.0, 55.0)
    left = without(whole, holes)
    for middle in (i + 0.5 for i in range(75)):
        inside = whole[0] < middle < whole[1] and not any(low < middle < high for low, high in holes)
        assert any(low < middle < high for low, high in left) == inside
    assert left == sorted(left)
    assert all(high - low > SLIVER for low, high in left)


@given(spans, st.integers(0, 5))
def test_merged_intervals_are_further_apart_than_the_gap(intervals: list[tuple[float, float]], gap: int) -> None:
    joined = merged(intervals, float(gap))
    for (_, high), (low, _) in pairwise(joined):
        assert low - high > gap
    for low, high in intervals:
        assert sum(a <= low and high <= b for a, b in joined) == 1
    assert sum(high - low for low, high in joined) >= max((high - low for low, high in intervals), default=0.0)
