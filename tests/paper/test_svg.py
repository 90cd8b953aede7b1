"""The SVG files read back by a plain XML reader: rails and frogs where they were measured, and pages as printed."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from paper.marks import BAR, CROSS, CROSS_HEADS, FACE, MARK, RING, RING_HEADS, along, distances
from paper.samples import faces, filed_points, sheets, written
from paper.svg_reading import NS, Stroked, parsed, strokes
from samples import SAMPLES, figures, sample_path

from turnout_templates.spec.load import read_spec

every_sample = pytest.mark.parametrize("name", SAMPLES)
BLACK = "#000000"


def whole(name: str) -> list[Stroked]:
    (content,) = written(name, "svg", None).values()
    return list(strokes(parsed(content)))


@every_sample
def test_the_whole_drawing_has_every_face_and_no_other_firm_line(name: str) -> None:
    firm = [s for s in whole(name) if s.width == FACE and s.colour == BLACK]
    assert {s.groups[-1].split("--")[0] for s in firm} == {rail["id"] for rail in figures(name)["rails"]}
    lines = [shapely.LineString(chain) for s in firm for chain in s.chains]
    measured = [shapely.LineString(points) for points in (*(p for _, p in faces(name, 1.0)), *filed_points(name))]
    assert distances(np.concatenate([points for _, points in faces(name, 2.0)]), lines).max() < BAR
    drawn = np.concatenate([along(chain) for s in firm for chain in s.chains])
    assert distances(drawn, measured).max() < BAR


@every_sample
def test_the_whole_drawing_has_every_frog_point_in_the_group_of_its_frog(name: str) -> None:
    marks: dict[str, list[Stroked]] = {}
    for stroke in whole(name):
        if stroke.groups[0].startswith("layer-frog") and stroke.width == MARK:
            marks.setdefault(stroke.groups[-1].split("--")[0], []).append(stroke)
    assert set(marks) == {frog["id"] for frog in figures(name)["frogs"]}
    head = figures(name)["rail"]["head_mm"]
    for frog in figures(name)["frogs"]:
        (cross,) = (s for s in marks[frog["id"]] if len(s.chains) == 2)
        assert all(abs(math.dist(*line) - min(CROSS, CROSS_HEADS * head)) < BAR for line in cross.chains)
        for line in cross.chains:
            assert math.dist(line.mean(axis=0), (frog["x_mm"], frog["y_mm"])) < BAR
        rings = [s.chains[0] for s in marks[frog["id"]] if len(s.chains) == 1 and len(s.chains[0]) > 8]
        assert len(rings) == (frog["practical"] is not None)
        for ring in rings:
            middle = (ring.min(axis=0) + ring.max(axis=0)) / 2
            assert math.dist(middle, (frog["practical"]["x_mm"], frog["practical"]["y_mm"])) < BAR
            assert np.abs(np.ptp(ring, axis=0) - min(RING, RING_HEADS * head)).max() < BAR


@every_sample
def test_the_svg_carries_its_spec_and_that_loads_to_the_same(name: str) -> None:
    (content,) = written(name, "svg", None).values()
    carried = parsed(content).findtext(f"{NS}metadata")
    written_so = sample_path(name).read_text(encoding="utf-8")
    assert carried is not None and (carried == written_so or "base:" in written_so)
    assert read_spec(carried, file="", folder=None).spec.fingerprint == figures(name)["fingerprint"]


def test_a_sheet_as_svg_shows_what_the_pdf_shows_where_it_shows_it() -> None:
    name = "02-two-gauge-curve-narrow-leaves"
    files = {file: content for file, content in written(name, "sheets", None).items() if "-sheet-" in file}
    laid = sheets(name, None)
    assert len(files) == len(laid)
    for (_, content), sheet in zip(sorted(files.items()), laid, strict=True):
        root = parsed(content)
        _, top, width, height = map(float, root.attrib["viewBox"].split())
        assert (width, height) == pytest.approx(sheet.sheet.size, abs=1e-4) and top == -height
        firm = [s for s in strokes(root) if s.width == FACE and s.colour == BLACK and not s.dash]
        printed = [ink for ink in sheet.sheet.lines(width=FACE) if ink.window]
        drawn = np.concatenate([along(chain) for s in firm for chain in s.chains])
        shown = np.concatenate([along(chain) for ink in printed for chain in ink.chains])
        assert distances(drawn, [shapely.LineString(c) for ink in printed for c in ink.chains]).max() < BAR
        assert distances(shown, [shapely.LineString(c) for s in firm for c in s.chains]).max() < BAR
        texts = sorted(text.text or "" for text in root.iter(f"{NS}text"))
        assert texts == sorted(words.text for words in sheet.sheet.words)


def test_an_svg_says_that_the_pdf_is_for_printing() -> None:
    for content in (*written(SAMPLES[0], "svg", None).values(), *written(SAMPLES[0], "sheets", None).values()):
        assert "Use the PDF for printing" in (parsed(content).findtext(f"{NS}desc") or "")
