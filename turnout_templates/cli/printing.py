"""Print figures, an expanded spec or the schema on standard output."""

from __future__ import annotations

import json
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
    click.echo(json.dumps(measure(job), indent=1, allow_nan=False, ensure_ascii=False))
    return Status.FINDINGS if job.has_errors else Status.FINE


def print_expanded(spec: Path) -> Status:
    """Print `spec` with its base and shorthands written out."""
    try:
        click.echo(expanded_yaml(load_spec(spec)), nl=False)
    except InputProblems as error:
        return _say_problems(error)
    return Status.FINE


def print_schema() -> Status:
    """Print the JSON Schema of specs."""
    click.echo(json.dumps(spec_schema(), indent=1))
    return Status.FINE


def _say_problems(error: InputProblems) -> Status:
    for problem in error.problems:
        click.echo(str(problem), err=True)
    return Status.BAD_INPUT
