"""The commands and their help; the work is in the modules beside this one and is imported when a command runs."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from turnout_templates import __version__
from turnout_templates.cli.calling import NAME, program
from turnout_templates.cli.status import Status

if TYPE_CHECKING:
    from turnout_templates.pipeline import Part

_EPILOG = """
\b
Begin with
  turnout-templates start
which asks what you want to build, writes a short spec that you can change, and draws it.

The exit status is 0 when all is well, 1 when files were written but something will not run as drawn, 2 for a mistake
in a spec or a command, 3 when a file could not be written, 4 for a fault of the program.
"""

_GARBAGE = 200_000
"""So many new objects are waited for before a search for rings of them, which hold no memory that a short run needs:
at Python's own 700 the searches took a twelfth of the time that a drawing takes."""
_FORMS = ("pdf", "svg", "sheets", "cut-list")
_PARTS = ("first-page", "map", "details", "rails", "cut-list", "build-sheet", "wiring", "gauging-record", "underside")


class _Command(click.Command):
    """A command whose help shows its examples as this reader has to type them."""

    def get_help(self, ctx: click.Context) -> str:
        """Return the help."""
        return _as_called(super().get_help(ctx))


def _as_called(text: str) -> str:
    """Return `text` with the program, where it begins a line of an example, as it was called."""
    return text.replace(f"  {NAME} ", f"  {program()} ")


class _Commands(click.Group):
    """A group whose commands end in an exit status, whatever goes wrong on the way."""

    command_class = _Command

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        """Return the context of a call; usage lines show the program as it was called."""
        return super().make_context(program() if parent is None else info_name, args, parent, **extra)

    def get_help(self, ctx: click.Context) -> str:
        """Return the help."""
        return _as_called(super().get_help(ctx))

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; a fault of the program is said as such."""
        gc.set_threshold(_GARBAGE)
        _let_no_letter_stop_the_run()
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            _leave_closed_pipe()
            ctx.exit(Status.NOT_READ)
        except (KeyboardInterrupt, click.Abort):
            click.echo("\nStopped; what was finished before is kept.", err=True)
            ctx.exit(Status.BAD_INPUT)
        except (click.ClickException, click.exceptions.Exit):
            raise
        except Exception as error:
            if ctx.params.get("details"):
                raise
            _say_fault(error)
            ctx.exit(Status.FAULT)


def _let_no_letter_stop_the_run() -> None:
    """Let a name that the reader's console has no letters for be shown with signs in their place."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")


def _leave_closed_pipe() -> None:
    """Let what is still to be said go nowhere, since whoever read it (such as `head`) has closed the pipe."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            os.dup2(nowhere, stream.fileno())


def _say_fault(error: Exception) -> None:
    click.echo(
        f"This is a fault of turnout-templates {__version__}, not of your spec ({type(error).__name__}: {error}).\n"
        "Please report it with the spec and the whole command: run the same command again as "
        f"`{program()} --details ...` and send what it prints.",
        err=True,
    )


@click.group(
    cls=_Commands, epilog=_EPILOG, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="turnout-templates")
@click.option("--details", is_flag=True, help="Show where in the program a fault arose, for reporting it.")
def main(details: bool) -> None:
    """Full-size construction templates for hand-laid turnouts, printed true to size on your own printer.

    A spec is a short YAML file that says what the track must do: routes, their gauges and radii, frogs by number. From
    it come paper to build on, and the figures.
    """


def _out(what: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return the option that says where files land; `what` is its help."""
    place = click.Path(path_type=Path)
    return click.option("--out", "folder", metavar="FOLDER", default="output", show_default=True, type=place, help=what)


def _finish(status: Status) -> None:
    sys.exit(int(status))


@main.command()
@click.argument("specs", nargs=-1, required=True, metavar="SPEC...", type=click.Path(path_type=Path))
@click.option(
    "--paper",
    metavar="NAME",
    help='Letter, Legal, Tabloid, A4, A3, or a size such as "13x19 in". [default: by the spec\'s units]',
)
@click.option(
    "--orientation",
    type=click.Choice(["auto", "portrait", "landscape"]),
    default="auto",
    show_default=True,
    help="How pages are held; auto takes what needs fewer sheets.",
)
@click.option(
    "--margin",
    metavar="LENGTH",
    default="10 mm",
    show_default=True,
    help="What your printer cannot print on, each side.",
)
@click.option("--overlap", metavar="LENGTH", default="10 mm", show_default=True, help="What neighbouring sheets share.")
@_out("Where files land.")
@click.option(
    "--format",
    "forms",
    type=click.Choice(_FORMS),
    multiple=True,
    help="pdf: tiled, for printing. svg: whole, full size, for drawing programs and cutters. sheets: one SVG a sheet, "
    "also of those for the underside. cut-list: what to buy and cut, as a spreadsheet (CSV) and as JSON. May "
    "be given several times. [default: pdf and svg]",
)
@click.option(
    "--without",
    type=click.Choice(_PARTS),
    multiple=True,
    help="Leave this out of the PDF. May be given several times.",
)
@click.option("--many", is_flag=True, help="Draw even what takes more than 400 sheets.")
def draw(
    specs: tuple[Path, ...],
    paper: str | None,
    orientation: str,
    margin: str,
    overlap: str,
    folder: Path,
    forms: tuple[str, ...],
    without: tuple[Part, ...],
    many: bool,
) -> None:
    """Draw templates at full size.

    Writes for each SPEC a PDF of numbered sheets, and the whole drawing as one SVG. Print the PDF, its first page alone
    and first; it says how to prove that your printer kept the size. Before the sheets come a map of them with tables,
    and pages that show each frog and each switch enlarged, not to size, with the lengths to file. After them come
    mirrored sheets to be fixed under the baseboard, where throw slots, machines and feeders are.

    \b
    Examples:
      turnout-templates draw tamsin.yaml
      turnout-templates draw tamsin.yaml --paper A4 --format pdf
      turnout-templates draw tamsin.yaml --format pdf --format cut-list
      turnout-templates draw specs/*.yaml --out prints
    """  # noqa: D301
    from turnout_templates.cli.drawing import draw_specs, read_choice

    choice = read_choice(paper, orientation, margin, overlap)
    _finish(draw_specs(specs, choice, folder, forms or ("pdf", "svg"), without=without, many=many))


@main.command()
@click.argument("spec", type=click.Path(path_type=Path))
def measure(spec: Path) -> None:
    """Print the figures of SPEC as JSON.

    Routes, switches, frogs, guards, rails, ties and findings: lengths in mm, angles in degrees, in full precision. The
    names are explained in DEVELOPERS.md.
    """
    from turnout_templates.cli.printing import print_figures

    _finish(print_figures(spec))


@main.command()
@click.argument("spec", type=click.Path(path_type=Path))
def expand(spec: Path) -> None:
    """Print SPEC with shorthands and its base written out, as a spec."""
    from turnout_templates.cli.printing import print_expanded

    _finish(print_expanded(spec))


@main.command()
def schema() -> None:
    """Print the JSON Schema of specs, for editors that check while you type."""
    from turnout_templates.cli.printing import print_schema

    _finish(print_schema())


@main.command()
@click.option("--scale", metavar="NAME", help="HO, N, O, S, H0 ... or a ratio such as 1:87.1.")
@click.option("--gauges", metavar="NAMES", help='One gauge or two, wide one first: "HO" or "HO, HOn3".')
@click.option("--build", metavar="WHAT", help="turnout, curved turnout, wye, diamond or curve.")
@click.option("--carries", metavar="WHICH", help="With two gauges, what the branch carries: both, wide or narrow.")
@click.option("--common-rail", metavar="SIDE", help="With two gauges, the side of the rail they share: left or right.")
@click.option("--hand", metavar="SIDE", help="The side the branch leaves to: left or right.")
@click.option("--frog", metavar="NUMBER", help="Frog number of the branch, such as 6.")
@click.option("--radius", metavar="LENGTH", help="Radius of the branch instead of a frog number; or of the curve.")
@click.option("--main-radius", metavar="LENGTH", help="Radius of the main on a curved turnout.")
@click.option("--main-turn", metavar="SIDE", help="The side that the main of a curved turnout turns to: left or right.")
@click.option("--units", metavar="UNIT", help="mm or in.")
@click.option("--name", metavar="TEXT", help="What to call it.")
@click.option("--paper", metavar="NAME", help="Paper to print on. [default: by the units]")
@_out("Where the drawing lands.")
@click.option("--quick", is_flag=True, help="Ask nothing: take the usual answer for everything that no option says.")
@click.option("--force", is_flag=True, help="Write over a spec of the same name.")
def start(**answers: Any) -> None:
    """Make a first spec by answering a few questions, and draw it.

    Every question can be answered by an option instead. The spec lands in the folder you are in, the drawing under
    output/.

    \b
    Examples:
      turnout-templates start
      turnout-templates start --quick --scale HO --gauges "HO, HOn3" --frog 6
    """  # noqa: D301
    from turnout_templates.cli.starting import start_spec

    _finish(start_spec(answers))
