"""Turn options, and answers to questions in plain words, into the checked `Answers` that a first spec is made from.

Every answer can come from an option; what no option says is asked, and a `--quick` run takes the usual answer instead.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any, Literal

import click

from turnout_templates.cli.calling import program
from turnout_templates.cli.first_spec import BUILDS, Answers
from turnout_templates.cli.replies import (
    Bend,
    Check,
    Main,
    branch_radius_check,
    either_check,
    file_stem,
    frog_check,
    gauges_check,
    head_of,
    name_check,
    one_of,
    radius_check,
    scale_check,
    widths,
)
from turnout_templates.standards.scales import unit_of_scale
from turnout_templates.units import read_length, read_number

_SIDES = ("left", "right")
_USUAL_RADIUS_GAUGES = 45
"""A usual radius in gauges: the least that NEM 111 (2016) allows main lines with vehicles of group C."""


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


def ask_answers(given: dict[str, Any]) -> Answers:
    """Return the answers `given` as options, asked for, or as usual. Raises click.BadParameter for a wrong option."""
    asker = _Asker(given)
    scale = asker.ask("scale", "Scale (HO, N, O, S, H0 ... or a ratio such as 1:87.1)", "HO", scale_check)
    gauges = _gauges(asker, scale)
    build = asker.ask("build", f"What do you want to build ({', '.join(BUILDS)})", "turnout", one_of(BUILDS))
    _refuse_idle(given, build, len(gauges))
    units: Literal["mm", "in"] = (
        "in" if asker.ask("units", "Units (mm or in)", unit_of_scale(scale), one_of(("mm", "in"))) == "in" else "mm"
    )
    wide = gauges[0][2]
    common, carried = _shared(asker, build, tuple(name for name, _, _ in gauges))
    main = _main(asker, build, wide, units)
    hand = "right"
    if build in _HANDED:
        hand = asker.ask("hand", "To which side does it go (left, right)", "right", one_of(_SIDES))
    widest = max(width for label, _, width in gauges if label in carried)
    bend = Bend(widest, head_of(scale), main, same=hand == main.turn)
    frog, radius = _frog_or_radius(asker, build, bend, units)
    name = asker.ask("name", "What shall it be called", f"My {build}", name_check)
    size = float(read_number(frog)) if frog else bend.number(float(read_length(radius)))
    again = f"{program()} draw {file_stem(name)}.yaml"
    return Answers(
        name, scale, gauges, build, carried, common, hand, frog, radius, main.radius, main.turn, units, size, again
    )


_HANDED = ("turnout", "curved turnout", "curve")
_BRANCHED = ("turnout", "curved turnout", "diamond")
_ONLY_FOR: dict[str, tuple[str, ...]] = {
    "hand": _HANDED,
    "carries": _BRANCHED,
    "main_radius": ("curved turnout",),
    "main_turn": ("curved turnout",),
    "frog": ("turnout", "curved turnout", "wye", "diamond"),
    "radius": ("turnout", "curved turnout", "wye", "curve"),
}
"""Which builds an option means something for; the others take them all."""


def _refuse_idle(given: dict[str, Any], build: str, gauges: int) -> None:
    """Refuse options that would change nothing, since whoever gave them expects that they do."""
    for key, builds in _ONLY_FOR.items():
        if given.get(key) is not None and build not in builds:
            raise _bad(key, f"This has no meaning for a {build}; leave it out.")
    for key in ("carries", "common_rail"):
        if given.get(key) is not None and gauges == 1:
            raise _bad(key, "This has no meaning where there is only one gauge; leave it out, or give two --gauges.")
    if given.get("frog") is not None and given.get("radius") is not None:
        raise _bad("radius", "Give a frog number or a radius, not both.")


def _bad(key: str, sentence: str) -> click.BadParameter:
    return click.BadParameter(sentence, param_hint="--" + key.replace("_", "-"))


def _shared(asker: _Asker, build: str, names: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
    """Return the side of the common rail and the gauges that the branch carries."""
    if len(names) == 1:
        return "left", names
    question = "On which side is the rail that both gauges share (left, right)"
    common = asker.ask("common_rail", question, "left", one_of(_SIDES))
    if build not in _BRANCHED:
        return common, names
    question = "Which gauges does the branch carry (both, wide, narrow)"
    return common, _CARRIES[asker.ask("carries", question, "both", one_of(_CARRIES))](names)


def _main(asker: _Asker, build: str, wide: float, units: str) -> Main:
    if build != "curved turnout":
        return Main()
    radius = asker.ask("main_radius", "Radius of the main", _usual_radius(2 * wide, units), radius_check(wide))
    question = "To which side does the main curve, seen from the points (left, right)"
    return Main(radius, asker.ask("main_turn", question, "left", one_of(_SIDES)))


_CARRIES: dict[str, Callable[[tuple[str, ...]], tuple[str, ...]]] = {
    "both": lambda names: names,
    "wide": lambda names: names[:1],
    "narrow": lambda names: names[1:],
}


def _frog_or_radius(asker: _Asker, build: str, bend: Bend, units: str) -> tuple[str, str]:
    """Return (frog number, "") or ("", radius) as the reader prefers."""
    usual = _usual_radius(bend.wide, units)
    if build == "curve":
        return "", asker.ask("radius", "Radius of the curve", usual, radius_check(bend.wide))
    if asker.given.get("radius") is not None:
        return "", asker.ask("radius", "", usual, branch_radius_check(bend))
    question = "Frog number (4 is sharp, 6 usual, 8 gentle)"
    if build == "diamond" or asker.quick or asker.given.get("frog") is not None:
        return asker.ask("frog", question, "6", frog_check), ""
    answer = asker.ask(
        "frog", question + f", or the radius of the branch with its unit, such as {usual}", "6", either_check(bend)
    )
    return ("", answer) if re.search(r"[a-z\"']", answer) else (answer, "")


def _usual_radius(wide: float, units: str) -> str:
    radius = _USUAL_RADIUS_GAUGES * wide
    return f"{math.ceil(radius / 25.4 / 2) * 2} in" if units == "in" else f"{math.ceil(radius / 50) * 50} mm"


def _gauges(asker: _Asker, scale: str) -> tuple[tuple[str, str, float], ...]:
    """Return the gauges as (name in the spec, gauge name, width in mm), the widest first."""
    usual = scale if not scale.startswith("1:") else "4 ft 8 1/2 in scale"
    question = "Gauge, or two with a comma between them (such as HO, HOn3)"
    text = asker.ask("gauges", question, usual, gauges_check(scale))
    return tuple(
        (label, name, width) for label, (name, width) in zip(("standard", "narrow"), widths(scale, text), strict=False)
    )
