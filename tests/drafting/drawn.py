"""The drawings of all samples, and of two crowded specs made to be hard on labels, each made once."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import samples
import shapely
from drawing.shapes import points_along
from samples import SAMPLES

from turnout_templates.drafting.draft import draft_drawing
from turnout_templates.drawing.bounds import item_chains, text_corners
from turnout_templates.drawing.items import Drawing, Item, TextItem
from turnout_templates.geometry.segments import ArcSegment, Segment
from turnout_templates.pipeline import Job, measure, work_out
from turnout_templates.spec.load import read_spec

LADDER = """\
spec: 1
name: Ladder at the sidings
scale: N
gauges: {standard: N, narrow: Nn3}
rail: code 55
routes:
  main:
    common_rail: left
    path:
      - straight: 480 mm
"""
"""Tracks that leave one N main every 90 mm to both sides, in two gauges."""
LADDER += "".join(
    f"""\
  track {k}:
    leaves: main
    at: {30 + 90 * k} mm
    hand: {"right" if k % 2 else "left"}
    path:
      - curve: {{frog: {5 + k}}}
"""
    for k in range(4)
)
BACKWARDS = """\
spec: 1
name: The other way round
units: mm
scale: HO
routes:
  main:
    start: {x: 0, y: 0, heading: 160 deg}
    path:
      - curve: {radius: 700, turn: left, length: 1900}
  branch:
    leaves: main
    at: 900
    hand: right
    path:
      - curve: {frog: 7}
"""
"""A curve through more than a third of a turn that starts to the left, so that text runs every way."""
MADE = {"ladder": LADDER, "backwards": BACKWARDS}
NAMES = [*SAMPLES, *MADE]


@cache
def job(name: str) -> Job:
    """Return a sample or made spec worked out."""
    if name in MADE:
        return work_out(read_spec(MADE[name], file=f"{name}.yaml", folder=None))
    return samples.job(name)


@cache
def figures(name: str) -> dict[str, Any]:
    """Return its figures."""
    return measure(job(name))


@cache
def drawing(name: str) -> Drawing:
    """Return its drawing."""
    return draft_drawing(job(name).trackwork, job(name).findings)


def texts(name: str, layer: str | None = None) -> list[TextItem]:
    """Return all its texts, or those of one layer."""
    return [item for item in drawing(name).items if isinstance(item, TextItem) and layer in (None, item.layer)]


@cache
def boxes(name: str) -> list[Any]:
    """Return the box of each text, as a polygon, halo and all."""
    return [shapely.Polygon(text_corners(item)) for item in texts(name)]


def lines_of(item: Item) -> list[Any]:
    """Return the lines that draw an item that is no text, within 5 um."""
    return [
        shapely.LineString([point for segment in chain for point in points_along(segment, _count(segment))])
        for chain in item_chains(item)  # type: ignore[arg-type]
    ]


def _count(segment: Segment) -> int:
    if isinstance(segment, ArcSegment):
        return max(4, int(np.ceil(abs(segment.sweep) / np.sqrt(8 * 0.005 / segment.radius))))
    return 1 if hasattr(segment, "start") and not hasattr(segment, "control_1") else 32
