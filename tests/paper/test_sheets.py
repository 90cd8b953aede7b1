"""What every page says and shows: bars as long as they claim, whole labels, real paper, nothing outside its place."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from paper.marks import BAR, bars
from paper.reading import Ink, Sheet, Words
from paper.samples import CASES, PAPERS, Laid, drawn, pages, sheets
from samples import SAMPLES, figures

from turnout_templates.drawing.bounds import text_corners
from turnout_templates.drawing.items import TextItem
from turnout_templates.reports.legend import legend

every_sample = pytest.mark.parametrize("name", SAMPLES)
every_case = pytest.mark.parametrize(("name", "paper"), CASES)
SIZES = {
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "230x330 mm": (230.0, 330.0),
}
"""mm: ISO 216 for the A sizes, ANSI/ASME Y14.1 for Letter and Tabloid, common practice for Legal."""
MARGIN, SIDE_STRIP = 10.0, 3.5
LETTERS = 0.1
"""mm: how far letters may stay behind the height that the reader takes them to have."""


@every_case
def test_the_bars_measure_what_they_say(name: str, paper: str | None) -> None:
    for laid in sheets(name, paper):
        left, bottom, right, top = laid.frame
        found = bars(laid.sheet)
        assert sorted(bar.says for bar in found if "=" not in bar.label) == pytest.approx([100.0, 101.6])
        # The longest that the frame allows, both ways: less than 2 mm short of it.
        long = {bar.is_upright: bar for bar in found if "=" in bar.label}
        assert 0.0 <= right - left - long[False].says < 2.0 and 0.0 <= top - bottom - long[True].says < 2.0
        assert_true(laid.sheet)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_page_to_print_first_has_the_same_bars_both_ways(paper: str) -> None:
    first = pages("02-two-gauge-curve-narrow-leaves", paper)[0]
    width, height = first.size
    for is_upright, side in ((False, width), (True, height)):
        says = sorted(bar.says for bar in bars(first) if bar.is_upright == is_upright)
        assert says[:2] == pytest.approx([100.0, 101.6]) and len(says) == 3
        assert side - 2 * MARGIN - 6.0 < says[2] <= side - 2 * MARGIN
    assert_true(first)


def assert_true(page: Sheet) -> None:
    """Every bar is as long as it says, in both units."""
    for bar in bars(page):
        assert abs(bar.measures - bar.says) < 1e-4, bar
        assert abs(bar.measures - bar.also_says) <= 0.0005 * 25.4 + 1e-6, bar


@every_case
def test_every_text_of_the_drawing_is_whole_on_some_sheet(name: str, paper: str | None) -> None:
    whole: dict[str, list[tuple[Laid, Words]]] = {}
    for laid in sheets(name, paper):
        for words in laid.sheet.words:
            if words.window and laid.framed(words.corners(), inside=-LETTERS).all():
                whole.setdefault(words.text, []).append((laid, words))
    for item in drawn(name, paper).document.drawing.items:
        if isinstance(item, TextItem):
            assert any(_stands(laid, words, item) for laid, words in whole.get(item.text, [])), item.text


def _stands(laid: Laid, words: Words, item: TextItem) -> bool:
    """Tell whether a text that was read is `item`: its place, turn, size and weight.

    A file gives the width of a letter in whole thousandths of the size, so the far end of a text is known less well.
    """
    part = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
    along = part * words.length * np.array([np.cos(words.angle), np.sin(words.angle)])
    turn = math.remainder(words.angle - laid.turn - item.angle, math.tau)
    slack = BAR + part * 0.0005 * item.size * len(item.text)
    return (
        math.dist(laid.home(words.start + along), item.at) < slack
        and abs(turn) < 1e-6
        and abs(words.size - item.size) < 1e-6
        and words.bold == item.bold
    )


@every_case
def test_each_table_before_the_sheets_stands_whole_in_one_column(name: str, paper: str | None) -> None:
    labels = [page.label for page in drawn(name, paper).document.pages]
    fronts = [
        page for page, label in zip(pages(name, paper), labels, strict=True) if label.startswith(("Map", "Figures"))
    ]
    said = [words for page in fronts for words in page.words]
    # Sentences may go on in the next column, tables may not. (Chapters have tables that are longer than a page.)
    begun = {words.text.removesuffix(" (continued)") for words in said if words.text.endswith("(continued)")}
    assert begun <= {"Findings", "Switches", "Throw bars, measured from the end away from the machine"}
    (title,) = [(page, words) for page in fronts for words in page.words if words.text == "What the marks mean"]
    column = [w for w in title[0].words if abs(w.start[0] - title[1].start[0]) < 0.01]
    below = {words.text for words in column if words.start[1] < title[1].start[1]}
    sample = drawn(name, paper)
    told = legend(sample.job.trackwork, is_joined=len(sample.plan.sheets) > 1)
    assert {row[0] for row in told.rows} <= below


@every_case
def test_no_text_of_a_sheet_is_upside_down(name: str, paper: str | None) -> None:
    # Up to 100 degrees: a text meant to stand square to the track may lean a little past upright, as its neighbours do.
    for laid in sheets(name, paper):
        for words in laid.sheet.words:
            assert -80.0 - 1e-4 <= math.degrees(math.remainder(words.angle, math.tau)) <= 100.0 + 1e-4, words.text


@every_case
def test_a_text_turned_over_for_its_sheet_keeps_its_place(name: str, paper: str | None) -> None:
    made = drawn(name, paper)
    for was, now in zip(made.drawing.items, made.document.drawing.items, strict=True):
        if isinstance(was, TextItem) and isinstance(now, TextItem):
            assert (now.text, now.size, now.part) == (was.text, was.size, was.part)
            corners, before = text_corners(now), text_corners(was)
            turned = corners if abs(now.angle - was.angle) < 1e-9 else (*corners[2:], *corners[:2])
            assert all(math.dist(p, q) < 1e-9 for p, q in zip(turned, before, strict=True)), now.text
        else:
            assert now is was


@every_case
def test_the_drawing_keeps_to_the_frame_and_the_rest_to_the_paper(name: str, paper: str | None) -> None:
    for laid in sheets(name, paper):
        shown = [*laid.sheet.ink, *laid.sheet.words]
        windows = {thing.window for thing in shown if thing.window}
        assert len(windows) == 1 and next(iter(windows)) == pytest.approx(laid.frame, abs=1e-6)
        for words in laid.sheet.words:
            if words.window:
                # A reader of texts takes no notice of windows: a text must not hang out of its own.
                assert laid.framed(words.corners(), inside=-LETTERS).all(), words.text
            else:
                assert _on_paper(laid.sheet, np.array(words.corners())), words.text
        for ink in laid.sheet.ink:
            assert ink.window or _on_paper(laid.sheet, ink.points)


def _on_paper(page: Sheet, points: np.ndarray) -> bool:
    """Tell whether points lie within what a printer can print."""
    low, high = points.min(axis=0), points.max(axis=0)
    return bool((low >= MARGIN - BAR).all() and (high <= np.array(page.size) - MARGIN + BAR).all())


@every_case
def test_nothing_is_laid_over_the_drawing_but_what_joins_sheets_and_the_bar(name: str, paper: str | None) -> None:
    for laid in sheets(name, paper):
        for ink in laid.sheet.ink:
            if ink.window is None and laid.framed(ink.points, inside=0.1).any():
                assert _is_bar(laid, ink) or _joins(ink), ink.box
        for words in laid.sheet.words:
            if words.window is None and laid.framed(words.corners(), inside=0.1).any():
                assert re.fullmatch(_WORDS_OF_JOINS, words.text) or (
                    "=" in words.text and words.start[0] > laid.frame[2] - SIDE_STRIP
                )


_WORDS_OF_JOINS = r"cut here, lay on sheet \d+|glue under sheet \d+|edge of sheet \d+|M\d+"


def _is_bar(laid: Laid, ink: Ink) -> bool:
    return ink.box[0] >= laid.frame[2] - SIDE_STRIP


def _joins(ink: Ink) -> bool:
    """Tell whether this is a registration or control mark, or the line up to which a neighbour covers the sheet."""
    return len(ink.chains) == 3 or ink.dash == (0.6, 1.8)


@every_case
def test_pages_are_the_papers_own_size(name: str, paper: str | None) -> None:
    units = drawn(name, paper).job.spec.units
    sides = SIZES[paper or {"mm": "A4", "in": "Letter"}[units]]
    for page in pages(name, paper):
        # The file states sides in points to a few decimals.
        assert sorted(page.size) == pytest.approx(sides, abs=1e-4)


@every_sample
def test_every_sheet_says_what_it_is_and_who_its_neighbours_are(name: str) -> None:
    laid = sheets(name, None)
    fingerprint = figures(name)["fingerprint"]
    for number, sheet in enumerate(laid, start=1):
        said = [words.text for words in sheet.sheet.words if words.window is None]
        assert f"sheet {number} of {len(laid)}" in said
        (title,) = (text for text in said if fingerprint in text)
        assert title.startswith(figures(name)["name"][:20]) and "turnout-templates" in title
        neighbours = {int(found[0]) for text in said if (found := re.findall(r"sheet (\d+)$", text))}
        told = {
            other.number
            for other in laid
            for text in (words.text for words in other.sheet.words)
            if re.fullmatch(rf"(cut here, lay on|glue under) sheet {number}", text)
        }
        assert neighbours == told and number not in neighbours


def test_a_sheet_with_errors_is_stamped_and_others_are_not() -> None:
    for name in SAMPLES:
        errors = any(finding["level"] == "error" for finding in figures(name)["findings"])
        for laid in sheets(name, None):
            stamped = any(words.text.startswith("will not run as drawn") for words in laid.sheet.words)
            assert stamped == errors


@every_sample
def test_the_map_page_carries_every_figure_of_the_frogs_and_every_finding(name: str) -> None:
    count = len(sheets(name, None))
    said = " ".join(words.text for page in pages(name, None)[1:-count] for words in page.words)
    for frog in figures(name)["frogs"]:
        degrees = f"{frog['angle_deg']:.3f}".rstrip("0").rstrip(".")
        for figure in (frog["id"], f"{frog['number']:.2f}", f"{degrees} deg"):
            assert figure in said
    for finding in drawn(name, None).job.findings:
        units = drawn(name, None).job.spec.units
        for words in (finding.measured.in_units(units), finding.remedy.in_units(units), finding.source):
            assert words in said
