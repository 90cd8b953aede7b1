"""Every sample comes out as it was last looked at; a change that is meant is taken over with `update.py` here."""

from __future__ import annotations

import pytest
from golden.telling import DATA, WHOLE, differences, flat, told
from paper.samples import drawn
from samples import SAMPLES

from turnout_templates.drawing.dump import dump_items

HINT = "If this is meant, run tests/golden/update.py and read the diff."
SHOWN = 12


def kept(file: str) -> str:
    return (DATA / file).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", SAMPLES)
def test_routes_trackwork_and_sheets_are_as_they_were(name: str) -> None:
    found = differences(kept(f"{flat(name)}.txt"), told(name))
    assert not found, "\n".join([f"{len(found)} lines differ.", *found[:SHOWN], HINT])


@pytest.mark.parametrize("name", WHOLE)
def test_the_drawing_is_as_it_was(name: str) -> None:
    found = differences(kept(f"{flat(name)}.drawing.txt"), dump_items(drawn(name, None).drawing.items))
    assert not found, "\n".join([f"{len(found)} lines differ.", *found[:SHOWN], HINT])


def test_nothing_is_kept_of_what_is_no_sample() -> None:
    wanted = {f"{flat(name)}.txt" for name in SAMPLES} | {f"{flat(name)}.drawing.txt" for name in WHOLE}
    assert {path.name for path in DATA.iterdir()} == wanted


LINE = "frog F1 V: No. 6, 9.5273 deg at (101.1234 -5.5), practical -"


@pytest.mark.parametrize(
    "other",
    [
        LINE.replace("101.1234", "101.1236"),
        LINE.replace("-5.5", "5.5"),
        LINE.replace("F1", "F2"),
        LINE.replace("V", "K"),
        LINE.replace("practical -", "practical (1 2)"),
        LINE.replace("9.5273", "9.5275"),
        LINE + "\n" + LINE,
        "",
    ],
)
def test_the_comparison_can_fail(other: str) -> None:
    assert differences(LINE, other) and differences(other, LINE)


@pytest.mark.parametrize("other", [LINE, LINE.replace("101.1234", "101.1235"), LINE.replace("-5.5", "-5.4999")])
def test_a_last_place_of_rounding_is_no_difference(other: str) -> None:
    assert not differences(LINE, other)


def test_a_change_of_a_sample_shows() -> None:
    name = "01-plain-no-6"
    lines = kept(f"{name}.txt").splitlines()
    (frog,) = (line for line in lines if line.startswith("frog F1"))
    moved = [line.replace("No. 6,", "No. 6.001,") for line in lines]
    (shown,) = differences("\n".join(moved), told(name))
    assert frog in shown
