"""What is filed is on paper where the figures say: cuts of bases and notches beside their rails, filings in words.

Where a mark must lie is worked out here from the figures of `measure`: half of what the base is wider than the head
beyond the head's sides.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from paper.reading import Points
from paper.samples import drawn, pages, sheets
from samples import SAMPLES, figures
from shapely import LineString, MultiLineString, points

every_sample = pytest.mark.parametrize("name", SAMPLES)
TRUE = 0.01
"""mm: how far a mark read back may lie from where it must."""
CUT, NOTCH = 0.09, 0.13
"""mm: the widths of the lines that mark cuts and notches of bases."""


def marks(name: str, width: float) -> Any:
    chains = [
        LineString(laid.home(chain))
        for laid in sheets(name, None)
        for ink in laid.sheet.ink
        if ink.window is not None and ink.paint == "S" and abs(ink.width - width) < 1e-6
        for chain in ink.chains
    ]
    return MultiLineString(chains)


def beside(name: str, owner: dict[str, Any], stations: tuple[float, float], out: float) -> Points:
    """Points `out` mm outward of a gauge face, inside of both stations by a tenth of a mm."""
    (face,) = (
        face
        for face in drawn(name, None).job.layout.route(owner["route"]).faces
        if (face.gauge, face.hand) == (owner["gauge"], owner["hand"])
    )
    route = drawn(name, None).job.layout.route(owner["route"])
    places = np.linspace(stations[0], stations[1], 9)
    return np.array(
        [route.path.point_at(s, route.offset_at(face, s) + (1 if face.hand == "left" else -1) * out) for s in places]
    )


def widths(name: str) -> tuple[float, float]:
    rail = drawn(name, None).job.spec.rail
    return rail.head, (rail.base - rail.head) / 2


@every_sample
def test_every_cut_of_a_bars_base_is_marked_from_where_to_where(name: str) -> None:
    head, flange = widths(name)
    bars = {rail["id"] for rail in figures(name)["rails"]}
    cuts = [cut for cut in figures(name)["base_cuts"] if cut["part"] in bars]
    if not cuts:
        return
    found = marks(name, CUT)
    for cut in cuts:
        out = -flange if cut["side"] == "gauge" else head + flange
        along = beside(name, cut["beside"], (cut["from_mm"], cut["to_mm"]), out)
        assert max(found.distance(points(along))) < TRUE, cut


@every_sample
def test_every_notch_over_a_throw_bar_is_marked_on_both_sides(name: str) -> None:
    head, flange = widths(name)
    notches = [
        notch for switch in figures(name)["switches"] for notch in (switch["throw_bar"] or {"notches": []})["notches"]
    ]
    if not notches:
        return
    found = marks(name, NOTCH)
    for notch in notches:
        for out in (-flange, head + flange):
            along = beside(name, notch, (notch["from_mm"], notch["to_mm"]), out)
            assert max(found.distance(points(along))) < TRUE, notch


def test_a_mark_that_lies_aside_is_seen() -> None:
    name = "01-plain-no-6"
    _, flange = widths(name)
    cut = next(c for c in figures(name)["base_cuts"] if c["part"].startswith("R") and c["side"] == "gauge")
    along = beside(name, cut["beside"], (cut["from_mm"], cut["to_mm"] + 0.05), -flange)
    assert max(marks(name, CUT).distance(points(along))) > TRUE


@every_sample
def test_every_filing_is_told_in_a_detail_with_its_angle(name: str) -> None:
    """Of alike frogs the first is drawn: its words stand for all of them."""
    said = [words.text for page in _details(name) for words in page]
    shown = {re.findall(r"\bF\d+(?=,)", text)[0] for text in said if re.match(r"F\d+, ", text)}
    missing = 0
    for frog in figures(name)["frogs"]:
        if frog["id"] not in shown:
            continue
        for filing in frog["filing"]:
            if filing["bar"] is None or filing["length_mm"] is None or filing["what"] == "mitre":
                continue
            angle = f"{filing['angle_deg']:.3f}".rstrip("0").rstrip(".")
            missing += not any(text.startswith(f"{filing['bar']} ") and f" {angle} deg over " in text for text in said)
    told = sum(int(more) for text in said for more in re.findall(r"(\d+) more lengths? on larger", text))
    assert missing <= told


def _details(name: str) -> Iterator[list[Any]]:
    for page, sheet in zip(drawn(name, None).document.pages, pages(name, None), strict=True):
        if page.label.startswith("Details"):
            yield sheet.words


@every_sample
def test_no_word_of_the_texts_before_the_sheets_is_broken(name: str) -> None:
    """Every word that is read on those pages is one of the words that were to be told, letter by letter."""
    from turnout_templates.drafting.extent import points_to_show
    from turnout_templates.reports.leading import leading_blocks
    from turnout_templates.sheets.front import proof_block
    from turnout_templates.sheets.proof import prove_seams

    job, plan = drawn(name, None).job, drawn(name, None).plan
    given: set[str] = set()
    proofs = prove_seams(plan, list(points_to_show(job.trackwork, 100.0)))
    proving = [proof_block(proofs, inches_first=job.spec.units == "in")] if proofs else []
    for joined in (True, False):
        for block in (*leading_blocks(job.trackwork, job.findings, is_joined=joined), *proving):
            given.update(f"{block.title} (continued)".split())
            for row in block.rows:
                given.update((row if isinstance(row, str) else " ".join(row)).split())
    for page in drawn(name, None).document.pages:
        if page.label == "Map" or page.label.startswith("Figures"):
            for item in page.items:
                if getattr(item, "layer", "") == "tables" and not _is_dimension(item.text):
                    assert set(item.text.split()) <= given, item.text


def _is_dimension(text: str) -> bool:
    return bool(re.fullmatch(r"[\d.]+ (mm|in)|.* to .*|Measure (when the sheets are joined|on the sheet)", text))
