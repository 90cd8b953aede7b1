"""Gauge is not widened in turnouts, in crossings and where another track is too near."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest
from trackwork.building import built, spec

from turnout_templates.errors import InputProblems, Problem
from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import read_spec
from turnout_templates.trackwork.frogs.bands import Filing
from turnout_templates.trackwork.rails.plain import _Laid

WIDER = "widening: {by: 0.3, below: 600, taper: 100}"


def refused(routes: str, **more: str) -> Problem:
    with pytest.raises(InputProblems) as caught:
        work_out(read_spec(spec(routes, **more), file="a.yaml", folder=None))
    (problem,) = caught.value.problems
    return problem


def behind_turnout(straight: float) -> str:
    """A turnout whose tip lies at 60 mm, and a sharp curve that begins so far from the start."""
    return f"""
        main: {{{WIDER}, path: [straight: {straight}, curve: {{radius: 500, turn: left, length: 200}}, straight: 120]}}
        branch: {{leaves: main, at: 60, hand: right, path: [curve: {{radius: 800, turn: right, to: frog}}]}}
    """


def before_turnout(straight: float) -> str:
    """A sharp curve of 200 mm after 120 mm, and a turnout whose tip lies so far behind it."""
    return f"""
        main: {{{WIDER}, path: [straight: 120, curve: {{radius: 500, turn: left, length: 200}}, straight: 700]}}
        branch: {{leaves: main, at: {320 + straight}, hand: right, path: [{{frog: 6}}]}}
    """


def missing(problem: Problem) -> int:
    """Return the mm that the remedy asks for."""
    found = re.search(r"at least (\d+) mm more", problem.remedy)
    assert found
    return int(found[1])


@pytest.mark.parametrize("routes", [behind_turnout, before_turnout])
@pytest.mark.parametrize("straight", [40, 90])
def test_a_turnout_and_as_much_more_track_as_the_refusal_asks_for(
    routes: Callable[[float], str], straight: float
) -> None:
    """As much more is accepted, 2 mm less is not, and neither is any place nearer."""
    straight += 200 if routes is behind_turnout else 0
    problem = refused(routes(straight))
    assert "the turnout S1" in problem.sentence and problem.key_path == ("routes", "main", "widening")
    more = missing(problem)
    assert built(routes(straight + more)).layout.route("main").widened
    assert 0 < missing(refused(routes(straight + more - 2))) <= 2


def test_the_turnout_ends_behind_the_heel_of_the_frog_and_all_guards_and_wings() -> None:
    work = built(behind_turnout(800))
    (frog,) = work.frogs
    toe = 2.5 * work.spec.rail.head * frog.number
    ends = [end for guard in work.guards if guard.beside.route == "main" for end in guard.ends]
    ends += [wing.end for wing in work.wings if wing.beside.route == "main"]
    last = max(frog.s + toe * 0.99, *ends)
    assert missing(refused(behind_turnout(last + 100 - 5))) >= 5


def test_the_branch_of_a_turnout_too() -> None:
    routes = f"""
        main: {{path: [straight: 400]}}
        branch: {{leaves: main, at: 60, hand: left, {WIDER},
          path: [frog: 6, straight: 40, curve: {{radius: 400, turn: left, length: 200}}, straight: 150]}}
    """
    problem = refused(routes)
    assert "the turnout S1" in problem.sentence and problem.key_path == ("routes", "branch", "widening")
    assert built(routes.replace("straight: 40,", f"straight: {40 + missing(problem)},"))


def test_a_switch_in_the_widened_curve_itself_cannot_be_helped_by_the_taper() -> None:
    problem = refused(f"""
        main: {{{WIDER}, path: [straight: 120, curve: {{radius: 500, turn: left, length: 600}}, straight: 120]}}
        branch: {{leaves: main, at: 300, hand: right, path: [{{frog: 6}}]}}
    """)
    assert "the turnout S1" in problem.sentence and "taper" not in problem.remedy


def test_a_crossing() -> None:
    problem = refused(f"""
        main: {{{WIDER}, path: [straight: 120, curve: {{radius: 500, turn: left, length: 300}}, straight: 120]}}
        over: {{start: {{x: 60, y: -80, heading: 60 deg}}, path: [straight: 200]}}
    """)
    assert 'the crossing with "over"' in problem.sentence


def test_a_track_that_goes_on_from_the_end_of_another() -> None:
    """Nothing parts there and nothing is a frog, but the rail would have a step."""
    routes = f"""
        main: {{{WIDER}, path: [straight: 120, curve: {{radius: 500, turn: left, length: 200}}, straight: STRAIGHT]}}
        on: {{leaves: main, at: end, path: [straight: 200]}}
    """
    assert "at 380 mm" in refused(routes.replace("STRAIGHT", "60")).sentence
    assert built(routes.replace("STRAIGHT", "100"))


def test_a_track_so_near_that_it_reaches_the_widened_rail() -> None:
    """Rails of parallel tracks that clear each other by 0.2 mm do not once one of them lies 0.3 mm further out."""
    head = 0.889  # code 70
    routes = """
        main: {WIDER path: [straight: 120, curve: {radius: 500, turn: left, length: 200}, straight: 120]}
        beside: {start: {x: 0, y: APART},
          path: [straight: 120, curve: {radius: INNER, turn: left, angle: 22.918312 deg}, straight: 120]}
    """
    for clear, wrong in ((0.2, True), (0.4, False)):
        apart = 16.4846 + 2 * head + clear
        text = routes.replace("APART", f"{apart}").replace("INNER", f"{500 - apart}")
        assert built(text.replace("WIDER", ""))
        if wrong:
            assert "another track" in refused(text.replace("WIDER", f"{WIDER},")).sentence
        else:
            assert built(text.replace("WIDER", f"{WIDER},")).layout.route("main").widened


def test_a_frog_is_in_the_way_as_far_as_its_heel_whatever_guards_there_are() -> None:
    """Practice makes toe and heel 2.5 heads wide (no source): 2.5 head / (2 sin(F/2))."""
    work = built(behind_turnout(500))
    filing = Filing(work.layout, [p for rail in work.rails for p in rail.points], work.frogs, work.spec.rail.head)
    ((begin, end),) = _Laid(work.layout, filing, work.switches, work.frogs, (), ()).taken(work.layout.route("main"))
    (frog,) = work.frogs
    assert begin == pytest.approx(60, abs=1e-6)
    assert end == pytest.approx(frog.s + 2.5 * work.spec.rail.head / (2 * math.sin(frog.angle / 2)))


def test_a_tie_under_two_tracks_reaches_beyond_the_widened_rail_of_the_other() -> None:
    """Tracks 26 mm apart on a curve share their ties, which are those of the first; the second is widened inward."""
    routes = f"""
        main: {{path: [straight: 120, curve: {{radius: 526, turn: left, angle: 30 deg}}, straight: 120]}}
        inner: {{{WIDER}, start: {{x: 0, y: 26}},
          path: [straight: 120, curve: {{radius: 500, turn: left, angle: 30 deg}}, straight: 120]}}
    """
    work = built(routes, ties="{length_step: 0.001 mm}")
    inner = work.layout.route("inner")
    carried = 0
    for tie in work.ties:
        station, away = inner.path.foot_near(tie.centre, tie.station)
        if away < -5 and 130 < station < 370:
            carried += 1
            beyond = away + tie.length / 2 - max(inner.offset_at(face, station) for face in inner.faces)
            assert beyond == pytest.approx(work.spec.ties.overhang, abs=2e-3)
    assert carried > 20
