"""`start` for every build in many scales and gauges: a spec that draws, that a beginner can read, and as asked for."""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest
from cli.calls import Outcome, call, files_under, run

from turnout_templates.cli.status import Status
from turnout_templates.pipeline import measure_file
from turnout_templates.spec.load import load_spec

BUILDS = ("turnout", "curved turnout", "wye", "diamond", "curve")
GAUGES = (
    ("HO", "HO"), ("N", "N"), ("H0", "H0"), ("1:87.1", "4 ft 8 1/2 in scale"),
    ("HO", "HO, HOn3"), ("N", "N, Nn3"), ("O", "O, On30"), ("1:20.3", "45 mm, 32 mm"),
)  # fmt: skip
FROGS = {"turnout": (1, 3), "curved turnout": (1, 3), "wye": (1, 3), "diamond": (4, 9), "curve": (0, 0)}
"""How many frogs come of one gauge and of two: by the table of the two-gauge turnouts a K and two V where both leave,
and for a diamond every rail over every rail."""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def quick(*options: str) -> Outcome:
    return call("start", "--quick", *options)


@pytest.mark.parametrize(("build", "gauges"), list(product(BUILDS, GAUGES)), ids="".join)
def test_every_build_in_every_gauge_draws(build: str, gauges: tuple[str, str], folder: Path) -> None:
    scale, names = gauges
    told = quick("--build", build, "--scale", scale, "--gauges", names, "--name", "First")
    assert told.status in (Status.FINE, Status.FINDINGS), told.warned
    assert told.warned == ""
    assert {"first.yaml", str(Path("output/first.pdf")), str(Path("output/first.svg"))} == set(files_under(folder))
    text = Path("first.yaml").read_text(encoding="utf-8")
    assert load_spec(Path("first.yaml")).spec.name == "First"
    figures = measure_file(Path("first.yaml"))
    assert len(figures["gauges"]) == names.count(",") + 1
    assert len(figures["frogs"]) == FROGS[build][names.count(",")]
    assert len(figures["switches"]) == (build in ("turnout", "curved turnout", "wye"))
    # Short enough for somebody who has never seen YAML, its lines short, those to change pointed out as they stand.
    assert len(text.splitlines()) <= 32 and max(map(len, text.splitlines())) <= 120
    pointed = re.findall(r"  line (\d+): (.+)", told.said)
    assert len(pointed) == text.count("# <- change") >= 2
    for number, line in pointed:
        assert text.splitlines()[int(number) - 1].strip().startswith(line)
    assert told.said.rstrip().endswith("draw first.yaml")


@pytest.mark.parametrize("carried", ["both", "wide", "narrow"])
@pytest.mark.parametrize("common", ["left", "right"])
@pytest.mark.parametrize("hand", ["left", "right"])
def test_two_gauges_part_as_asked(carried: str, common: str, hand: str) -> None:
    told = quick("--gauges", "HO, HOn3", "--carries", carried, "--common-rail", common, "--hand", hand, "--name", "a")
    assert told.status in (Status.FINE, Status.FINDINGS), told.warned
    figures = measure_file(Path("a.yaml"))
    # Rows of the table of two-gauge turnouts: both leave, the wide one leaves, the narrow one leaves.
    toward = hand == common
    kinds = {"both": "KVV", "wide": "KV" if toward else "VV", "narrow": "V" if toward else "KVV"}[carried]
    assert "".join(sorted(frog["kind"] for frog in figures["frogs"])) == kinds
    assert [switch["hand"] for switch in figures["switches"]] == [hand]


def test_numbers_and_radii_are_taken_as_given() -> None:
    assert quick("--frog", "7.5", "--name", "a").status == Status.FINE
    assert [round(frog["number"], 6) for frog in measure_file(Path("a.yaml"))["frogs"]] == [7.5]
    assert quick("--radius", "30 in", "--name", "b").status == Status.FINE
    assert measure_file(Path("b.yaml"))["routes"]["branch"]["least_radius_mm"] == pytest.approx(762.0)
    assert quick("--build", "curve", "--radius", "700 mm", "--units", "mm", "--name", "c").status == Status.FINE
    assert measure_file(Path("c.yaml"))["routes"]["main"]["least_radius_mm"] == pytest.approx(700.0)
    assert load_spec(Path("c.yaml")).spec.units == "mm"


def test_paper_goes_by_units_unless_stated() -> None:
    assert "of Letter" in quick("--name", "a").said
    assert "of A4" in quick("--units", "mm", "--name", "b").said
    assert "of A3" in quick("--paper", "A3", "--name", "c").said


def test_questions_are_answered_one_by_one(folder: Path) -> None:
    replies = ["HO", "HO, HOn3", "turnout", "in", "right", "narrow", "left", "5", "Crusher siding"]
    told = call("start", replies="\n".join(replies) + "\n")
    assert told.status in (Status.FINE, Status.FINDINGS), told.warned
    text = Path("crusher-siding.yaml").read_text(encoding="utf-8")
    spec = load_spec(Path("crusher-siding.yaml")).spec
    assert spec.name == "Crusher siding" and spec.routes[0].common_rail == "right"
    assert spec.routes[1].gauges == ("narrow",) and spec.routes[1].hand == "left"
    assert "frog: 5" in text
    # One question each, every one with its usual answer in brackets.
    asked = re.findall(r"^.+\[.+\]: ", told.said, re.MULTILINE)
    assert len(asked) == len(replies)


def test_enter_takes_the_usual_answers(folder: Path) -> None:
    assert call("start", replies="\n" * 8).status == Status.FINE
    asked = Path("my-turnout.yaml").read_text(encoding="utf-8")
    assert quick("--force").status == Status.FINE
    assert Path("my-turnout.yaml").read_text(encoding="utf-8") == asked


def test_a_radius_may_be_given_where_the_number_is_asked() -> None:
    told = call("start", "--name", "a", replies="\n\n\n\n\n32 in\n")
    assert told.status == Status.FINE, told.said
    assert measure_file(Path("a.yaml"))["routes"]["branch"]["least_radius_mm"] == pytest.approx(32 * 25.4)


@pytest.mark.parametrize(
    ("wrong", "right", "phrase"),
    [
        (("HX",), ("HO", "", "", "", "", "", ""), "HX"),
        (("", "HO, HOn3, N"), ("HO", "", "", "", "", ""), "one gauge, or two"),
        (("", "", "bridge"), ("turnout", "", "", "", ""), '"bridge" is not among'),
        (("", "", "", "furlongs"), ("in", "", "", ""), '"furlongs" is not among'),
        (("", "", "", "", "up"), ("left", "", ""), '"up" is not among left, right'),
        (("", "", "", "", "", "1"), ("6", ""), "from 2 to 30"),
        (("", "", "", "", "", "six"), ("6", ""), "six"),
        (("", "", "", "", "", "2 in"), ("6", ""), "four times the gauge"),
        (("", "", "", "", "", "", "***"), ("Name",), "at least one letter or figure"),
    ],
)
def test_a_wrong_answer_is_explained_and_asked_again(
    wrong: tuple[str, ...], right: tuple[str, ...], phrase: str, folder: Path
) -> None:
    told = call("start", replies="\n".join((*wrong, *right)) + "\n")
    assert told.status == Status.FINE, told.said
    assert phrase in told.said
    assert "Traceback" not in told.said + told.warned
    assert len([name for name in files_under(folder) if name.endswith(".yaml")]) == 1


@pytest.mark.parametrize(
    ("options", "phrase"),
    [
        (("--scale", "HX"), "--scale"),
        (("--build", "bridge"), "--build"),
        (("--frog", "1"), "--frog"),
        (("--radius", "30"), "--radius"),
        (("--hand", "up"), "--hand"),
        (("--gauges", "HO, HO"), "equally wide"),
        (("--common-rail", "top", "--gauges", "HO, HOn3"), "--common-rail"),
        (("--build", "diamond", "--radius", "30 in"), "diamond"),
        (("--paper", "A44"), "A44"),
        (("--name", "..."), "--name"),
    ],
)
def test_a_wrong_option_ends_in_2_and_writes_nothing(options: tuple[str, ...], phrase: str, folder: Path) -> None:
    told = quick(*options)
    assert told.status == Status.BAD_INPUT and phrase in " ".join(told.warned.split())
    assert files_under(folder) == {}


def test_a_spec_is_not_written_over_unless_told_to(folder: Path) -> None:
    Path("mine.yaml").write_text("my own work\n")
    told = quick("--name", "Mine")
    assert told.status == Status.BAD_INPUT and "--force" in told.warned and "mine.yaml" in told.warned
    assert files_under(folder) == {"mine.yaml": b"my own work\n"}
    assert quick("--name", "Mine", "--force").status == Status.FINE
    assert load_spec(Path("mine.yaml")).spec.name == "Mine"


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("Quarry: east #2", "quarry-east-2"),
        ('The "old" one', "the-old-one"),
        ("Ümläut Straße", "umlaut-strae"),
        ("back\\slash / slash", "back-slash-slash"),
        ("  many   blanks ", "many-blanks"),
        ("true", "true"),
        ("6", "6"),
        ("{x: 1}", "x-1"),
        ("- a, b", "a-b"),
        ("../../etc", "etc"),
    ],
)
def test_a_name_may_hold_odd_characters(name: str, stem: str, folder: Path) -> None:
    told = quick("--name", name)
    assert told.status == Status.FINE, told.warned
    assert set(files_under(folder)) == {f"{stem}.yaml", *(str(Path("output", stem + end)) for end in (".pdf", ".svg"))}
    assert load_spec(Path(f"{stem}.yaml")).spec.name == " ".join(name.split())


def test_a_spec_that_cannot_be_written_ends_in_3(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    told = quick("--name", "a")
    assert told.status == Status.NOT_WRITTEN and "a.yaml" in told.warned
    assert files_under(folder) == {}


def test_the_printed_command_draws_the_spec_again(folder: Path) -> None:
    done = run("start", "--quick", "--name", "Again", folder=folder)
    assert done.returncode == Status.FINE and b"Traceback" not in done.stderr
    last = done.stdout.decode().splitlines()[-1]
    words = last.split(": ", 1)[1].split()
    assert words[-2:] == ["draw", "again.yaml"]
    before = files_under(folder)
    assert run(*words[-2:], folder=folder).returncode == Status.FINE
    assert files_under(folder) == before
