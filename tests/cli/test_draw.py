"""What `draw` says and leaves out."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner, Result

from turnout_templates.cli import main
from turnout_templates.cli.drawing import _too_many

BASE = "spec: 1\nscale: HO\nrail: code 70\n"
SPEC = "spec: 1\nname: Trial\nbase: base.yaml\nturnout: {hand: left, frog: 4}\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("base.yaml").write_text(BASE)
    Path("trial.yaml").write_text(SPEC)
    return tmp_path


def draw(*words: str) -> Result:
    return CliRunner().invoke(main, ["draw", "--format", "svg", *words])


def test_a_base_among_several_specs_is_left_out_with_a_word(folder: Path) -> None:
    told = draw("base.yaml", "trial.yaml")
    assert told.exit_code == 0
    assert told.stderr == "base.yaml is a base for other specs and was left out: it says nothing of any track.\n"
    assert [path.name for path in (folder / "output").iterdir()] == ["trial.svg"]


def test_a_base_alone_is_a_mistake_that_says_so(folder: Path) -> None:
    told = draw("base.yaml")
    assert told.exit_code == 2
    assert told.stderr.startswith("This is a base, which says nothing of any track")
    assert len(told.stderr.splitlines()) == 1


def test_a_spec_that_only_lacks_its_track_is_no_base(folder: Path) -> None:
    Path("lacking.yaml").write_text("spec: 1\nname: Trial\nscale: HO\n")
    assert draw("lacking.yaml", "trial.yaml").exit_code == 2


@pytest.mark.parametrize(
    ("sheets", "forms", "many", "refused", "said"),
    [
        (40, ("pdf",), False, False, ""),
        (41, ("pdf",), False, False, "This takes 41 sheets of Letter"),
        (401, ("pdf", "svg"), False, True, "This would take 401 sheets of Letter, and nothing was written."),
        (401, ("sheets",), True, False, "This takes 401 sheets of Letter"),
        (401, ("svg",), False, False, ""),
    ],
)
def test_many_sheets_are_told_of_and_very_many_refused(
    sheets: int, forms: tuple[str, ...], many: bool, refused: bool, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = SimpleNamespace(sheets=(None,) * sheets, paper=SimpleNamespace(name="Letter"))
    drawn = SimpleNamespace(plan=plan)
    assert _too_many(drawn, Path("a.yaml"), forms, many=many) is refused  # type: ignore[arg-type]
    told = capsys.readouterr().err
    assert told.startswith(said) and bool(told) is bool(said)


FULL_SIZE = """
spec: 1
name: Full size
scale: 1:1
units: in
gauges: {standard: 4 ft 8 1/2 in}
track_standard: {standard: {flangeway: 1 7/8 in, check_gauge: 4 ft 6 5/8 in, span: 4 ft 5 in, point_spread: 4 ft 4 in}}
rail: {height: 7 in, head: 3 in, base: 6 in}
turnout: {hand: left, frog: 8}
"""


class Reached(Exception):
    """The slow part was begun."""


@pytest.mark.parametrize(
    ("words", "refused"),
    [
        ([], True),
        (["--format", "sheets"], True),
        (["--format", "svg"], False),
        (["--many"], False),
        (["--paper", "2000x3000 mm"], False),
    ],
)
def test_what_is_far_too_large_is_refused_before_it_is_drawn(
    folder: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], refused: bool
) -> None:
    begun = []

    def reached(*_: object, **__: object) -> None:
        begun.append(True)
        raise Reached

    monkeypatch.setattr("turnout_templates.cli.drawing.draw", reached)
    Path("big.yaml").write_text(FULL_SIZE)
    told = CliRunner().invoke(main, ["draw", "big.yaml", *words])
    assert begun == ([] if refused else [True])
    if not refused:
        return
    assert told.exit_code == 2
    assert told.stderr.startswith("This would take at least ") and told.stderr.endswith("add --many. (big.yaml)\n")
    # 29 m of main, four rails and ties that reach across: more than 600 sheets, and fewer than the 2198 it would take.
    assert 600 < int(told.stderr.split()[5]) < 2198
    assert not Path("output").exists()
