"""The texts before the sheets: one entry for one thing, lengths in the spec's units, names as the sheets write them."""

import math
import re
from pathlib import Path

import pytest
from msgspec.structs import replace
from trackwork.building import TWO_GAUGES, built, plain, spec
from trackwork.sites import ladder

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.grouping import group_findings
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drawing.items import TextItem
from turnout_templates.pipeline import Job, measure, work_out
from turnout_templates.reports.base_rows import bases_block
from turnout_templates.reports.dimensions import assembly_dimensions
from turnout_templates.reports.leading import leading_blocks
from turnout_templates.reports.legend import LEGEND
from turnout_templates.spec.load import load_spec, read_spec
from turnout_templates.trackwork.model import Trackwork
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

AS_IT_LIES = "laid out on its main as that lies"


TURNOUT = """
spec: 1
name: Turnout
scale: HO
units: {units}
turnout: {{hand: left, frog: 7{more}}}
"""

THREE_POINTS = spec(
    """
    main: {common_rail: left, path: [straight: 600]}
    branch: {leaves: main, at: 60, hand: right, path: [{frog: 9}, {straight: 200}]}
""",
    gauges=TWO_GAUGES,
)


def job(text: str) -> Job:
    return work_out(read_spec(text, file="arc.yaml", folder=None))


def outer_bar(work: Trackwork) -> str:
    """The bar whose end lies at the tip of the first switch's outer rail, by the places of the figures."""
    outer = work.switches[0].outer
    (name,) = {
        bar.id
        for bar in work.bars
        for stretch in bar.stretches
        if stretch.owner == outer.owner and abs((stretch.low if outer.way > 0 else stretch.high) - outer.tip) < 0.01
    }
    return name


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


def test_findings_that_say_the_same_of_several_places_are_one_entry() -> None:
    """But for what can't be read off the paper: less than 0.01 mm and 0.001 in."""
    alike = [(Size(1.126, "clearance"), "S1"), (Size(1.128, "clearance"), "S2"), (Size(1.15, "clearance"), "S3")]
    found = [
        replace(finding(where, "", at=(float(k), 0.0)), measured=phrase("falls to ", size))
        for k, (size, where) in enumerate(alike)
    ]
    groups = group_findings(tuple(found))
    assert [group.places for group in groups] == [((0.0, 0.0), (1.0, 0.0)), ((2.0, 0.0),)]
    assert groups[0].sentence("mm") == "S1; S2: falls to 1.13 mm; l. Do so."


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
    texts = [item.text.partition("see finding ") for item in drawing.items if isinstance(item, TextItem)]
    numbers = [int(number) for _, _, flagged in texts if flagged for number in flagged.split(", ")]
    assert sorted(numbers) == list(range(1, len(groups) + 1))


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_frog_is_measured_from_the_filed_tip_on_the_gauge_face(units: str) -> None:
    work = job(LEAVING.format(units=units)).trackwork
    (switch,), (frog,) = work.switches, work.frogs
    dimension = next(d for d in assembly_dimensions(work) if d.start == f"S1 filed tip of {outer_bar(work)}")
    # Tip and frog lie on the outer face of the branch, an arc of the radius of its centre line and half the gauge.
    radius = 700.0 + work.spec.gauges[next(iter(work.spec.gauges))].width / 2
    chord = 2 * radius * math.sin((frog.t - switch.outer.tip) / 700.0 / 2)
    assert dimension.end == "F1"
    assert dimension.length == pytest.approx(chord, abs=1e-6)


def test_dimensions_lie_between_the_anchors_of_the_drawing() -> None:
    of = job(LEAVING.format(units="mm"))
    anchors = {a.name: a.at for a in draft_drawing(of.trackwork, of.findings).anchors}
    tip = f"S1 filed tip of {outer_bar(of.trackwork)}"
    tips = [d for d in assembly_dimensions(of.trackwork) if d.start in anchors and d.end in anchors]
    assert [(d.start, d.end) for d in tips] == [(tip, "F1")]
    assert tips[0].length == pytest.approx(math.dist(anchors[tip], anchors["F1"]), abs=1e-9)


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
    assert rows["R3b, R3b/2"].startswith("a bar of rail between frogs")
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
        words = {"solved on its main": AS_IT_LIES, "bent from straight": "laid out straight, then curved with its main"}
        assert f"; {words[switch['laid']]}: branch with radius {format_length(radius, units)}; " in row  # type: ignore[arg-type]
        told.append((switch["laid"], round(radius)))
    assert [laid for laid, _ in told] == ["solved on its main", "bent from straight", "solved on its main"]
    assert len({radius for _, radius in told}) == 3


def test_branches_of_one_s_own_tell_their_least_radius() -> None:
    """Where no piece was left open nothing was found for a frog, but the radius is told all the same."""
    (row,) = said(job(LEAVING.format(units="mm")))["Switches"]
    assert f"; {AS_IT_LIES}: branch with radius 700 mm; " in row
    straight = LEAVING.format(units="mm").replace("hand: left\n", "points: {entry: 6 deg}\n    hand: left\n")
    straight = straight.replace("curve: {radius: 700 mm, turn: left, length: 350 mm}", "straight: 300 mm")
    (row,) = said(job(straight))["Switches"]
    assert f"; {AS_IT_LIES}: branch straight; " in row


PARTING = """
    main: {common_rail: left, path: [straight: 80]}
    on: {leaves: main, at: end, gauges: [standard], path: [straight: 400]}
    off: {leaves: main, at: end, gauges: [narrow], hand: right, points: fixed, path: [{curve: @}]}
""".replace("@", "{radius: 700, turn: right, length: 300}")


def test_a_fixed_separation_is_told_by_its_rail_and_its_guard() -> None:
    of = job(spec(PARTING, gauges=TWO_GAUGES))
    (switch,) = of.trackwork.switches
    (told,) = said(of)["Switches"]
    begins = format_mm(switch.filed_station, 1)
    assert re.search(rf"nothing moves; the fixed rail R\d+[a-z]? off narrow left begins at {begins}", told)
    (guard,) = (guard for guard in of.trackwork.guards if guard.switches)
    assert f"{guard.id} draws the wheels over" in told and "throw" not in told and "filed tip" not in told
    assert {d.start for d in assembly_dimensions(of.trackwork) if d.end.startswith("F")} == {
        f"S1 fixed rail of {outer_bar(of.trackwork)}"
    }


def test_a_stub_is_told_by_its_fixed_end_and_its_toe() -> None:
    ways = "\n".join(
        f"{hand}: {{leaves: main, at: 60, hand: {hand}, points: {{stub: 2.4}}, path: [{{frog: 6}}, {{straight: 60}}]}}"
        for hand in ("left", "right")
    )
    of = job(spec("main: {path: [straight: 400]}\n" + ways))
    (switch,) = of.trackwork.switches
    (told,) = said(of)["Switches"]
    assert told.startswith(
        "S1: left leaves main to the left, right leaves main to the right, fixed end at 60 mm; laid out on "
    )
    assert f"swing over {format_mm(switch.swinging, 1)} to the toe at {format_mm(switch.filed_station, 1)}" in told
    (bar,) = said(of)["Throw bars, measured from the end away from the machine"]
    stops = re.search(r"it stops in 3 positions: (\w+) at 0 mm, main at ([\d.]+) mm, (\w+) at ([\d.]+) mm;", bar)
    assert stops and {stops[1], stops[3]} == {"left", "right"}
    assert float(stops[4]) == pytest.approx(2 * float(stops[2]), abs=0.011)
    assert told.endswith("throw at the toe 2.4 mm from main to left and 2.4 mm from main to right.")
    assert {d.start for d in assembly_dimensions(of.trackwork) if d.end.startswith("F")} == {
        f"S1 toe of {outer_bar(of.trackwork)}"
    }
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
    assert {row[0] for row in rows if row[3] == "its end at F1"} == {"R3b", "R4b"}
    assert all(row[2].startswith("0 to ") for row in rows if row[3] == "its tip")
    # The main's bar carries the point, which is blunt where the faces are a frog point apart. The other bar begins
    # where it leaves the edge of the first one's head; the corner of its base reaches back by the sine of the angle.
    angle, rail = work.frogs[0].angle, work.spec.rail
    practical = work.spec.frog_point / (2 * math.sin(angle / 2))
    begins = rail.head / math.tan(angle) - practical - (rail.base - rail.head) / 2 * math.sin(angle)
    splice = {row[0]: row[2].split(" to ")[0] for row in rows if row[3] == "its end at F1" and row[4] in ("R3b", "R4b")}
    assert splice == {"R3b": f"{begins:.1f}", "R4b": "0"}


def test_no_cut_of_a_base_is_told_from_nought_to_nought() -> None:
    """In sixty-fourths of an inch, 0.4 mm, the corner of a guard's base that the point fouls reads 0 to 0."""
    sample = Path(__file__).parents[2] / "sample_specs/two_gauge/parting-wide-leaves-left-common-left.yaml"
    work = work_out(load_spec(sample)).trackwork
    least = min(cut.high - cut.low for cut in work.base_cuts)
    assert 0.1 * work.spec.rail.head < least < 25.4 / 128
    reaches = [row[2] for row in bases_block(work).rows[1:] if isinstance(row, tuple)]
    assert f"0 to {least / 25.4:.3f} in" in reaches
    ends = [reach.removesuffix(" in").split(" to ") for reach in reaches if " to " in reach and "end" not in reach]
    assert len(ends) > 5 and all(low != high for low, high in ends)


def test_alike_turnouts_share_the_rows_of_their_bases_each_part_named() -> None:
    """Of a yard parts alike share rows, four at the most, and each is named with what it is to be clear of."""
    work = built(ladder(8))
    rows = [row for row in bases_block(work).rows[1:] if isinstance(row, tuple)]
    named = [(part, of) for row in rows for part, of in zip(row[0].split(", "), row[4].split("; "), strict=True)]
    strips = {row[0] for row in rows if row[1] == "all: use strip"}
    single = {(cut.part, ", ".join(cut.against)) for cut in work.base_cuts}
    told = {pair for pair in named if not any(pair[0] in few for few in strips)}
    assert told <= single and {part for part, _ in named} == {part for part, _ in single}
    shared: dict[tuple[str, ...], list[int]] = {}
    for row in rows:
        shared.setdefault(row[1:4], []).append(row[0].count(",") + 1)
    assert any(len(counts) > 1 for counts in shared.values())
    assert all(set(counts[:-1]) <= {4} and counts[-1] <= 4 for counts in shared.values())


def test_every_point_is_told_with_its_own_opening_and_the_worst_is_marked() -> None:
    """Three points of a two-gauge turnout: each row has its own figures, and the worst of them is said elsewhere."""
    of = work_out(read_spec(THREE_POINTS, file="three.yaml", folder=None))
    texts, (switch,) = said(of), measure(of)["switches"]
    head, *rows = [row.split(" | ") for row in texts["Points, from their filed tips"]]
    least, wanted = head.index("least opening"), head.index("wanted")
    points = switch["point_rails"]  # type: ignore[index]
    assert len(rows) == len(points) == 3
    short = [p["wanted_opening_mm"] - p["opening"]["least_opening_mm"] for p in points]
    for row, point, missing in zip(rows, points, short, strict=True):
        worst = " (worst)" if missing == max(short) else ""
        assert row[least] == format_mm(point["opening"]["least_opening_mm"]) + worst
        assert row[wanted] == format_mm(point["wanted_opening_mm"])
        assert row[0].endswith(f" {point['route']} {point['gauge']} {point['hand']}")
    opened = [row.split(" | ") for row in texts[next(title for title in texts if title.startswith("Open points"))]]
    drawn = [row[2] for row in opened if row[0].endswith(", as drawn")]
    assert drawn == [format_mm(point["opening"]["least_opening_mm"]) for point in points]
    (told,) = texts["Switches"]
    worst_point = points[short.index(max(short))]
    assert f"beside an open point {format_mm(worst_point['opening']['least_opening_mm'])}, that of R" in told


def test_filing_is_told_before_and_past_the_theoretical_point() -> None:
    """On a straight main a face's length is that of its stations; the knuckle comes first, the V after the crossing."""
    of = job(TURNOUT.format(units="in", more=""))
    rows = [row.split(" | ") for row in said(of)["Filing"][1:-1]]
    (frog,) = measure(of)["frogs"]
    told = {}
    for entry in frog["filing"]:
        if entry["face"]["route"] == "main":
            away = entry["from_mm"] - frog["stations_mm"]["main"]
            inches = f"{abs(away) / 25.4:.3f}".rstrip("0")
            told[entry["bar"]] = f"{inches} in {'past' if away > 0 else 'before'} TP"
    assert {text.split(" in ")[1] for text in told.values()} == {"past TP", "before TP"}
    assert {row[1]: row[6] for row in rows if row[1] in told} == told
    (point,), (splice,) = ([row for row in rows if row[2].startswith(word)] for word in ("point", "splice"))
    assert point[3] == f"outer (against {splice[1]})" and splice[3] == f"outer (against {point[1]})"
    assert splice[2] == f"splice to {point[1]}"
    lengths = {entry["bar"]: entry["length_mm"] for entry in frog["filing"]}
    assert point[5] == f"{lengths[point[1]] / 25.4:.3f}".rstrip("0") + " in"


def test_guards_tell_what_they_are_made_of() -> None:
    of = job(THREE_POINTS)
    head, *rows = [row.split(" | ") for row in said(of)["Guards and wings"]]
    found = measure(of)
    rail = of.trackwork.spec.rail
    strip = f"strip, {format_mm(rail.head)} wide, {format_mm(rail.height)} high"
    made = {part["id"]: part["material"] for part in (*found["guards"], *found["wings"])}
    told = {row[0]: row[head.index("made of")] for row in rows}
    # A wing lies along the half of the V that its own bar would run into: the bar that is pointed or spliced there.
    beside = {row[0]: row[head.index("beside")] for row in rows}
    filing = {(f["id"], str(e["face"])): e["bar"] for f in found["frogs"] for e in f["filing"] if e["side"] == "outer"}
    assert found["wings"]
    for wing in found["wings"]:
        bar = filing[wing["frog"], str(wing["beside"])]
        assert beside[wing["id"]] == f"{bar} {' '.join(wing['beside'].values())}"
    for guard in found["guards"]:
        assert re.match(rf"R\d+[a-z]? {' '.join(guard['beside'].values())}$", beside[guard["id"]])
    assert told == {name: strip if material == "strip" else material for name, material in made.items()}
