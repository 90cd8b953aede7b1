"""Compose a first spec, with comments, from a handful of answers.

The text is meant to be read and changed by somebody who has never seen YAML: few lines, each explained, and those worth
changing marked.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

from msgspec import Struct

from turnout_templates.units import format_inches, format_mm

MARK = "# <- change"
BUILDS = ("turnout", "curved turnout", "wye", "diamond", "curve")


class Answers(Struct, frozen=True):
    """What the reader said. `gauges` are (name in the spec, gauge name, width in mm), the widest first.

    `frog` is the number as written, or `radius` a length as written; `main_radius` likewise. `carried` names the gauges
    of the branch. `main_turn` is the side that the main of a curved turnout turns to. `size` is the number that lengths
    are estimated from: stated, or what the radius comes to. `again` is the command that draws the spec.
    """

    name: str
    scale: str
    gauges: tuple[tuple[str, str, float], ...]
    build: str
    carried: tuple[str, ...]
    common_rail: str
    hand: str
    frog: str
    radius: str
    main_radius: str
    main_turn: str
    units: Literal["mm", "in"]
    size: float
    again: str


def compose(answers: Answers) -> str:
    """Return the text of the spec."""
    return "\n".join([*_head(answers), "routes:", *_BODIES[answers.build](answers), ""])


def marked_lines(text: str) -> list[tuple[int, str]]:
    """Return (line number from 1, the line without its comment) of the lines worth changing."""
    lines = enumerate(text.splitlines(), start=1)
    return [(number, line.split("#")[0].strip()) for number, line in lines if MARK in line]


def _head(a: Answers) -> list[str]:
    lines = [
        "# A template spec: what the track must do. Lengths carry their unit; # begins a comment.",
        f"# Draw it again after a change with: {a.again}",
        "spec: 1",
        f"name: {_quoted(a.name)}",
        f"scale: {_quoted(a.scale)}   {MARK}: HO, N, O, S, H0 ... or a ratio such as 1:87.1",
    ]
    if any(a.gauges):
        inner = ", ".join(f"{name}: {_quoted(gauge)}" for name, gauge, _ in a.gauges)
        lines.append(f"gauges: {{{inner}}}")
    lines.append(f"units: {a.units}   # what is printed first, and the paper with it: Letter for in, A4 for mm")
    return lines


def _quoted(text: str) -> str:
    """Return text that YAML reads as it stands."""
    plain = all(c.isalnum() or c in " .-,'" for c in text) and text[:1].isalpha()
    return text if plain else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _is_mixed(a: Answers) -> bool:
    return len(a.gauges) > 1


def _gauge_lines(a: Answers, carried: tuple[str, ...], *, first: bool) -> list[str]:
    """Return the lines that say which gauges a route carries, none where there is but one."""
    if not _is_mixed(a):
        return []
    lines = [f"    gauges: [{', '.join(carried)}]"]
    if first:
        lines.append(f"    common_rail: {a.common_rail}   # the side of the rail that both gauges share")
    return lines


def _all(a: Answers) -> tuple[str, ...]:
    return tuple(name for name, _, _ in a.gauges)


def _wide(a: Answers) -> float:
    return a.gauges[0][2]


def _length(a: Answers, mm: float) -> str:
    """Return a length rounded up to 10 mm or 1/2 in, as people would write it."""
    if a.units == "mm":
        return format_mm(math.ceil(mm / 10) * 10)
    return format_inches(math.ceil(mm / 12.7) * 12.7)


def _tip(a: Answers) -> float:
    return 5.0 * _wide(a)


def _run(a: Answers) -> float:
    """Return the length of the main: before the tip, twice gauge times number to the frog, as much again behind it."""
    return _tip(a) + 4.0 * _wide(a) * a.size


def _branch_piece(a: Answers) -> str:
    """Return the piece that runs to the frog."""
    if a.frog:
        return f"      - frog: {a.frog}   {MARK}: a larger number is longer and gentler"
    turn = f"{{radius: {a.radius}, turn: {a.hand}, to: frog}}"
    return f"      - curve: {turn}   {MARK}: the radius; the frog number follows from it"


def _branch(a: Answers) -> list[str]:
    lines = ["  branch:", "    leaves: main", f"    at: {_length(a, _tip(a))}   # where the points begin"]
    lines += [f"    hand: {a.hand}   {MARK}: the side it leaves to, seen from the points"]
    return [*lines, *_gauge_lines(a, a.carried, first=False), "    path:", _branch_piece(a)]


def _main(a: Answers, pieces: list[str]) -> list[str]:
    return ["  main:", *_gauge_lines(a, _all(a), first=True), "    path:", *pieces]


def _turnout(a: Answers) -> list[str]:
    return [*_main(a, [f"      - straight: {_length(a, _run(a))}   {MARK}: the length of the main"]), *_branch(a)]


def _curved_turnout(a: Answers) -> list[str]:
    curve = f"{{radius: {a.main_radius}, turn: {a.main_turn}, length: {_length(a, _run(a))}}}"
    return [*_main(a, [f"      - curve: {curve}   {MARK}: the curve it lies on"]), *_branch(a)]


def _wye(a: Answers) -> list[str]:
    lines = _main(a, [f"      - straight: {_length(a, _tip(a))}   {MARK}: the track before the points"])
    for hand in ("left", "right"):
        piece = (
            f"      - frog: {a.frog}" if a.frog else f"      - curve: {{radius: {a.radius}, turn: {hand}, to: frog}}"
        )
        mark = f"   {MARK}: the same in both legs"
        lines += [f"  {hand} leg:", "    leaves: main", "    at: end", f"    hand: {hand}"]
        lines += [*_gauge_lines(a, _all(a), first=False), "    path:", piece + mark]
    return lines


def _diamond(a: Answers) -> list[str]:
    angle = 2 * math.atan(0.5 / a.size)
    half = max(3.0 * _wide(a) * a.size, 6.0 * _wide(a))
    whole = _length(a, 2 * half)
    x, y = _near(a, half * (1 - math.cos(angle))), _near(a, -half * math.sin(angle))
    lines = _main(a, [f"      - straight: {whole}   {MARK}: how much track lies on either side"])
    lines += [
        "  crossing:",
        "    # It begins beside the main and crosses it near the middle. heading is the angle between them, about 57.3",
        "    # divided by the frog number. x moves the crossing along the main; y is how far to the side it begins.",
        f"    start: {{x: {x}, y: {y}, heading: {math.degrees(angle):.3f} deg}}   {MARK}: the heading first, then x",
    ]
    return [
        *lines,
        *_gauge_lines(a, a.carried, first=False),
        *_crossing_rail(a),
        "    path:",
        f"      - straight: {whole}",
    ]


def _near(a: Answers, mm: float) -> str:
    """Return a length to the nearest mm or 1/8 in, as people would write it."""
    return format_mm(mm, 0) if a.units == "mm" else format_inches(mm, 8)


def _crossing_rail(a: Answers) -> list[str]:
    return [f"    common_rail: {a.common_rail}"] if _is_mixed(a) and len(a.carried) > 1 else []


def _curve(a: Answers) -> list[str]:
    ease = _length(a, 6.0 * _wide(a))
    bend = f"{{radius: {a.radius}, turn: {a.hand}}}"
    pieces = [
        f"      - straight: {_length(a, 4.0 * _wide(a))}",
        "      # The curve and the easements at its ends have one radius: change it in all three lines.",
        f"      - easement: {{length: {ease}, from: straight, to: {bend}}}   {MARK}",
        f"      - curve: {{radius: {a.radius}, turn: {a.hand}, length: {_length(a, 18.0 * _wide(a))}}}   {MARK}",
        f"      - easement: {{length: {ease}, from: {bend}, to: straight}}   {MARK}",
        f"      - straight: {_length(a, 4.0 * _wide(a))}",
    ]
    return _main(a, pieces)


_BODIES: dict[str, Callable[[Answers], list[str]]] = {
    "turnout": _turnout,
    "curved turnout": _curved_turnout,
    "wye": _wye,
    "diamond": _diamond,
    "curve": _curve,
}
