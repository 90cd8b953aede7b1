"""No false metal: in no sample and in none of 200 specs drawn by chance does metal lie where it must not.

All that is known of a spec here is what `measure` prints of it. See `sweeps` and `measures` for what is asked, and
`test_planted_faults` for that each of them can fail.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import samples
from samples import SAMPLES

from turnout_templates.errors import InputProblems

from . import chance_specs
from .bases import bases_on_parts
from .faults import faults
from .metal import Metal
from .open_faults import OPEN
from .tracing import Figures

AT_ONCE = 10
"""Seeds in one test: enough tests to share out, few enough to read."""
WITH_BASES = 3
"""Bases cost as much as all else: of the seeds every third is asked for them, which has no factor in common with the
four scales that take turns."""
MOST_REFUSED = 20
"""Of the seeds so many may be refused at most, or the draw no longer draws what people build; 4 are today."""


def check(name: str, figures: Figures, *, with_bases: bool = True) -> list[str]:
    """Return what is wrong with a spec beyond what is open, and what is open and no longer wrong."""
    metal = Metal(figures)
    found = [*faults(metal), *(bases_on_parts(metal) if with_bases else ())]
    known = OPEN.get(name, ())
    wrong = [f"{name}: {fault}" for fault in found if not any(fault.startswith(start) for start in known)]
    mended = [start for start in known if not any(fault.startswith(start) for fault in found)]
    return wrong + [f"{name}: mended, strike it out of open_faults.py: {start}" for start in mended]


def drawn(seed: int) -> Figures | None:
    """Return the figures of a seed's spec, None where it is refused."""
    try:
        return chance_specs.figures(seed)
    except InputProblems:
        return None


@pytest.mark.parametrize("name", SAMPLES)
def test_no_false_metal_in_a_sample(name: str) -> None:
    assert check(Path(name).name, samples.figures(name)) == []


@pytest.mark.parametrize("start", chance_specs.SEEDS[::AT_ONCE])
def test_no_false_metal_by_chance(start: int) -> None:
    figures = {seed: drawn(seed) for seed in range(start, start + AT_ONCE)}
    refused = [seed for seed, found in figures.items() if found is None]
    assert len(refused) <= MOST_REFUSED * AT_ONCE // len(chance_specs.SEEDS) + 1, refused
    wrong = [
        check(f"seed {seed}", found, with_bases=seed % WITH_BASES == 0) for seed, found in figures.items() if found
    ]
    assert [fault for faults_of_one in wrong for fault in faults_of_one] == []


def test_chance_draws_all_kinds() -> None:
    texts = [chance_specs.spec(seed) for seed in chance_specs.SEEDS]
    for word in (
        *("gauges: [narrow]", "gauges: [standard]", "common_rail: left", "common_rail: right", "hand: left"),
        *("hand: right", "spread:", "entry:", "easement", "through: curved", "frog_ratio", "stub:", "points: fixed"),
        *("crossover:", "double_crossover:", "sides: double", "tips: outside", "stagger:", "gauntlet:", "ladder:"),
        *("code 40", "code 55", "code 70", "code 83", "code 100", "Nn3", "HOn3", "On30", "H0e", "bend:", "at: end"),
    ):
        assert sum(word in text for text in texts) >= 3, word
