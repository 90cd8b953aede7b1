"""Draw one spec or many: read, work out, lay out, write, and say what happened to each."""

from __future__ import annotations

import sys
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Literal, cast

import click

from turnout_templates.cli.files import clear_old_sheets, put_in_place
from turnout_templates.cli.status import Status, worst
from turnout_templates.errors import InputProblems, OutputError, QuantityError
from turnout_templates.pipeline import Drawn, Job, PaperChoice, Part, draw, least_sheets, paper_for, work_out, write
from turnout_templates.sheets.paper import PaperError, paper_named
from turnout_templates.spec.load import is_base, load_spec
from turnout_templates.units import read_length


def read_choice(paper: str | None, orientation: str, margin: str, overlap: str) -> PaperChoice:
    """Return the paper that the options ask for; raises click.BadParameter for what can't be read."""
    if paper is not None:
        try:
            paper_named(paper)
        except PaperError as error:
            raise click.BadParameter(str(error), param_hint="--paper") from error
    way = cast(Literal["auto", "portrait", "landscape"], orientation)
    return PaperChoice(paper, way, _length(margin, "--margin"), _length(overlap, "--overlap"))


def _length(text: str, option: str) -> float:
    try:
        return float(read_length(text))
    except QuantityError as error:
        raise click.BadParameter(str(error), param_hint=option) from error


SHEETS_TOLD = 40
SHEETS_MOST = 400
"""From how many sheets on their number is told before they are written, and how many are written without `--many`:
choices of this program."""
_PAPER_FORMS = {"pdf", "sheets"}
"""The forms that are laid out on sheets."""


def draw_specs(
    specs: Sequence[Path],
    choice: PaperChoice,
    folder: Path,
    forms: Sequence[str],
    *,
    without: Collection[Part] = (),
    many: bool = False,
) -> Status:
    """Draw all `specs` into `folder`, `without` some parts; one that can't be drawn keeps no other from it."""
    clashes = _clashes(specs)
    statuses = []
    with _progress(specs) as advance:
        for spec in specs:
            if spec in clashes:
                click.echo(
                    f"Another spec of this call is also called {spec.stem}; both would be written to the same files. "
                    f"Draw it by itself with another --out. ({spec})",
                    err=True,
                )
                statuses.append(Status.BAD_INPUT)
            elif len(specs) > 1 and is_base(spec):
                click.echo(
                    f"{spec} is a base for other specs and was left out: it says nothing of any track.", err=True
                )
            else:
                statuses.append(draw_spec(spec, choice, folder, forms, without=without, many=many))
            advance()
    return worst(statuses)


def _clashes(specs: Sequence[Path]) -> set[Path]:
    """Return the specs whose files would land on those of an earlier one, capital letters or not."""
    seen: dict[str, Path] = {}
    return {spec for spec in specs if seen.setdefault(spec.stem.casefold(), spec) != spec}


@contextmanager
def _progress(specs: Sequence[Path]) -> Iterator[Callable[[], None]]:
    """Show a bar while several specs are drawn at a terminal."""
    if len(specs) < 2 or not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Drawing", total=len(specs))
        yield lambda: bar.advance(task)


def draw_spec(
    spec: Path,
    choice: PaperChoice,
    folder: Path,
    forms: Sequence[str],
    *,
    without: Collection[Part] = (),
    many: bool = False,
) -> Status:
    """Draw one spec and say what came of it."""
    try:
        job = work_out(load_spec(spec))
        if _far_too_many(job, choice, spec, forms, many=many):
            return Status.BAD_INPUT
        drawn = draw(job, choice, without=without)
        if _too_many(drawn, spec, forms, many=many):
            return Status.BAD_INPUT
        paths = put_in_place(folder, list(write(drawn, forms, spec.stem)))
    except InputProblems as error:
        for problem in error.problems:
            click.echo(str(problem), err=True)
        return Status.BAD_INPUT
    except PaperError as error:
        click.echo(f"{error} ({spec})", err=True)
        return Status.BAD_INPUT
    except OutputError as error:
        click.echo(str(error), err=True)
        return Status.NOT_WRITTEN
    _say(job, drawn, paths)
    ended = Status.FINDINGS if job.has_errors else Status.FINE
    return worst([ended, _clear_old_sheets(folder, spec, paths) if "sheets" in forms else Status.FINE])


def _clear_old_sheets(folder: Path, spec: Path, paths: Sequence[Path]) -> Status:
    """Remove the sheets of an earlier draw of `spec` that this one did not write, and say so."""
    removed, failed = clear_old_sheets(folder, spec.stem, paths)
    if removed:
        names = ", ".join(path.name for path in removed)
        click.echo(f"  Removed what an earlier draw left and this one does not need: {names}")
    for path, reason in failed:
        click.echo(f"Cannot remove {path}, a sheet that no longer belongs to {spec}: {reason}.", err=True)
    return Status.NOT_WRITTEN if failed else Status.FINE


def _far_too_many(job: Job, choice: PaperChoice, spec: Path, forms: Sequence[str], *, many: bool) -> bool:
    """Refuse what surely needs more sheets than may be written, before any is placed; return whether it was refused."""
    if many or not _PAPER_FORMS & set(forms):
        return False
    count = least_sheets(job, choice)
    if count <= SHEETS_MOST:
        return False
    _refuse(f"at least {count} sheets of {paper_for(job, choice)[0].name}", spec)
    return True


def _too_many(drawn: Drawn, spec: Path, forms: Sequence[str], *, many: bool) -> bool:
    """Say how many sheets there will be where they are many; return whether they are more than may be written."""
    count = len(drawn.plan.sheets)
    if count <= SHEETS_TOLD or not _PAPER_FORMS & set(forms):
        return False
    sheets = f"{count} sheets of {drawn.plan.paper.name}"
    if many or count <= SHEETS_MOST:
        click.echo(f"This takes {sheets}; larger paper (--paper) takes fewer. ({spec})", err=True)
        return False
    _refuse(sheets, spec)
    return True


def _refuse(sheets: str, spec: Path) -> None:
    click.echo(
        f"This would take {sheets}, and nothing was written. Check the scale and the lengths, take larger paper with "
        f"--paper, or write the drawing alone with --format svg; if you want the sheets, add --many. ({spec})",
        err=True,
    )


def _say(job: Job, drawn: Drawn, paths: Sequence[Path]) -> None:
    """Say where the files lie, what to print first and what the checks found."""
    count = len(drawn.plan.sheets)
    sheets = f"{count} sheet{'s' if count != 1 else ''} of {drawn.plan.paper.name}"
    click.echo(f"{job.spec.name}: {sheets}")
    shown = paths if len(paths) <= 3 else [*paths[:2], f"... {len(paths) - 2} more in {paths[0].parent}"]
    for path in shown:
        click.echo(f"  {path}")
    for finding in job.findings:
        click.echo(f"  {finding.level}: {finding.sentence(job.spec.units)}")
    if drawn.plan.split_texts:
        click.echo(f"  {drawn.plan.split_texts} labels are longer than any sheet of this paper; take larger paper.")
    if drawn.has_first_page and any(path.suffix == ".pdf" for path in paths):
        click.echo("  Print page 1 first, alone, at actual size, and measure its bars.")
