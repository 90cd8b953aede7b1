"""The sheets as a printer sees them: at 600 dpi the point of a frog is within one pixel of where it was measured.

The cross at the point is looked for in the picture: along each of its arms the middle of the dark band, by the median
over the arm, so that lines that cross it do not count. What is dark and how wide it is comes from the picture alone.
"""

from __future__ import annotations

import math
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from paper.marks import CROSS, CROSS_HEADS, crosses
from paper.reading import Points
from paper.samples import Laid, drawn, sheets, written
from samples import figures

DPI = 600
SIDE = 140
"""Pixels of a side of the crop: the cross and a little round it."""

pytestmark = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm (poppler-utils) is not installed")


@pytest.mark.parametrize(
    ("name", "frog"), [("01-plain-no-6", "F1"), ("07-o-on30", "F1"), ("10-diamond-on-a-curve", "F3")]
)
def test_a_frog_point_is_within_a_pixel(name: str, frog: str, tmp_path: Path) -> None:
    measured = next(f for f in figures(name)["frogs"] if f["id"] == frog)
    place = np.array((measured["x_mm"], measured["y_mm"]))
    laid = next(sheet for sheet in sheets(name, None) if sheet.framed(sheet.page([place]), inside=3.0)[0])
    on_page = laid.page([place])[0]
    wanted = np.array((on_page[0], laid.sheet.size[1] - on_page[1])) * DPI / 25.4
    corner = wanted.astype(int) - SIDE // 2
    dark = rasterised(name, laid, corner, tmp_path)
    angle = heading_of_cross(laid, on_page)
    length = min(CROSS, CROSS_HEADS * figures(name)["rail"]["head_mm"])
    for arm in (angle, angle + math.pi / 2):
        aside, width = middle_of_band(dark, wanted - corner, arm, length)
        assert abs(aside) <= 1.0
        # A line of 0.15 mm is 3.5 pixels wide, and one of the arms may lie on a gauge face of 4.7.
        assert 2.5 <= width <= 6.5
        # A check that can fail: a pixel and a half aside is told.
        askew = (wanted - corner) + 1.5 * np.array((math.sin(arm), math.cos(arm)))
        assert abs(middle_of_band(dark, askew, arm, length)[0]) == pytest.approx(1.5, abs=abs(aside) + 0.2)


def heading_of_cross(laid: Laid, at: Points) -> float:
    """Return the direction of one arm of the cross at a point of the page, by what the file draws there."""
    assert min(math.dist(at, middle) for middle in crosses(laid.sheet)) < 0.01
    for ink in laid.sheet.lines(width=0.15):
        if len(ink.chains) == 2 and math.dist(ink.chains[0].mean(axis=0), at) < 0.01:
            dx, dy = ink.chains[0][1] - ink.chains[0][0]
            return math.atan2(dy, dx)
    raise AssertionError("no cross")


def rasterised(name: str, laid: Laid, corner: Points, folder: Path) -> Points:
    """Return how dark each pixel of a crop of a sheet is, 0 to 1, by row and column."""
    file = folder / "sample.pdf"
    file.write_bytes(written(name, "pdf", None)["sample.pdf"])
    labels = [page.label for page in drawn(name, None).document.pages]
    page = str(1 + labels.index(f"Sheet {laid.number}"))
    window = ["-x", str(corner[0]), "-y", str(corner[1]), "-W", str(SIDE), "-H", str(SIDE)]
    command = ["pdftoppm", "-r", str(DPI), "-gray", "-f", page, "-l", page, *window, "-singlefile"]
    subprocess.run([*command, str(file), str(folder / "crop")], check=True)
    data = (folder / "crop.pgm").read_bytes()
    header = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    assert header is not None
    columns, rows = int(header[1]), int(header[2])
    return 1.0 - np.frombuffer(data, dtype=np.uint8, offset=header.end()).reshape(rows, columns) / 255.0


def middle_of_band(dark: Points, at: Points, arm: float, length: float) -> tuple[float, float]:
    """Return how far aside (pixels, to the left of the arm's direction) the band along an arm lies, and its width."""
    reach = (length / 2 - 0.2) * DPI / 25.4
    along = np.concatenate((np.linspace(-reach, -6.0, 60), np.linspace(6.0, reach, 60)))
    aside = np.arange(-6.0, 6.01, 0.05)
    # Rows run down the page, so up is minus.
    x = at[0] + along * math.cos(arm) - aside[:, None] * math.sin(arm)
    y = at[1] - along * math.sin(arm) - aside[:, None] * math.cos(arm)
    profile = np.median(dark[np.floor(y).astype(int), np.floor(x).astype(int)], axis=1)
    band = aside[profile > 0.5 * profile.max()]
    assert profile.max() > 0.6, "no dark band along the arm"
    return float((band.min() + band.max()) / 2), float(np.ptp(band))
