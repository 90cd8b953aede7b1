"""All crossings of two parallels: against brute force, closed forms, and the awkward places one by one."""

from __future__ import annotations

import math
import random

import numpy as np
import numpy.typing as npt
import pytest
from geometry.curves import dense, dense_line, floats, near, paths, shapes, whole
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import get_coordinates
from shapely.geometry import LineString
from shapely.geometry import Point as Spot

from turnout_templates.geometry.crossing import Crossing, find_crossings
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.pose import Point, Pose

offsets = floats(-40, 40)


@st.composite
def meeting_curves(draw: st.DrawFn) -> tuple[Parallel, Parallel]:
    """Return two parallels of which the second is aimed at a place of the first."""
    first, second = draw(paths), join(Pose(0, 0, 0), draw(st.lists(shapes, min_size=1, max_size=4)))
    there = first.pose_at(draw(floats(0.1, 0.9)) * first.length)
    u = draw(floats(0.1, 0.9)) * second.length
    here = second.pose_at(u)
    # Move and turn the second so that its pose at u lies on `there`, turned by some angle.
    turn = there.heading - here.heading + draw(floats(-math.pi, math.pi))
    cosine, sine = math.cos(turn), math.sin(turn)
    x, y = there.x - here.x * cosine + here.y * sine, there.y - here.x * sine - here.y * cosine
    moved = join(Pose(x, y, turn), [Shape(p.length, p.from_curvature, p.to_curvature) for p in second.pieces])
    return whole(first, draw(offsets)), whole(moved, draw(offsets))


CHORD = 2.0
"""Length of brute force's chords in mm: at a radius of 210 mm they stray by 0.0024 mm."""
CLEAR = 0.03
"""Angle in radians between two curves from which on brute force is trusted, to CLOSE mm: 2 x 0.0024/0.03."""
CLOSE = 0.16


class Chords:
    """A curve as dense chords."""

    def __init__(self, curve: Parallel) -> None:
        count = max(4, math.ceil((curve.high - curve.low) / CHORD))
        poses = [curve.pose_at(curve.low + (curve.high - curve.low) * i / count) for i in range(count + 1)]
        self.places = np.array([pose.point for pose in poses])
        self.headings = np.array([pose.heading for pose in poses])

    def headings_near(self, point: Point) -> npt.NDArray[np.float64] | None:
        """Return the headings within three chords of a point, None where an end of the curve lies there."""
        close = np.hypot(*(self.places - point).T) < 3 * CHORD
        return None if close[0] or close[-1] or not close.any() else self.headings[close]


def crossings_of(a: Chords, b: Chords) -> list[Point]:
    """Return where the chords of two curves cross."""
    return [(float(x), float(y)) for x, y in get_coordinates(LineString(a.places).intersection(LineString(b.places)))]


def is_plain(a: Chords, b: Chords, point: Point) -> bool:
    """Say whether brute force can be trusted near a point: a clear angle between the curves, and no end near by."""
    p, q = a.headings_near(point), b.headings_near(point)
    return p is not None and q is not None and bool((np.abs(np.sin(np.subtract.outer(p, q))) > CLEAR).all())


def check_crossing(a: Parallel, b: Parallel, crossing: Crossing) -> None:
    """Assert that a crossing is one: refined to rounding, and the second curve changes side there."""
    assert a.low < crossing.s < a.high and b.low < crossing.t < b.high
    assert near(
        a.point_at(crossing.s), b.point_at(crossing.t), 1e-11 if abs(math.sin(crossing.angle)) > CLEAR else 1e-9
    )
    assert near(a.point_at(crossing.s), crossing.point, 1e-9)
    turn = b.pose_at(crossing.t).heading - a.pose_at(crossing.s).heading
    assert abs(math.remainder(turn - crossing.angle, math.tau)) < 1e-12


def winding(pick: random.Random) -> Parallel:
    """Return a curve of many pieces that winds to both sides about the middle of the field, drawn by chance."""
    shapes = []
    for _ in range(pick.randint(4, 12)):
        bends = [pick.choice([0.0, 1.0, -1.0]) / pick.uniform(240, 700) for _ in range(2)]
        if pick.random() < 0.5:
            bends[1] = bends[0]
        shapes.append(Shape(pick.uniform(60, 700), *bends))
    heading = pick.uniform(-4, 4)
    x, y = np.mean(dense(whole(join(Pose(0, 0, heading), shapes)), 40), axis=0)
    start = Pose(pick.uniform(-100, 100) - float(x), pick.uniform(-100, 100) - float(y), heading)
    return whole(join(start, shapes), pick.uniform(-30, 30))


def check_against_chords(a: Parallel, b: Parallel) -> int:
    """Assert that none is missed, none invented and none found twice; return how many were compared."""
    found = find_crossings(a, b)
    for crossing in found:
        check_crossing(a, b, crossing)
    assert [c.s for c in found] == sorted(c.s for c in found)
    chords = Chords(a), Chords(b)
    got = [c.point for c in found if is_plain(*chords, c.point)]
    wanted = [point for point in crossings_of(*chords) if is_plain(*chords, point)]
    for point in wanted:
        assert sum(near(point, other, CLOSE) for other in got) == 1
    for point in got:
        assert sum(near(point, other, CLOSE) for other in wanted) == 1
    return len(wanted)


def test_none_missed_none_invented_none_twice() -> None:
    pick = random.Random(11)
    compared = [check_against_chords(winding(pick), winding(pick)) for _ in range(120)]
    # Enough of them, and some that cross again and again.
    assert sum(compared) > 150 and max(compared) >= 4


@settings(max_examples=60)
@given(meeting_curves())
def test_none_missed_none_invented_none_twice_at_the_edges(
    curves: tuple[Parallel, Parallel],
) -> None:
    check_against_chords(*curves)


@settings(max_examples=40)
@given(meeting_curves())
def test_it_matters_not_which_curve_comes_first_nor_which_way_they_run(curves: tuple[Parallel, Parallel]) -> None:
    a, b = curves
    found = find_crossings(a, b)
    swapped = sorted(find_crossings(b, a), key=lambda c: c.t)
    back = sorted(find_crossings(whole(a.path.reversed(), -a.offset), b), key=lambda c: -c.s)
    for others in (swapped, back):
        assert len(others) == len(found)
        assert all(near(c.point, other.point, 1e-8) for c, other in zip(found, others, strict=True))
    for crossing, other in zip(found, swapped, strict=True):
        assert abs(math.sin(crossing.angle + other.angle)) < 1e-12


STRAIGHT = join(Pose(-500, 0, 0), [Shape(1000)])


def line(x: float, y: float, degrees: float, length: float = 1000.0) -> Parallel:
    """Return a straight through a point at its middle."""
    return whole(join(Pose(x, y, math.radians(degrees)).ahead(-length / 2), [Shape(length)]))


def circle(x: float, y: float, radius: float) -> Parallel:
    """Return a whole circle around a point, from its lowest point on, counter-clockwise."""
    return whole(join(Pose(x, y - radius, 0), [Shape(math.tau * radius, 1 / radius, 1 / radius)]))


@pytest.mark.parametrize("degrees", [0.05, 0.5, 9.53, 90, 135, 179.5, -9.53, -178])
def test_two_lines(degrees: float) -> None:
    (crossing,) = find_crossings(whole(STRAIGHT, 8.25), line(30, 8.25, degrees))
    assert near(crossing.point, (30.0, 8.25), 1e-9)
    assert crossing.s == pytest.approx(530, abs=1e-9 / math.sin(math.radians(abs(degrees))) + 1e-9)
    assert math.degrees(crossing.angle) == pytest.approx(degrees, abs=1e-10)


@pytest.mark.parametrize("depth", [120.0, 30.0, 1.0, 1e-3, 1e-5, 1e-6])
def test_a_line_that_cuts_a_circle_by_little(depth: float) -> None:
    found = find_crossings(whole(STRAIGHT), circle(0, 600 - depth, 600))
    # x^2 + (600 - d)^2 = 600^2.
    x = math.sqrt(2 * 600 * depth - depth * depth)
    assert [c.point[0] for c in found] == pytest.approx([-x, x], abs=1e-7 + 1e-9 * 600 / x)


@pytest.mark.parametrize("depth", [0.0, -1e-9, -1e-6, -1e-3, -1.0])
def test_a_line_that_only_touches_a_circle_or_less(depth: float) -> None:
    assert find_crossings(whole(STRAIGHT), circle(0, 600 - depth, 600)) == []
    assert find_crossings(circle(0, 600 - depth, 600), whole(STRAIGHT)) == []


@pytest.mark.parametrize(("apart", "found"), [(1.0, 2), (799.0, 2), (799.9999, 2), (800.0001, 0), (801.0, 0)])
def test_two_circles(apart: float, found: int) -> None:
    crossings = find_crossings(circle(0, 0, 400), circle(apart, 0, 400))
    assert len(crossings) == found
    for crossing in crossings:
        assert crossing.point[0] == pytest.approx(apart / 2, abs=1e-7)


def test_circles_inside_one_another_meet_nowhere() -> None:
    assert find_crossings(circle(0, 0, 400), circle(50, 0, 300)) == []
    assert find_crossings(circle(0, 0, 400), circle(100, 0, 300)) == []  # touching from inside


@pytest.mark.parametrize("height", [0.0, 5.0, -12.0])
def test_an_s_curve_over_a_line_three_times(height: float) -> None:
    """Two arcs that wind across the axis: each lies as a chord's height over it, so that roots are known."""
    radius, half = 500.0, 0.35
    start = Pose(-radius * 2 * math.sin(half), height, half)
    s_curve = join(
        start, [Shape(2 * half * radius, -1 / radius, -1 / radius), Shape(2 * half * radius, 1 / 500, 1 / 500)]
    )
    found = find_crossings(whole(STRAIGHT), whole(s_curve))
    if height == 0.0:
        # It begins and ends on the axis, where only an end touches; in the middle it crosses.
        assert [c.point for c in found] == [pytest.approx((0.0, 0.0), abs=1e-9)]
    # The arcs are circles whose centres lie radius cos(half) below, and above, the height of the ends.
    drop = radius * math.cos(half)
    middles = [-radius * math.sin(half), radius * math.sin(half)]
    if height > 0:
        reach = math.sqrt(radius**2 - (drop + height) ** 2)
        assert [c.point[0] for c in found] == pytest.approx([middles[1] - reach, middles[1] + reach], abs=1e-9)
    if height < 0:
        reach = math.sqrt(radius**2 - (drop - height) ** 2)
        assert [c.point[0] for c in found] == pytest.approx([middles[0] - reach, middles[0] + reach], abs=1e-9)


def test_a_clothoid_that_winds_through_a_line() -> None:
    """An easement from right to left has its turning point in the middle, where it is symmetrical."""
    ease = Shape(600, -1 / 300, 1 / 300)
    at_middle = join(Pose(0, 0, 0), [ease]).pose_at(300)
    for tilt, count in ((0.10, 1), (-0.10, 3)):
        turned = Pose(0, 0, -at_middle.heading + tilt)
        middle = join(turned, [ease]).pose_at(300)
        path = join(Pose(-middle.x, -middle.y, turned.heading), [ease])
        for offset in (0.0, 1e-9):
            found = find_crossings(whole(STRAIGHT, offset), whole(path, offset))
            # Symmetry about the middle puts one crossing there and the others evenly to its sides.
            xs = [c.point[0] for c in found]
            assert len(xs) == count
            assert xs == pytest.approx([-x for x in reversed(xs)], abs=1e-7)


LINE_THEN_LEFT = join(Pose(-300, 0, 0), [Shape(300), Shape(300, 1 / 700, 1 / 700)])


@pytest.mark.parametrize("degrees", [3, 45, 90, -60, 177])
@pytest.mark.parametrize("offset", [0.0, 8.25, -8.25])
def test_a_crossing_on_a_joint_of_pieces_is_found_once(degrees: float, offset: float) -> None:
    bent = whole(LINE_THEN_LEFT, offset)
    (crossing,) = find_crossings(bent, line(0, offset, degrees, 60))
    assert near(crossing.point, (0.0, offset), 1e-9) and crossing.s == pytest.approx(300, abs=1e-9)
    (crossing,) = find_crossings(line(0, offset, degrees, 60), bent)
    assert near(crossing.point, (0.0, offset), 1e-9) and crossing.t == pytest.approx(300, abs=1e-9)


def test_a_crossing_on_joints_of_both_is_found_once() -> None:
    other = join(Pose(0, -50, math.pi / 2), [Shape(50), Shape(50, -1 / 300, 0)])
    (crossing,) = find_crossings(whole(LINE_THEN_LEFT), whole(other))
    assert near(crossing.point, (0.0, 0.0), 1e-9)


@pytest.mark.parametrize("miss", [1e-8, 1e-7, 3e-7, 1e-5, 1e-3])
@pytest.mark.parametrize("way", [1, -1])
def test_crossings_a_hair_from_a_joint_are_found_once(miss: float, way: int) -> None:
    (crossing,) = find_crossings(whole(LINE_THEN_LEFT), line(way * miss, 0, 70, 60))
    assert crossing.point[0] == pytest.approx(way * miss, abs=1e-9)


def test_curves_that_coincide_do_not_cross() -> None:
    main = join(Pose(0, 0, 0.3), [Shape(100), Shape(200, 1 / 700, 1 / 700), Shape(150, 1 / 700, -1 / 900)])
    assert find_crossings(whole(main), whole(main)) == []
    assert find_crossings(whole(main, 8.25), whole(main.reversed(), -8.25)) == []
    assert find_crossings(whole(main), Parallel(main, 0.0, 50.0, 310.0)) == []
    # The same curve written as the parallel of another path.
    inner = join(Pose(0, 0, 0.3).shifted(5.0), [Shape(100), Shape(200 * 695 / 700, 1 / 695, 1 / 695)])
    assert find_crossings(whole(inner, -5.0), Parallel(main, 0.0, 0.0, 300.0)) == []


@pytest.mark.parametrize("bend", [1 / 600, -1 / 600])
def test_a_branch_that_starts_along_its_parent_does_not_cross_it_there(bend: float) -> None:
    main = join(Pose(0, 0, 0), [Shape(200), Shape(300, 1 / 2000, 1 / 2000)])
    branch = join(main.pose_at(120), [Shape(250, bend, bend)])
    assert find_crossings(whole(main), whole(branch)) == []
    shared = join(Pose(0, 0, 0), [Shape(120), Shape(250, bend, bend)])
    assert find_crossings(whole(main), whole(shared)) == []
    assert find_crossings(whole(shared, 8.25), whole(main, 8.25)) == []


def test_curves_that_coincide_for_a_while_cross_where_they_change_side() -> None:
    """They come from one side, run together, and part to the other side: one crossing, however long they touch."""
    main = join(Pose(0, 0, 0), [Shape(600)])
    over = join(Pose(200, 0, math.pi), [Shape(150, 1 / 400, 1 / 400)]).reversed()
    crosses = Path(
        (*over.pieces, *join(Pose(200, 0, over.end.heading), [Shape(80), Shape(150, 1 / 400, 1 / 400)]).pieces)
    )
    found = find_crossings(whole(main), whole(crosses))
    sides = [crosses.point_at(s)[1] for s in (0.0, crosses.length)]
    assert sides[0] < 0 < sides[1]
    assert len(found) <= 1
    if found:
        assert 200 - 1e-3 < found[0].s < 280 + 1e-3
    same_side = Path(
        (*over.pieces, *join(Pose(200, 0, over.end.heading), [Shape(80), Shape(150, -1 / 400, -1 / 400)]).pieces)
    )
    assert find_crossings(whole(main), whole(same_side)) == []


@pytest.mark.parametrize("gap", [1e-3, 1e-2, 1.0])
def test_crossings_next_to_each_other_are_two(gap: float) -> None:
    """A line over the ridge where an arc to the right follows an arc to the left."""
    ridge = join(Pose(0, 0, 0), [Shape(100, 1 / 500, 1 / 500), Shape(100, -1 / 300, -1 / 300)])
    curve = whole(ridge)
    p, q = ridge.point_at(140 - gap / 2), ridge.point_at(140 + gap / 2)
    heading = math.atan2(q[1] - p[1], q[0] - p[0])
    chord = whole(join(Pose(*p, heading).ahead(-20), [Shape(40)]))
    depth = gap * gap / 8 / 300
    found = find_crossings(curve, chord)
    # Under a depth of 1e-7 mm curves touch; above it they cross twice.
    if depth > 2e-7:
        assert [c.s for c in found] == pytest.approx([140 - gap / 2, 140 + gap / 2], abs=1e-6)
    else:
        assert found == []


def test_an_end_on_a_curve_is_no_crossing() -> None:
    ends_there = whole(join(Pose(0, -40, math.pi / 2), [Shape(40)]))
    assert find_crossings(whole(STRAIGHT), ends_there) == []
    assert find_crossings(ends_there, whole(STRAIGHT)) == []
    goes_past = whole(join(Pose(0, -40, math.pi / 2), [Shape(40 + 1e-5)]))
    assert len(find_crossings(whole(STRAIGHT), goes_past)) == 1


def test_curves_far_apart_and_side_by_side() -> None:
    main = join(Pose(0, 0, 0), [Shape(300, 1 / 800, 1 / 800), Shape(300, -1 / 800, 1 / 600)])
    assert find_crossings(whole(main, 8.25), whole(main, -8.25)) == []
    assert find_crossings(whole(main, 8.25), whole(main, 8.25 - 1e-5)) == []
    assert find_crossings(whole(main), line(9000, 9000, 45)) == []


def test_a_figure_of_eight_crosses_a_line_wherever_it_goes_over() -> None:
    radius = 300.0
    eight = join(
        Pose(0, 0, math.pi / 4),
        [
            Shape(1.5 * math.pi * radius, 1 / radius, 1 / radius),
            Shape(2 * radius),
            Shape(1.5 * math.pi * radius, -1 / 300, -1 / 300),
        ],
    )
    for degrees in (0, 17, 62, 91, 140):
        a, b = line(10, 40, degrees, 2500), whole(eight)
        chords = Chords(a), Chords(b)
        wanted = [p for p in crossings_of(*chords) if is_plain(*chords, p)]
        found = find_crossings(a, b)
        assert len(found) == len(wanted) > 1
        for crossing in found:
            check_crossing(a, b, crossing)
            assert sum(near(crossing.point, point, CLOSE) for point in wanted) == 1


@example(1)
@settings(max_examples=20)
@given(st.integers(0, 10**6))
def test_a_spot_on_both_curves_is_found_on_a_map_of_them(seed: int) -> None:
    """The point of a crossing lies on both curves as polylines see them."""
    start = Pose(seed % 7 - 3, seed % 11 - 5, seed % 13)
    a = whole(join(start, [Shape(400, 1 / (300 + seed % 97), -1 / 500)]), 3.0)
    b = whole(join(start.ahead(150).shifted(-60), [Shape(400, 1 / (200 + seed % 89), 1 / 900)]), -2.0)
    for crossing in find_crossings(a, b):
        for curve in (a, b):
            assert dense_line(curve, 4000).distance(Spot(crossing.point)) < 1e-4
