"""Routes in their places: where branches begin, what they are judged against, and what is said where one cannot lie."""

from __future__ import annotations

import math
import re

import pytest
from trackwork.building import TWO_GAUGES, job, refusal, spec

from turnout_templates.alignment.faces import outermost
from turnout_templates.alignment.model import Layout
from turnout_templates.errors import InputProblems
from turnout_templates.geometry.nearest import nearest_station

G = 0.649 * 25.4
"""HO gauge in NMRA S-3.2 (2010), read."""


def laid(routes: str, **keys: str) -> Layout:
    return job(spec(routes, **keys)).layout


CURVED = "main: {path: [{straight: 120}, {curve: {radius: 762, turn: left, length: 360}}]}\n"


@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_tangent_branch_starts_along_its_parent(hand: str) -> None:
    layout = laid(CURVED + f"branch: {{leaves: main, at: 150, hand: {hand}, path: [{{frog: 5}}]}}")
    start, tip = layout.route("branch").path.start, layout.route("main").path.pose_at(150)
    assert (start.x, start.y, start.heading) == pytest.approx((tip.x, tip.y, tip.heading), abs=1e-12)


@pytest.mark.parametrize("common", ["left", "right"])
def test_a_narrow_branch_of_a_mixed_main_starts_beside_the_reference_line(common: str) -> None:
    """Both are centre lines of the widest gauge each: they differ by half the gauges' difference."""
    main = CURVED.replace("{path", f"{{common_rail: {common}, path")
    layout = laid(
        main + "branch: {leaves: main, at: 150, hand: left, gauges: [narrow], path: [{frog: 5}]}", gauges=TWO_GAUGES
    )
    branch, tip = layout.route("branch"), layout.route("main").path.pose_at(150)
    narrow = branch.faces[0].offset - branch.faces[1].offset
    shift = (G - narrow) / 2 * (1 if common == "left" else -1)
    assert branch.path.start.point == pytest.approx(tip.beside(shift), abs=1e-9)
    assert branch.path.start.heading == pytest.approx(tip.heading, abs=1e-12)
    hand = "left" if common == "left" else "right"
    shared = [outermost(route.faces, hand) for route in (layout.route("main"), branch)]
    assert shared[0].offset == pytest.approx(shared[1].offset + shift, abs=1e-9)


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("degrees", [0.5, 1.2, 3.0])
def test_an_entry_angle_turns_the_branch_at_the_tip(hand: str, degrees: float) -> None:
    """It is the planed face that turns there: the branch's outer face starts on the main's, at the angle given."""
    branch = f"branch: {{leaves: main, at: 60, hand: {hand}, points: {{entry: {degrees} deg}}, path: [{{frog: 5}}]}}"
    layout = laid("main: {path: [straight: 330]}\n" + branch)
    route = layout.route("branch")
    turn = 1 if hand == "left" else -1
    assert route.path.start.heading == pytest.approx(turn * math.radians(degrees), abs=1e-12)
    assert route.path.point_at(0.0, -turn * G / 2) == pytest.approx((60.0, -turn * G / 2), abs=1e-9)


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("number", [4.5, 6, 8])
def test_straight_points_on_straight_main_agree_with_the_closed_form(hand: str, number: float) -> None:
    """R + g/2 = (g - h - k sin F)/(cos S - cos F), lead = a cos S + (R + g/2)(sin F - sin S) + k cos F."""
    a, h, t = 50.0, 2.0, 0.15
    points = f"{{length: {a}, spread: {h}, tip: {t}}}"
    routes = f"""
        main: {{path: [straight: 500]}}
        branch: {{leaves: main, at: 60, hand: {hand}, points: {points}, path: [{{frog: {number}}}, {{straight: 60}}]}}
    """
    work = job(spec(routes)).trackwork
    s, f = math.asin((h - t) / a), 2 * math.atan(0.5 / number)
    k = 2.5 * 0.889 / (2 * math.sin(f / 2))
    outer = (G - h - k * math.sin(f)) / (math.cos(s) - math.cos(f))
    lead = a * math.cos(s) + outer * (math.sin(f) - math.sin(s)) + k * math.cos(f)
    (frog,) = work.frogs
    assert frog.lead == pytest.approx(lead, abs=1e-7)
    planed, arc, *_ = work.layout.route("branch").path.pieces
    turn = 1 if hand == "left" else -1
    assert 1 / arc.from_curvature == pytest.approx(turn * (outer - G / 2), rel=1e-10)
    # The vertex lies t/tan S before the tip; the piece is t/sin S + a long on a straight.
    assert planed.length == pytest.approx(t / math.sin(s) + a, abs=1e-9)
    face = work.layout.route("branch").path.point_at(0.0, -turn * G / 2)
    assert face == pytest.approx((60 - t / math.tan(s), -turn * G / 2), abs=1e-9)


@pytest.mark.parametrize("radius", [700, 1500])
@pytest.mark.parametrize("turn", ["left", "right"])
@pytest.mark.parametrize("hand", ["left", "right"])
def test_the_heel_spread_of_straight_points_stays_true_on_a_curve(radius: float, turn: str, hand: str) -> None:
    a, h, t = 45.0, 2.2, 0.15
    points = f"{{length: {a}, spread: {h}, tip: {t}}}"
    routes = f"""
        main: {{path: [{{curve: {{radius: {radius}, turn: {turn}, length: 400}}}}]}}
        branch: {{leaves: main, at: 60, hand: {hand}, points: {points}, path: [{{frog: 5}}]}}
    """
    layout = laid(routes)
    branch, main = layout.route("branch").path, layout.route("main").path
    side = -1 if hand == "left" else 1
    heel = branch.point_at(branch.pieces[0].length, side * G / 2)
    apart = side * G / 2 - main.foot_near(heel, 100.0)[1]
    assert abs(apart) == pytest.approx(h, abs=0.005)
    assert apart * side > 0


def test_the_same_turnout_wherever_it_lies() -> None:
    """Turned and moved by its main's start, with every length and pose along."""
    here = CURVED + "branch: {leaves: main, at: 150, hand: right, path: [{frog: 5}]}"
    there = here.replace("{path: [{straight", "{start: {x: 40, y: -7, heading: 131 deg}, path: [{straight")
    one, two = laid(here), laid(there)
    turn = math.radians(131)
    for a, b in zip(one, two, strict=True):
        assert a.path.length == pytest.approx(b.path.length, abs=1e-9)
        for u in (0.0, 0.4, 1.0):
            p, q = a.path.pose_at(u * a.path.length), b.path.pose_at(u * b.path.length)
            x = 40 + p.x * math.cos(turn) - p.y * math.sin(turn)
            y = -7 + p.x * math.sin(turn) + p.y * math.cos(turn)
            assert (q.x, q.y) == pytest.approx((x, y), abs=1e-8)
            assert q.heading == pytest.approx(p.heading + turn, abs=1e-11)


WYE = "main: {path: [straight: 90]}\n"


@pytest.mark.parametrize(
    "piece",
    [
        "{frog: 5}",
        "{frog: 6, through: curved}",
        "{frog: 5, through: {straight: 9}}",
        "{curve: {radius: 600, turn: HAND, to: frog}}",
        "{curve: {radius: 900, turn: HAND, length: 40}}, {frog: 5}",
        "{easement: {length: 60, from: straight, to: {radius: 800, turn: HAND}}}, {frog: 5}",
    ],
)
def test_a_wye_of_mirrored_branches_is_its_own_mirror(piece: str) -> None:
    """The frog lies on the main's line carried on, and each branch is the other's mirror image."""
    branches = [
        f"{hand}: {{leaves: main, at: end, hand: {hand}, path: [{piece.replace('HAND', hand)}, {{straight: 60}}]}}\n"
        for hand in ("left", "right")
    ]
    work = job(spec(WYE + "".join(branches))).trackwork
    (frog,) = work.frogs
    assert frog.point[1] == pytest.approx(0.0, abs=1e-8)
    assert frog.s == pytest.approx(frog.t, abs=1e-8)
    if "{frog" in piece:
        number = float(piece.split("frog: ")[1].split(",")[0].split("}")[0])
        assert frog.number == pytest.approx(number, rel=1e-10)
    left, right = work.layout.route("left").path, work.layout.route("right").path
    assert left.mirrored().end.point == pytest.approx(right.end.point, abs=1e-7)


@pytest.mark.parametrize("other", ["{straight: 300}", "{curve: {radius: 2000, turn: left, length: 300}}"])
@pytest.mark.parametrize("first", [True, False])
def test_where_a_main_ends_an_open_branch_is_judged_against_the_other(other: str, first: bool) -> None:
    solved = "open: {leaves: main, at: end, hand: left, path: [{frog: 6}, {straight: 60}]}\n"
    given = f"given: {{leaves: main, at: end, path: [{other}]}}\n"
    work = job(spec(WYE + (solved + given if first else given + solved))).trackwork
    (frog,) = work.frogs
    assert frog.number == pytest.approx(6, rel=1e-10)
    assert {frog.first.route, frog.second.route} == {"open", "given"}


def test_a_heel_that_nothing_follows_runs_on_level_with_its_parent() -> None:
    layout = laid("main: {path: [straight: 290]}\nbranch: {leaves: main, at: 60, hand: left, path: [{frog: 6}]}")
    end = layout.route("branch").path.end
    assert end.x <= 290 + 1e-6
    assert nearest_station(layout.route("main").path, end.point)[1] > G


@pytest.mark.parametrize(
    ("routes", "said"),
    [
        (
            "main: {path: [straight: 100]}\nb: {leaves: main, at: 120, hand: left, path: [{frog: 6}]}",
            "only 100 mm long",
        ),
        ("main: {path: [straight: 200]}\nb: {leaves: main, at: 60, hand: left, path: [{frog: 9}]}", "this site allows"),
        (
            "main: {path: [straight: 75]}\nb: {leaves: main, at: 60, hand: left, path: [{frog: 9}]}",
            "no frog number fits",
        ),
        ("main: {path: [straight: 300]}\nb: {leaves: main, at: 60, path: [{straight: 200}]}", "never parts"),
        (
            "main: {path: [straight: 300]}\n"
            "b: {leaves: main, at: 1, hand: left, points: {length: 40, spread: 1.2, tip: 0.2}, path: [{frog: 6}]}",
            "bend from the stock rail",
        ),
        (
            "main: {path: [straight: 150]}\n"
            "b: {leaves: main, at: 60, hand: left, path: [{curve: {radius: 900, turn: left, to: frog}}]}",
            "does not reach a frog",
        ),
        (
            WYE + "a: {leaves: main, at: end, hand: left, path: [{frog: 6}]}\n"
            "b: {leaves: main, at: end, hand: right, path: [{frog: 5}]}",
            "one frog between them",
        ),
        (
            WYE + "a: {leaves: main, at: end, path: [{straight: 100}]}\n"
            "b: {leaves: main, at: end, path: [{straight: 60}]}",
            "never parts",
        ),
    ],
)
def test_what_is_said_where_a_branch_cannot_lie(routes: str, said: str) -> None:
    text = refusal(routes)
    assert said in text
    assert "routes > b" in text or "routes > a" in text


@pytest.mark.parametrize(
    ("routes", "said", "mm"),
    [
        (
            "main: {path: [straight: 4 in]}\nb: {leaves: main, at: 4 1/2 in, hand: left, path: [{frog: 6}]}",
            'leaves "main" at 4.5 in (114.3 mm), but "main" is only 4 in (101.6 mm) long',
            'leaves "main" at 114.3 mm, but "main" is only 101.6 mm long',
        ),
        (
            # t/tan S with S = asin((1.2 - 0.2)/40): 0.2 x 39.987 = 7.9975 mm = 10.08/32 in.
            "main: {path: [straight: 300]}\n"
            "b: {leaves: main, at: 1, hand: left, points: {length: 40, spread: 1.2, tip: 0.2}, path: [{frog: 6}]}",
            'only 0.039 in (1 mm) from the start of "main". Let "b" leave at least 11/32 in (8.7 mm) from there.',
            'only 1 mm from the start of "main". Let "b" leave at least 8 mm from there.',
        ),
        (
            "main: {path: [straight: 150]}\n"
            "b: {leaves: main, at: 60, hand: left, path: [{curve: {radius: 35 in, turn: left, to: frog}}]}",
            # 90 mm are 226.8/64 in.
            'A curve of radius 35 in (889 mm) in "b" does not reach a frog with "main" before "main" ends, '
            "3 35/64 in (90 mm) after the tip.",
            'A curve of radius 889 mm in "b" does not reach a frog with "main" before "main" ends, 90 mm after the '
            "tip.",
        ),
        (
            "main: {path: [straight: 75]}\nb: {leaves: main, at: 60, hand: left, path: [{frog: 9}]}",
            'no frog number fits in the 19/32 in (15 mm) of "main" after the tip.',
            'no frog number fits in the 15 mm of "main" after the tip.',
        ),
    ],
)
def test_where_a_branch_cannot_lie_the_lengths_are_in_the_units_of_the_spec(routes: str, said: str, mm: str) -> None:
    # Lengths without a unit are mm where they stand; here every one of them says its own.
    stated = re.sub(r"(straight: |at: |length: |spread: |tip: )(\d+(?:\.\d+)?)(?=[,\]}])", r"\1\2 mm", routes)
    metric = spec(stated)
    for text, wanted in ((metric, mm), (metric.replace("units: mm", "units: in"), said)):
        assert ("units: in" in text) == (wanted is said)
        with pytest.raises(InputProblems) as refused:
            job(text)
        assert wanted in str(refused.value)


def test_the_numbers_that_a_wye_allows_are_those_of_its_frog() -> None:
    """A straight of 250 mm before the curve: what is said to fit must fit, and what is asked for did not."""

    def wye(number: float) -> str:
        path = f"[{{straight: 250}}, {{frog: {number}, through: {{straight: 60}}}}]"
        return WYE + "".join(
            f"{hand}: {{leaves: main, at: end, hand: {hand}, path: {path}}}\n" for hand in ("left", "right")
        )

    text = refusal(wye(2))
    assert "this site allows" in text
    low = float(text.split("allows ")[1].split(" to ")[0])
    assert low > 2
    (frog,) = job(spec(wye(low + 0.05))).trackwork.frogs
    assert frog.number == pytest.approx(low + 0.05, rel=1e-10)
    assert f"{low - 0.3:.4g}" in refusal(wye(round(low - 0.3, 1)))


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("radius", [400, 800])
def test_a_loop_joins_the_route_that_it_leaves_on_the_side_where_it_left(hand: str, radius: int) -> None:
    """The two ways to the standing track are mirror images of each other, whichever side it lies on."""
    curve = f"{{curve: {{radius: {radius}, turn: {'right' if hand == 'left' else 'left'}, length: open}}}}"
    layout = laid(
        f"main: {{path: [{{straight: 1600}}]}}\n"
        f"loop: {{leaves: main, at: 60, hand: {hand}, joins: main, path: [{{frog: 6}}, {{straight: 80}}, {curve}, "
        f"{{straight: 500}}, {curve}, {{straight: 80}}, {{frog: 6}}]}}"
    )
    pieces = layout.route("loop").path.pieces
    assert [piece.length for piece in pieces] == pytest.approx([piece.length for piece in reversed(pieces)], abs=1e-6)
    middle = pieces[len(pieces) // 2].start
    assert middle.heading == pytest.approx(0.0, abs=1e-9)
    assert (middle.y > 0) == (hand == "left")
