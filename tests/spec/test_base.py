"""A club's base spec: merged under the spec key by key, from inside its folder only, mistakes told in its own file."""

from pathlib import Path

import pytest
from spec.texts import PLAIN

from turnout_templates.errors import InputProblems, Problem
from turnout_templates.spec import LocatedSpec, expanded_yaml, load_spec, read_spec

CLUB = """\
spec: 1
name: Brindle Fen house rules
scale: HO
rail: code 83
ties: {width: 3 mm, spacing: 7 mm}
gauges: {standard: HO}
"""
MEMBER = """\
spec: 1
base: club.yaml
name: Member
ties: {spacing: 8 mm}
turnout: {hand: left, frog: 6}
"""


def write(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    return folder / "member.yaml"


def problems(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(InputProblems) as told:
        load_spec(path)
    return told.value.problems


def test_a_spec_lies_over_its_base(tmp_path: Path) -> None:
    spec = load_spec(write(tmp_path, member=MEMBER, club=CLUB)).spec
    assert (spec.name, spec.rail.name, spec.ties.width, spec.ties.spacing) == ("Member", "code 83", 3.0, 8.0)
    assert spec.text == MEMBER


def test_a_base_may_have_a_base_in_a_folder_below(tmp_path: Path) -> None:
    (tmp_path / "rules").mkdir()
    write(tmp_path / "rules", region="rail: code 100\nscale: O\n")
    club = "base: rules/region.yaml\nrail: code 70\n"
    spec = load_spec(write(tmp_path, member=MEMBER, club=club)).spec
    assert (spec.rail.name, spec.scale.name) == ("code 70", "O")


def test_the_expansion_needs_no_base_and_means_the_same(tmp_path: Path) -> None:
    located = load_spec(write(tmp_path, member=MEMBER, club=CLUB))
    again = read_spec(expanded_yaml(located), file="e.yaml", folder=None)
    assert again.spec.fingerprint == located.spec.fingerprint


def test_a_mistake_in_the_base_is_told_in_the_base(tmp_path: Path) -> None:
    (problem,) = problems(write(tmp_path, member=MEMBER, club=CLUB.replace("code 83", "code 38")))
    assert (Path(problem.file).name, problem.line, problem.column) == ("club.yaml", 4, 7)
    (problem,) = problems(write(tmp_path, member=MEMBER, club=CLUB + "spec: 1\n"))
    assert (Path(problem.file).name, problem.line, problem.key_path) == ("club.yaml", 7, ("spec",))
    (problem,) = problems(write(tmp_path, member=MEMBER, club="a: [\n"))[:1]
    assert Path(problem.file).name == "club.yaml" and problem.line is not None


def located(text: str, folder: Path) -> LocatedSpec:
    return read_spec(text, file="member.yaml", folder=folder)


@pytest.mark.parametrize(
    ("base", "phrase"),
    [
        ("../club.yaml", "is not a path inside"),
        ("rules/../../club.yaml", "is not a path inside"),
        ("/etc/hostname", "is not a path inside"),
        ('"C:\\\\club.yaml"', "is not a path inside"),
        ("~/club.yaml", "is not a path inside"),
        ('"a\\0b"', "is not a path inside"),
        ("link.yaml", "leads out of the spec's folder"),
        ("loop.yaml", "cannot be|no file"),
        ("none.yaml", "There is no file"),
        (".", "is a folder, not a spec"),
        ("member.yaml", "leads back to itself"),
        ("ring.yaml", "leads back to itself"),
        ("binary.yaml", "not a text file in UTF-8"),
        ("[club.yaml]", "not the name of a file"),
        ('""', "not the name of a file"),
        ("x" * 300, "cannot be read|no file"),
    ],
)
def test_a_base_stays_in_the_folder_and_is_a_text_file(base: str, phrase: str, tmp_path: Path) -> None:
    folder = tmp_path / "specs"
    folder.mkdir()
    (tmp_path / "club.yaml").write_text(CLUB)
    (folder / "link.yaml").symlink_to(tmp_path / "club.yaml")
    (folder / "loop.yaml").symlink_to(folder / "loop.yaml")
    (folder / "binary.yaml").write_bytes(b"\xff\xfe")
    text = PLAIN.replace("scale: HO", f"scale: HO\nbase: {base}")
    path = write(folder, member=text, ring="base: member.yaml\n")
    found = problems(path)
    told = [problem for problem in found if any(part in problem.sentence for part in phrase.split("|"))]
    assert told, found
    assert Path(told[0].file).name in ("member.yaml", "ring.yaml") and told[0].key_path == ("base",)
    assert told[0].line is not None
