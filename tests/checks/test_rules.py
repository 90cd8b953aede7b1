"""Each rule has a spec that it speaks of and a twin near to it that it does not; and what it says is true."""

from __future__ import annotations

import math
import re

import pytest
from trackwork.building import TWO_GAUGES, job, plain, spec, two_gauge
from trackwork.sites import N_KEYS, N_NEM, crossing

from turnout_templates.checks.check import CHECKS, check_trackwork
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.guarding import what_stands
from turnout_templates.checks.phrase import Phrase
from turnout_templates.trackwork.frogs.metal import BarMetal, metal_of_bars


def found(rule: str, routes: str, **keys: str) -> list[Finding]:
    """Return what one rule says of some routes."""
    return [finding for finding in job(spec(routes, **keys)).findings if finding.rule == rule]


def metal_of(routes: str) -> dict[str, BarMetal]:
    """Return what is left of the heads of the bars of some routes."""
    work = job(spec(routes)).trackwork
    return metal_of_bars(work.heads, work.bars)


def number(said: Phrase) -> float:
    """Return the first figure of a phrase as it is printed in mm, which must be that of its first length."""
    match = re.search(r"-?\d+\.?\d*", str(said))
    assert match
    assert float(match.group()) == pytest.approx(said.sizes[0], abs=0.0501)
    return float(match.group())


NEM = "NEM 110 (2009)"
CLEAR = "{{flangeway: {f} mm, check_gauge: {c} mm, span: {s} mm, point_spread: {p} mm}}"


def clearances(f: float = 1.25, c: float = 15.3, s: float = 14.1, p: float = 15.0) -> dict[str, str]:
    return {"clearances": "{standard: " + CLEAR.format(f=f, c=c, s=s, p=p) + "}", "gauges": "standard: 16.5 mm"}


def test_span() -> None:
    # Gauge less guard flangeway less frog flangeway: 15.3 - 1.25 = 14.05 mm between the guiding sides.
    assert found("span", plain(), **clearances(s=14.06)) == []
    wrong = found("span", plain(), **clearances(s=14.04))
    assert len(wrong) == 2 and {finding.level for finding in wrong} == {"error"}
    assert all(number(finding.measured) == 14.05 and number(finding.limit) == 14.04 for finding in wrong)


def test_heel_missing() -> None:
    # Of a No. 6 the spliced bar begins head/sin F = 5.37 mm behind the theoretical point; the heel is at 20.3 mm.
    def short(length: float) -> str:
        return plain().replace("straight: 60", f"straight: {length}")

    assert found("heel-missing", short(5.4)) == []
    (told,) = found("heel-missing", short(5.3))
    assert told.level == "warning" and number(told.measured) == 5.3
    assert number(told.limit) == pytest.approx(3.8 * 0.889 / (2 * math.sin(math.atan(1 / 12))), abs=0.05)
    # The side of the point bar carries its wheels from the practical point on, so that no rail is lost.
    assert found("rail-lost", short(5.3)) == []
    # What is left of the branch's own gauge face behind the practical point has no head, and is no bar to cut.
    metal = {name: kept.whole or kept.filed for name, kept in metal_of(short(3.0)).items()}
    assert "R4" in metal and all(metal.values())


DIAMOND = """
    main: {path: [straight: 300]}
    other: {start: {x: 60, y: -45, heading: 24 deg}, path: [straight: 240]}
"""


def test_span_between_the_guards_of_a_diamond() -> None:
    # The guards of its two Ks face each other, each at check gauge: 2 x 15.3 - 16.5 = 14.1 mm between them, which no
    # figure for a guard and a wing forbids. A V's own guard and wing are apart by check gauge less flangeway.
    assert found("span", DIAMOND, **clearances(f=1.31, s=14.0)) == []
    assert {told.level for told in found("span", DIAMOND, **clearances(f=1.25, s=14.0))} == {"error"}


def test_span_between_guides_of_two_gauges() -> None:
    # A guard of Nn3 stands 6.5 - 5.9 = 0.6 mm from the rail that both gauges share, and a wing opposite ends at the
    # flangeway of N, 0.9 mm: 9 - 0.6 - 0.9 = 7.5 mm for the wheels of N, whose span is 7.3 (NEM 110).
    routes = two_gauge("both", "left", "right")
    keys = {"gauges": "standard: N, narrow: Nn3", "scale": "N", "rail": "code 55", "clearances": NEM}
    head, wing = sorted(found("span", routes, **keys), key=lambda told: told.where)
    for told in (head, wing):
        assert number(told.measured) == pytest.approx(7.5, abs=0.015) and number(told.limit) == 7.3
    assert re.fullmatch(r"G\d and W\d, standard gauge", wing.where)
    # Opposite the guard of the K the main's rail is cut for the same flangeway: no guide, but wheels meet it.
    assert re.fullmatch(r"G\d and R\d[a-z] \(main standard right\), standard gauge", head.where)
    assert found("span", routes, gauges=TWO_GAUGES) == []


def test_groove_shared() -> None:
    # The groove of N, 0.9 mm, leaves Nn3 5.9 - 0.9 = 5.0 mm from guard to wing, of 5.1 at the least (NEM 110).
    keys = {"gauges": "standard: N, narrow: Nn3", "scale": "N", "rail": "code 55", "clearances": NEM}
    (told,) = found("groove-shared", two_gauge("both", "left", "right"), **keys)
    assert told.level == "warning" and told.where.endswith(", narrow gauge")
    assert number(told.measured) == 5.0 and number(told.limit) == 5.1
    # One gauge alone has the groove that is its own.
    one = {"gauges": "standard: N", "scale": "N", "rail": "code 55", "clearances": NEM}
    assert found("groove-shared", plain(), **one) == []


def test_point_opening() -> None:
    # It wants 16.5 - 15 = 1.5 mm along the whole point; a throw of twice that holds it.
    (short,) = found("point-opening", plain(), **clearances())
    assert short.level == "warning" and number(short.limit) == 1.5 and number(short.measured) < 1.5
    match = re.search(r"a throw of (\d+\.\d+) mm", str(short.remedy))
    assert match
    needed = float(match.group(1))
    assert found("point-opening", plain(), throw=f"{needed + 0.01} mm", **clearances()) == []
    assert found("point-opening", plain(), throw=f"{needed - 0.02} mm", **clearances())


def test_no_throw_is_advised_where_none_helps() -> None:
    # At a heel spread of 2.2 mm a head of 0.889 mm leaves 1.31 mm.
    (planed,) = found("point-opening", plain(points="{length: 45, spread: 2.2, tip: 0.15}"), **clearances())
    assert "no throw" in str(planed.remedy)
    (wider,) = found("point-opening", plain(points="{length: 45, spread: 2.5, tip: 0.15}"), **clearances())
    assert "a throw of" in str(wider.remedy)


def branch(length: float) -> str:
    return f"""
        main: {{path: [straight: 330]}}
        branch: {{leaves: main, at: 60, path: [{{curve: {{radius: 700, turn: left, length: {length}}}}}]}}
    """


def test_no_frog() -> None:
    # The outer face crosses the main's where 708.25 (1 - cos F) = 16.5: F = 0.2163, 151.4 mm along the branch.
    (missing,) = found("no-frog", branch(149))
    assert missing.level == "warning" and '"branch"' in missing.where
    assert found("no-frog", branch(154)) == []


def test_no_frog_where_nothing_parts() -> None:
    alone = (
        "main: {path: [straight: 200]}\non: {leaves: main, at: end, hand: right, path: [{frog: 6}, {straight: 60}]}\n"
    )
    (missing,) = found("no-frog", alone)
    assert missing.where == '"on"' and "nothing else goes on" in str(missing.measured)
    assert found("no-frog", alone + "other: {leaves: main, at: end, path: [straight: 300]}") == []


def test_frog_unguarded() -> None:
    assert found("frog-unguarded", plain()) == []
    routes = two_gauge("both", "left", "left")
    (case,) = found("frog-unguarded", routes, **N_NEM)
    assert case.level == "warning" and case.where == "F1 (K)"
    # By hand: the guard ends where the closing rail leaves it no more than a flare of two flangeways, 1.4 mm short.
    (told,) = job(spec(routes, **N_NEM)).trackwork.unguarded
    ((low, high),) = told.missing
    assert case.measured.sizes == pytest.approx((high - low, told.need.gap[1] - told.need.gap[0], low, high))
    assert 1.0 < high - low < 2.0 and high - low < told.need.gap[1] - told.need.gap[0]
    said = str(case.measured)
    assert re.match(r"standard gauge on R\d+[a-z]? \(branch standard right\): ", said) and "the rest by G" in said
    assert re.search(r"beside R\d+[a-z]? \(branch \w+ left\)", said) and re.search(r"where R\d+[a-z]? \(", said)
    # In HO at the same number there is room for it, and in N where the clearances leave a smaller groove.
    assert found("frog-unguarded", routes, gauges=TWO_GAUGES) == []
    assert found("frog-unguarded", routes, **N_KEYS) == []


def test_a_frog_is_reported_once_with_all_that_is_unguarded() -> None:
    routes = crossing(9.5, y=-37.135)
    work = job(spec(routes)).trackwork
    cases = found("frog-unguarded", routes)
    assert [case.where for case in cases] == [f"{frog.id} (K)" for frog in work.frogs if frog.kind == "K"]
    for case in cases:
        assert str(case.measured).count("standard gauge on ") == 2  # both tracks of each


def test_wing_short() -> None:
    routes = two_gauge("both", "left", "left")
    (case,) = found("wing-short", routes, **N_KEYS)
    assert case.level == "warning" and re.match(r"W\d of F2, .* R\d+[a-z]? \(", case.where)
    work = job(spec(routes, **N_KEYS)).trackwork
    frog = work.frog("F2")
    assert frog.practical_stations is not None
    (wing,) = [w for w in work.wings if w.frog == "F2" and w.beside == frog.first]
    assert number(case.measured) == pytest.approx(frog.practical_stations[0] - wing.end, abs=0.006)
    assert found("wing-short", routes, gauges=TWO_GAUGES) == []


def test_frog_on_point() -> None:
    # The K of N and Nn3 begins at 40.9 mm, before the heel of the point at 41.1; in HO/HOn3 the K lies behind it.
    routes = two_gauge("both", "left", "left")
    (case,) = found("frog-on-point", routes, **N_KEYS)
    assert case.level == "warning" and "(K)" in case.where
    assert number(case.measured) < number(case.limit)
    assert found("frog-on-point", routes, gauges=TWO_GAUGES) == []


def heel(straight: float) -> str:
    path = f"[{{frog: 6}}, {{straight: {straight}}}, {{curve: {{radius: 500, turn: left, length: 60}}}}]"
    return f"main: {{path: [straight: 330]}}\nbranch: {{leaves: main, at: 60, hand: left, path: {path}}}"


def test_curve_before_heel() -> None:
    # 3.8 heads of spread at No. 6: 3.8 x 0.889/(2 sin 4.7636 deg) = 20.34 mm behind the theoretical point, beside
    # which the piece that runs to the frog ends.
    (short,) = found("curve-before-heel", heel(19.0))
    assert short.level == "warning" and number(short.limit) == 20.3 and number(short.measured) == 19.0
    assert found("curve-before-heel", heel(20.4)) == []


def three(distance: float) -> str:
    return f"""
        main: {{path: [straight: 520]}}
        left: {{leaves: main, at: 60, hand: left, path: [{{frog: 6}}, {{straight: 120}}]}}
        right: {{leaves: main, at: {60 + distance}, hand: right, path: [{{frog: 6}}, {{straight: 60}}]}}
    """


def test_points_together() -> None:
    # Points move over 65.5 - 14.3 = 51.3 mm from their tip: a switch of the same form 50 mm on begins beside them.
    cases = found("points-together", three(50))
    assert {finding.level for finding in cases} == {"warning"} and len(cases) == 2
    assert all(number(finding.measured) == pytest.approx(50, abs=1) for finding in cases)
    assert found("points-together", three(53)) == []


def mixed(narrow: str, rail: str) -> list[Finding]:
    routes = "main: {common_rail: left, path: [straight: 200]}"
    keys = {"gauges": f"standard: 16.5 mm, narrow: {narrow} mm", "rail": rail}
    return [f for f in job(spec(routes, **keys)).findings if f.rule.startswith("third-rail")]


def test_third_rail() -> None:
    # Faces 16.5 - 13 = 3.5 mm apart: a head of 1 leaves 2.5, flangeway about 1.3, bases of 2.5 and of 3.6.
    assert mixed("13", "{height: 2, head: 1, base: 2.5}") == []
    (base,) = mixed("13", "{height: 2, head: 1, base: 3.6}")
    assert (base.rule, base.level) == ("third-rail-base", "warning")
    assert (number(base.measured), number(base.limit)) == (3.5, 3.6)
    # 16.5 - 14.4 = 2.1: a head of 1 leaves 1.1, less than a flangeway.
    (none,) = mixed("14.4", "{height: 2, head: 1, base: 1.5}")
    assert (none.rule, none.level) == ("third-rail-flangeway", "error")
    assert number(none.measured) == 1.1


def test_errors_come_first_and_every_rule_is_run() -> None:
    work = job(spec(three(50), **clearances(s=14.0))).trackwork
    findings = check_trackwork(work)
    levels = [finding.level for finding in findings]
    assert levels == sorted(levels) and set(levels) == {"error", "warning"}
    assert sorted(map(str, findings)) == sorted(str(f) for check in CHECKS for f in check(work))


def test_every_finding_says_where_what_and_what_to_do() -> None:
    for routes, keys in (
        (three(50), clearances(s=14.0)),
        (two_gauge("both", "left", "left"), N_KEYS),
        (branch(149), {}),
    ):
        for finding in job(spec(routes, **keys)).findings:
            assert finding.where and finding.source and all(map(str, (finding.measured, finding.limit, finding.remedy)))
            assert str(finding.remedy).endswith(".") and finding.sentence("mm").startswith(finding.where)
            assert all(abs(value) < 5000 for value in finding.at)


LENGTH = re.compile(r"(-?[\d.]+) mm")
IN_INCHES = re.compile(r"(?:(\d+) )?(?:(\d+)/(\d+)|([\d.]+)) in \((-?[\d.]+) mm\)")


def wider(by: float, straight: float) -> str:
    """A sharp curve widened by so many mm over tapers of 100 mm, between straights of so many."""
    curve = "curve: {radius: 500, turn: left, length: 200}"
    widening = f"widening: {{by: {by}, below: 600, taper: 100}}"
    return f"main: {{{widening}, path: [straight: {straight}, {curve}, straight: 100]}}"


@pytest.mark.parametrize(
    ("gauge", "standard", "room", "source"),
    [
        # G 0.651 + 0.010 in, and the nominal gauge of the NMRA 0.649 in
        ("HO", "NMRA S-3.2 (2010)", (0.661 - 0.649) * 25.4, "NMRA S-3.2 (2010), row HO"),
        ("HO", "NMRA S-3.2 (older)", (0.672 - 0.649) * 25.4, "NMRA S-3.2 (older), row HO"),
        # G max 16.8 and 9.2 mm
        ("16.5 mm", "NEM 110", 0.3, "MOROP NEM 310 Beiblatt 4 (2002), row 16.5 mm"),
        ("9 mm", "NEM 110", 0.2, "MOROP NEM 110 (2009), row 9 mm"),
    ],
)
def test_gauge_too_wide(gauge: str, standard: str, room: float, source: str) -> None:
    keys = {"gauges": f"standard: {gauge}", "clearances": standard}
    assert found("gauge-too-wide", wider(round(room - 0.002, 4), 100), **keys) == []
    (wrong,) = found("gauge-too-wide", wider(round(room + 0.011, 4), 100), **keys)
    assert wrong.level == "warning" and wrong.source.startswith(source)
    assert number(wrong.limit) < number(wrong.measured)
    assert number(wrong.remedy) == pytest.approx(room, abs=0.0051)


def test_full_size_practice_has_no_widest_gauge() -> None:
    assert found("gauge-too-wide", wider(0.5, 100), clearances="prototype") == []


def test_widened_end() -> None:
    """With 90 mm before the curve a taper of 100 mm wants 10 more, and begins at a tenth of its widening."""
    assert found("widened-end", wider(0.3, 100)) == []
    (wrong,) = found("widened-end", wider(0.3, 90))
    assert wrong.level == "warning" and "at its start" in str(wrong.measured)
    assert number(wrong.measured) == 0.03 and "10 mm" in str(wrong.limit)


TOUCHING = {
    "rail": "{height: 1.4, head: 0.6, base: 1.2}",
    "throw": "3.2 mm",
    "clearances": "{standard: {flangeway: 1, check_gauge: 15.4, span: 14.2, point_spread: 15}, "
    "narrow: {flangeway: 1, check_gauge: 12.4, span: 11.2, point_spread: 12}}",
}
"""A third rail so near that an open point runs into it."""


def every_finding() -> list[Finding]:
    cases: tuple[tuple[str, dict[str, str]], ...] = (
        (three(50), clearances(s=14.0)),
        (two_gauge("both", "left", "left"), N_KEYS),
        (two_gauge("both", "left", "left"), N_NEM),
        (heel(19.0), {}),
        ("main: {common_rail: left, path: [straight: 200]}", {"gauges": "standard: 16.5 mm, narrow: 14.4 mm"}),
        (wider(0.4, 90.0), {}),
        (two_gauge("wide", "left", "right"), {"gauges": "standard: 16.5 mm, narrow: 13.5 mm", **TOUCHING}),
    )
    return [finding for routes, keys in cases for finding in job(spec(routes, **keys)).findings]


def test_in_inches_no_length_stands_in_mm_alone() -> None:
    """Each length comes in inches with the same mm in brackets as the sentence in mm has, and the two agree."""
    seen = set()
    for finding in every_finding():
        metric, inches = finding.sentence("mm"), finding.sentence("in")
        spoken = IN_INCHES.findall(inches)
        assert len(spoken) == len(LENGTH.findall(metric)) == inches.count(" mm")
        for whole, top, bottom, decimal, mm in spoken:
            value = float(whole or 0) + (int(top) / int(bottom) if top else float(decimal or 0))
            # To 1/64 in, which may come out whole, or to a thousandth; mm are rounded to a tenth at the coarsest.
            exact = 0.0201 if "." in decimal else 25.4 / 128 + 0.0501
            assert value * 25.4 == pytest.approx(float(mm), abs=exact)
        seen |= {finding.rule} if spoken else set()
    assert seen == {
        *("span", "points-together", "point-opening", "frog-unguarded", "wing-short", "frog-on-point"),
        *("point-touches", "throw-bar-spot", "base-gone", "copper-gap", "groove-shared"),
        *("curve-before-heel", "third-rail-flangeway", "gauge-too-wide", "widened-end"),
    }


def test_what_is_advised_is_enough() -> None:
    """The straight advised for a heel of 20.34 mm is rounded up, in either unit."""
    (short,) = found("curve-before-heel", heel(19.0))
    assert "a straight of 21 mm." in short.sentence("mm")
    # 20.34 mm are 25.6/32 in: 26/32.
    assert "a straight of 13/16 in (20.6 mm)." in short.sentence("in")
    assert found("curve-before-heel", heel(13 / 16 * 25.4)) == []


CLOSE = """
    a: {{gauges: [standard], path: [straight: 300]}}
    b: {{gauges: [standard, narrow], common_rail: left, start: {{x: 120, y: -60, heading: {angle} deg}},
    path: [straight: 200]}}
"""


def test_bars_between_frogs_that_leave_too_little() -> None:
    """Two rails of b, g apart, cross one of a: its bar between two K at F is (g - f)/sin F long, f the groove.

    Head h is filed away over h/tan F at its nose and h tan(F/2) at its elbow.
    """
    clear = "{standard: %s, narrow: %s}" % (  # noqa: UP031
        CLEAR.format(f=1.2, c=15.3, s=14.1, p=15.0),
        CLEAR.format(f=1.2, c=9.3, s=8.1, p=9.0),
    )

    def told(rule: str, narrow: float, angle: float) -> list[Finding]:
        gauges = f"standard: 16.5 mm, narrow: {narrow} mm"
        return found(rule, CLOSE.format(angle=angle), gauges=gauges, clearances=clear)

    # g = 2.5, F = 30 degrees: 2.6 mm long, of which 2.6 - 0.889/tan F - 0.889 tan(F/2) = 0.822 mm is whole.
    (gone,) = told("bar-filed-away", 14.0, 30)
    length, whole = gone.measured.sizes
    assert length == pytest.approx(2.6, abs=1e-6) and whole == pytest.approx(0.822, abs=0.05)
    assert gone.limit.sizes == (pytest.approx(0.889),)
    # g = 3.5: 4.6 mm long with 2.8 mm whole; bent at its elbow into the rail that runs on.
    assert told("bar-filed-away", 13.0, 30) == told("bar-short", 13.0, 30) == []
    # At 60 degrees nothing is bent: (3.5 - 1.2)/sin F = 2.656 mm at the K, and no tie space (20 in) is so short.
    short = told("bar-short", 13.0, 60)
    assert min(abs(finding.measured.sizes[0] - 2.656) for finding in short) < 1e-3
    assert short[0].limit.sizes == (pytest.approx(20 * 25.4 / 87.1),)


def test_base_gone() -> None:
    """N with Nn3: in code 100 the third rail, between a point and another that opens, is left no base; 55 is fine."""
    assert found("base-gone", two_gauge("both", "left", "left"), **N_KEYS) == []
    keys = {**N_KEYS, "rail": "code 100"}
    work = job(spec(two_gauge("both", "left", "left"), **keys)).trackwork
    ties, bars = {tie.id: tie for tie in work.ties}, {bar.id: bar for bar in work.bars}
    (gone, *_) = found("base-gone", two_gauge("both", "left", "left"), **keys)
    name, *_, last = gone.where.split()
    # The routes are straight where that is, so that stations are those of the main; the tie lies within both cuts.
    sides = {cut.side: cut for cut in work.base_cuts if cut.part == name and cut.low < ties[last].station < cut.high}
    assert gone.level == "warning" and set(sides) == {"gauge", "outer"} and bars[name].id not in ties[last].loose
    assert gone.measured.sizes[0] > ties[last].width


def test_a_point_that_begins_beside_a_moving_one_is_told_once() -> None:
    """Opened, it runs into that other point as well: that comes of where it begins, and has no finding of its own."""
    pairs = found("points-together", three(50))
    assert len(pairs) == 2 and all("of S2, beside point" in finding.where for finding in pairs)
    assert job(spec(three(50))).trackwork.open_fouls
    assert found("point-touches", three(50)) == found("point-touches", plain(6, "left")) == []


def test_rail_too_low() -> None:
    """NEM 110 asks for flangeways 1.2 mm deep at 16.5 mm: code 40 is 1.016 mm high, code 55 1.397, code 70 1.778."""
    keys = {"scale": "H0", "clearances": "NEM 110 (2009)", "gauges": "standard: H0"}
    (through,) = found("rail-too-low", plain(), rail="code 40", **keys)
    assert through.level == "error" and through.measured.sizes == pytest.approx((1.2, 1.016))
    (weak,) = found("rail-too-low", plain(), rail="code 55", **keys)
    assert weak.level == "warning"
    assert found("rail-too-low", plain(), rail="code 70", **keys) == []


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("W4",), "W4 is"),
        (("the flangeway of R2",), "the flangeway of R2 is"),
        (("the flangeway of R2", "R2", "W4"), "R2 with its flangeway and W4 are"),
        (
            ("G1", "R2", "the flangeway of R2", "the flangeway of R3"),
            "G1, R2 with its flangeway and the flangeway of R3 are",
        ),
        (("R2", "W4", "R2"), "R2 and W4 are"),
    ],
    ids=str,
)
def test_what_stands_in_the_way_is_said_once(names: tuple[str, ...], said: str) -> None:
    assert what_stands(names) == said
