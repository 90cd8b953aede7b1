"""Formations said in a few words: what they expand to, that it means the same, and what is said where it cannot be."""

# ruff: noqa: E501  (tables read best with one case a line)

import pytest

from turnout_templates.errors import InputProblems, Problem
from turnout_templates.pipeline import work_out
from turnout_templates.spec import LocatedSpec, expanded_yaml, read_spec
from turnout_templates.spec.shorthands.table import FORMATIONS

HEAD = "spec: 1\nname: a\nscale: HO\nunits: mm\n"
TWO_GAUGES = HEAD + "gauges: {standard: HO, narrow: HOn3}\n"


def read(text: str) -> LocatedSpec:
    return read_spec(text, file="a.yaml", folder=None)


def routes(formation: str, head: str = HEAD) -> str:
    """Return the routes that a formation expands to, as they are printed."""
    return expanded_yaml(read(f"{head}{formation}\n")).partition("routes:\n")[2]


GOOD = [
    "turnout: {hand: left, frog: 6}",
    "turnout: {hand: left, radius: 18 in, main: {radius: 40 in, turn: left}, points: {length: 60 mm, spread: 2.5 mm, tip: 0.1 mm}}",
    "three_way: {frog: 6, hand: left}",
    "three_way: {left: {frog_angle: 9 deg}, right: {radius: 24 in}, stagger: 2 in, hand: right}",
    "crossover: {spacing: 52 mm, frog: 6, hand: right}",
    "crossover: {spacing: 2 1/16 in, frog_ratio: 1:6, hand: left, points: tangent, through: {straight: 12 mm}}",
    "crossover: {spacing: 52 mm, frog: open, length: 450 mm, hand: right}",
    "crossover: {spacing: 52 mm, frog: open, length: 450 mm, hand: right, main: {radius: 800 mm, turn: left}}",
    "double_crossover: {spacing: 52 mm, frog: 5, hand: right, main: {radius: 900 mm, turn: left}}",
    "double_crossover: {spacing: 52 mm, frog: open, length: 450 mm, hand: right, main: {radius: 900 mm, turn: right}}",
    "passing_siding: {spacing: 52 mm, frog: 6, hand: right, length: 500 mm}",
    "passing_siding: {spacing: 2 in, frog: 5, hand: left, length: 2 ft, radius: 24 in}",
    "ladder: {tracks: 3, spacing: 52 mm, frog: 6, hand: right}",
    "ladder: {tracks: 3, spacing: 52 mm, frog: 6, frogs: [6, 5, 7], hand: left, length: 100 mm}",
    "wye: {radius: 600 mm, hand: right}",
    "wye: {frog: 6, hand: left, tail: 200 mm}",
    "wye: {frog: 5, radius: 700 mm, hand: right, points: {length: 60 mm, spread: 2.5 mm, tip: 0.1 mm}}",
    "diamond: {frog: 4, hand: left, main: {radius: 900 mm, turn: left}, second: {radius: 600 mm, turn: left}}",
    "slip: {frog: 6, hand: left}",
    "slip: {frog: 6, hand: right, sides: single, tips: outside}",
    "slip: {frog_angle: 10 deg, hand: left, radius: 900 mm}",
    "gauntlet: {spacing: 52 mm, offset: 4 mm, length: 200 mm, frog: 6, hand: left}",
    "gauntlet: {spacing: 52 mm, offset: 4 mm, length: 200 mm, frog_angle: 9 deg, hand: right, radius: 500 mm}",
]


LEADS = [
    "crossover: {spacing: 60 mm, frog: 6, hand: left, lead: 260 mm}",
    "passing_siding: {spacing: 60 mm, frog: 6, hand: left, lead: 260 mm, length: 300 mm}",
    "ladder: {tracks: 2, spacing: 60 mm, frog: 6, hand: left, lead: 260 mm}",
    "wye: {frog: 6, radius: 500 mm, hand: left, lead: 260 mm}",
    "three_way: {frog: 6, hand: left, lead: 260 mm}",
]


@pytest.mark.parametrize("formation", LEADS)
def test_there_is_room_for_a_lead_that_is_given(formation: str) -> None:
    """The natural lead of a No. 6 is 184.4 mm, so that 260 mm needs 76 mm more at each switch of the main."""
    job = work_out(read(f"{HEAD}{formation}\n"))
    leads = [frog.lead for frog in job.trackwork.frogs if frog.number == pytest.approx(6, abs=1e-6)]
    assert leads and all(lead == pytest.approx(260, abs=1e-6) for lead in leads)


SIDE_CHANGE = "side_change: {radius: 600 mm, common_rail: left}"


def test_each_formation_is_tried_here() -> None:
    assert {text.partition(":")[0] for text in [*GOOD, SIDE_CHANGE]} == set(FORMATIONS)


@pytest.mark.parametrize("more", ["", ", length: 200 mm", ", points: {entry: 1 deg}"])
def test_a_change_of_side_means_the_same_and_can_be_laid(more: str) -> None:
    located = read(f"{TWO_GAUGES}{SIDE_CHANGE[:-1]}{more}}}\n")
    assert read(expanded_yaml(located)).spec.fingerprint == located.spec.fingerprint
    assert [finding for finding in work_out(located).findings if finding.level == "error"] == []


def test_a_change_of_side_is_written_from_both_ends() -> None:
    assert routes(SIDE_CHANGE, TWO_GAUGES) == (
        "  west:\n"
        "    common_rail: left\n"
        "    path:\n"
        "      - straight: 30 mm\n"
        "  east:\n"
        "    start: {x: 200 mm, y: 0 mm, heading: 180 deg}\n"
        "    common_rail: left\n"
        "    path:\n"
        "      - straight: 30 mm\n"
        "  wide:\n"
        "    leaves: west\n"
        "    at: end\n"
        "    joins: {route: east, at: end, facing: against}\n"
        "    gauges: [standard]\n"
        "    path:\n"
        "      - straight: open\n"
        "  narrow:\n"
        "    leaves: west\n"
        "    at: end\n"
        "    hand: right\n"
        "    joins: {route: east, at: end, facing: against}\n"
        "    gauges: [narrow]\n"
        "    path:\n"
        "      - curve: {radius: 600 mm, turn: right, length: open}\n"
        "      - straight: open\n"
        "      - curve: {radius: 600 mm, turn: left, length: open}\n"
    )


def test_a_change_of_side_needs_room_and_two_gauges() -> None:
    (problem,) = problems("side_change: {radius: 600 mm, length: 100 mm, common_rail: left}", TWO_GAUGES)
    assert "They take at least 119.8 mm. (a.yaml:6:31, side_change > length)" in str(problem)
    (problem,) = problems(SIDE_CHANGE)
    assert "It takes two gauges to share a rail." in str(problem) and "side_change > common_rail" in str(problem)


@pytest.mark.parametrize("head", [HEAD, HEAD.replace("units: mm", "units: in"), HEAD.replace("HO", "N")])
@pytest.mark.parametrize("formation", GOOD)
def test_the_expansion_means_the_same(formation: str, head: str) -> None:
    if "N\n" in head and "mm" in formation:
        formation = (
            formation.replace("52 mm", "30 mm")
            .replace("4 mm", "2.2 mm")
            .replace("60 mm, spread: 2.5 mm", "33 mm, spread: 1.5 mm")
            .replace("900 mm}", "500 mm}")
        )
    located = read(f"{head}{formation}\n")
    expanded = expanded_yaml(located)
    again = read(expanded)
    assert formation.partition(":")[0] + ":" not in expanded.partition("routes:")[0]
    assert (again.spec.fingerprint, again.spec.routes) == (located.spec.fingerprint, located.spec.routes)
    assert expanded_yaml(again) == expanded


@pytest.mark.parametrize("formation", GOOD)
def test_each_formation_can_be_laid(formation: str) -> None:
    job = work_out(read(f"{HEAD}{formation}\n"))
    assert [finding for finding in job.findings if finding.level == "error"] == []


@pytest.mark.parametrize("formation", [text for text in GOOD if not text.startswith("wye")])
def test_each_formation_takes_two_gauges(formation: str) -> None:
    located = read(f"{TWO_GAUGES}{formation[:-1]}, common_rail: right}}\n")
    assert read(expanded_yaml(located)).spec.fingerprint == located.spec.fingerprint
    assert all(route.gauges == ("standard", "narrow") for route in located.spec.routes)
    work_out(located)


def test_a_crossover_reads_like_a_spec_that_a_person_would_write() -> None:
    assert routes("crossover: {spacing: 52 mm, frog: 6, hand: right}") == (
        "  main:\n"
        "    path:\n"
        "      - straight: 550 mm\n"
        "  second:\n"
        "    start: {x: 0 mm, y: -52 mm}\n"
        "    path:\n"
        "      - straight: 550 mm\n"
        "  crossover:\n"
        "    leaves: main\n"
        "    at: 30 mm\n"
        "    hand: right\n"
        "    joins: second\n"
        "    path:\n"
        "      - frog: 6\n"
        "      - straight: open\n"
        "      - frog: 6\n"
    )


def test_a_curved_double_crossover_in_two_gauges() -> None:
    said = (
        "double_crossover: {spacing: 2 in, frog: 6, hand: left, main: {radius: 40 in, turn: left}, common_rail: left}"
    )
    assert routes(said, TWO_GAUGES.replace("units: mm", "units: in")) == (
        "  main:\n"
        "    common_rail: left\n"
        "    path:\n"
        "      - curve: {radius: 40 in, turn: left, length: 23 in}\n"
        "  second:\n"
        "    start: {x: 0 in, y: 2 in}\n"
        "    common_rail: left\n"
        "    path:\n"
        "      - curve: {radius: 38 in, turn: left, length: 22 in}\n"
        "  crossover:\n"
        "    leaves: main\n"
        "    at: 1 1/2 in\n"
        "    hand: left\n"
        "    joins: second\n"
        "    path:\n"
        "      - frog: 6\n"
        "      - straight: 7/8 in\n"
        "      - curve: {radius: open, length: open}\n"
        "      - straight: 7/8 in\n"
        "      - frog: 6\n"
        "  crossover back:\n"
        "    leaves: second\n"
        "    at: 1.425 in\n"
        "    hand: right\n"
        "    joins: main\n"
        "    path:\n"
        "      - frog: 6\n"
        "      - straight: 7/8 in\n"
        "      - curve: {radius: open, length: open}\n"
        "      - straight: 7/8 in\n"
        "      - frog: 6\n"
    )


def test_a_ladder_is_written_from_the_far_ends_of_its_tracks() -> None:
    assert routes("ladder: {tracks: 2, spacing: 52 mm, frog: 6, frogs: [6, 5], hand: left}") == (
        "  main:\n"
        "    path:\n"
        "      - straight: 960 mm\n"
        "  lead:\n"
        "    leaves: main\n"
        "    at: 30 mm\n"
        "    hand: left\n"
        "    path:\n"
        "      - frog: 6\n"
        "      - straight: 690 mm\n"
        "  track 1:\n"
        "    start: {x: 960 mm, y: 52 mm, heading: 180 deg}\n"
        "    joins: lead\n"
        "    facing: against\n"
        "    path:\n"
        "      - straight: open\n"
        "      - frog: 6\n"
        "  track 2:\n"
        "    start: {x: 960 mm, y: 104 mm, heading: 180 deg}\n"
        "    joins: lead\n"
        "    facing: against\n"
        "    path:\n"
        "      - straight: open\n"
        "      - curve: {radius: 1030 mm, turn: right, length: open}\n"
        "      - straight: 18 mm\n"
        "      - frog: 5\n"
    )


def test_a_triangle_hangs_on_its_tail() -> None:
    assert routes("wye: {radius: 600 mm, hand: right}") == (
        "  main:\n"
        "    path:\n"
        "      - straight: 1260 mm\n"
        "  west:\n"
        "    start: {x: 630 mm, y: -630 mm, heading: 90 deg}\n"
        "    joins: main\n"
        "    facing: against\n"
        "    path:\n"
        "      - straight: 30 mm\n"
        "      - curve: {radius: 600 mm, turn: left, length: open}\n"
        "  east:\n"
        "    leaves: west\n"
        "    at: 30 mm\n"
        "    hand: right\n"
        "    joins: main\n"
        "    path:\n"
        "      - curve: {radius: 600 mm, turn: right, length: open}\n"
    )


def problems(text: str, head: str = HEAD) -> tuple[Problem, ...]:
    with pytest.raises(InputProblems) as told:
        work_out(read(f"{head}{text}\n"))
    return told.value.problems


WRONG = [
    # (the formation; column, key path, phrase)
    ("crossover: {spacing: 52 mm, frog: open, hand: right}", 35, "crossover > frog", 'Add "length: LENGTH", from tip to tip.'),
    ("crossover: {spacing: 52 mm, frog: 6, length: 400 mm, hand: right}", 46, "crossover > length", "The frog tells how long the link is."),
    ("crossover: {spacing: 16 mm, frog: 6, hand: right}", 13, "crossover > spacing", "the gauge is 16.5 mm"),
    ("crossover: {spacing: 20 mm, frog: 6, hand: right}", 12, "crossover", "Move the two apart"),
    ("crossover: {frog: 6, hand: right}", 12, "crossover > spacing", 'The key "spacing" is missing.'),
    ("crossover: {spacing: 52 mm, frog: 6, hand: left, main: {radius: 70 mm, turn: left}}", 13, "crossover > spacing", "no room inside the main's curve"),
    ("crossover: {spacing: 52 mm, frog: 6, hand: left, gauges: [wide]}", 59, "crossover > gauges > 1st entry", "no gauge"),
    ("double_crossover: {spacing: 52 mm, frog: 6, hand: up}", 51, "double_crossover > hand", "left or right is expected"),
    ("passing_siding: {spacing: 52 mm, frog: 6, hand: left, length: 300 mm, radius: 4 m}", 71, "passing_siding > radius", "There is no room for this radius"),
    ("passing_siding: {spacing: 17 mm, frog: 6, hand: left, length: 300 mm}", 18, "passing_siding > spacing", "too near to curve back"),
    ("passing_siding: {spacing: 52 mm, frog: open, hand: left, length: 300 mm}", 40, "passing_siding > frog", "Nothing here would tell this frog number."),
    ("ladder: {tracks: 2, spacing: 52 mm, frog: 6, frogs: [6], hand: left}", 53, "ladder > frogs", "The list holds 1, and the tracks are 2."),
    ("ladder: {tracks: 0, spacing: 52 mm, frog: 6, hand: left}", 18, "ladder > tracks", "It must be from 1 to 100."),
    ("ladder: {tracks: many, spacing: 52 mm, frog: 6, hand: left}", 18, "ladder > tracks", "a whole number is expected"),
    ("ladder: {tracks: 2, spacing: 22 mm, frog: 6, hand: left}", 21, "ladder > spacing", "The switches of the lead would lie in one another"),
    ("wye: {hand: left}", 6, "wye", "Nothing says how sharp the legs are."),
    ("wye: {hand: left, radius: 600 mm, through: curved}", 44, "wye > through", "no frog is given"),
    ("wye: {hand: left, radius: 600 mm, points: {entry: 1 deg}}", 43, "wye > points", "which its points leave tangent"),
    ("three_way: {left: {frog: 6}, hand: left}", 12, "three_way", "Write one of"),
    ("three_way: {left: {frog: 6}, right: {frog: 6}, frog: 5, hand: left}", 54, "three_way > frog", "Both branches say this for themselves."),
    ("slip: {frog: 6, hand: left, radius: 4 m}", 29, "slip > radius", 'or write "tips: outside"'),
    ("slip: {frog: 6, hand: left, points: {entry: 1 deg}}", 37, "slip > points", "one curve"),
    ("diamond: {frog_angle: 100 deg, hand: left}", 23, "diamond > frog_angle", "at most 90 deg"),
    ("gauntlet: {spacing: 52 mm, offset: 60 mm, length: 200 mm, frog: 6, hand: left}", 36, "gauntlet > offset", "would not be drawn together"),
    ("gauntlet: {spacing: 52 mm, offset: 20 mm, length: 200 mm, frog: 6, hand: left}", 28, "gauntlet > offset", "Take less than the gauge."),
    ("gauntlet: {spacing: 52 mm, offset: 4 mm, length: 200 mm, frog: 6, hand: left, radius: 2 m}", 79, "gauntlet > radius", "the frog would lie in a curve"),
    ("turnout: {hand: left, frog: open}", 29, "turnout > frog", "Nothing here would tell this frog number."),
    ("slip {frog: 6, hand: left}", 1, "", 'No colon follows "slip".'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "column", "path", "phrase"), WRONG)
def test_what_is_wrong_is_told_at_the_key_of_the_formation(text: str, column: int, path: str, phrase: str) -> None:
    (problem,) = problems(text)
    place = f"a.yaml:5:{column}" + (f", {path}" if path else "")
    assert str(problem).endswith(f"({place})") and phrase in str(problem), str(problem)


def test_one_formation_at_a_time() -> None:
    text = "turnout: {hand: left, frog: 6}\nwye: {radius: 600 mm, hand: left}"
    (problem,) = problems(text)
    assert "this has turnout and wye. Keep one of them. (a.yaml:6:1, wye)" in str(problem)


def test_gauges_that_share_a_rail_say_which() -> None:
    (problem,) = problems("slip: {frog: 6, hand: left}", TWO_GAUGES)
    assert 'Add "common_rail: left"' in str(problem) and "slip > common_rail" in str(problem)


def test_a_triangle_does_not_take_two_gauges_round() -> None:
    (problem,) = problems("wye: {radius: 600 mm, hand: left, common_rail: left}", TWO_GAUGES)
    assert "A triangle turns a train round" in str(problem) and 'Let one gauge take the legs: "gauges: [NAME]".' in str(
        problem
    )
    assert (
        len(read(f"{TWO_GAUGES}wye: {{radius: 600 mm, hand: left, common_rail: left, gauges: [narrow]}}\n").spec.routes)
        == 3
    )
