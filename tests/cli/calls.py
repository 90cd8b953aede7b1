"""Call the command line in this process, and say what came of it without naming the library that parses it."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from turnout_templates.cli import main

PLAIN = "spec: 1\nname: Plain\nscale: HO\nturnout: {hand: left, frog: 4}\n"
WILL_NOT_RUN = """\
spec: 1
name: Will not run
scale: HO
turnout: {hand: left, frog: 4}
track_standard: {from: NMRA S-3.2 (2010), standard: {span: 13.5 mm}}
"""
"""Guard and wing stand 14.2 mm apart, by the flangeways of the standard: too far for a span of 13.5 mm."""
BROKEN = {
    "no YAML": "spec: 1\nroutes: [\n",
    "not a table": "- 1\n- 2\n",
    "empty": "",
    "no track": "spec: 1\nname: Nothing\nscale: HO\n",
    "unknown key": PLAIN + "colour: red\n",
    "unknown scale": PLAIN.replace("HO", "HQ"),
    "bare number": "spec: 1\nname: B\nscale: HO\nroutes: {main: {path: [{straight: 12}]}}\n",
    "key twice": PLAIN + "name: Again\n",
    "no such base": PLAIN + "base: nowhere.yaml\n",
    "no such frog": PLAIN.replace("frog: 4", "frog: 6, main: {radius: 100 mm, turn: right}"),
    "leaves nobody": PLAIN.replace(
        "turnout: {hand: left, frog: 4}", "routes: {b: {leaves: a, at: 1 in, path: [frog: 6]}}"
    ),
    "another version": PLAIN.replace("spec: 1", "spec: 99"),
}


@dataclass(frozen=True)
class Outcome:
    """What a call ended in: exit status, what it said on standard output and standard error."""

    status: int
    said: str
    warned: str


def call(*words: str | Path, replies: str = "") -> Outcome:
    """Call the program in this process; `replies` is what is typed."""
    result = CliRunner().invoke(main, [str(word) for word in words], input=replies)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return Outcome(result.exit_code, result.stdout, result.stderr)


def run(*words: str | Path, folder: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """Call the program in a process of its own, in `folder`."""
    command = [sys.executable, "-m", "turnout_templates", *map(str, words)]
    return subprocess.run(command, cwd=folder, env={**os.environ, **environment}, capture_output=True, check=False)


def files_under(folder: Path) -> dict[str, bytes]:
    """Return every file under a folder by its path there, hidden ones too."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
