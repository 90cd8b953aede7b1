"""Ask what to build, in plain words, write a commented spec and draw it.

Every answer can come from an option; what no option says is asked, and a `--quick` run takes the usual answer instead.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

import click

from turnout_templates.cli.drawing import draw_spec, read_choice
from turnout_templates.cli.files import put_in_place
from turnout_templates.cli.first_spec import BUILDS, Answers, compose, marked_lines
from turnout_templates.cli.status import Status
from turnout_templates.errors import InputProblems, OutputError, QuantityError
from turnout_templates.spec.load import read_spec
from turnout_templates.units import read_length, read_number

Check = Callable[[str], str]
_SIDES = ("left", "right")
_METRIC_SCALES = ("H0", "0", "TT", "I", "II")
_USUAL_RADIUS_GAUGES = 45
"""A usual radius in gauges: the middle of NEM 111's "branch main" for vehicle groups A to C, and some ease."""


class _Asker:
    """Takes answers from options, from the reader, or as usual."""

    def __init__(self, given: dict[str, Any]) -> None:
        self.given = given
        self.quick = bool(given["quick"])

    def ask(self, key: str, question: str, usual: str, check: Check) -> str:
        """Return a checked answer; a wrong option ends the run, a wrong answer is asked again."""
        stated = self.given.get(key)
        if stated is not None:
            try:
                return check(stated)
            except ValueError as error:
                raise click.BadParameter(str(error), param_hint="--" + key.replace("_", "-")) from error
        if self.quick:
            return check(usual)
        while True:
            try:
                return check(click.prompt(question, default=usual))
            except ValueError as error:
                click.echo(f"  {error}")


def start_spec(given: dict[str, Any]) -> Status:
    """Write a first spec from the answers `given` and asked for, draw it, and say what to change."""
    choice = read_choice(given["paper"], "auto", "10 mm", "10 mm")
    answers = _answers(_Asker(given))
    text = compose(answers)
    path = Path(f"{_file_stem(answers.name)}.yaml")
    if path.exists() and not given["force"]:
        click.echo(f"{path} exists already. Give another --name, or write over it with --force.", err=True)
        return Status.BAD_INPUT
    try:
        put_in_place(Path(), [(path.name, text.encode())])
    except OutputError as error:
        click.echo(str(error), err=True)
        return Status.NOT_WRITTEN
    status = draw_spec(path, choice, given["folder"], ("pdf", "svg"))
    click.echo(f"\nThe spec is {path}. Change it in any text editor, above all these lines:")
    for number, line in marked_lines(text):
        click.echo(f"  line {number}: {line}")
    click.echo(f"Then draw it again: turnout-templates draw {path}")
    return status


def _answers(asker: _Asker) -> Answers:
    scale = asker.ask("scale", "Scale (HO, N, O, S, H0 ... or a ratio such as 1:87.1)", "HO", _scale)
    gauges = _gauges(asker, scale)
    build = asker.ask("build", f"What do you want to build ({', '.join(BUILDS)})", "turnout", _one_of(BUILDS))
    usual_units = "mm" if scale in _METRIC_SCALES else "in"
    units: Literal["mm", "in"] = (
        "in" if asker.ask("units", "Units (mm or in)", usual_units, _one_of(("mm", "in"))) == "in" else "mm"
    )
    wide = gauges[0][2]
    common = "left"
    carried = tuple(name for name, _, _ in gauges)
    if len(gauges) > 1:
        common = asker.ask(
            "common_rail", "On which side is the rail that both gauges share (left, right)", "left", _one_of(_SIDES)
        )
        if build in ("turnout", "curved turnout", "diamond"):
            which = asker.ask(
                "carries", "Which gauges does the branch carry (both, wide, narrow)", "both", _one_of(_CARRIES)
            )
            carried = _CARRIES[which](carried)
    main_radius = ""
    if build == "curved turnout":
        main_radius = asker.ask("main_radius", "Radius of the main", _usual_radius(2 * wide, units), _radius(wide))
    hand = "right"
    if build in ("turnout", "curved turnout", "curve"):
        hand = asker.ask("hand", "To which side does it go (left, right)", "right", _one_of(_SIDES))
    frog, radius = _frog_or_radius(asker, build, wide, units)
    usual_name = f"My {build}"
    name = asker.ask("name", "What shall it be called", usual_name, _name)
    size = float(read_number(frog)) if frog else max(math.sqrt(float(read_length(radius)) / (2 * wide)), 2.0)
    return Answers(name, scale, gauges, build, carried, common, hand, frog, radius, main_radius, units, size)


_CARRIES: dict[str, Callable[[tuple[str, ...]], tuple[str, ...]]] = {
    "both": lambda names: names,
    "wide": lambda names: names[:1],
    "narrow": lambda names: names[1:],
}


def _frog_or_radius(asker: _Asker, build: str, wide: float, units: str) -> tuple[str, str]:
    """Return (frog number, "") or ("", radius) as the reader prefers."""
    usual = _usual_radius(wide, units)
    if build == "curve":
        return "", asker.ask("radius", "Radius of the curve", usual, _radius(wide))
    if asker.given.get("radius") is not None:
        if asker.given.get("frog") is not None:
            raise click.BadParameter("Give a frog number or a radius, not both.", param_hint="--radius")
        if build == "diamond":
            raise click.BadParameter("A diamond of straight tracks has no radius; give --frog.", param_hint="--radius")
        return "", asker.ask("radius", "", usual, _radius(wide))
    question = "Frog number (4 is sharp, 6 usual, 8 gentle)"
    if build == "diamond" or asker.quick or asker.given.get("frog") is not None:
        return asker.ask("frog", question, "6", _frog), ""
    answer = asker.ask(
        "frog", question + f", or the radius of the branch with its unit, such as {usual}", "6", _either(wide)
    )
    return ("", answer) if re.search(r"[a-z\"']", answer) else (answer, "")


def _either(wide: float) -> Check:
    def check(text: str) -> str:
        return _radius(wide)(text) if re.search(r"[a-z\"']", text) else _frog(text)

    return check


def _usual_radius(wide: float, units: str) -> str:
    radius = _USUAL_RADIUS_GAUGES * wide
    return f"{math.ceil(radius / 25.4 / 2) * 2} in" if units == "in" else f"{math.ceil(radius / 50) * 50} mm"


def _one_of(words: Any) -> Check:
    def check(text: str) -> str:
        word = " ".join(text.lower().split())
        if word not in words:
            raise ValueError(f'"{text}" is not among {", ".join(words)}.')
        return word

    return check


def _scale(text: str) -> str:
    return _probe(text.strip(), None)[0]


def _gauges(asker: _Asker, scale: str) -> tuple[tuple[str, str, float], ...]:
    """Return the gauges as (name in the spec, gauge name, width in mm), the widest first."""
    found: list[tuple[str, float]] = []

    def check(text: str) -> str:
        names = [part.strip() for part in text.split(",") if part.strip()]
        if not 1 <= len(names) <= 2:
            raise ValueError("Name one gauge, or two with a comma between them.")
        found[:] = sorted(((name, _probe(scale, name)[1]) for name in names), key=lambda pair: -pair[1])
        if len(found) == 2 and found[0][1] - found[1][1] < 0.01:
            raise ValueError("The two gauges are equally wide; name one of them only.")
        return text

    usual = scale if not scale.startswith("1:") else "4 ft 8 1/2 in scale"
    asker.ask("gauges", "Gauge, or two with a comma between them (such as HO, HOn3)", usual, check)
    return tuple((label, name, width) for label, (name, width) in zip(("standard", "narrow"), found, strict=False))


def _probe(scale: str, gauge: str | None) -> tuple[str, float]:
    """Return (scale as written, gauge width in mm) by reading a spec of one straight; raises ValueError."""
    gauges = "" if gauge is None else f"gauges: {{standard: {_yaml_text(gauge)}}}\n"
    text = f"spec: 1\nname: probe\nscale: {_yaml_text(scale)}\n{gauges}routes:\n  main:\n    path: [straight: 1 m]\n"
    try:
        spec = read_spec(text, file="", folder=None).spec
    except InputProblems as error:
        problem = error.problems[0]
        raise ValueError(f"{problem.sentence} {problem.remedy}".strip()) from error
    return scale, spec.gauges["standard"].width


def _yaml_text(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _radius(wide: float) -> Check:
    def check(text: str) -> str:
        try:
            radius = read_length(text)
        except QuantityError as error:
            raise ValueError(str(error)) from error
        if radius < Fraction(str(wide)) * 4:
            raise ValueError(f"A radius of {text} is less than four times the gauge; nothing runs on it.")
        return text.strip()

    return check


def _frog(text: str) -> str:
    try:
        number = read_number(text)
    except QuantityError as error:
        raise ValueError(str(error)) from error
    if not 2 <= number <= 30:
        raise ValueError("Frog numbers run from 2 to 30; 4 to 10 are usual.")
    return text.strip()


def _name(text: str) -> str:
    if not _file_stem(text):
        raise ValueError("The name needs at least one letter or figure.")
    return " ".join(text.split())


def _file_stem(name: str) -> str:
    """Return a name for the file: small letters and figures with hyphens between."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
