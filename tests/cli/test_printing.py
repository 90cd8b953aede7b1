"""What `measure`, `expand`, `schema` and the help print, as other programs and people read it."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from cli.calls import PLAIN, call, run
from samples import SAMPLES, sample_path

from turnout_templates import __version__, pipeline
from turnout_templates.cli.status import Status
from turnout_templates.spec.load import load_spec, read_spec
from turnout_templates.spec.schema import spec_schema

COMMANDS = ("draw", "measure", "expand", "schema", "start")
SOME = (
    "01-plain-no-6",
    "02-two-gauge-curve-narrow-leaves",
    "10-diamond-on-a-curve",
    "12-two-gauge-curve-with-easements",
)
POSE = {"x_mm", "y_mm", "heading_deg"}
CONTRACT: dict[str, set[str]] = {
    "routes": {"length_mm", "least_radius_mm", "pieces", "end"},
    "switches": {
        "id", "main", "branch", "hand", "points", "station_mm", "tip", "filed_tip", "throw_mm", "least_opening_mm",
    },
    "frogs": {
        "id", "kind", "switch", "faces", "number", "angle_deg", "x_mm", "y_mm", "stations_mm", "lead_mm", "practical",
    },
    "guards": {"id", "gauge", "guards", "beside", "flangeway_mm", "straight", "ends"},
    "rails": {"id", "length_mm", "pieces"},
    "ties": {"id", "material", "role", "length_mm", "width_mm", "x_mm", "y_mm", "angle_deg"},
    "findings": {"rule", "level", "where", "measured", "limit", "source", "remedy"},
}  # fmt: skip
"""The names that other programs rest on; more may be there."""
FACE = {"route", "gauge", "hand"}


def measured(name: str) -> dict[str, Any]:
    told = call("measure", sample_path(name))
    assert told.warned == "" and told.status in (Status.FINE, Status.FINDINGS)
    found: dict[str, Any] = json.loads(told.said)
    return found


@pytest.mark.parametrize("name", SOME)
def test_measure_prints_the_figures_of_the_pipeline_in_full(name: str) -> None:
    assert measured(name) == json.loads(json.dumps(pipeline.measure_file(sample_path(name))))


@pytest.mark.parametrize("name", SOME)
def test_measure_keeps_to_its_contract(name: str) -> None:
    found = measured(name)
    assert found["format"] == 1 and found["scale_ratio"] == pytest.approx(87.1)
    assert {"name", "fingerprint", *CONTRACT} <= set(found)
    for part, keys in CONTRACT.items():
        entries = found[part].values() if part == "routes" else found[part]
        assert all(keys <= set(entry) for entry in entries), part
    for switch in found["switches"]:
        assert set(switch["tip"]) >= POSE and set(switch["filed_tip"]) >= {*POSE, "station_mm"}
        assert switch["hand"] in ("left", "right") and isinstance(switch["points"], int)
        assert {switch["main"], switch["branch"]} <= set(found["routes"])
    for frog in found["frogs"]:
        assert frog["kind"] in ("V", "K") and 0.0 < frog["angle_deg"] <= 90.0
        assert len(frog["faces"]) == 2 and all(set(face) >= FACE for face in frog["faces"])
        assert set(frog["stations_mm"]) == {face["route"] for face in frog["faces"]}
        assert frog["practical"] is None or {"x_mm", "y_mm"} <= set(frog["practical"])
        assert frog["switch"] is None or frog["switch"] in {switch["id"] for switch in found["switches"]}
    for guard in found["guards"]:
        assert guard["guards"] in {frog["id"] for frog in found["frogs"]} and set(guard["beside"]) >= FACE
    for route in found["routes"].values():
        assert set(route["end"]) >= POSE
        for piece in route["pieces"]:
            assert piece["kind"] in ("straight", "arc", "easement") and set(piece["start"]) >= POSE
            assert ("radii_mm" if piece["kind"] == "easement" else "radius_mm") in piece
            assert piece["kind"] != "straight" or piece["radius_mm"] is None
    names = [entry["id"] for part in ("switches", "frogs", "guards", "rails") for entry in found[part]]
    assert len(names) == len(set(names))


def test_every_number_is_finite_and_lies_in_order() -> None:
    found = measured("02-two-gauge-curve-narrow-leaves")

    def numbers(value: Any) -> list[float]:
        if isinstance(value, dict):
            return [n for inner in value.values() for n in numbers(inner)]
        if isinstance(value, list):
            return [n for inner in value for n in numbers(inner)]
        return [value] if isinstance(value, float) else []

    assert len(numbers(found)) > 500 and all(map(math.isfinite, numbers(found)))
    stations = [frog["stations_mm"]["main"] for frog in found["frogs"]]
    assert stations == sorted(stations)


@pytest.mark.parametrize("name", SAMPLES)
def test_an_expanded_spec_means_the_same_without_its_base(name: str, tmp_path: Path) -> None:
    told = call("expand", sample_path(name))
    assert (told.status, told.warned) == (Status.FINE, "")
    alone = read_spec(told.said, file="expanded.yaml", folder=None).spec
    assert alone.fingerprint == load_spec(sample_path(name)).spec.fingerprint
    assert "base:" not in told.said and "turnout:" not in told.said
    again = tmp_path / "again.yaml"
    again.write_text(told.said, encoding="utf-8", newline="")
    assert call("expand", again).said == told.said


def test_schema_is_what_the_package_states() -> None:
    told = call("schema")
    assert told.status == Status.FINE
    assert json.loads(told.said) == json.loads(json.dumps(spec_schema()))
    assert json.loads(told.said)["$schema"].startswith("https://json-schema.org/")


@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_help_names_every_command_and_every_status(flag: str) -> None:
    told = call(flag)
    assert told.status == Status.FINE
    for command in COMMANDS:
        assert f"\n  {command} " in told.said
    said = " ".join(told.said.split())
    for status in ("0 when all is well", "1 when", "2 for a mistake", "3 when a file", "4 for a fault"):
        assert status in said


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_all_its_options(command: str) -> None:
    from turnout_templates.cli import main

    told = call(command, "--help")
    assert told.status == Status.FINE and told.said.startswith("Usage: ")
    for parameter in main.commands[command].params:
        for option in (*parameter.opts, *parameter.secondary_opts):
            assert option in told.said or option.upper() in told.said.upper()
    lines = told.said.splitlines()
    assert max(map(len, lines)) <= 100


def test_version_and_no_command() -> None:
    assert call("--version").said == f"turnout-templates, version {__version__}\n"
    assert call("--version").status == Status.FINE
    bare = call()
    assert bare.status == Status.BAD_INPUT and "start" in bare.said + bare.warned
    unknown = call("drow")
    assert unknown.status == Status.BAD_INPUT and "drow" in unknown.warned


LETTERS = "Žluťoučký → 2′ кирилл"


def test_no_console_without_a_letter_stops_a_run(tmp_path: Path) -> None:
    """Data goes out as UTF-8 wherever it goes; sentences are shown as well as the console can, here one of Windows."""
    (tmp_path / "letters.yaml").write_text(PLAIN.replace("Plain", LETTERS), encoding="utf-8")
    done = run("measure", "letters.yaml", folder=tmp_path, PYTHONIOENCODING="cp1252")
    assert done.returncode == Status.FINE and json.loads(done.stdout.decode("utf-8"))["name"] == LETTERS
    done = run("expand", "letters.yaml", folder=tmp_path, PYTHONIOENCODING="cp1252")
    assert done.returncode == Status.FINE and LETTERS in done.stdout.decode("utf-8")
    done = run("draw", "letters.yaml", "--format", "svg", folder=tmp_path, PYTHONIOENCODING="cp1252")
    assert (done.returncode, done.stderr) == (Status.FINE, b"")
    assert done.stdout.decode("cp1252").startswith("Žlu?ou?ký ? 2? ??????: 1 sheet")
    assert LETTERS in (tmp_path / "output" / "letters.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("words", [("measure", "plain.yaml"), ("schema",), ("draw", "plain.yaml")], ids=lambda w: w[0])
def test_a_reader_that_goes_away_ends_the_run_quietly(words: tuple[str, ...], tmp_path: Path) -> None:
    """As under `| head`: nothing is said of a fault, and the status is that of a program that SIGPIPE ended."""
    (tmp_path / "plain.yaml").write_text(PLAIN)
    read, written = os.pipe()
    os.close(read)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "turnout_templates", *words],
            cwd=tmp_path,
            stdout=written,
            stderr=subprocess.PIPE,
            check=False,
        )
    finally:
        os.close(written)
    assert (done.returncode, done.stderr) == (128 + 13, b"")
