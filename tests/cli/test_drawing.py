"""What `draw` writes and how it ends: every exit status, several specs at once, and nothing left half written."""

from __future__ import annotations

import csv
import json
import os
from pathlib import Path

import pytest
from cli.calls import BROKEN, PLAIN, WILL_NOT_RUN, call, files_under, run

from turnout_templates import __version__
from turnout_templates.cli.status import Status

FORMS = {
    "pdf": {"plain.pdf"},
    "svg": {"plain.svg"},
    "sheets": {"plain-sheet-01.svg", "plain-underside-01.svg"},
    "cut-list": {"plain-cut-list.csv", "plain-cut-list.json"},
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("plain.yaml").write_text(PLAIN, encoding="utf-8")
    return tmp_path


def test_pdf_and_svg_land_in_output_when_nothing_is_said(folder: Path) -> None:
    told = call("draw", "plain.yaml")
    assert (told.status, told.warned) == (Status.FINE, "")
    found = files_under(folder / "output")
    assert set(found) == {"plain.pdf", "plain.svg"}
    assert found["plain.pdf"].startswith(b"%PDF-") and b"<svg " in found["plain.svg"]
    # Every file is named, and what to print first.
    assert all(str(Path("output", name)) in told.said for name in found)
    assert told.said.startswith("Plain: 1 sheet of Letter\n") and "Print page 1 first" in told.said


@pytest.mark.parametrize("form", FORMS)
def test_each_format_alone(folder: Path, form: str) -> None:
    told = call("draw", "plain.yaml", "--format", form, "--out", "far/away")
    assert told.status == Status.FINE
    assert set(files_under(folder)) == {"plain.yaml", *(str(Path("far/away", name)) for name in FORMS[form])}
    assert all(str(Path("far/away", name)) in told.said for name in FORMS[form])
    assert ("Print page 1 first" in told.said) == (form == "pdf")


def test_one_svg_for_each_sheet(folder: Path) -> None:
    told = call("draw", "plain.yaml", "--format", "sheets", "--paper", "120x160 mm")
    count = int(told.said.split(": ")[1].split()[0])
    assert count > 1
    wanted = {f"plain-sheet-{number:02d}.svg" for number in range(1, count + 1)}
    undersides = {f"plain-underside-{number:02d}.svg" for number in range(1, count + 1)}
    assert set(files_under(folder / "output")) == wanted | undersides


MANY = ("draw", "plain.yaml", "--format", "sheets", "--paper", "120x160 mm")
FEW = ("draw", "plain.yaml", "--format", "sheets")


def test_sheets_that_a_new_draw_does_not_need_are_removed_and_told(folder: Path) -> None:
    call(*MANY)
    old = set(files_under(folder / "output")) - {"plain-sheet-01.svg", "plain-underside-01.svg"}
    assert len(old) > 1
    told = call(*FEW)
    assert told.status == Status.FINE
    assert set(files_under(folder / "output")) == {"plain-sheet-01.svg", "plain-underside-01.svg"}
    (line,) = [line for line in told.said.splitlines() if "Removed" in line]
    assert all(name in line for name in old)
    # There is nothing more to remove, and nothing is said.
    assert "Removed" not in call(*FEW).said


def test_only_sheets_of_that_spec_are_removed(folder: Path) -> None:
    for stem in ("plain-sheet", "plain-sheet-09", "my-plain", "plain2", "Plain3"):
        Path(f"{stem}.yaml").write_text(PLAIN, encoding="utf-8")
        call("draw", f"{stem}.yaml", *MANY[2:])
    # The whole drawing of another spec, whose name is just that of a sheet of this one.
    call("draw", "plain-sheet-09.yaml", "--format", "svg")
    call(*MANY)
    out = folder / "output"
    sheet = (out / "plain-sheet-02.svg").read_bytes()
    others = ("plain-sheet-2.svg", "plain-sheet-002.svg", "plain-sheet-02.svg.bak", "plain-sheet-02b.svg", "plain.svg")
    for name in others:
        (out / name).write_bytes(sheet)
    (out / "plain-sheet-77.svg").write_text("<svg><title>A drawing of my own</title></svg>")
    (out / "plain-sheet-88.svg").mkdir()
    before = files_under(out)
    call(*FEW)
    after = files_under(out)
    gone = set(before) - set(after)
    numbers = range(2, len(gone) // 2 + 2)
    assert gone
    assert gone == {f"plain-{kind}-{number:02d}.svg" for number in numbers for kind in ("sheet", "underside")}
    assert (out / "plain-sheet-88.svg").is_dir()
    assert all(after[name] == before[name] for name in set(after) - {"plain-sheet-01.svg", "plain-underside-01.svg"})


def test_other_forms_leave_old_sheets_alone(folder: Path) -> None:
    call(*MANY)
    before = files_under(folder / "output")
    told = call("draw", "plain.yaml", "--format", "pdf", "--format", "svg")
    assert "Removed" not in told.said
    assert before.items() <= files_under(folder / "output").items()


@pytest.mark.parametrize("fault", ["spec", "paper", "write_bytes", "replace"])
def test_a_draw_that_fails_removes_no_sheet(folder: Path, monkeypatch: pytest.MonkeyPatch, fault: str) -> None:
    call(*MANY)
    before = files_under(folder / "output")
    words = FEW
    if fault == "spec":
        Path("plain.yaml").write_text(BROKEN["unknown key"], encoding="utf-8")
    elif fault == "paper":
        words = (*FEW, "--overlap", "90 mm")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    if fault == "replace":
        monkeypatch.setattr(os, "replace", full)
    elif fault == "write_bytes":
        monkeypatch.setattr(Path, "write_bytes", full)
    told = call(*words)
    monkeypatch.undo()
    assert told.status in (Status.BAD_INPUT, Status.NOT_WRITTEN) and "Removed" not in told.said
    assert files_under(folder / "output") == before


def test_an_old_sheet_that_cannot_be_removed_is_told_of(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    call(*MANY)

    def locked(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "unlink", locked)
    told = call(*FEW)
    assert told.status == Status.NOT_WRITTEN
    assert "Cannot remove" in told.warned and "plain-sheet-02.svg" in told.warned and "Removed" not in told.said


def test_a_spec_that_will_not_run_is_drawn_and_stamped_and_ends_in_1(folder: Path) -> None:
    Path("bad.yaml").write_text(WILL_NOT_RUN, encoding="utf-8")
    told = call("draw", "bad.yaml", "--format", "sheets")
    assert told.status == Status.FINDINGS
    assert "  error: " in told.said
    sheets = files_under(folder / "output")
    assert sheets and all(b"will not run as drawn" in content for content in sheets.values())
    assert call("measure", "bad.yaml").status == Status.FINDINGS


@pytest.mark.parametrize("name", BROKEN)
@pytest.mark.parametrize("command", ["draw", "measure", "expand"])
def test_a_broken_spec_ends_in_2_with_sentences_and_writes_nothing(folder: Path, command: str, name: str) -> None:
    Path("broken.yaml").write_text(BROKEN[name], encoding="utf-8")
    told = call(command, "broken.yaml")
    if command == "expand" and name == "no such frog":
        # Only the curves tell that this frog cannot be: the text of the spec is in order.
        assert (told.status, told.warned) == (Status.FINE, "")
        return
    assert (told.status, told.said) == (Status.BAD_INPUT, "")
    assert "Traceback" not in told.warned
    for line in told.warned.splitlines():
        assert line[0].isupper() and line.endswith(")") and "broken.yaml" in line, line
    assert set(files_under(folder)) == {"plain.yaml", "broken.yaml"}


@pytest.mark.parametrize("command", ["draw", "measure", "expand"])
def test_a_missing_spec_and_a_folder_end_in_2(folder: Path, command: str) -> None:
    for name in ("nowhere.yaml", str(folder)):
        told = call(command, name)
        assert told.status == Status.BAD_INPUT and name in told.warned and "Traceback" not in told.warned


def test_one_broken_spec_keeps_no_other_from_being_drawn(folder: Path) -> None:
    Path("broken.yaml").write_text(BROKEN["unknown key"], encoding="utf-8")
    Path("second.yaml").write_text(PLAIN.replace("Plain", "Second"), encoding="utf-8")
    old = folder / "output" / "broken.pdf"
    old.parent.mkdir()
    old.write_bytes(b"what was there before")
    told = call("draw", "plain.yaml", "broken.yaml", "second.yaml")
    assert told.status == Status.BAD_INPUT
    found = files_under(folder / "output")
    assert set(found) == {"plain.pdf", "plain.svg", "second.pdf", "second.svg", "broken.pdf"}
    assert found["broken.pdf"] == b"what was there before"
    assert "colour" in told.warned and "Plain: " in told.said and "Second: " in told.said


def test_the_gravest_of_several_statuses_is_told(folder: Path) -> None:
    Path("bad.yaml").write_text(WILL_NOT_RUN, encoding="utf-8")
    Path("broken.yaml").write_text(BROKEN["no YAML"], encoding="utf-8")
    assert call("draw", "bad.yaml", "plain.yaml", "--format", "svg").status == Status.FINDINGS
    assert call("draw", "bad.yaml", "broken.yaml", "plain.yaml", "--format", "svg").status == Status.BAD_INPUT


def test_a_spec_drawn_again_replaces_its_files(folder: Path) -> None:
    call("draw", "plain.yaml")
    before = files_under(folder / "output")
    Path("plain.yaml").write_text(PLAIN.replace("frog: 4", "frog: 5"), encoding="utf-8")
    call("draw", "plain.yaml")
    after = files_under(folder / "output")
    assert set(before) == set(after) and all(before[name] != after[name] for name in before)


@pytest.mark.parametrize("other", ["sub/plain.yaml", "sub/Plain.yaml"])
def test_two_specs_of_one_name_do_not_write_over_each_other(folder: Path, other: str) -> None:
    """Not even where small and capital letters are one, as on Windows and macOS."""
    (folder / "sub").mkdir()
    Path(other).write_text(PLAIN.replace("frog: 4", "frog: 9"), encoding="utf-8")
    told = call("draw", "plain.yaml", other)
    assert told.status == Status.BAD_INPUT
    assert "--out" in told.warned and str(Path(other)) in told.warned
    call("draw", "plain.yaml", "--out", "alone")
    assert files_under(folder / "output") == files_under(folder / "alone")


def test_a_spec_named_twice_is_drawn(folder: Path) -> None:
    assert call("draw", "plain.yaml", "plain.yaml").status == Status.FINE


def test_an_output_that_is_a_file_ends_in_3_and_says_which_and_why(folder: Path) -> None:
    Path("taken").write_text("not a folder")
    told = call("draw", "plain.yaml", "--out", "taken")
    assert told.status == Status.NOT_WRITTEN
    assert told.warned == "Cannot write taken: File exists.\n"
    assert told.said == ""
    told = call("draw", "plain.yaml", "--out", "taken/below")
    assert told.status == Status.NOT_WRITTEN and "taken" in told.warned
    assert set(files_under(folder)) == {"plain.yaml", "taken"}


def test_a_folder_in_place_of_a_file_ends_in_3(folder: Path) -> None:
    (folder / "output" / "plain.svg" / "below").mkdir(parents=True)
    told = call("draw", "plain.yaml")
    assert told.status == Status.NOT_WRITTEN and "plain.svg" in told.warned


def test_the_cut_list_of_each_spec_opens_as_a_table(folder: Path) -> None:
    """One file for spreadsheets and one for programs; the gravest status of the specs is that of the call."""
    Path("bad.yaml").write_text(WILL_NOT_RUN, encoding="utf-8")
    Path("broken.yaml").write_text(BROKEN["unknown key"], encoding="utf-8")
    assert call("draw", "plain.yaml", "bad.yaml", "--format", "cut-list").status == Status.FINDINGS
    assert call("draw", "broken.yaml", "--format", "cut-list").status == Status.BAD_INPUT
    found = files_under(folder / "output")
    assert set(found) == {f"{stem}-cut-list.{ending}" for stem in ("plain", "bad") for ending in ("csv", "json")}
    rows = list(csv.DictReader(found["plain-cut-list.csv"].decode("utf-8-sig").splitlines()))
    data = json.loads(found["plain-cut-list.json"])
    assert (data["format"], data["name"]) == (1, "Plain")
    assert [row["part"] for row in rows] == [part["part"] for part in data["parts"]] and len(rows) > 10


def test_the_cut_list_is_the_same_in_every_run(folder: Path) -> None:
    for seed in ("1", "2"):
        run("draw", "plain.yaml", "--format", "cut-list", "--out", seed, folder=folder, PYTHONHASHSEED=seed)
    first, second = files_under(folder / "1"), files_under(folder / "2")
    assert first == second and set(first) == FORMS["cut-list"]


@pytest.mark.parametrize("step", ["write_bytes", "replace"])
@pytest.mark.parametrize("forms", [(), ("--format", "cut-list")])
def test_nothing_is_left_half_written(
    folder: Path, monkeypatch: pytest.MonkeyPatch, step: str, forms: tuple[str, ...]
) -> None:
    call("draw", "plain.yaml", *forms)
    before = files_under(folder)
    Path("plain.yaml").write_text(PLAIN.replace("frog: 4", "frog: 5"), encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    if step == "replace":
        monkeypatch.setattr(os, "replace", full)
    else:
        write, calls = Path.write_bytes, []

        def second_fails(path: Path, data: bytes) -> int:
            calls.append(path)
            if len(calls) == 1:
                return write(path, data)
            # As a full disk does it: a part is there.
            write(path, data[:100])
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(Path, "write_bytes", second_fails)
    told = call("draw", "plain.yaml", *forms)
    assert told.status == Status.NOT_WRITTEN
    assert told.warned.startswith("Cannot write output") and "No space left on device" in told.warned
    monkeypatch.undo()
    after = files_under(folder)
    assert {name: after[name] for name in after if name != "plain.yaml"} == {
        name: before[name] for name in before if name != "plain.yaml"
    }


def test_an_interruption_leaves_what_was_there(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    call("draw", "plain.yaml")
    before = files_under(folder)

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", interrupted)
    told = call("draw", "plain.yaml")
    assert told.status != Status.FINE and "Traceback" not in told.warned
    assert files_under(folder) == before


def test_a_fault_of_the_program_ends_in_4_and_says_how_to_report_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(*_: object) -> None:
        raise ZeroDivisionError("the wheel fell off")

    monkeypatch.setattr("turnout_templates.cli.drawing.work_out", faulty)
    told = call("draw", "plain.yaml")
    assert told.status == Status.FAULT and told.said == ""
    for words in ("fault of turnout-templates", __version__, "the wheel fell off", "report it", "--details"):
        assert words in told.warned
    assert "Traceback" not in told.warned
    # With --details the place is shown.
    with pytest.raises(ZeroDivisionError):
        call("--details", "draw", "plain.yaml")


@pytest.mark.parametrize(
    ("options", "phrase"),
    [
        (("--paper", "A44"), 'There is no paper "A44"'),
        (("--paper", "20x30"), "size with its unit"),
        (("--margin", "10"), "--margin"),
        (("--margin", "wide"), "--margin"),
        (("--margin", "-5 mm"), "margin cannot be less than nothing"),
        (("--margin", "100 mm"), "larger paper or smaller margins"),
        (("--overlap", "zwei"), "--overlap"),
        (("--overlap", "-1 mm"), "overlap"),
        (("--overlap", "190 mm"), "overlap"),
        (("--orientation", "askew"), "orientation"),
        (("--format", "docx"), "docx"),
        (("--frobnicate",), "--frobnicate"),
    ],
)
def test_options_that_cannot_be_end_in_2(folder: Path, options: tuple[str, ...], phrase: str) -> None:
    told = call("draw", "plain.yaml", *options)
    assert told.status == Status.BAD_INPUT
    assert phrase in " ".join(told.warned.split()) and "Traceback" not in told.warned
    assert set(files_under(folder)) == {"plain.yaml"}


def test_paper_margin_and_orientation_are_heeded(folder: Path) -> None:
    for words, sheets in (("portrait", "Tabloid"), ("landscape", "A3")):
        told = call("draw", "plain.yaml", "--format", "sheets", "--paper", sheets, "--orientation", words)
        assert f"of {sheets}" in told.said
        content = files_under(folder / "output")["plain-sheet-01.svg"].decode()
        width, height = (float(content.split(f'{side}="')[1].split("mm")[0]) for side in ("width", "height"))
        assert (width > height) == (words == "landscape")
    few = call("draw", "plain.yaml", "--format", "svg", "--margin", "1/4 in", "--overlap", "0.5 in")
    assert few.status == Status.FINE


def test_a_run_from_the_shell(folder: Path) -> None:
    """The same in processes of their own: status, streams, files and no traceback."""
    Path("broken.yaml").write_text(BROKEN["unknown key"], encoding="utf-8")
    done = run("draw", "plain.yaml", "broken.yaml", folder=folder)
    assert done.returncode == Status.BAD_INPUT
    assert b"Plain: 1 sheet of Letter" in done.stdout and b"colour" in done.stderr
    assert b"Traceback" not in done.stderr
    assert set(files_under(folder / "output")) == {"plain.pdf", "plain.svg"}
    Path("taken").write_text("")
    done = run("draw", "plain.yaml", "--out", "taken", folder=folder)
    assert (done.returncode, done.stdout) == (Status.NOT_WRITTEN, b"") and done.stderr.startswith(b"Cannot write taken")


@pytest.mark.parametrize("stem", ["two words", "ümlaut", "dot.ted", "-dash", "a'b", "名前"])
def test_files_may_have_any_name(folder: Path, stem: str) -> None:
    Path(f"{stem}.yaml").write_text(PLAIN, encoding="utf-8")
    told = call("draw", "--format", "svg", "--", f"{stem}.yaml")
    assert told.status == Status.FINE
    assert set(files_under(folder / "output")) == {f"{stem}.svg"}
