"""The build sheet and the gauging record as they are read at the bench."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from functools import cache

import pytest
import samples
from samples import SAMPLES
from trackwork.building import built, plain

from turnout_templates.drawing.bounds import item_bounds
from turnout_templates.drawing.items import PathItem, TextItem
from turnout_templates.pipeline import Drawn, Job, draw
from turnout_templates.reports.build_sheet import build_sheet_blocks
from turnout_templates.reports.cautions import CUTTING, GLASS_DUST, POWER, PROVING, SOLDERING
from turnout_templates.reports.chapters import chapters
from turnout_templates.reports.id_ranges import ranges_of
from turnout_templates.trackwork.model import Trackwork

every_sample = pytest.mark.parametrize("name", SAMPLES)
LEAST_ROW = 6.0  # mm: what a hand can write in


@cache
def done(name: str) -> Job:
    return samples.job(name)


@cache
def on_paper(name: str) -> Drawn:
    return draw(done(name), without=("first-page", "map", "details", "rails", "cut-list", "wiring"))


def steps(work: Trackwork) -> list[tuple[str, ...]]:
    """Return the cells of the steps."""
    rows = build_sheet_blocks(work, ())[-1].rows[1:]
    return [row for row in rows if not isinstance(row, str)]


def read_ids(text: str) -> list[int]:
    """Return the numbers of a list as a reader takes it: ranges, of all between or of every second."""
    found: list[int] = []
    for part in text.split(", "):
        whole, twos = part.removesuffix(" (every second)"), part.endswith(" (every second)")
        low, *rest = map(int, whole.split(" to "))
        found += range(low, (rest or [low])[0] + 1, 2 if twos else 1)
    return found


def test_numbers_are_read_back_as_they_were() -> None:
    for values in (
        [1, 2, 3, 4, 9],
        [1, 3, 5, 7, 8, 10, 12, 14, 20, 21],
        [5],
        [1, 2, 4, 8],
        [2, 4, 6, 8, 9, 10, 11, 12],
    ):
        assert read_ids(ranges_of(list(map(str, values)))) == values


@every_sample
def test_each_tie_is_laid_once_and_notched_for_each_joiner(name: str) -> None:
    work = done(name).trackwork
    what = next(row[2] for row in steps(work) if row[1] == "Cut and glue ties")
    notched = re.search(r"Notch for joiners.*: (.*)\.", what)
    assert notched is not None
    of_joints = {tie for joint in work.joints for tie in joint.notched}
    assert {str(n) for n in read_ids(notched[1])} == of_joints == {tie.id for tie in work.ties if tie.notches}
    found = [n for line in re.findall(r"(?:Copper-clad|Wood): (.*)\.", what) for n in read_ids(line)]
    assert Counter(map(str, found)) == Counter(tie.id for tie in work.ties)


@every_sample
def test_each_part_is_told_where_it_is_laid(name: str) -> None:
    work = done(name).trackwork
    laid = [
        row
        for row in steps(work)
        if re.match(r"First rail|Frog|The rest|Wings|Outer|All other|Points|Swinging|Guards", row[1])
    ]
    told = Counter(part for row in laid for part in _parts(row[2]))
    parts = [*(p.id for p in work.pieces), *(w.id for w in work.wings), *(g.id for g in work.guards)]
    assert told == Counter(parts)
    told_of = {part: row for row in laid for part in _parts(row[2])}
    for copper in work.wiring.copper[: sum(tie.material == "copper-clad" for tie in work.ties)]:
        for part in (part.part for part in copper.on if part.bared is not None):
            row = told_of[part]
            held_off = [line for line in row[2].split("\n") if line.startswith(("Leave unsoldered", "Solder or spike"))]
            assert any(int(copper.tie) in _ties_of(part, line) for line in held_off), (part, copper.tie)


def _parts(text: str) -> list[str]:
    lines = [_own(line) for line in text.split("\n") if line.startswith(("Lay ", "Guard "))]
    return [part for line in lines for part in re.findall(r"\b[RWG][0-9]+[a-z]*(?:/[0-9]+)?\b", line)]


def _ties_of(part: str, line: str) -> list[int]:
    """Return the ties that a sentence tells of a part."""
    found = re.search(rf"\b{part} (?:moves )?on ties? ([^;]*?)[.;]", line)
    return [] if found is None else read_ids(found[1])


def _own(line: str) -> str:
    """Return a line without the rails that guards lie along."""
    return re.sub(r"along .*, for", "", line)


@every_sample
def test_steps_of_nothing_are_left_out(name: str) -> None:
    work = done(name).trackwork
    titles = [row[1] for row in steps(work)]
    assert ("Guards" in titles) == bool(work.guards)
    assert ("Isolating gaps" in titles) == any(j.kind == "gap" or j.frogs for j in work.joints)
    assert any(title.startswith("Frog ") for title in titles) == bool(work.frogs)
    assert any(title.startswith("Throw bar") for title in titles) == any(m.bar for m in work.switch_works)
    assert all(row[2] for row in steps(work))


def test_cautions_stand_before_what_they_warn_of() -> None:
    work = built(plain("6"))
    rows = build_sheet_blocks(work, ())[-1].rows
    before = {
        rows[i + 1][1]: row.removeprefix("Take care: ") for i, row in enumerate(rows) if isinstance(row, str)
    }  # fmt: skip
    assert before["Cut and glue ties"] == GLASS_DUST
    assert before["Cut and bend rail"] == before["Isolating gaps"] == CUTTING
    assert before["First rail"] == SOLDERING
    assert before["Wires and machines"] == POWER
    assert before["Gauge it"] == PROVING


@every_sample
def test_all_that_is_written_lies_within_the_margins_and_apart(name: str) -> None:
    plan = on_paper(name).plan
    margins = plan.margins
    pages = [page for page in on_paper(name).document.pages if page.label.startswith(("Build", "Gauging"))]
    assert len(pages) >= 2
    for page in pages:
        boxes = [item_bounds(item) for item in page.items if isinstance(item, TextItem) and item.text]
        for box in boxes:
            assert box.left >= margins.left - 1e-6
            assert box.right <= plan.page_width - margins.right + 1e-6
            assert box.bottom >= margins.bottom - 1e-6
            assert box.top <= plan.page_height - margins.top + 1e-6
        last = min((i for i in page.items if isinstance(i, TextItem) and i.layer == "tables"), key=lambda i: i.at[1])
        assert not last.text.startswith("Take care"), page.label  # a warning stands on the page of its step
        lines: dict[float, list[tuple[float, float]]] = {}
        for item, box in zip((i for i in page.items if isinstance(i, TextItem) and i.text), boxes, strict=True):
            lines.setdefault(round(item.at[1], 3), []).append((box.left, box.right))
        for found in lines.values():
            ordered = sorted(found)
            assert all(one[1] < two[0] for one, two in itertools.pairwise(ordered)), page.label


@every_sample
def test_there_is_room_to_write_in_each_row_of_the_record(name: str) -> None:
    pages = [page for page in on_paper(name).document.pages if page.label.startswith("Gauging")]
    for page in pages:
        rules = [item for item in page.items if isinstance(item, PathItem)]
        assert rules or page is not pages[0]
        texts = [item for item in page.items if isinstance(item, TextItem) and item.text]
        for rule in rules:
            points = [rule.segments[0].start, *(segment.end for segment in rule.segments)]
            bottom, top = min(y for _, y in points), max(y for _, y in points)
            assert top - bottom >= LEAST_ROW
            uprights = sorted({round(x, 6) for x, y in points if y == top})
            assert len(uprights) == 4
            assert all(b - a >= 2 * LEAST_ROW for a, b in itertools.pairwise(uprights))
            inside = [t for t in texts if bottom < t.at[1] < top and t.at[0] > uprights[0]]
            assert not inside or {t.text for t in inside} <= {"1st", "2nd", "initials"}


_ID = re.compile(r"(?<![\w.-])(?:IG|[RWGJEDFS])\d+[a-z]*(?:/\d+)?(?!\w|\.\w)")
_TOLD_IN = {
    "Rails": ("R", "J", "IG", "E"),
    "Cut list": ("R", "W", "G"),
    "Build sheet": ("R", "W", "G", "J", "IG", "D", "F"),
    "Wiring": ("R", "W", "G", "D"),
    "Gauging record": ("G", "W", "J", "F"),
}
"""In which chapter everything is told that the drawing names by these letters."""
NAMED = [name for name in SAMPLES if name[:2] in ("02", "10", "24", "27", "41")]


@pytest.mark.parametrize("name", NAMED)
def test_what_the_drawing_names_is_told_and_nothing_else(name: str) -> None:
    work = done(name).trackwork
    items = on_paper(name).drawing.items
    drawn = {one for item in items if isinstance(item, TextItem) for one in _ID.findall(item.text)}
    pieces = {piece.id for piece in work.pieces}
    assert pieces | {frog.id for frog in work.frogs} <= drawn
    bars = {bar.id for bar in work.bars} - pieces  # named after all their pieces: R3a of R3a/1 and R3a/2
    for chapter in chapters(is_joined=True):
        cells = [cell for block in chapter.make(work, ()) for row in block.rows for cell in _cells(row)]
        told = {one for cell in cells for one in _ID.findall(cell)}
        wanted = {
            one for one in drawn - bars if cells and one.rstrip("abcdefgh/0123456789") in _TOLD_IN[chapter.heading]
        }
        assert wanted <= told, chapter.heading
        assert told <= drawn | bars, chapter.heading


def _cells(row: str | tuple[str, ...]) -> tuple[str, ...]:
    return (row,) if isinstance(row, str) else row
