"""The pages of details as they read back: each frog and switch once, enlarged as its title says, nothing in the way.

Where gauge faces lie comes from the figures of `measure`, evaluated here anew; only the place of a detail's own point
on the page is taken from its view. Its turn is the mean direction of the two routes there.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from paper.reading import Points, Sheet, Words
from paper.samples import along_route, drawn, faces, pages
from samples import SAMPLES, figures
from shapely import LineString, MultiLineString, Polygon, STRtree, box, points

from turnout_templates.pipeline import PARTS, PaperChoice, draw
from turnout_templates.reports.chapters import chapters
from turnout_templates.sheets.pages import Page, View

every_sample = pytest.mark.parametrize("name", SAMPLES)
FACE_WIDTH = 0.2
"""mm: the firm line of a gauge face."""
TRUE = 0.01
"""mm: how far a point read back may lie from where it must."""
LETTERS = 0.05
"""mm: how much smaller than the reader's boxes the letters are at least, all round."""


@dataclass(frozen=True)
class Framed:
    """A detail on its page: what its title says, the ids it is for, the page as it reads back, and its view."""

    title: str
    ids: list[str]
    factor: float
    sheet: Sheet
    view: View
    frame: tuple[float, float, float, float]


def detail_pages(name: str) -> list[tuple[Page, Sheet]]:
    document = drawn(name, None).document
    both = zip(document.pages, pages(name, None), strict=True)
    return [(page, sheet) for page, sheet in both if page.label.startswith("Details")]


def details(name: str) -> Iterator[Framed]:
    for page, sheet in detail_pages(name):
        frames = [ink.box for ink in sheet.ink if ink.window is None and len(ink.points) == 5 and ink.paint == "S"]
        assert len(frames) == len(page.views) > 0
        for view in page.views:
            (frame,) = (f for f in frames if _inside(_window(view), f))
            bold = [words for words in sheet.words if words.bold and words.window is None and _in(words, frame)]
            title = " ".join(words.text for words in sorted(bold, key=lambda w: -w.start[1]))
            factor = re.search(r"enlarged ([\d.]+):1", title)
            assert factor is not None, title
            yield Framed(title, re.findall(r"\b[FS]\d+(?=,)", title), float(factor[1]), sheet, view, frame)


def _window(view: View) -> tuple[float, float, float, float]:
    return (view.clip.left, view.clip.bottom, view.clip.right, view.clip.top)


def _inside(one: tuple[float, ...], other: tuple[float, ...], slack: float = 1e-3) -> bool:
    low = one[0] >= other[0] - slack and one[1] >= other[1] - slack
    return low and one[2] <= other[2] + slack and one[3] <= other[3] + slack


def _in(words: Words, frame: tuple[float, ...]) -> bool:
    return all(_inside((*corner, *corner), frame) for corner in words.corners())


@every_sample
def test_every_frog_and_switch_has_one_detail(name: str) -> None:
    wanted = [part["id"] for kind in ("frogs", "switches") for part in figures(name)[kind]]
    assert sorted(i for detail in details(name) for i in detail.ids) == sorted(wanted)


@every_sample
def test_each_frame_and_each_heading_says_that_it_is_not_to_size(name: str) -> None:
    for detail in details(name):
        assert "not to size" in detail.title
        assert detail.factor in (4.0, 3.0, 2.5, 2.0)
    for _, sheet in detail_pages(name):
        head = [words.text for words in sheet.words if "not to size" in words.text and not words.bold]
        assert any(text.startswith("Enlarged, not to size") for text in head)
        assert not any(words.text in ("100 mm", "4 in") for words in sheet.words)


@every_sample
def test_gauge_faces_are_enlarged_by_what_the_title_says(name: str) -> None:
    for detail in details(name):
        lines = _face_lines(detail)
        left, bottom, right, top = _window(detail.view)
        origin, direction = _origin(figures(name), detail.ids[0])
        shift = np.array((detail.view.placement.dx, detail.view.placement.dy))
        worst = []
        for turn in (direction, direction + math.pi):
            seen = []
            for _, along in faces(name, 1.0):
                moved = _turned(along - origin, -turn) * detail.factor + shift
                x, y = moved.T
                shown = (x > left + 0.05) & (x < right - 0.05) & (y > bottom + 0.05) & (y < top - 0.05)
                seen.append(moved[shown])
            found = np.concatenate(seen)
            assert len(found) > 10
            worst.append(max(lines.distance(points(found))))
        assert min(worst) <= TRUE, f"{detail.title}: {worst}"


def _face_lines(detail: Framed) -> Any:
    window = _window(detail.view)
    chains = [
        LineString(chain)
        for ink in detail.sheet.lines(width=FACE_WIDTH)
        if ink.window is not None and np.allclose(ink.window, window, atol=1e-3)
        for chain in ink.chains
    ]
    return MultiLineString(chains)


def _turned(points: Points, turn: float) -> Points:
    cosine, sine = math.cos(turn), math.sin(turn)
    return points @ np.array([[cosine, sine], [-sine, cosine]])


def _origin(measured: dict[str, Any], part: str) -> tuple[Points, float]:
    """The place that a detail is drawn about, and the direction of its long side but for half a turn."""
    if part.startswith("S"):
        (switch,) = (s for s in measured["switches"] if s["id"] == part)
        tip = switch["filed_tip"]
        return np.array((tip["x_mm"], tip["y_mm"])), math.radians(tip["heading_deg"])
    (frog,) = (f for f in measured["frogs"] if f["id"] == part)
    one, other = (
        _heading(measured["routes"][face["route"]], frog["stations_mm"][face["route"]]) for face in frog["faces"]
    )
    return np.array((frog["x_mm"], frog["y_mm"])), one + math.remainder(other - one, math.pi) / 2


def _heading(route: dict[str, Any], station: float) -> float:
    length = route["length_mm"]
    low, high = max(station - 1e-3, 0.0), min(station + 1e-3, length)
    (x0, y0), (x1, y1) = along_route(route, [low, high], 0.0)
    return math.atan2(y1 - y0, x1 - x0)


@every_sample
def test_texts_lie_on_no_other_and_on_no_dimension_line(name: str) -> None:
    for _, sheet in detail_pages(name):
        letters = [Polygon(words.corners()).buffer(-LETTERS, join_style="mitre") for words in sheet.words]
        tree = STRtree(letters)
        for i, shape in enumerate(letters):
            struck = [sheet.words[j].text for j in tree.query(shape) if j != i and shape.intersects(letters[j])]
            assert not struck, (sheet.words[i].text, struck)
        thin = [ink for ink in sheet.ink if ink.window is None and ink.paint == "S" and len(ink.points) == 2]
        posts = STRtree([LineString(ink.points) for ink in thin])
        for words, shape in zip(sheet.words, letters, strict=True):
            crossing = posts.query(shape, predicate="intersects")
            assert not len(crossing), (words.text, words.start, [thin[k].points for k in crossing])


@every_sample
def test_nothing_lies_outside_the_frames_and_the_margins(name: str) -> None:
    plan = drawn(name, None).plan
    margins = plan.margins
    area = box(margins.left, margins.bottom, plan.page_width - margins.right, plan.page_height - margins.top)
    area = area.buffer(0.15)  # half the width of a frame's line
    for _, sheet in detail_pages(name):
        assert all(Polygon(words.corners()).within(area) for words in sheet.words)
        assert all(box(*(ink.window or ink.box)).within(area) for ink in sheet.ink)


@every_sample
def test_the_sheets_are_counted_and_named_as_without_details(name: str) -> None:
    sample = drawn(name, None)
    labels = [page.label for page in sample.document.pages if not page.label.startswith("Underside")]
    count = len(sample.plan.sheets)
    assert labels[-count:] == [f"Sheet {number}" for number in range(1, count + 1)]
    own = [label for label in labels if label.startswith("Details")]
    assert own == [f"Details {number}" for number in range(1, len(own) + 1)]
    # They lie together, after the leading pages and before the chapters.
    headings = {chapter.heading for chapter in chapters(is_joined=True)}
    first = next(k for k, label in enumerate(labels[2:], 2) if re.fullmatch(r"(Figures|Map) \d+", label) is None)
    assert labels[first : first + len(own)] == own
    assert {label.rpartition(" ")[0] for label in labels[first + len(own) : -count]} <= headings
    assert [page.outline_title for page in sample.document.pages if page.label in own] == own


def test_parts_can_be_left_out() -> None:
    sample = drawn("06-n-nn3-no-6", None)
    bare = draw(sample.job, PaperChoice(), without=PARTS)
    assert [page.label for page in bare.document.pages] == ["Sheet 1"]
    assert not bare.has_first_page and sample.has_first_page
    no_details = draw(sample.job, PaperChoice(), without=("details",)).document.pages
    labels = [page.label for page in sample.document.pages]
    assert labels[:2] == ["Print first", "Map"] and labels[-2:] == ["Sheet 1", "Underside 1"] and "Details 1" in labels
    assert [page.label for page in no_details] == [label for label in labels if not label.startswith("Details")]


def test_alike_frogs_are_drawn_once() -> None:
    """Of a ladder of even spacing the frogs between leave alike tracks alike."""
    titles = [detail.title for detail in details("20-ladder")]
    assert any(title.startswith("F2, F3, V frog No. 5.00") and "all alike" in title for title in titles)
    measured = {frog["id"]: frog for frog in figures("20-ladder")["frogs"]}
    for detail in details("20-ladder"):
        numbers = [measured[i]["number"] for i in detail.ids if i in measured]
        assert not numbers or max(numbers) - min(numbers) < 1e-3


@pytest.mark.parametrize("paper", ["A3", "Legal", "120x160 mm"])
def test_details_fit_other_paper(paper: str) -> None:
    """Each lies in its frame within the margins, however small the paper."""
    sample = drawn("07-o-on30", paper)
    plan = sample.plan
    for page in sample.document.pages:
        if page.label.startswith("Details"):
            for view in page.views:
                assert view.clip.left >= plan.margins.left and view.clip.bottom >= plan.margins.bottom
                assert view.clip.right <= plan.page_width - plan.margins.right
                assert view.clip.top <= plan.page_height - plan.margins.top
    ids = {i for page in sample.document.pages for i in re.findall(r"\b[FS]\d+(?=,)", " ".join(map(str, page.items)))}
    assert {part["id"] for kind in ("frogs", "switches") for part in figures("07-o-on30")[kind]} <= ids
