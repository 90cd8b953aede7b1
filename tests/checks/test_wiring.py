"""Planted faults of wiring that the checks must tell, and sound wiring of which they say nothing."""

from __future__ import annotations

import math
from itertools import combinations
from pathlib import Path

import samples
from msgspec.structs import replace

from turnout_templates.checks.closed_points import check_closed_points
from turnout_templates.checks.wiring import check_copper_gaps, check_fed, check_sections_apart
from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drawing.items import MarkItem, PathItem, TextItem
from turnout_templates.pipeline import measure_file, work_out
from turnout_templates.reports.wiring_rows import wiring_blocks
from turnout_templates.spec.load import read_spec
from turnout_templates.trackwork.current.copper import CLEAR, LEAST_GAP
from turnout_templates.trackwork.current.wiring_parts import CopperTie
from turnout_templates.trackwork.model import Trackwork

PLAIN = Path(__file__).parents[2] / "sample_specs" / "01-plain-no-6.yaml"


def sample(stem: str) -> Trackwork:
    return samples.job(stem).trackwork


def plain() -> Trackwork:
    return sample(PLAIN.stem)


def gapped() -> CopperTie:
    """Return a tie with three gaps, in the frog."""
    return next(tie for tie in plain().wiring.copper if len(tie.gaps) == 3)


def with_copper(tie: CopperTie) -> Trackwork:
    wiring = plain().wiring
    copper = tuple(tie if one.tie == tie.tie else one for one in wiring.copper)
    return replace(plain(), wiring=replace(wiring, copper=copper))


def test_sound_wiring_is_not_reported() -> None:
    for check in (check_sections_apart, check_closed_points, check_copper_gaps, check_fed):
        assert list(check(plain())) == []


def test_a_gap_left_out_joins_two_sections() -> None:
    for k in range(3):
        tie = gapped()
        work = with_copper(replace(tie, gaps=tie.gaps[:k] + tie.gaps[k + 1 :]))
        (found,) = check_sections_apart(work)
        assert (found.rule, found.level) == ("sections-joined", "error")
        assert f"tie {tie.tie}" in str(found.measured)


def test_a_gap_under_a_base_is_told_and_parts_nothing() -> None:
    tie = gapped()
    moved = replace(tie.gaps[0], along=(tie.on[0].low + tie.on[0].high) / 2)
    work = with_copper(replace(tie, gaps=(moved, *tie.gaps[1:])))
    assert {f.rule for f in check_copper_gaps(work) if f.level == "error"} == {"gap-at-base"}
    assert [f.rule for f in check_sections_apart(work)] == ["sections-joined"]


def test_a_frog_joined_to_a_rail_is_told() -> None:
    gap = next(joint for joint in plain().joints if joint.kind == "gap" and joint.frogs)
    pieces = tuple(
        replace(piece, ends=tuple(replace(end, kind="joint") if end.at == gap.id else end for end in piece.ends))
        for piece in plain().pieces
    )
    work = replace(plain(), rail_cuts=replace(plain().rail_cuts, pieces=pieces))
    assert any("rail joiner" in str(found.measured) for found in check_sections_apart(work))


def test_a_missing_feeder_leaves_its_pieces_unfed() -> None:
    feeders = plain().wiring.feeders
    for feeder in feeders:
        rest = tuple(one for one in feeders if one is not feeder)
        (found,) = check_fed(replace(plain(), wiring=replace(plain().wiring, feeders=rest)))
        assert (found.rule, found.level) == ("piece-unfed", "error")
        assert feeder.piece in found.where.split(", ")


def test_gaps_keep_clear_and_lie_in_the_middle() -> None:
    for tie in plain().wiring.copper:
        for gap in tie.gaps:
            assert gap.width >= LEAST_GAP
            before = max(part.high for part in tie.on if part.high < gap.along)
            after = min(part.low for part in tie.on if part.low > gap.along)
            assert min(gap.along - before, after - gap.along) >= gap.width / 2 + CLEAR
            if tie.tie.isdigit():  # of a throw bar, clear of the hole for its wire
                assert abs((before + after) / 2 - gap.along) < 1e-9


def test_what_is_drawn_is_listed_and_what_is_listed_is_drawn() -> None:
    items = draft_drawing(plain(), ()).items
    holes = {item.part for item in items if isinstance(item, MarkItem) and item.layer == "wiring"}
    texts = {
        item.text for item in items if isinstance(item, TextItem) and item.part in holes and item.layer == "labels"
    }
    blocks = {block.title: block.rows for block in wiring_blocks(plain(), ())}
    listed = {row[0] for row in blocks["Feeders"][1:] if isinstance(row, tuple)}
    assert holes == texts == listed == {feeder.id for feeder in plain().wiring.feeders}
    lines = [item for item in items if isinstance(item, PathItem) and item.layer == "wiring"]
    rows = [row for row in blocks["Gaps in copper"][1:] if isinstance(row, tuple)]
    drawn = {line.part.removeprefix("tie ") for line in lines}
    assert drawn == {tie.tie for tie in plain().wiring.copper if tie.gaps}
    order = [tie.tie for tie in plain().wiring.copper]
    cut = [row[0].removeprefix("throw bar ").split(" to ") for row in rows if row[1]]
    assert [tie for ends in cut for tie in order[order.index(ends[0]) : order.index(ends[-1]) + 1]] == [
        tie.tie for tie in plain().wiring.copper if tie.gaps
    ]
    assert len(lines) == sum(len(tie.gaps) for tie in plain().wiring.copper)


def test_contacts_of_a_plain_turnout() -> None:
    # Left-hand turnout: the V joins the main's left rail and the branch's right rail.
    (frog,) = measure_file(PLAIN)["wiring"]["frogs"]
    assert frog["switch"] == "S1"
    assert frog["routes"] == {"main": "left", "branch": "right"}


def test_holes_of_feeders_do_not_break_into_each_other() -> None:
    """Where a lead is given two feeders of opposite polarity share a narrow space behind the frog."""
    feeders = measure_file(PLAIN.with_name("14-lead-given.yaml"))["feeders"]
    holes = [(feeder["x_mm"], feeder["y_mm"]) for feeder in feeders]
    assert min(math.dist(a, b) for a, b in combinations(holes, 2)) >= 8.0


def test_copper_that_is_taken_off_parts_without_a_gap() -> None:
    for stem in ("02-two-gauge-curve-narrow-leaves", "25-outside-slip"):
        bared = [(tie, part) for tie in sample(stem).wiring.copper for part in tie.on if part.bared is not None]
        assert bared
        for tie, part in bared:
            assert not [g for g in tie.gaps if part.low - CLEAR < g.along < part.high + CLEAR], tie.tie
        assert list(check_sections_apart(sample(stem))) == []


TIGHT = """\
spec: 1
name: Brindle Fen, heavy rail
scale: HO
rail: code 83
ties: {copper: all}
turnout: {hand: left, frog: 7}
"""


def test_a_gap_with_too_little_room_is_as_narrow_as_it_can_be() -> None:
    work = work_out(read_spec(TIGHT, file="tight.yaml", folder=None)).trackwork
    (tie,) = (tie for tie in work.wiring.copper if any(gap.tight for gap in tie.gaps))
    (gap,) = (gap for gap in tie.gaps if gap.tight)
    (pair,) = tie.crowded
    before, after = (next(part for part in tie.on if part.part == name) for name in pair.parts)
    assert gap.width == LEAST_GAP
    assert math.isclose(gap.along - before.high, after.low - gap.along)


def test_a_point_without_a_gap_closes_against_another_section() -> None:
    """Set for the slip both are fed alike; along the second track the frog is fed otherwise, whatever S1 does."""
    work = sample("25-outside-slip")
    found = list(check_closed_points(work))
    assert [(f.rule, f.level, f.where) for f in found] == [
        ("sections-joined", "warning", "R5a and R1a/1"),
        ("sections-joined", "warning", "R5c and R3c/2"),
    ]
    assert 'Set S1 away from "slip" before "second" is set' in str(found[0].remedy)
    swap = {"left": "right", "right": "left"}
    sections = tuple(replace(part, id=swap.get(part.id, part.id)) for part in work.wiring.sections)
    swapped = replace(work, wiring=replace(work.wiring, sections=sections))
    assert {f.level for f in check_closed_points(swapped)} == {"error"}


def test_each_way_of_a_switch_set_three_ways_has_its_contact() -> None:
    for stem, several in (("42-three-way-stub", True), ("22-three-way", False), (PLAIN.stem, False)):
        block = next(b for b in wiring_blocks(sample(stem), ()) if b.title == "Frogs and contacts")
        assert ("set more than two ways" in str(block.rows[-1])) == several


SHARP = """\
spec: 1
name: Brindle Fen, sharp crossing
scale: HO
rail: code 70
ties: {copper: every second}
diamond: {frog_angle: 12 deg, hand: left, main: {radius: 40 in, turn: left}}
"""


def test_a_feeder_comes_up_below_a_v_with_no_room_beside_it() -> None:
    work = work_out(read_spec(SHARP, file="sharp.yaml", folder=None)).trackwork
    assert list(check_fed(work)) == []
    assert [feeder.side for feeder in work.wiring.feeders if feeder.section == "F4"] == [None]
