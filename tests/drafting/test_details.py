"""What details tell: the parts that they show, by the words and the lengths of the tables.

Where parts lie comes from the figures of `measure`.
"""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Any

import pytest
from drafting.drawn import figures, job

from turnout_templates.drafting import styles
from turnout_templates.drafting.details import draft_details
from turnout_templates.drawing.bounds import points_box
from turnout_templates.drawing.details import Detail
from turnout_templates.drawing.items import MarkItem, PathItem, TextItem
from turnout_templates.pipeline import work_out
from turnout_templates.reports.base_rows import bases_block
from turnout_templates.reports.guide_rows import guides_block
from turnout_templates.spec.load import read_spec

ELBOWS = ["10-diamond-on-a-curve", "11-two-gauge-crosses-one", "18-double-crossover", "24-double-slip"]
"""Samples with guards that are bent round the elbow of a K."""
CURVED = "17-two-gauge-curved-crossover"
LEAST_ROOM = 3.0
"""A gap further than this (mm) from the edges of a window has room for its name."""


@cache
def details(name: str) -> dict[str, Detail]:
    """The details of a sample by each id that they are for."""
    made = draft_details(job(name).trackwork, 190.0, 240.0)
    return {part: detail for detail in made for part in re.findall(r"\b[FS]\d+(?=,)", detail.title)}


def notes(detail: Detail) -> list[str]:
    return [item.text for item in detail.notes if isinstance(item, TextItem)]


def mark_of(detail: Detail, frog: str) -> tuple[float, float]:
    """Where the cross of a frog's theoretical point stands in a detail."""
    (at,) = (i.at for i in detail.drawing.items if isinstance(i, MarkItem) and i.shape == "cross" and i.part == frog)
    return at


def elbow_of(guard: dict[str, Any], measured: dict[str, Any]) -> str:
    """The K round which a guard is bent: the one that its outline comes nearest to, of those that it does not guard."""
    others = [frog for frog in measured["frogs"] if frog["kind"] == "K" and frog["id"] not in guard["guards_all"]]
    at = {frog["id"]: (frog["x_mm"], frog["y_mm"]) for frog in others}
    return min(at, key=lambda frog: min(math.dist(at[frog], corner) for corner in guard["outline"]))


@pytest.mark.parametrize("name", ELBOWS)
def test_strips_at_an_elbow_are_told_where_they_stand_and_named_where_they_serve(name: str) -> None:
    measured = figures(name)
    bent = [guard for guard in measured["guards"] if guard["one_bar_with"]]
    assert bent
    for guard in bent:
        elbow = elbow_of(guard, measured)
        shown = details(name)[elbow]
        assert any(text.startswith(f"{guard['id']} straight") for text in notes(shown))
        ends = sum(flare > 0.02 for flare in guard["flares_mm"])
        assert sum(text.startswith(f"{guard['id']} flare") for text in notes(shown)) == ends
        here = next(part for part in shown.remarks.split("; ") if " here, " in part)
        assert guard["id"] in here and all(frog in here for frog in guard["guards_all"])
        factor = float(re.search(r"enlarged ([\d.]+):1", shown.title)[1])  # type: ignore[index]
        frog = next(f for f in measured["frogs"] if f["id"] == elbow)
        reach = max(math.dist((frog["x_mm"], frog["y_mm"]), corner) for corner in guard["outline"])
        assert reach * factor < math.hypot(shown.window.width, shown.window.height)
        for served in guard["guards_all"]:
            said = details(name)[served].remarks.split("; ")
            assert any(guard["id"] in part and f"round the elbow of {elbow}: see there" in part for part in said)
            assert details(name)[served] is not shown


@pytest.mark.parametrize("name", [*ELBOWS, "06-n-nn3-no-6", "25-outside-slip"])
def test_guides_are_named_by_the_bar_beside_them(name: str) -> None:
    """In the table each guide is told beside a bar that carries its face, of several one that lies along it."""
    measured = figures(name)
    beside = {row[0]: row[2].split()[0] for row in guides_block(job(name).trackwork).rows[1:]}
    for guide in (*measured["guards"], *measured["wings"]):
        bar = beside[guide["id"]]
        face = (guide["beside"]["route"], guide["beside"]["gauge"], guide["beside"]["hand"])
        ends = guide["ends"] if "ends" in guide else sorted((*guide["straight"], guide["end"]))
        runs = next(rail["pieces"] for rail in measured["rails"] if rail["id"] == bar)
        along = [run for run in runs if (run["route"], run["gauge"], run["hand"]) == face]
        away = [max(run["from_mm"] - max(ends), min(ends) - run["to_mm"]) for run in along]
        # No further than the gap of a frog: a guard round an elbow may stand wholly in front of one.
        assert min(away) < 10.0, (guide["id"], bar)


@pytest.mark.parametrize("name", [CURVED, "06-n-nn3-no-6"])
def test_flares_are_told_by_the_words_of_the_table(name: str) -> None:
    rows = {row[0]: row for row in guides_block(job(name).trackwork).rows}
    told = [text for detail in details(name).values() for text in notes(detail)]
    flares = dict(re.findall(r"^(W\d+) flare (.+) at ", "\n".join(told), re.MULTILINE))
    assert flares == {name: row[6] for name, row in rows.items() if name.startswith("W") and row[6] != "none"}


@pytest.mark.parametrize("name", [CURVED, "06-n-nn3-no-6"])
def test_reliefs_are_told_by_the_words_of_the_table(name: str) -> None:
    rows = [row for row in bases_block(job(name).trackwork).rows if row[3:4] == ("tip beside it",)]
    wanted = {(bar, row[2]) for row in rows for bar in row[0].split(", ")}
    told = [text for part, detail in details(name).items() if part.startswith("S") for text in notes(detail)]
    assert wanted == set(re.findall(r"^(\w+) base off, gauge side, (.+) from tip$", "\n".join(told), re.MULTILINE))


@pytest.mark.parametrize("name", [CURVED, "06-n-nn3-no-6"])
def test_bases_at_frogs_are_told_by_the_words_of_the_table(name: str) -> None:
    told = 0
    for row in bases_block(job(name).trackwork).rows:
        at = re.fullmatch(r"(?:its end at|the elbow of|the knuckle of) (F\d+)", row[3]) if len(row) > 3 else None
        for part in row[0].split(", ") if at is not None else ():
            said = [words for words in details(name)[at[1]].remarks.split("; ") if f"base off {row[1]} side" in words]
            assert any(f"{part} {row[2]}" in words for words in said), row
            told += 1
    assert told > 5


@pytest.mark.parametrize("name", [CURVED, "11-two-gauge-crosses-one", "18-double-crossover"])
def test_joints_and_gaps_are_drawn_and_named(name: str) -> None:
    """Each that lies within a window, by its distance from the frog, is there with its name."""
    count = 0
    for frog in figures(name)["frogs"]:
        detail = details(name)[frog["id"]]
        if not detail.title.startswith(f"{frog['id']},"):
            continue
        factor = float(re.search(r"enlarged ([\d.]+):1", detail.title)[1])  # type: ignore[index]
        names = {item.text for item in detail.drawing.items if isinstance(item, TextItem)}
        lines: dict[str, list[PathItem]] = {}
        for item in detail.drawing.items:
            if isinstance(item, PathItem) and item.layer == styles.JOINTS:
                lines.setdefault(item.part, []).append(item)
        tp = mark_of(detail, frog["id"])
        for joint in figures(name)["joints"]:
            away = math.dist((joint["x_mm"], joint["y_mm"]), (frog["x_mm"], frog["y_mm"])) * factor
            shown = lines.get(joint["id"], [])
            ends = [end for item in shown for end in (item.segments[0].start, item.segments[0].end)]
            if away < 0.3 * detail.window.height:
                assert shown
            if shown:
                # Half a head aside of the gauge face where `measure` has it.
                centre = [sum(values) / len(ends) for values in zip(*ends, strict=True)]
                head = figures(name)["rail"]["head_mm"] * factor
                assert math.dist(centre, tp) == pytest.approx(away, abs=head)
                if detail.window.grown(-LEAST_ROOM).holds(points_box([(centre[0], centre[1])])):
                    count += 1
                    assert joint["id"] in names, (frog["id"], joint["id"])
    assert count > 0


@pytest.mark.parametrize("name", [CURVED, "13-long-two-gauge-junction"])
def test_numbers_of_ties_stand_near_an_edge_of_the_window(name: str) -> None:
    for detail in details(name).values():
        numbers = [i for i in detail.drawing.items if isinstance(i, TextItem) and i.layer == styles.TIE_TEXT]
        assert numbers
        for number in numbers:
            assert min(number.at[1] - detail.window.bottom, detail.window.top - number.at[1]) < 9.0, number.text


def test_a_route_named_like_its_gauge_says_the_name_once() -> None:
    text = "spec: 1\nname: Narrow\nscale: HO\ngauges: {narrow: HOn3}\n"
    text += "routes: {narrow: {gauges: [narrow], path: [{straight: 4 in}]}}\n"
    work = work_out(read_spec(text, file="n.yaml", folder=None)).trackwork
    assert {stretch.owner.label for rail in work.rails for stretch in rail.stretches} == {"narrow left", "narrow right"}
