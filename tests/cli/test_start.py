"""What `start` asks, refuses and writes."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from turnout_templates.cli import main
from turnout_templates.cli.first_spec import Answers, compose
from turnout_templates.pipeline import measure_text


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def start(*options: str) -> Result:
    return CliRunner().invoke(main, ["start", "--quick", *options])


REFUSED = [
    (("--gauges", "HO HOn3"), 'Put a comma between them: "HO, HOn3".'),
    (("--carries", "narrow"), "only one gauge"),
    (("--build", "wye", "--hand", "left"), "no meaning for a wye"),
    (("--build", "turnout", "--main-turn", "left"), "no meaning for a turnout"),
    (("--frog", "6", "--radius", "30 in"), "not both"),
    (
        ("--build", "curved turnout", "--main-radius", "30 in", "--radius", "30 in", "--hand", "left"),
        "Take a radius of 22 in or less",
    ),
]


@pytest.mark.parametrize(("options", "phrase"), REFUSED)
def test_what_means_nothing_or_cannot_be_is_refused_before_anything_is_written(
    folder: Path, options: tuple[str, ...], phrase: str
) -> None:
    told = start(*options)
    assert told.exit_code == 2
    assert phrase in " ".join(told.output.split())
    assert list(folder.iterdir()) == []


def test_the_end_of_input_stops_and_writes_nothing(folder: Path) -> None:
    told = CliRunner().invoke(main, ["start"], input="HO\n")
    assert told.exit_code == 2
    assert told.stderr == "\nStopped; nothing was written.\n"
    assert list(folder.iterdir()) == []


def answers(build: str, **changes: object) -> Answers:
    usual: dict[str, object] = {
        "name": "Trial", "scale": "HO", "gauges": (("standard", "HO", 16.4846),), "build": build,
        "carried": ("standard",), "common_rail": "left", "hand": "right", "frog": "6", "radius": "",
        "main_radius": "30 in", "main_turn": "left", "units": "in", "size": 6.0, "again": "x draw y",
    }  # fmt: skip
    return Answers(**{**usual, **changes})  # type: ignore[arg-type]


def test_the_main_turns_to_the_side_asked_for() -> None:
    assert "turn: right, length" in compose(answers("curved turnout", main_turn="right"))


@pytest.mark.parametrize("units", ["in", "mm"])
@pytest.mark.parametrize("number", [4.0, 6.0, 10.0])
def test_a_diamond_is_written_in_its_units_and_crosses_near_the_middle(units: str, number: float) -> None:
    text = compose(answers("diamond", units=units, size=number, frog=f"{number:g}"))
    (line,) = (line.split("#")[0] for line in text.splitlines() if "start:" in line)
    assert line.count(f" {units},") == 2
    figures = measure_text(text)
    frogs = figures["frogs"]
    assert len(frogs) == 4
    assert all(abs(frog["number"] - number) < 0.01 for frog in frogs)
    middle = sum(frog["stations_mm"]["main"] for frog in frogs) / 4
    length = figures["routes"]["main"]["length_mm"]
    assert abs(middle - length / 2) < 0.05 * length


def test_a_spec_that_cannot_be_drawn_is_said_to_be_undrawn(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("turnout_templates.cli.starting.draw_spec", lambda *_: 2)
    told = start("--frog", "6")
    assert told.exit_code == 2
    assert "Nothing was drawn, for the reason above. The spec is my-turnout.yaml." in told.output
    assert "draw it again" not in told.output
