"""Write a commented first spec from a few answers, draw it, and say which of its lines to change."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from turnout_templates.cli.asking import ask_answers
from turnout_templates.cli.calling import program
from turnout_templates.cli.drawing import draw_spec, read_choice
from turnout_templates.cli.files import put_in_place
from turnout_templates.cli.first_spec import compose, marked_lines
from turnout_templates.cli.replies import file_stem
from turnout_templates.cli.status import Status
from turnout_templates.errors import OutputError


def start_spec(given: dict[str, Any]) -> Status:
    """Write a first spec from the answers `given` and asked for, draw it, and say what to change."""
    choice = read_choice(given["paper"], "auto", "10 mm", "10 mm")
    try:
        answers = ask_answers(given)
    except (click.Abort, EOFError, KeyboardInterrupt):
        click.echo("\nStopped; nothing was written.", err=True)
        return Status.BAD_INPUT
    text = compose(answers)
    path = Path(f"{file_stem(answers.name)}.yaml")
    if path.exists() and not given["force"]:
        click.echo(f"{path} exists already. Give another --name, or write over it with --force.", err=True)
        return Status.BAD_INPUT
    try:
        put_in_place(Path(), [(path.name, text.encode())])
    except OutputError as error:
        click.echo(str(error), err=True)
        return Status.NOT_WRITTEN
    status = draw_spec(path, choice, given["folder"], ("pdf", "svg"))
    _say_next(path, text, status)
    return status


_OUTCOMES = {
    Status.BAD_INPUT: "Nothing was drawn, for the reason above. ",
    Status.NOT_WRITTEN: "The drawing could not be written, for the reason above. ",
}


def _say_next(path: Path, text: str, status: Status) -> None:
    """Say what became of the drawing, where the spec is, and which of its lines to change."""
    outcome = _OUTCOMES.get(status, "")
    click.echo(f"\n{outcome}The spec is {path}. Change it in any text editor, above all these lines:")
    for number, line in marked_lines(text):
        click.echo(f"  line {number}: {line}")
    click.echo(f"Then draw it{'' if outcome else ' again'}: {program()} draw {path}")
