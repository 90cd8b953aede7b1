"""The cut list against `measure`: every part once and as long as told, lengths that hold their parts, alike tables."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from itertools import groupby
from typing import Any

import pytest
import samples
from conformance import chance_specs
from hypothesis import given
from hypothesis import strategies as st
from samples import SAMPLES
from trackwork.building import job, plain, spec

from turnout_templates.errors import InputProblems
from turnout_templates.pipeline import Job, measure
from turnout_templates.reports.cut_list import cut_list_blocks
from turnout_templates.reports.cut_parts import CutPart, Supply
from turnout_templates.reports.cut_tables import COLUMNS, cut_list_csv, cut_list_figures, cut_list_json
from turnout_templates.reports.id_ranges import ranges_of
from turnout_templates.reports.packing import pack
from turnout_templates.trackwork.model import Trackwork

Figures = dict[str, Any]
EXACT = 1e-6
FILED = {"point of switch", "point", "spliced", "nose", "mitre"}
CHANCE = range(0, 200, 19)
"""Seeds of specs by chance: 11 of them, of several kinds and scales."""
CASES = [*SAMPLES, *CHANCE]


@cache
def case(name: str | int) -> tuple[Trackwork, Figures, Figures]:
    """Return the trackwork of a sample, or of a spec by chance, with its figures and its cut list."""
    if isinstance(name, str):
        done = samples.job(name)
    else:
        try:
            done = chance_specs.job(name)
        except InputProblems:
            pytest.skip("cannot be laid")
    return done.trackwork, measure(done), cut_list_figures(done.trackwork)


def test_most_specs_by_chance_can_be_laid() -> None:
    laid = 0
    for seed in CHANCE:
        try:
            case(seed)
            laid += 1
        except pytest.skip.Exception:
            continue
    assert laid >= 8


@pytest.mark.parametrize("name", CASES)
def test_every_part_of_measure_is_cut_exactly_once(name: str | int) -> None:
    _, found, cut = case(name)
    wanted: Counter[tuple[str, str]] = Counter()
    wanted.update(("rail", piece["id"]) for piece in found["pieces"])
    wanted.update(("wing", wing["id"]) for wing in found["wings"])
    wanted.update(("guard", guard["id"]) for guard in found["guards"])
    wanted.update(("throw bar", switch["id"]) for switch in found["switches"] if switch["throw_bar"])
    wanted.update(("headblock" if tie["role"] == "headblock" else "tie", tie["id"]) for tie in found["ties"])
    wings = {wing["id"] for wing in found["wings"]}
    told = Counter(
        ("wing" if row["part"] == "rail" and one in wings else row["part"], one)
        for row in cut["parts"]
        for ids in row["ids"]
        for one in ids
    )
    assert told == wanted
    assert sum(row["count"] for row in cut["parts"] if row["part"] in ("tie", "headblock")) == len(found["ties"])
    assert all(row["count"] == len(row["ids"]) for row in cut["parts"])


@pytest.mark.parametrize("name", CASES)
def test_parts_are_as_long_as_what_they_become(name: str | int) -> None:
    """A bent bar is the sum of its pieces, wings and guards, and has a head's width more at each end that is filed."""
    work, found, cut = case(name)
    lengths = {part["id"]: part["length_mm"] for key in ("pieces", "wings", "guards") for part in found[key]}
    filed = {piece["id"]: sum(end["kind"] in FILED for end in piece["ends"]) for piece in found["pieces"]}
    ties = {tie["id"]: tie for tie in found["ties"]}
    bars = {switch["id"]: switch["throw_bar"] for switch in found["switches"]}
    for row in cut["parts"]:
        assert row["length_in"] * 25.4 == pytest.approx(row["length_mm"], abs=EXACT)
        for ids in row["ids"]:
            if row["part"] in ("tie", "headblock"):
                tie = ties[ids[0]]
                assert (row["length_mm"], row["material"]) == (pytest.approx(tie["length_mm"]), tie["material"])
            elif row["part"] == "throw bar":
                assert row["length_mm"] == pytest.approx(bars[ids[0]]["length_mm"])
                assert row["material"] == "copper-clad"
            else:
                assert row["length_mm"] == pytest.approx(sum(lengths[one] for one in ids), abs=EXACT)
                most = sum(filed.get(one, 0) for one in ids) * work.spec.rail.head
                assert row["filing_mm"] == pytest.approx(most, abs=EXACT)
                assert row["cut_from"] is None or row["length_mm"] + most <= row["cut_from_mm"] + EXACT


def test_a_filed_rail_that_just_fits_what_is_bought_is_joined_for_what_is_left_on() -> None:
    """R4a/1, from a tip to a gap, is 161.93 mm long: with a head (0.889 mm) for its tip it does not fit 162.5 mm."""
    for longest, joints in (("163 mm", 0), ("162.5 mm", 1)):
        work = job(spec(plain("6"), longest_rail=longest)).trackwork
        own = [joint for joint in work.joints if joint.kind == "joint" and joint.bar == "R4a"]
        assert len(own) + len([bar for bar in work.rail_cuts.too_long if bar.bar == "R4a"]) == joints


@pytest.mark.parametrize("name", CASES)
def test_what_is_bent_in_one_is_cut_in_one(name: str | int) -> None:
    """So that nothing that `measure` calls one bent bar comes in two rows, and no row holds what is not."""
    _, found, cut = case(name)
    together = {piece["id"]: {piece["id"], *piece["part_ids"]} for piece in found["pieces"]}
    for wing in found["wings"]:
        own = [ids for ids in together.values() if wing["id"] in ids]
        together[wing["id"]] = own[0] if own else {wing["id"]}
    beside = {guard["id"]: set(guard["one_bar_with"]) for guard in found["guards"]}
    for name_of, others in beside.items():
        bar = {name_of, *others}
        while any(beside[one] - bar for one in bar):
            bar |= {other for one in bar for other in beside[one]}
        together[name_of] = bar
    for row in cut["parts"]:
        if row["part"] in ("rail", "wing", "guard"):
            (ids,) = row["ids"]
            assert all(together[one] == set(ids) for one in ids)


@pytest.mark.parametrize("name", CASES)
def test_guides_are_made_of_what_measure_says(name: str | int) -> None:
    _, found, cut = case(name)
    made = {guide["id"]: guide["material"] for key in ("guards", "wings") for guide in found[key]}
    for row in cut["parts"]:
        if row["part"] in ("rail", "guard", "wing"):
            (ids,) = row["ids"]
            kinds = {one: made.get(one, "rail") for one in ids}
            assert (row["material"] == "flat strip") == (set(kinds.values()) == {"strip"})
            if row["material"] == "rail":
                for one, kind in kinds.items():
                    words = {"rail": "", "strip": "both sides"}.get(kind, "one side")
                    told = words and (
                        f"base filed off on {words}" if len(ids) == 1 else f"{one}: base filed off on {words}"
                    )
                    assert told in row["note"] and (bool(told) or f"{one}:" not in row["note"])


@pytest.mark.parametrize("name", CASES)
def test_lengths_hold_their_parts(name: str | int) -> None:
    _, _, cut = case(name)
    rows = {key: list(group) for key, group in groupby(cut["parts"], key=lambda row: row["cut_from"])}
    assert set(rows) - {None} == {length["id"] for length in cut["lengths"]}
    for length in cut["lengths"]:
        left = length["length_mm"]
        own = rows[length["id"]]
        for row in own:
            assert (row["material"], row["section"]) == (length["material"], length["section"])
            assert row["cut_from_mm"] == length["length_mm"]
            left -= row["count"] * (row["length_mm"] + row["filing_mm"])
            assert left >= -EXACT, "no length is shorter than what is cut from it"
            left -= row["count"] * cut["saw_cut_mm"]
            assert row["left_mm"] == pytest.approx(max(0.0, left), abs=EXACT)
        # All cuts but the last one are between two parts, and take from the length what a saw takes.
        assert left >= -cut["saw_cut_mm"] - EXACT
        assert length["offcut_mm"] == pytest.approx(own[-1]["left_mm"], abs=EXACT)
    for row in rows.get(None, ()):
        assert row["cut_from_mm"] is None and row["left_mm"] is None


@pytest.mark.parametrize("name", SAMPLES)
def test_packing_takes_one_length_more_at_most_than_the_metal_fills(name: str) -> None:
    _, _, cut = case(name)
    saw = cut["saw_cut_mm"]
    key = ("material", "width_mm", "height_mm")
    of_length = {length["id"]: tuple(length[k] for k in key) for length in cut["lengths"]}
    counts = Counter(of_length.values())
    filled: Counter[Any] = Counter()
    for row in cut["parts"]:
        if row["cut_from"] is not None:
            filled[of_length[row["cut_from"]]] += row["count"] * (row["length_mm"] + row["filing_mm"] + saw)
    size = {of_length[length["id"]]: length["length_mm"] for length in cut["lengths"]}
    for supply, count in counts.items():
        assert count <= math.ceil(filled[supply] / (size[supply] + saw) - 1e-9) + 1


@pytest.mark.parametrize("name", CASES)
def test_spreadsheet_and_json_say_the_same(name: str | int) -> None:
    work, _, cut = case(name)
    assert json.loads(cut_list_json(work)) == cut
    data = cut_list_csv(work)
    assert data.startswith(b"\xef\xbb\xbf"), "spreadsheets take it for UTF-8 by this mark"
    assert data.count(b"\r\n") == data.count(b"\n") == len(cut["parts"]) + 1
    read = csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    assert tuple(read.fieldnames or ()) == COLUMNS
    rows = list(read)
    assert len(rows) == len(cut["parts"])
    for row, part in zip(rows, cut["parts"], strict=True):
        assert set(row) == set(part)
        assert [ids.split("+") for ids in row["ids"].split(" ")] == part["ids"]
        for column, cell in row.items():
            value = part[column]
            if isinstance(value, float):
                assert float(cell) == pytest.approx(value, abs=0.5001e-5)
                assert len(cell.partition(".")[2]) > 4  # else a spreadsheet with a decimal comma takes it for another
            elif column != "ids":
                assert cell == ("" if value is None else str(value))


def _block(work: Trackwork, title: str) -> list[tuple[str, ...]]:
    (block,) = [block for block in cut_list_blocks(work, ()) if block.title == title]
    return [row for row in block.rows[1:] if not isinstance(row, str)]


def _expanded(text: str) -> Iterator[str]:
    """Yield the ids that ranges in words stand for."""
    for part in text.split(", "):
        found = re.fullmatch(r"(\D*)(\d+) to \1(\d+)( \(every second\))?", part)
        if found is None:
            yield part
        else:
            step = 2 if found[4] else 1
            yield from (f"{found[1]}{n}" for n in range(int(found[2]), int(found[3]) + 1, step))


@pytest.mark.parametrize("name", SAMPLES)
def test_pages_hold_the_same_list(name: str) -> None:
    work, found, cut = case(name)
    strips = _block(work, "Ties and throw bars to cut")
    told = Counter((row[3], one) for row in strips for one in _expanded(row[4]))
    wanted = Counter(("headblock" if tie["role"] == "headblock" else "tie", tie["id"]) for tie in found["ties"])
    wanted.update(("throw bar", switch["id"]) for switch in found["switches"] if switch["throw_bar"])
    assert told == wanted
    for row in strips:
        assert len(list(_expanded(row[4]))) == math.prod(int(n) for n in row[1].split(" × "))
    metal = [row for row in cut["parts"] if row["material"] in ("rail", "flat strip") and row["cut_from"]]
    assert [row[1] for row in _block(work, "Rail to cut")] == [" + ".join(row["ids"][0]) for row in metal]
    bought = _block(work, "What to buy")
    assert sum(int(row[3]) for row in bought) == len(cut["lengths"])
    of_strip = [row[0] for row in strips if row[0]]
    several = (re.search(r"(\d+) to (\d+)$", label) for label in of_strip)
    count = sum(int(ends[2]) - int(ends[1]) + 1 if ends else 1 for ends in several)
    assert count == sum(length["material"] in ("wood", "copper-clad") for length in cut["lengths"])


@given(st.sets(st.integers(1, 60)))
def test_ranges_in_words_stand_for_the_same_ids(numbers: set[int]) -> None:
    for letters in ("", "T"):
        ids = [f"{letters}{n}" for n in sorted(numbers)]
        assert [one for one in _expanded(ranges_of(ids[::-1])) if one] == ids


def test_ranges_are_told_by_their_ends() -> None:
    assert ranges_of(["9", "10", "11", "20", "22", "24", "26", "30"]) == "9 to 11, 20 to 26 (every second), 30"


# A supply 100 mm long and a saw that takes 1 mm.
STRIP = Supply("wood", "", 3.0, 2.0, 100.0)


def _ties(*lengths: float) -> list[CutPart]:
    return [CutPart("tie", (str(n),), STRIP, length) for n, length in enumerate(lengths, start=1)]


def test_what_fits_exactly_needs_no_last_cut() -> None:
    # Two of 49.5 mm and the cut between them are 100 mm.
    (length,) = pack(_ties(49.5, 49.5), 0.0, 1.0).lengths
    assert (len(length.parts), length.offcut) == (2, 0.0)
    assert len(pack(_ties(49.6, 49.5), 0.0, 1.0).lengths) == 2
    (whole,) = pack(_ties(100.0), 0.0, 1.0).lengths
    assert whole.offcut == 0.0


def test_a_part_longer_than_any_length_is_bought_by_itself() -> None:
    found = pack(_ties(30.0, 100.1, 20.0), 0.0, 1.0)
    assert [part.ids for part in found.alone] == [("2",)]
    (length,) = found.lengths
    assert length.offcut == pytest.approx(48.0)  # 100 - 30 - 20 and two cuts
    done = job(spec(plain(), ties="{strip: 36 mm}"))
    bought = [row for row in _block(done.trackwork, "What to buy") if row[2].startswith("longer than")]
    longer = [tie for tie in measure(done)["ties"] if tie["length_mm"] > 36.0]
    assert longer and bought[0][2] == "longer than 36 mm"
    told = cut_list_figures(done.trackwork)["parts"]
    alone = [ids[0] for row in told if row["cut_from"] is None for ids in row["ids"] if row["part"] != "throw bar"]
    assert sorted(alone) == sorted(tie["id"] for tie in longer)


def test_many_alike_are_cut_from_lengths_of_their_own() -> None:
    # Nine of 10 mm and nine cuts take 99 of 100 mm: of 40, four lengths hold nine each, and four are left for others.
    found = pack(_ties(*[10.0] * 40, 33.0), 0.0, 1.0)
    sizes = [[part.cut for part in length.parts] for length in found.lengths]
    assert sizes == [[10.0] * 9] * 4 + [[33.0, *[10.0] * 4]]
    assert found == pack(_ties(*[10.0] * 40, 33.0), 0.0, 1.0)


def test_a_throw_bar_is_filed_from_the_ties_strip_where_it_is_narrower() -> None:
    done = job(spec(plain()))
    (row,) = _of_kind(done, "throw bar")
    (switch,) = measure(done)["switches"]
    bar = switch["throw_bar"]
    assert bar["width_mm"] < done.spec.ties.width and row["section"] == "2.62 x 2.04 mm"
    assert row["note"] == (
        f"file to {bar['width_mm']:.2f} mm wide; drill {bar['slot']['wire_mm']:.2f} mm at "
        f"{bar['drill']['from_far_end_mm']:.2f} mm from the end away from the machine; "
        f"gap the copper at {' and '.join(f'{gap:.2f} mm' for gap in bar['gaps_mm'])} from there"
    )


def test_a_throw_bar_wider_than_any_tie_has_a_strip_of_its_own() -> None:
    done = job(spec(plain(), ties="{switch_width: 1.5 mm, width: 1.5 mm, switch_spacing: 6 mm}"))
    (row,) = _of_kind(done, "throw bar")
    # 0.6 of the 4.5 mm between the headblocks
    assert row["section"] == "2.7 x 2.04 mm" and "file to" not in row["note"]


def _of_kind(done: Job, what: str) -> list[Figures]:
    return [row for row in cut_list_figures(done.trackwork)["parts"] if row["part"] == what]


def test_bars_are_those_that_the_spec_says() -> None:
    done = job(spec(plain(), longest_rail="300 mm", ties="{strip: 12 in}"))
    lengths = cut_list_figures(done.trackwork)["lengths"]
    assert {(length["material"], length["length_mm"]) for length in lengths} == {
        ("rail", 300.0),
        ("copper-clad", 304.8),
    }


def test_how_strip_is_sold_is_no_part_of_the_fingerprint() -> None:
    unsaid = job(spec(plain(), ties="{gap: 1 mm}")).spec
    said = job(spec(plain(), ties="{gap: 1 mm, strip: 500 mm}")).spec
    assert (unsaid.ties.strip, said.ties.strip) == (914.4, 500.0)
    assert said.fingerprint == unsaid.fingerprint


def test_strip_shorter_than_a_tie_is_refused() -> None:
    with pytest.raises(InputProblems, match=r"shorter than a plain tie.*ties > strip"):
        job(spec(plain(), ties="{strip: 20 mm}"))
