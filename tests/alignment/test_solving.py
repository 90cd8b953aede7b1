"""Curves found for a frog: closed forms, the conditions themselves, several answers and none."""

from __future__ import annotations

import math

import pytest
from alignment.tasks import GAUGE, HEAD, angle_of, some_task, task_on
from scipy.optimize import brentq

from turnout_templates.alignment.allowed import allowed_numbers, number_of
from turnout_templates.alignment.solving import FrogCurve, FrogTask, curve_of_radius, curves_to_angle, gentlest
from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path, Shape, join
from turnout_templates.geometry.pose import Pose

STRAIGHT = join(Pose(0, 0, 0), [Shape(900)])
SWINGING = join(Pose(0, 0, 0), [Shape(300, -1 / 450, 1 / 450)])


def path_of(task: FrogTask, curve: FrogCurve) -> Path:
    return join(task.start, [*curve.shapes, Shape(30.0)])


def check(task: FrogTask, curve: FrogCurve, angle: float) -> None:
    """Assert what a frog is: the first crossing, at its angle, the curve straight for the toe before it."""
    path = path_of(task, curve)
    crossings = find_crossings(Parallel(path, task.offset, 0.0, path.length), task.target)
    first = crossings[0]
    assert first.t == pytest.approx(curve.station, abs=1e-7)
    assert first.s == pytest.approx(curve.length + curve.toe, abs=1e-7)
    # The crossing's angle is that of the target less that of the branch.
    assert -first.angle * task.turn == pytest.approx(angle, abs=1e-12)
    assert curve.toe == pytest.approx(
        2.5 * HEAD / (2 * math.sin(angle / task.share / 2)) if task.toe is None else task.toe, abs=1e-12
    )


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("number", [3.5, 6, 9, 12])
@pytest.mark.parametrize("toe", [None, 0.0, 8.0])
def test_the_closed_form_on_straight_main(number: float, toe: float | None, turn: int) -> None:
    """(R + g/2)(1 - cos F) + k sin F = g, lead = (R + g/2) sin F + k cos F."""
    angle = angle_of(number)
    k = 2.5 * HEAD / (2 * math.sin(angle / 2)) if toe is None else toe
    (curve,) = curves_to_angle(task_on(STRAIGHT, 100.0, turn, toe), angle)
    outer = (GAUGE - k * math.sin(angle)) / (1 - math.cos(angle))
    assert 1 / curve.curvature == pytest.approx(turn * (outer - GAUGE / 2), rel=1e-12)
    assert curve.length == pytest.approx((outer - GAUGE / 2) * angle, rel=1e-12)
    assert curve.station - 100.0 == pytest.approx(outer * math.sin(angle) + k * math.cos(angle), abs=1e-9)
    check(task_on(STRAIGHT, 100.0, turn, toe), curve, angle)


@pytest.mark.parametrize("radius", [-2000.0, -700.0, 900.0, 5000.0])
@pytest.mark.parametrize("number", [4, 6, 8])
def test_the_closed_form_on_a_circle_without_a_toe(radius: float, number: float) -> None:
    """Both faces are circles: the triangle of their centres and the frog gives the angle by the law of cosines."""
    main = join(Pose(0, 0, 0), [Shape(min(900.0, 1.5 * abs(radius)), 1 / radius, 1 / radius)])
    angle = angle_of(number)
    (curve,) = curves_to_angle(task_on(main, 50.0, 1, 0.0), angle)
    # Signed radii, left positive: the main's face lies g/2 to the left, the branch's g/2 to the right.
    a, c = radius - GAUGE / 2, 1 / curve.curvature + GAUGE / 2
    apart = radius - 1 / curve.curvature  # the centres lie on one normal at the tip
    cosine = (a * a + c * c - apart * apart) / (2 * a * c)
    assert math.acos(cosine) == pytest.approx(angle, abs=1e-10)
    check(task_on(main, 50.0, 1, 0.0), curve, angle)


@pytest.mark.parametrize("seed", range(40))
def test_a_curve_makes_the_frog_that_was_asked_for(seed: int) -> None:
    task, pick = some_task(seed)
    angle = angle_of(pick.uniform(3, 9))
    for curve in curves_to_angle(task, angle):
        check(task, curve, angle)
        # The same curve given by its radius runs on to the same frog.
        if abs(curve.curvature) > 1e-6:
            again = curve_of_radius(task, curve.curvature)
            assert again is not None
            assert again.angle == pytest.approx(angle, abs=1e-10)
            assert again.length == pytest.approx(curve.length, abs=1e-6)


def test_enough_of_the_drawn_tasks_have_an_answer() -> None:
    solved = [seed for seed in range(40) if curves_to_angle(some_task(seed)[0], angle_of(6))]
    assert len(solved) > 20


@pytest.mark.parametrize("seed", range(24))
def test_a_curve_of_given_radius_meets_its_toe_or_no_curve_does(seed: int) -> None:
    """Against a root found by scipy: how long the arc must be for the ray from its end to be as long as the toe."""
    task, pick = some_task(seed)
    curvature = task.turn / pick.uniform(250, 900)

    def too_long(length: float) -> float:
        path = join(task.start, [Shape(max(length, 1e-9), curvature, curvature), Shape(3 * task.target.high)])
        crossings = find_crossings(Parallel(path, task.offset, 0.0, path.length), task.target)
        if not crossings:
            return 1e3
        return crossings[0].s - length - task.toe_length(abs(crossings[0].angle))

    steps = [3.0 * i for i in range(int(min(task.target.high, 2.5 / abs(curvature)) / 3))]
    misses = [too_long(s) for s in steps]
    change = next((i for i in range(len(steps) - 1) if misses[i] > 0 >= misses[i + 1]), None)
    curve = curve_of_radius(task, curvature)
    if change is None:
        assert curve is None
        return
    if misses[change] == 1e3 or misses[change + 1] < -task.toe_length(0.15):
        return  # the crossing itself comes or goes there
    length = brentq(too_long, steps[change], steps[change + 1], xtol=1e-10)
    if abs(too_long(length)) < 1e-6:
        assert curve is not None
        assert curve.length == pytest.approx(length, abs=1e-6)


def test_a_search_that_finds_nothing_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """On this main Newton's method runs off along the last easement, where poses cost ever more."""
    main = join(Pose(0, 0, 0), [Shape(799, -1 / 5423.6, -1 / 5423.6), Shape(301.5, -1 / 1392.4, -1 / 1392.4)])
    main = Path((*main.pieces, *join(main.end, [Shape(288.8, 0.0, -1 / 7915)]).pieces))
    task = FrogTask(main.pose_at(136.54), 16.0, Parallel(main, -22.5, 136.54, main.length), -1, 2.8448, None)
    furthest = 0.0
    pose_at = Path.pose_at

    def watched(path: Path, s: float) -> Pose:
        nonlocal furthest
        furthest = max(furthest, abs(s))
        return pose_at(path, s)

    monkeypatch.setattr(Path, "pose_at", watched)
    assert curve_of_radius(task, -1 / 3027.8) is None
    assert furthest < 10 * main.length


def test_several_answers_and_none() -> None:
    """The design: an easement from -1/450 to +1/450 in 300 mm has two roots for 3.6 and none above 3.8."""
    task = task_on(SWINGING, 0.0, -1, 0.0)
    curves = curves_to_angle(task, angle_of(3.6))
    assert len(curves) == 2
    assert abs(curves[0].curvature) < abs(curves[1].curvature)
    # Of the two the one that changes curvature least at the tip, where the main turns right at 450 mm.
    assert gentlest(curves, -1 / 450) == min(curves, key=lambda c: abs(c.curvature + 1 / 450))
    for number in (3.85, 4.5, 8):
        assert curves_to_angle(task, angle_of(number)) == []
    ((least, most),) = allowed_numbers(task)
    assert 3.6 < most < 3.85 and least < 3.6
    assert curves_to_angle(task, angle_of(most)) and not curves_to_angle(task, angle_of(most + 0.02))


@pytest.mark.parametrize(
    ("seed", "ranges"),
    [
        (0, [(1.5980, 52.8907)]),  # an easement, then an arc; from 1.4606 on the radius is half the gauge or less
        (1, [(1.0, 7.2095)]),  # an easement
        (2, [(1.0, 7.9516)]),  # a straight
        (3, [(1.0, 6.1363)]),  # an arc
        (17, [(1.0, 17.0523), (54.3133, 60.0)]),  # an easement, a straight, an easement
        (37, [(1.0, 17.6157), (20.9706, 60.0)]),  # an arc, an easement, an arc
    ],
)
def test_what_a_site_allows_is_found_with_few_looks_at_it(
    monkeypatch: pytest.MonkeyPatch, seed: int, ranges: list[tuple[float, float]]
) -> None:
    """The ranges are those that 600 stations for each number give, which looked at the main 130,000 times and more."""
    looks, pose_at = 0, Parallel.pose_at

    def counted(curve: Parallel, s: float) -> Pose:
        nonlocal looks
        looks += 1
        return pose_at(curve, s)

    monkeypatch.setattr(Parallel, "pose_at", counted)
    found = allowed_numbers(some_task(seed)[0])
    assert [pytest.approx(pair, abs=1e-4) for pair in found] == ranges
    assert looks < 12_000


@pytest.mark.parametrize(("beyond", "possible"), [(0.01, True), (-0.01, False)])
def test_an_arc_whose_inner_rail_would_run_backward_is_none(beyond: float, possible: bool) -> None:
    """(R + g/2)(1 - cos F) + k sin F = g: a toe so long that R is half the gauge, a little more or less."""
    angle = angle_of(6)
    toe = (GAUGE - (GAUGE + beyond) * (1 - math.cos(angle))) / math.sin(angle)
    curves = curves_to_angle(task_on(STRAIGHT, 100.0, 1, toe), angle)
    assert [1 / curve.curvature for curve in curves] == ([pytest.approx(GAUGE / 2 + beyond)] if possible else [])


WAVING = join(Pose(0, 0, 0), [Shape(192, 0.0, -1 / 630), Shape(285, 0.0, 1 / 457), Shape(292, -1 / 384, -1 / 525)])


def test_the_first_crossing_only() -> None:
    """On a waving main a second curve also meets the far face at a No. 8, but only after it has crossed it before."""
    task, angle = task_on(WAVING, 0.0, 1, 0.0), angle_of(8)
    (curve,) = curves_to_angle(task, angle)
    check(task, curve, angle)
    # The other one ends beyond: an arc from the tip whose chord lies along the mean of both headings.

    def miss(s: float) -> float:
        end = task.end_pose(s, angle)
        turn = math.remainder(end.heading - task.start.heading, math.tau)
        return task.start.turned(turn / 2).local(end.point)[1]

    station = brentq(miss, 500.0, 700.0)
    end = task.end_pose(station, angle)
    turn = math.remainder(end.heading - task.start.heading, math.tau)
    length = task.start.turned(turn / 2).local(end.point)[0] * (turn / 2) / math.sin(turn / 2)
    later = join(task.start, [Shape(length, turn / length, turn / length), Shape(30.0)])
    crossings = find_crossings(Parallel(later, task.offset, 0.0, later.length), task.target)
    assert len(crossings) > 1 and crossings[-1].t == pytest.approx(station, abs=1e-6)


@pytest.mark.parametrize("number", [4, 6, 8.5])
def test_half_of_a_frog_has_the_toe_of_the_whole(number: float) -> None:
    """Two mirrored branches meet the line midway at half the angle; with S = F/2 the closed form is halved.

    (R + g/2)(1 - cos S) + k sin S = g/2.
    """
    angle = angle_of(number)
    middle = Parallel(STRAIGHT, 0.0, 0.0, STRAIGHT.length)
    task = FrogTask(Pose(0, 0, 0), -GAUGE / 2, middle, 1, HEAD, None, 0.5)
    (curve,) = curves_to_angle(task, angle / 2)
    k = 2.5 * HEAD / (2 * math.sin(angle / 2))
    assert curve.toe == pytest.approx(k, abs=1e-12)
    outer = (GAUGE / 2 - k * math.sin(angle / 2)) / (1 - math.cos(angle / 2))
    assert 1 / curve.curvature == pytest.approx(outer - GAUGE / 2, rel=1e-11)
    again = curve_of_radius(task, curve.curvature)
    assert again is not None and again.angle == pytest.approx(angle / 2, abs=1e-12)
    if number == 6:
        (low, high), *_ = allowed_numbers(task)
        assert low < number < high


def test_numbers_and_angles() -> None:
    # No. 9 is 6.3597 degrees, 1:9 is 6.3402 (design).
    assert math.degrees(angle_of(9)) == pytest.approx(6.3597, abs=5e-5)
    assert number_of(math.atan(1 / 9)) == pytest.approx(0.5 / math.tan(math.radians(6.3402) / 2), abs=1e-4)
