"""Print figures, an expanded spec or the schema on standard output."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from turnout_templates.cli.status import Status
from turnout_templates.errors import InputProblems
from turnout_templates.pipeline import measure, work_out
from turnout_templates.spec.load import load_spec
from turnout_templates.spec.schema import spec_schema
from turnout_templates.spec.writing import expanded_yaml


def print_figures(spec: Path) -> Status:
    """Print the figures of `spec` as JSON."""
    try:
        job = work_out(load_spec(spec))
    except InputProblems as error:
        return _say_problems(error)
    _print_data(json.dumps(measure(job), indent=1, allow_nan=False, ensure_ascii=False) + "\n")
    return Status.FINDINGS if job.has_errors else Status.FINE


def print_expanded(spec: Path) -> Status:
    """Print `spec` with its base and shorthands written out."""
    try:
        _print_data(expanded_yaml(load_spec(spec)))
    except InputProblems as error:
        return _say_problems(error)
    return Status.FINE


def print_schema() -> Status:
    """Print the JSON Schema of specs."""
    _print_data(json.dumps(spec_schema(), indent=1, ensure_ascii=False) + "\n")
    return Status.FINE


def _print_data(text: str) -> None:
    """Print `text` as UTF-8 wherever it goes but to a terminal: that is what YAML and JSON are read as."""
    click.echo(text if sys.stdout.isatty() else text.encode(), nl=False)


def _say_problems(error: InputProblems) -> Status:
    for problem in error.problems:
        click.echo(str(problem), err=True)
    return Status.BAD_INPUT
