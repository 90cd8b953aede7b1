"""Sheets for the underside, read back: turned over they lie on the sheets of the top, hole on hole."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from paper.marks import BAR, DRILL, FACE, MARK, REGISTRATION
from paper.reading import Points, Sheet, read_pages
from paper.samples import Laid, drawn, laid_sheets, pages_labelled, sheets
from samples import SAMPLES, figures

from turnout_templates.drawing.items import RegionItem
from turnout_templates.pipeline import Drawn, PaperChoice, draw, write
from turnout_templates.trackwork.current.wiring_parts import Feeder, Section, Wiring
from turnout_templates.trackwork.rails.rail_parts import RouteFace

CONTROL = 0.14
"""Width in mm of the lines of control marks."""
CROWDED = (
    "01-plain-no-6",
    "18-double-crossover",
    "20-ladder",
    "21-two-gauge-triangle",
    "24-double-slip",
    "29-ties-fanned",
)
"""Samples whose places without framing reach over edges, over marks and over one another."""
CORNERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))
every_sample = pytest.mark.parametrize("name", SAMPLES)
CASES = [(name, None) for name in SAMPLES]
CASES += [(name, paper) for name in ("01-plain-no-6", "13-long-two-gauge-junction") for paper in ("A4", "A3")]
every_case = pytest.mark.parametrize(("name", "paper"), CASES)


def control_marks(page: Sheet) -> dict[str, Points]:
    """The middle of every control mark on a page, a square of 2.4 mm in a cross of 4 mm, by the name beside it."""
    found: dict[str, Points] = {}
    names = [words for words in page.words if words.window is None and re.fullmatch(r"M\d+", words.text)]
    for ink in page.lines(width=CONTROL):
        square, *cross = ink.chains
        middle = (square.min(axis=0) + square.max(axis=0)) / 2
        assert np.abs(np.ptp(square, axis=0) - 2.4).max() < BAR and len(cross) == 2
        for line in cross:
            assert abs(math.dist(*line) - 4.0) < BAR and math.dist(line.mean(axis=0), middle) < BAR
        named = min(names, key=lambda words: _away(words.corners(), middle))
        assert _away(named.corners(), middle) < 4.0 and named.text not in found
        found[named.text] = middle
    assert len(found) == len(names)
    return found


def _away(corners: list[tuple[float, float]], point: Points) -> float:
    return min(math.dist(corner, point) for corner in corners)


def undersides(name: str, paper: str | None) -> list[tuple[Laid, Sheet]]:
    """Each page for the underside, with the sheet of the top that its heading names."""
    top = sheets(name, paper)
    found = []
    for _, page in pages_labelled(name, paper, "Underside "):
        (heading,) = (words.text for words in page.words if words.text.startswith("UNDERSIDE, mirrored"))
        number = re.search(r"below sheet (\d+)", heading)
        found.append((top[int(number[1]) - 1] if number else top[0], page))
    return found


def from_above(above: Laid, points: Points) -> Points:
    """Points of an underside in mm of the drawing: turned over about the middle of the frame, then as on the sheet."""
    left, _, right, _ = above.frame
    return above.home(np.asarray(points) * (-1.0, 1.0) + (left + right, 0.0))


@every_case
def test_holes_drilled_through_the_top_come_out_on_the_marks_below(name: str, paper: str | None) -> None:
    top = {mark: laid.home(at) for laid in sheets(name, paper) for mark, at in control_marks(laid.sheet).items()}
    for above, page in undersides(name, paper):
        below = control_marks(page)
        assert len(below) >= 3
        for mark, at in below.items():
            assert math.dist(from_above(above, at), top[mark]) < BAR
        # Far enough apart to hold the sheet: the marks are not all in one place.
        places = np.array(list(below.values()))
        assert np.ptp(places, axis=0).max() > 50.0


def rectangles(page: Sheet) -> Iterator[Points]:
    """The corners of every slot on a page: firm rectangles, drawn to their start and closed, of the width of a mark."""
    for ink in page.lines(width=MARK):
        if ink.window is not None and len(ink.chains) == 1 and len(ink.chains[0]) == 6:
            yield ink.chains[0][:4]


@every_case
def test_each_slot_lies_where_the_top_and_the_figures_have_it(name: str, paper: str | None) -> None:
    bars = {s["id"]: s["throw_bar"] for s in figures(name)["switches"] if s["throw_bar"] is not None}
    above = [corner for laid in sheets(name, paper) for slot in rectangles(laid.sheet) for corner in laid.home(slot)]
    shown = set()
    for laid, page in undersides(name, paper):
        said = " ".join(words.text for words in page.words)
        for corners in rectangles(page):
            home = from_above(laid, corners)
            assert all(min(math.dist(corner, known) for known in above) < BAR for corner in home)
            (found,) = (
                id
                for id, bar in bars.items()
                if math.dist(home.mean(axis=0), (bar["slot"]["x_mm"], bar["slot"]["y_mm"])) < BAR
            )
            assert f"{found} machine axis" in said or not laid.framed([above_page(laid, corners)], inside=12.0).all()
            if f"{found} machine axis" in said:
                shown.add(found)
    assert shown == set(bars)


def above_page(laid: Laid, corners: Points) -> Points:
    """The middle of a shape of the underside, on the page of the sheet above."""
    left, _, right, _ = laid.frame
    return (np.asarray(corners) * (-1.0, 1.0) + (left + right, 0.0)).mean(axis=0)


@every_case
def test_an_underside_cannot_be_taken_for_a_sheet_of_the_top(name: str, paper: str | None) -> None:
    numbers = []
    for _, page in undersides(name, paper):
        texts = [words.text for words in page.words]
        assert sum(text.startswith("UNDERSIDE, mirrored: fix it under the baseboard") for text in texts) == 1
        (count,) = (re.fullmatch(r"U(\d+) of (\d+)", text) for text in texts if re.fullmatch(r"U\d+ of \d+", text))
        numbers.append((int(count[1]), int(count[2])))
        assert not any(re.fullmatch(r"sheet \d+ of \d+", text) for text in texts)
        # No gauge face, no tie and no registration mark that would join it to a sheet of the top.
        assert not [ink for ink in page.lines(width=FACE) if ink.window is not None]
        assert not [ink for ink in page.ink if ink.window is not None and abs(ink.width - FACE) < 1e-6]
        assert not [ink for ink in page.lines(width=REGISTRATION) if len(ink.chains) == 3]
        assert any(text.startswith("Drill 1 mm") for text in texts)
    assert numbers == [(k, len(numbers)) for k in range(1, len(numbers) + 1)]


@every_case
def test_texts_below_name_each_hole_the_right_way_round_on_their_page_and_off_one_another(
    name: str, paper: str | None
) -> None:
    named = set()
    for above, page in undersides(name, paper):
        here = [match[1] for words in page.words if (match := re.match(r"(D\d+) ", words.text))]
        crosses = [ink.chains[0] for ink in page.lines(width=DRILL) if len(ink.chains) == 2]
        assert len(here) == len(set(here)) == sum(abs(math.dist(*line) - 3.2) < BAR for line in crosses)
        named.update(here)
        boxes = [shapely.Polygon(words.corners()) for words in page.words]
        for i, j in zip(*shapely.STRtree(boxes).query(boxes, predicate="intersects"), strict=True):
            assert i == j or boxes[i].intersection(boxes[j]).area < 0.01, (page.words[i].text, page.words[j].text)
        for words in page.words:
            if words.window is None:
                continue
            # Baselines run from 80 degrees down to 100 degrees up, as on the sheets of the top.
            assert -math.pi / 2 - 1e-6 <= math.remainder(words.angle - math.radians(10), math.tau) < math.pi / 2 + 1e-6
            assert above.framed(words.corners(), inside=-0.05).all()
        bars = {words.text for words in page.words if "=" in words.text}
        assert len(bars) == 2 and any(words.text == "100 mm" for words in page.words)
    assert named == {feeder.id for feeder in drawn(name, paper).job.trackwork.wiring.feeders}


BORDER, HEADING, BAR_STRIP = 3.5, 7.5, 3.5
"""Widths in mm, as read off a page, of the hatched border, of its upper side, and of what the bar up the page takes."""


@pytest.mark.parametrize("name", CROWDED)
def test_no_framing_is_one_outline_inside_the_border_and_off_the_marks(name: str) -> None:
    made = drawn(name, None)
    machines = [made_up.bar.slot for made_up in made.job.trackwork.switch_works if made_up.bar is not None]
    around = [shapely.Point(feeder.hole).buffer(10.0, quad_segs=200) for feeder in made.job.trackwork.wiring.feeders]
    for slot in machines:
        # 60 mm to either side along the axis and 40 beside it.
        (x, y), way = slot.pose.point, np.array([math.cos(slot.pose.heading), math.sin(slot.pose.heading)])
        beside = np.array([-way[1], way[0]])
        around.append(shapely.Polygon([(x, y) + 60 * i * way + 40 * j * beside for i, j in CORNERS]))
    everywhere = shapely.union_all(around)
    pages = [page for page in made.document.pages if page.label.startswith("Underside")]
    for (above, read), page in zip(undersides(name, None), pages, strict=True):
        left, bottom, right, top = above.frame
        inner = shapely.box(left + BORDER, bottom + BORDER, right - BAR_STRIP, top - HEADING)
        marks = shapely.union_all([shapely.Point(at).buffer(2.0) for at in control_marks(read).values()])
        drawn_here = []
        for view in page.views:
            clip = view.clip
            assert inner.buffer(1e-6).contains(shapely.box(clip.left, clip.bottom, clip.right, clip.top))
            for item in view.drawing.items if view.drawing is not None else ():
                if isinstance(item, RegionItem) and item.layer == "no framing":
                    rings = [[view.page_point(segment.start) for segment in ring] for ring in item.rings]
                    drawn_here.append(shapely.Polygon(rings[0], rings[1:]))
        shown = shapely.union_all(drawn_here)
        assert shown.area == pytest.approx(sum(part.area for part in drawn_here), abs=1e-3)
        assert inner.buffer(1e-6).contains(shown) and shown.intersection(marks).area < 1e-6
        # And nothing of what is to be kept clear is left out, but for a place round each mark and each edge's name.
        corners = shapely.get_coordinates(inner.exterior)[:4]
        wanted = everywhere.intersection(shapely.Polygon(from_above(above, corners)))
        taken = 15.0 * 6.0 * (len(control_marks(read)) + sum("edge of sheet" in words.text for words in read.words))
        assert wanted.area - taken - 1.0 < shown.area < wanted.area + 1.0


def with_feeders(name: str) -> Drawn:
    """A sample with two made-up feeders, one of a frog, beside its first route."""
    job = drawn(name, None).job
    route = next(iter(job.layout))
    owner = RouteFace(route.name, route.faces[0])
    holes = [route.path.point_at(share * route.path.length, 7.0) for share in (0.3, 0.6)]
    feeders = tuple(
        Feeder(f"W{k}", "R1", section, owner, share * route.path.length, "left", hole)
        for k, (section, share, hole) in enumerate(zip(("left", "F1"), (0.3, 0.6), holes, strict=True), start=1)
    )
    sections = (Section("left", "left", (), ("R1",)), Section("F1", "frog", ("F1",), ()))
    work = replace(job.trackwork, wiring=Wiring(sections, (), feeders))
    return draw(replace(job, trackwork=work), PaperChoice())


@pytest.mark.parametrize("name", ["01-plain-no-6", "13-long-two-gauge-junction", "16-crossover"])
def test_feeders_are_drilled_where_they_are(name: str) -> None:
    made = with_feeders(name)
    pages = read_pages(dict(write(made, ("pdf",), "x"))["x.pdf"])
    top = {laid.number: laid for laid in laid_sheets(made, pages)}
    said, found = "", []
    for page, read in zip(made.document.pages, pages, strict=True):
        if not page.label.startswith("Underside"):
            continue
        said += " ".join(words.text for words in read.words)
        heading = next(words.text for words in read.words if words.text.startswith("UNDERSIDE"))
        above = top[int(heading.split()[-1])]
        for ink in read.lines(width=DRILL):
            if len(ink.chains) == 2 and abs(math.dist(*ink.chains[0]) - 3.2) < BAR:
                found.append(from_above(above, ink.points.mean(axis=0)))
    assert "W1 left" in said and "W2 frog wire F1" in said
    for feeder in made.job.trackwork.wiring.feeders:
        assert min(math.dist(at, feeder.hole) for at in found) < BAR


def said_below(name: str) -> set[str]:
    return {words.text for _, page in undersides(name, None) for words in page.words}


@pytest.mark.parametrize(
    ("name", "beside"),
    [
        ("24-double-slip", {"S1": "S3", "S3": "S1", "S2": "S4", "S4": "S2"}),
        ("22-three-way", {"S1": "S2", "S2": "S1"}),
        ("28-common-rail-changes-side", {"S1": None, "S2": None}),
    ],
)
def test_machines_that_need_the_same_room_are_told_of_each_other(name: str, beside: dict[str, str | None]) -> None:
    """Slots nearer to each other than 80 mm along the track and 120 mm across it: the room of a machine each."""
    slots = {made.switch: made.bar.slot.pose for made in drawn(name, None).job.trackwork.switch_works if made.bar}
    for switch, pose in slots.items():
        others = [other for other in slots if other != switch]
        # The length of a slot lies along its pose, the track across it.
        near = [
            o for o in others if all(abs(d) < m for d, m in zip(pose.local(slots[o].point), (120, 80), strict=True))
        ]
        assert near == ([beside[switch]] if beside[switch] else [])
        more = f", fit in beside {beside[switch]}" if beside[switch] else ""
        assert f"{switch} machine axis{more}" in said_below(name)


def test_a_bar_that_stops_on_its_way_says_where() -> None:
    said = said_below("42-three-way-stub")
    (bar,) = (switch["throw_bar"] for switch in figures("42-three-way-stub")["switches"])
    stops = [f"{place['route']} {place['from_far_stop_mm'] / 25.4:.3f} in" for place in bar["positions"]]
    assert f"from its far stop: {', '.join(stops)}".replace("0.000 in", "0 in") in said
    assert any(text.endswith(", in 3 positions") for text in said)
    assert not any("positions" in text or "far stop" in text for text in said_below("22-three-way"))


def test_where_nothing_is_to_be_done_below_there_is_no_page() -> None:
    job = drawn("43-plain-curve-gauge-widened", None).job
    bare = replace(job, trackwork=replace(job.trackwork, wiring=Wiring()))
    assert not any(page.label.startswith("Underside") for page in draw(bare).document.pages)


def test_the_pages_come_last_and_can_be_left_out() -> None:
    made = drawn("01-plain-no-6", None)
    labels = [page.label for page in made.document.pages]
    assert labels[-3:] == ["Sheet 2", "Underside 1", "Underside 2"]
    shorter = draw(made.job, without=("underside",))
    assert [page.label for page in shorter.document.pages] == labels[:-2]


def test_sheets_as_files_have_the_undersides_and_the_whole_drawing_has_not() -> None:
    made = drawn("01-plain-no-6", None)
    files = dict(write(made, ("sheets", "svg"), "x"))
    assert list(files) == ["x-sheet-01.svg", "x-sheet-02.svg", "x-underside-01.svg", "x-underside-02.svg", "x.svg"]
    assert b"UNDERSIDE" in files["x-underside-01.svg"] and b"machine axis" not in files["x.svg"]


def test_a_page_that_is_not_turned_over_is_seen() -> None:
    """The measure of the first test: points read without turning the page over do not fit."""
    laid, page = undersides("01-plain-no-6", None)[0]
    top = control_marks(laid.sheet)
    (mark, at) = next((mark, at) for mark, at in control_marks(page).items() if mark in top)
    assert math.dist(laid.home(at), laid.home(top[mark])) > 10.0
