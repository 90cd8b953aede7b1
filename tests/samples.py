"""The sample specs, each worked out once for all tests that one process runs."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from turnout_templates.pipeline import Job, measure, work_out
from turnout_templates.spec.load import load_spec

FOLDER = Path(__file__).parents[1] / "sample_specs"
SAMPLES = sorted(
    str(path.relative_to(FOLDER).with_suffix("")) for path in FOLDER.rglob("*.yaml") if not path.stem.endswith("_base")
)
"""Every spec that can be drawn, by its path in the folder without the ending."""
NUMBERED = [name for name in SAMPLES if "/" not in name]
"""The samples themselves, without the table of two-gauge turnouts."""


def sample_path(name: str) -> Path:
    """Return the file of a sample."""
    return FOLDER / f"{name}.yaml"


@cache
def job(name: str) -> Job:
    """Return a sample worked out (the same object every time: read only)."""
    return work_out(load_spec(sample_path(name)))


@cache
def figures(name: str) -> dict[str, Any]:
    """Return the figures of a sample (the same object every time: read only)."""
    return measure(job(name))
