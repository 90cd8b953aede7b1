"""The chapter of rails: every piece and joint told once, with what the figures say, in the spec's units."""

from __future__ import annotations

import itertools
import math
import re
from functools import cache
from typing import Any

import pytest
import samples
from trackwork.building import job, spec

from turnout_templates.pipeline import Job, measure
from turnout_templates.reports.rail_pieces import rail_pieces_blocks
from turnout_templates.units import format_clearance, format_length

every_sample = pytest.mark.parametrize("name", samples.NUMBERED)
CUT, DONE, JOINTS = "Pieces of rail to cut", "What is done to each piece", "Joints, gaps and template ends"
SPLIT = """
    main: {path: [straight: 700, curve: {radius: 900, turn: left, length: 1500}, straight: 900]}
    branch: {leaves: main, at: 160, hand: right, path: [{frog: 6}, {straight: 900}]}
"""


@cache
def sample(name: str) -> Job:
    return samples.job(name)


def tables(of: Job) -> dict[str, list[tuple[str, ...]]]:
    """Return the rows of each table without its head and its sentence."""
    return {
        block.title: [row for row in block.rows[1:] if not isinstance(row, str)]
        for block in rail_pieces_blocks(of.trackwork, of.findings)
    }


def written(mm: float, units: Any) -> str:
    """Small lengths are cut by a calliper, others by a rule."""
    return format_clearance(mm, units) if mm < 5.0 else format_length(mm, units)


@every_sample
def test_each_piece_is_told_once_with_its_lengths_and_what_it_is_bent_with(name: str) -> None:
    of, units = sample(name), sample(name).spec.units
    pieces = {piece["id"]: piece for piece in measure(of)["pieces"]}
    rows = tables(of)[CUT]
    assert [row[0] for row in rows] == list(pieces)
    for row in rows:
        piece = pieces[row[0]]
        assert row[1].startswith(piece["role"])
        assert row[2:4] == (written(piece["length_mm"], units), written(piece["face_length_mm"], units))
        for told, end in zip(row[4:6], piece["ends"], strict=True):
            assert (end["at"] or "") in told
            crank = re.search(r"crank ([0-9.]+) deg", told)
            assert (crank is None) == (end["turn_deg"] is None)
            if crank is not None:
                assert float(crank[1]) == pytest.approx(abs(end["turn_deg"]), abs=0.0051)
        whole = format_length(piece["cut_length_mm"], units)
        assert row[6] == (f"{', '.join(piece['part_ids'])}: {whole}" if piece["part_ids"] else "-")
        assert row[7] == format_length(piece["least_length_mm"], units)


@every_sample
def test_each_joint_is_told_once_with_its_station_and_its_ties(name: str) -> None:
    of = sample(name)
    rows = {row[0]: row for row in tables(of)[JOINTS]}
    joints = measure(of)["joints"]
    assert list(rows) == [joint["id"] for joint in joints]
    for joint in joints:
        _, what, rail, station, ties, notched, apart = rows[joint["id"]]
        assert what.split(",")[0] == {"joint": "joiner", "gap": "isolating gap", "end": "template end"}[joint["kind"]]
        assert rail.startswith(f"{joint['bar']} {joint['route']} ")
        assert station == format_length(joint["station_mm"], of.spec.units)
        assert ties.removeprefix("on ") == ", ".join(joint["ties"])
        assert notched == ", ".join(joint["notched_ties"])
        assert apart == ("left meets right" if joint["double"] else ", ".join(joint["frog_ids"]) or "-")


@every_sample
def test_what_is_bent_and_filed_is_all_told(name: str) -> None:
    """As many curves, cranks and cuts as the figures have; what is shorter than 0.2 mm is no cut of a head."""
    of = sample(name)
    rows = {row[0]: row for row in tables(of)[DONE]}
    for piece in measure(of)["pieces"]:
        curves = [b for b in piece["bends"] if b.get("radius_mm") or any(b.get("radii_mm", ()))]
        cranks = [mark for mark in piece["work"] if mark["kind"] == "bend"]
        cuts = [m for m in piece["work"] if "base" in m["kind"] or m["to_mm"] - m["from_mm"] >= 0.2]
        if not (curves or cranks or cuts):
            assert piece["id"] not in rows
            continue
        bends, filed = rows[piece["id"]][2:]
        assert bends.count(";") + 1 == max(len(curves) + len(cranks), 1)
        assert (bends == "straight") == (not curves and not cranks)
        assert filed.count(";") + 1 == max(len(cuts), 1) and (filed == "-") == (not cuts)


def test_radii_are_those_of_the_middle_of_the_head_and_sides_as_seen_from_the_first_end() -> None:
    """A plain No. 6 to the left: its curve bends the branch's rails to the left, with radii half a gauge off."""
    of = job(spec("main: {path: [straight: 300]}\nbranch: {leaves: main, at: 40, hand: left, path: [{frog: 6}]}"))
    rows = {row[0]: row for row in tables(of)[DONE]}
    found = measure(of)
    radius, half = found["routes"]["branch"]["pieces"][0]["radius_mm"], found["gauges"]["standard"]["width_mm"] / 2
    head = found["rail"]["head_mm"]
    outer = next(p for p in found["pieces"] if p["role"].startswith("point") and p["stretches"][0]["route"] == "branch")
    inner = next(p for p in found["pieces"] if p["role"] == "stock rail" and len(p["stretches"]) == 2)
    for piece, true in ((outer, radius + half + head / 2), (inner, radius - half - head / 2)):
        assert rows[piece["id"]][2].startswith(f"left {format_length(true, 'mm')}, ")


def test_a_rail_can_be_no_shorter_than_what_no_joint_may_lie_in() -> None:
    """Judged from the figures: the stock rail's relief with half a joiner and a tie space on both sides."""
    of = job(spec(SPLIT, longest_rail="600 mm"))
    found, ties = measure(of), of.spec.ties
    stock = next(p for p in found["pieces"] if p["stretches"][0]["hand"] == "right" and p["role"] == "stock rail")
    (switch,) = found["switches"]
    relief = [r for r in switch["stock_relief"] if r["bar"] == stock["bar"]]
    notch = [n for n in switch["throw_bar"]["notches"] if n["rail_id"] == stock["bar"]]
    low = min(e["from_mm"] for e in (*relief, *notch))
    high = max(e["to_mm"] for e in (*relief, *notch))
    joiner = 5 * of.spec.rail.base
    assert stock["least_length_mm"] <= stock["cut_length_mm"]
    assert stock["least_length_mm"] == pytest.approx(high - low + joiner + 2 * ties.spacing, abs=0.3)


@every_sample
def test_no_rail_is_longer_than_its_bar_nor_shorter_than_it_may_be(name: str) -> None:
    for piece in measure(sample(name))["pieces"]:
        assert 0 < piece["least_length_mm"] <= piece["cut_length_mm"] + 1e-9
        assert piece["length_mm"] <= piece["cut_length_mm"] + 1e-9


@every_sample
def test_offsets_are_told_row_by_row_for_every_rail_of_a_switch_unless_it_is_straight(name: str) -> None:
    of = sample(name)
    blocks = {title: rows for title, rows in tables(of).items() if title.startswith("Offsets at ")}
    by_switch: dict[str, list[dict[str, Any]]] = {}
    for table in measure(of)["offsets"]:
        by_switch.setdefault(table["switch"], []).append(table)
    assert [title.split()[2].rstrip(",") for title in blocks] == list(by_switch)
    for (_, rows), columns in zip(blocks.items(), by_switch.values(), strict=True):
        told = {row[0]: row[1:] for row in rows}
        for k, column in enumerate(columns):
            cells = {row["along_mm"]: _cell(told, k, row["along_mm"], of.spec.units) for row in column["rows"]}
            fixed = [row for row in column["rows"] if cells[row["along_mm"]] is not None]
            assert fixed[0] is column["rows"][0] and fixed[-1] is column["rows"][-1]
            for row in fixed:
                assert cells[row["along_mm"]] == format_clearance(row["across_mm"], of.spec.units).split()[0]
            for one, other in itertools.pairwise(fixed):
                slope = (other["across_mm"] - one["across_mm"]) / (other["along_mm"] - one["along_mm"])
                for row in column["rows"]:
                    if one["along_mm"] < row["along_mm"] < other["along_mm"]:
                        line = one["across_mm"] + slope * (row["along_mm"] - one["along_mm"])
                        assert row["across_mm"] == pytest.approx(line, abs=1e-5)
        steps = [row[0] for row in rows]
        most = max(row["along_mm"] for column in columns for row in column["rows"])
        assert f"{steps[-1]} {of.spec.units}" == format_length(most, of.spec.units)


def _cell(told: dict[str, tuple[str, ...]], k: int, along: float, units: Any) -> str | None:
    """Return the figure of a column, None where it is left out between others."""
    row = told.get(format_length(along, units).removesuffix(f" {units}"))
    return None if row is None or row[k] == "|" else row[k]


def test_a_curved_stock_rail_is_told_and_a_straight_one_is_not() -> None:
    """Its own offsets are those of its circle: r - sqrt(r^2 - x^2) to the side it turns to."""
    curved = "main: {path: [curve: {radius: 900, turn: left, length: 500}]}\n"
    curved += "branch: {leaves: main, at: 60, hand: left, path: [{frog: 6}]}"
    found = measure(job(spec(curved, offset_step="10 mm")))
    half = found["gauges"]["standard"]["width_mm"] / 2
    stock = found["offsets"][0]
    assert (stock["route"], stock["hand"]) == ("main", "right") and stock["stock"]["route"] == "main"
    for row in stock["rows"]:
        radius = 900 + half
        assert row["across_mm"] == pytest.approx(radius - math.sqrt(radius**2 - row["along_mm"] ** 2), abs=1e-6)
    straight = measure(job(spec(curved.replace("curve: {radius: 900, turn: left, length: 500}", "straight: 500"))))
    assert all(t["route"] != "main" or t["hand"] != "right" for t in straight["offsets"])
