"""The twenty two-gauge turnouts: which frogs and points each must yield, and which of them are mirror images."""

from __future__ import annotations

from collections import Counter

import pytest

from .figures import Figures, measured
from .laws import compare, mirrored_figures
from .two_gauge_samples import CASES, FOLDER, SAMPLES, Sample


def kinds_and_points(figures: Figures) -> tuple[str, int]:
    return "".join(frog["kind"] for frog in figures["frogs"]), sum(switch["points"] for switch in figures["switches"])


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.file.removesuffix(".yaml"))
def test_the_committed_sample_yields_its_row(sample: Sample) -> None:
    text = (FOLDER / sample.file).read_text(encoding="utf-8")
    assert text == sample.text
    assert kinds_and_points(measured(text)) == sample.expected


@pytest.mark.parametrize("gauges", ["N, narrow: Nn3", "O, narrow: On30"])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.file.removesuffix(".yaml"))
def test_the_row_does_not_depend_on_the_scale(sample: Sample, gauges: str) -> None:
    scale = gauges.split(",")[0]
    rail = {"N": "code 55", "O": "code 148"}[scale]
    # O is 1.81 times as large as HO by scale: radii and lengths of the text are doubled, those for N left.
    text = sample.text.replace("scale: HO", f"scale: {scale}").replace("HO, narrow: HOn3", gauges)
    text = text.replace("code 70", rail)
    if scale == "O":
        for length in ("36", "30", "14", "12", "3"):
            text = text.replace(f" {length} in", f" {2 * int(length)} in")
    kinds, points = kinds_and_points(measured(text))
    assert (Counter(kinds), points) == (Counter(sample.expected[0]), sample.expected[1])


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("common", ["left", "right"])
def test_the_true_mirror_has_the_other_common_rail(case: str, hand: str, common: str) -> None:
    other = {"left": "right", "right": "left"}
    here = measured(Sample(case, hand, common).text)
    compare(mirrored_figures(here), measured(Sample(case, other[hand], other[common]).text))


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("hand", ["left", "right"])
def test_the_other_common_rail_makes_another_turnout(case: str, hand: str) -> None:
    one, two = (measured(Sample(case, hand, common).text) for common in ("left", "right"))
    leads = [[(frog["kind"], round(frog["x_mm"], 3)) for frog in figures["frogs"]] for figures in (one, two)]
    assert leads[0] != leads[1]
