"""Every sample is built without an error, and is what its own comments say."""

from __future__ import annotations

import pytest
import samples

from turnout_templates.pipeline import measure_text

from .figures import Figures


def kinds(name: str) -> str:
    return "".join(frog["kind"] for frog in sample(name)["frogs"])


def sample(name: str) -> Figures:
    (full,) = (numbered for numbered in samples.NUMBERED if numbered.startswith(name))
    return samples.figures(full)


@pytest.mark.parametrize("name", samples.NUMBERED)
def test_nothing_in_a_sample_is_an_error(name: str) -> None:
    errors = [finding for finding in samples.figures(name)["findings"] if finding["level"] == "error"]
    assert errors == []


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("01", "V"),
        ("02", "KVV"),
        ("03", "VV"),
        ("04", "V"),
        ("05", "V"),
        ("06", "KVV"),
        ("07", "VV"),
        ("08", "KVV"),
        ("09", "V"),
        ("12", ""),
        ("13", "KVV"),
        ("14", "V"),
        ("15", "V"),
        ("43", ""),
    ],
)
def test_the_frogs_of_each_sample(name: str, expected: str) -> None:
    assert kinds(name) == expected


@pytest.mark.parametrize(("name", "expected"), [("10", "KKVV"), ("11", "KKKVVV")])
def test_the_frogs_of_each_crossing(name: str, expected: str) -> None:
    assert "".join(sorted(kinds(name))) == expected


@pytest.mark.parametrize(
    ("name", "branch", "inches"), [("04", "branch", 9), ("05", "siding", 30), ("09", "south", 42), ("13", "quarry", 36)]
)
def test_the_radii_that_the_comments_name(name: str, branch: str, inches: float) -> None:
    assert sample(name)["routes"][branch]["least_radius_mm"] / 25.4 == pytest.approx(inches, abs=0.1)


def arc_inches(text: str) -> float:
    """Return the radius in inches of the branch's curve to the frog."""
    pieces = measure_text(text, folder=samples.FOLDER)["routes"]["branch"]["pieces"]
    curve = min((p for p in pieces if p["kind"] == "arc"), key=lambda p: abs(p["radius_mm"]))
    return abs(float(curve["radius_mm"])) / 25.4


def test_the_lead_that_is_given() -> None:
    # Its comment: 10 in and 57 1/4 in; without it 3/4 in less and 64 in.
    text = (samples.FOLDER / "14-lead-given.yaml").read_text("utf-8")
    without = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("  lead:"))
    assert (arc_inches(text), arc_inches(without)) == pytest.approx((57.25, 64), abs=1 / 16)
    leads = [measure_text(each, folder=samples.FOLDER)["frogs"][0]["lead_mm"] / 25.4 for each in (text, without)]
    assert leads[0] == pytest.approx(10, abs=1e-9)
    assert leads[0] - leads[1] == pytest.approx(3 / 4, abs=1 / 16)


def test_the_turnout_that_is_bent() -> None:
    # Its comment: 55 in on straight track, 21 5/8 in bent to 36 in, and 19 1/2 in solved on that curve.
    text = (samples.FOLDER / "15-bent-from-straight.yaml").read_text("utf-8")
    straight = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("  bend:"))
    solved = text.replace("  bend:", "  main:")
    found = [arc_inches(each) for each in (straight, text, solved)]
    assert found == pytest.approx([55, 21.625, 19.5], abs=1 / 24)
    laid = [measure_text(each, folder=samples.FOLDER)["switches"][0]["laid"] for each in (text, solved)]
    assert laid == ["bent from straight", "solved on its main"]


def test_the_contrary_turnout_turns_the_other_way() -> None:
    routes = sample("05")["routes"]
    assert routes["main"]["pieces"][0]["radius_mm"] > 0 > routes["siding"]["pieces"][0]["radius_mm"]


def test_the_continental_frog_is_a_ratio() -> None:
    # tan F = 1/7
    assert sample("08")["frogs"][-1]["angle_deg"] == pytest.approx(8.1301, abs=5e-5)


def test_the_widened_curve_is_what_its_comments_say() -> None:
    text = next(samples.FOLDER.glob("43*.yaml")).read_text("utf-8")
    own, rule = (measure_text(t, folder=samples.FOLDER) for t in (text, text.replace(WIDENED, "prototype")))
    (stretch,) = own["routes"]["main"]["widening"]
    # 5 in of straight, 4 in easement, 10 in of curve: full from 9 to 19 in, over 5 in at either end.
    assert [k["station_mm"] / 25.4 for k in stretch["profile"]] == pytest.approx([4, 9, 19, 24])
    assert stretch["by_mm"] == 0.25 and own["findings"] == []
    (prototype,) = rule["routes"]["main"]["widening"]
    assert round(prototype["by_mm"], 2) == 0.15
    outer = [next(bar for bar in found["rails"] if bar["pieces"][0]["hand"] == "right") for found in (own, rule)]
    assert outer[0]["length_mm"] == outer[1]["length_mm"]


WIDENED = "{by: 0.25 mm, below: 30 in, taper: 5 in}"
