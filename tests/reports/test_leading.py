"""The texts before the sheets: one entry for one thing, lengths in the spec's units, names as the sheets write them."""

import math
import re

import pytest
from trackwork.building import TWO_GAUGES, built, plain, spec
from trackwork.sites import ladder

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.grouping import group_findings
from turnout_templates.checks.phrase import phrase
from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drawing.items import TextItem
from turnout_templates.pipeline import Job, measure, work_out
from turnout_templates.reports.base_rows import bases_block
from turnout_templates.reports.dimensions import assembly_dimensions
from turnout_templates.reports.leading import leading_blocks
from turnout_templates.reports.legend import LEGEND
from turnout_templates.spec.load import read_spec
from turnout_templates.units import format_length, format_mm

LEAVING = """
spec: 1
name: Arc
scale: HO
units: {units}
routes:
  main:
    path: [{{straight: 400 mm}}]
  branch:
    leaves: main
    at: 40 mm
    hand: left
    path: [{{curve: {{radius: 700 mm, turn: left, length: 350 mm}}}}]
"""
CROSSING = """
spec: 1
name: Diamond
scale: HO
units: in
track_standard: {from: NMRA S-3.2 (2010), standard: {span: 14 mm}}
routes:
  main:
    path: [{straight: 12 in}]
  other:
    start: {x: 2 in, y: -2 in, heading: 25 deg}
    path: [{straight: 9 in}]
"""


TURNOUT = """
spec: 1
name: Turnout
scale: HO
units: {units}
turnout: {{hand: left, frog: 7{more}}}
"""


def job(text: str) -> Job:
    return work_out(read_spec(text, file="arc.yaml", folder=None))


def said(of: Job) -> dict[str, list[str]]:
    """The rows of each block as plain text."""
    blocks = leading_blocks(of.trackwork, of.findings)
    return {block.title: [row if isinstance(row, str) else " | ".join(row) for row in block.rows] for block in blocks}


def finding(
    where: str, measured: str, *, at: tuple[float, float] = (1.0, 2.0), rule: str = "r", limit: str = "l"
) -> Finding:
    return Finding(rule, "warning", where, at, phrase(measured), phrase(limit), "source", phrase("Do so."))


def test_findings_of_one_rule_at_one_place_are_one_entry() -> None:
    both = group_findings((finding("F2 (K), wide", "3 mm"), finding("F2 (K), narrow", "4 mm")))
    assert [group.sentence("mm") for group in both] == ["F2 (K): wide: 3 mm; narrow: 4 mm; l. Do so."]


def test_a_finding_alone_reads_as_ever() -> None:
    one = finding("F2 (K), wide", "3 mm")
    assert [group.sentence("in") for group in group_findings((one,))] == [one.sentence("in")]


def test_places_that_differ_in_words_are_all_named() -> None:
    (group,) = group_findings((finding("F2, wide", "3 mm"), finding("S1", "4 mm")))
    assert group.sentence("mm") == "F2, wide: 3 mm; S1: 4 mm; l. Do so."


@pytest.mark.parametrize("other", [{"at": (1.0, 3.0)}, {"rule": "q"}, {"limit": "k"}], ids=str)
def test_findings_of_other_rules_places_or_limits_stay_apart(other: dict) -> None:  # type: ignore[type-arg]
    one, two, three = finding("F2, a", "3 mm"), finding("F2, b", "4 mm", **other), finding("F2, c", "5 mm")
    groups = group_findings((one, two, three))
    assert [group.findings for group in groups] == [(one, three), (two,)]


def test_flags_on_the_sheets_carry_the_numbers_of_the_list() -> None:
    crossing = job(CROSSING)
    groups = group_findings(crossing.findings)
    assert 1 < len(groups) < len(crossing.findings)  # both guards of each of its V frogs too far from the wings
    rows = said(crossing)["Findings"]
    assert [row.split(".")[0] for row in rows] == [str(k) for k in range(1, len(groups) + 1)]
    drawing = draft_drawing(crossing.trackwork, crossing.findings)
    flags = [item.text for item in drawing.items if isinstance(item, TextItem) and item.text.startswith("see finding")]
    numbers = [int(number) for text in flags for number in re.findall(r"\d+", text)]
    assert sorted(numbers) == list(range(1, len(groups) + 1))


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_frog_is_measured_from_the_filed_tip_on_the_gauge_face(units: str) -> None:
    work = job(LEAVING.format(units=units)).trackwork
    (switch,), (frog,) = work.switches, work.frogs
    dimension = next(d for d in assembly_dimensions(work) if d.start == "S1 filed tip")
    # Tip and frog lie on the outer face of the branch, an arc of the radius of its centre line and half the gauge.
    radius = 700.0 + work.spec.gauges[next(iter(work.spec.gauges))].width / 2
    chord = 2 * radius * math.sin((frog.t - switch.outer.tip) / 700.0 / 2)
    assert dimension.end == "F1"
    assert dimension.length == pytest.approx(chord, abs=1e-6)


def test_dimensions_lie_between_the_anchors_of_the_drawing() -> None:
    of = job(LEAVING.format(units="mm"))
    anchors = {a.name: a.at for a in draft_drawing(of.trackwork, of.findings).anchors}
    tips = [d for d in assembly_dimensions(of.trackwork) if d.start in anchors and d.end in anchors]
    assert [(d.start, d.end) for d in tips] == [("S1 filed tip", "F1")]
    assert tips[0].length == pytest.approx(math.dist(anchors["S1 filed tip"], anchors["F1"]), abs=1e-9)


def test_the_lead_is_from_what_the_sheet_names() -> None:
    of = job(LEAVING.format(units="mm"))
    (head, row) = said(of)["Frogs"]
    assert "lead (from the tangent point)" in head
    (frog,) = of.trackwork.frogs
    assert frog.lead is not None and row.split(" | ")[3] == format_mm(frog.lead, 1)
    drawing = draft_drawing(of.trackwork, of.findings)
    labels = [item.text for item in drawing.items if isinstance(item, TextItem)]
    assert "S1 tangent point" in labels and "filed tip" in labels


def test_a_crossing_without_a_switch_has_no_lead() -> None:
    assert said(job(CROSSING))["Frogs"][0] == "frog | number | angle | rails"


def test_a_metric_spec_is_told_in_millimetres_alone() -> None:
    of = said(job(LEAVING.format(units="mm")))
    own = " ".join(of["Switches"] + of["Frogs"])
    assert re.search(r"\d mm", own) and not re.search(r"\d in\b", own)


def test_an_inch_spec_is_told_in_inches_with_small_lengths_also_in_millimetres() -> None:
    of = job(LEAVING.format(units="in"))
    throw = of.trackwork.switches[0].throw
    (switch,) = said(of)["Switches"]
    inches, metric = (f"{value:.{n}f}".rstrip("0").rstrip(".") for value, n in ((throw / 25.4, 3), (throw, 2)))
    assert f"throw {inches} in ({metric} mm)" in switch
    assert "at 1 37/64 in" in switch  # 40 mm are 1.5748 in, and 37/64 are 0.578
    # A length in mm stands only in brackets or behind an equals sign.
    assert not re.search(r"(?<!\()(?<!= )(?<![\d.])[\d.]+ mm", switch)


def test_the_legend_explains_what_is_on_the_paper() -> None:
    rows = {row[0]: row[1] for row in LEGEND if not isinstance(row, str)}
    assert rows["R3b"] == "name of a rail in the figures"
    for words in ("cut here", "glued", "neighbour", "registration mark", "bar"):
        assert any(words in meaning for meaning in rows.values()), words


@pytest.mark.parametrize("units", ["mm", "in"])
def test_how_a_turnout_came_about_is_told_with_the_radius_that_results(units: str) -> None:
    """The radius is that of the curve to the frog, as the figures have it: the same turnout bent has another."""
    told = []
    for more in (", main: {radius: 900 mm, turn: right}", ", bend: {radius: 900 mm, turn: right}", ""):
        of = job(TURNOUT.format(units=units, more=more))
        (row,) = said(of)["Switches"]
        found = measure(of)
        (switch,) = found["switches"]
        radius = abs(found["routes"]["branch"]["pieces"][0]["radius_mm"])
        assert f"; {switch['laid']}: branch with radius {format_length(radius, units)}; " in row  # type: ignore[arg-type]
        told.append((switch["laid"], round(radius)))
    assert [laid for laid, _ in told] == ["solved on its main", "bent from straight", "solved on its main"]
    assert len({radius for _, radius in told}) == 3


def test_branches_of_one_s_own_tell_their_least_radius() -> None:
    """Where no piece was left open nothing was found for a frog, but the radius is told all the same."""
    (row,) = said(job(LEAVING.format(units="mm")))["Switches"]
    assert "; solved on its main: branch with radius 700 mm; " in row
    straight = LEAVING.format(units="mm").replace("hand: left\n", "points: {entry: 6 deg}\n    hand: left\n")
    straight = straight.replace("curve: {radius: 700 mm, turn: left, length: 350 mm}", "straight: 300 mm")
    (row,) = said(job(straight))["Switches"]
    assert "; solved on its main: branch straight; " in row


PARTING = """
    main: {common_rail: left, path: [straight: 80]}
    on: {leaves: main, at: end, gauges: [standard], path: [straight: 400]}
    off: {leaves: main, at: end, gauges: [narrow], hand: right, points: fixed, path: [{curve: @}]}
""".replace("@", "{radius: 700, turn: right, length: 300}")


def test_a_fixed_separation_is_told_by_its_rail_and_its_guard() -> None:
    of = job(spec(PARTING, gauges=TWO_GAUGES))
    (switch,) = of.trackwork.switches
    (told,) = said(of)["Switches"]
    assert "nothing moves; the fixed rail off narrow left begins at " + format_mm(switch.filed_station, 1) in told
    (guard,) = (guard for guard in of.trackwork.guards if guard.switches)
    assert f"{guard.id} draws the wheels over" in told and "throw" not in told and "filed tip" not in told
    assert {d.start for d in assembly_dimensions(of.trackwork) if d.end.startswith("F")} == {"S1 fixed rail"}


def test_a_stub_is_told_by_its_fixed_end_and_its_toe() -> None:
    ways = "\n".join(
        f"{hand}: {{leaves: main, at: 60, hand: {hand}, points: {{stub: 2.4}}, path: [{{frog: 6}}, {{straight: 60}}]}}"
        for hand in ("left", "right")
    )
    of = job(spec("main: {path: [straight: 400]}\n" + ways))
    (switch,) = of.trackwork.switches
    (told,) = said(of)["Switches"]
    assert told.startswith(
        "S1: left leaves main to the left, right leaves main to the right, fixed end at 60 mm; solved on "
    )
    assert f"swing over {format_mm(switch.swinging, 1)} to the toe at {format_mm(switch.filed_station, 1)}" in told
    assert told.endswith("throw 2.4 mm to either place beside the middle one.")
    assert {d.start for d in assembly_dimensions(of.trackwork) if d.end.startswith("F")} == {"S1 toe"}
    assert "dashes up to a toe" in " ".join(said(of)["What the marks mean"])
    assert "dashes up to a toe" not in " ".join(said(job(spec(PARTING, gauges=TWO_GAUGES)))["What the marks mean"])


def test_bases_to_file_are_told_at_the_bench() -> None:
    """A plain turnout: two stock rails relieved beside the tips, two points from their tips, two halves of the V."""
    work = built(plain(6, "left"))
    block = bases_block(work)
    head, *rows = [row for row in block.rows if isinstance(row, tuple)]
    assert head == ("part", "side", "from, to", "measured from", "clear of")
    # Head and base of code 70 are 0.889 and 1.778 mm.
    assert [row for row in rows if row[3] == "tip beside it"] == [
        ("R1", "gauge", "-0.9 to 45.9 mm", "tip beside it", "R3a"),
        ("R2", "gauge", "-0.9 to 46.3 mm", "tip beside it", "R4a"),
    ]
    assert {row[0] for row in rows if row[3] == "its tip"} == {"R3a", "R4a"}
    assert {row[0] for row in rows if row[3] == "frog end"} == {"R3b", "R4b"}
    assert all(row[2].startswith("0 to ") for row in rows if row[3] == "its tip")
    # The main's bar carries the point, which is blunt where the faces are a frog point apart. The other bar begins
    # where it leaves the edge of the first one's head; the corner of its base reaches back by the sine of the angle.
    angle, rail = work.frogs[0].angle, work.spec.rail
    practical = work.spec.frog_point / (2 * math.sin(angle / 2))
    begins = rail.head / math.tan(angle) - practical - (rail.base - rail.head) / 2 * math.sin(angle)
    splice = {row[0]: row[2].split(" to ")[0] for row in rows if row[3] == "frog end" and row[4] in ("R3b", "R4b")}
    assert splice == {"R3b": f"{begins:.1f}", "R4b": "0"}


def test_alike_turnouts_share_the_rows_of_their_bases() -> None:
    """Twice the turnouts of a yard: rows alike become one, and of many parts the first and last are named."""
    few, many = (bases_block(built(ladder(count))).rows for count in (4, 8))
    assert len(many) <= len(few) + 2
    assert any("(8)" in row[0] for row in many if isinstance(row, tuple))
