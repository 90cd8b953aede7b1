"""No copper joins two sections and no piece is unfed, in samples and in specs by chance; planted faults are found."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from math import cos, radians, sin

import pytest
import samples
from samples import SAMPLES

from turnout_templates.errors import InputProblems

from . import chance_specs
from .metal import Metal
from .tracing import Figures
from .wiring import faults

AT_ONCE = 20
EVERY = 3
"""Of the seeds every third is asked, which has no factor in common with the four scales that take turns."""


def told(figures: Figures) -> bool:
    """Tell whether the program itself finds sections joined or a piece unfed there."""
    return any(f["rule"] in ("sections-joined", "piece-unfed") for f in figures["findings"])


def wrong(figures: Figures) -> list[str]:
    """Return what is wrong that the program does not tell."""
    return [] if told(figures) else list(faults(Metal(figures)))


@pytest.mark.parametrize("name", SAMPLES)
def test_wiring_of_a_sample(name: str) -> None:
    assert wrong(samples.figures(name)) == []


@pytest.mark.parametrize("start", chance_specs.SEEDS[::AT_ONCE])
def test_wiring_by_chance(start: int) -> None:
    for seed in range(start, start + AT_ONCE, EVERY):
        try:
            figures = chance_specs.figures(seed)
        except InputProblems:
            continue
        assert wrong(figures) == [], seed


def plain() -> Figures:
    return samples.figures("01-plain-no-6")


def spoiled() -> Iterator[tuple[str, Figures]]:
    """Yield the figures of a plain turnout spoiled in each way, and what must be said of it."""
    figures = deepcopy(plain())
    tie = next(tie for tie in figures["copper"] if tie["kind"] == "tie" and len(tie["gaps"]) > 1)
    tie["gaps"].pop()
    yield "one conductor", figures
    figures = deepcopy(plain())
    tie = next(tie for tie in figures["copper"] if tie["kind"] == "tie" and tie["gaps"])
    gap, rail = tie["gaps"][0], tie["parts"][0]
    own = next(t for t in figures["ties"] if t["id"] == tie["id"])
    share = (rail["from_mm"] + rail["to_mm"]) / 2 - gap["along_mm"]
    gap["x_mm"] -= share * cos(radians(own["angle_deg"]))
    gap["y_mm"] -= share * sin(radians(own["angle_deg"]))
    yield "lies at the base", figures
    figures = deepcopy(plain())
    for piece in figures["pieces"]:
        for end in piece["ends"]:
            if end["kind"] == "gap" and end["at"] == figures["joints"][gap_index(figures)]["id"]:
                end["kind"] = "joint"
    yield "one conductor", figures
    figures = deepcopy(plain())
    figures["feeders"].pop()
    yield "unfed", figures


def gap_index(figures: Figures) -> int:
    """Return the index of the first gap that sets a frog apart."""
    return next(i for i, joint in enumerate(figures["joints"]) if joint["kind"] == "gap" and joint["frog_ids"])


@pytest.mark.parametrize("case", range(4), ids=("gap left out", "gap under a base", "frog joined", "feeder missing"))
def test_planted_fault_is_found(case: int) -> None:
    said, figures = list(spoiled())[case]
    assert any(said in fault for fault in faults(Metal(figures)))
