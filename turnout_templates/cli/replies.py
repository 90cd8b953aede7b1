"""Check what was replied to a question or given as an option; a ValueError says in a sentence what is wrong with it."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Iterable
from fractions import Fraction

from msgspec import Struct

from turnout_templates.errors import InputProblems, QuantityError
from turnout_templates.spec.load import read_spec
from turnout_templates.spec.model import Spec
from turnout_templates.spec.shorthands.lengths import TOE_HEADS
from turnout_templates.units import format_inches, format_mm, read_length, read_number, uses_inches

Check = Callable[[str], str]
LARGEST_NUMBER = 30
_REPETITIONS = 200


class Main(Struct, frozen=True):
    """The curve of the main as written: its `radius` and `turn`, empty where it is straight."""

    radius: str = ""
    turn: str = ""


class Bend(Struct, frozen=True):
    """How a branch bends away from its `main`; `same` where both turn to one side.

    `wide` is the branch's widest gauge and `head` the width of the rail's head, in mm.
    """

    wide: float
    head: float
    main: Main
    same: bool

    def number(self, radius: float) -> float:
        """Return about which frog number a branch of `radius` mm comes to, infinite where it never reaches a frog.

        An arc of length c and the straight toe k lead to the frog: with d the curvature at which the branch parts from
        the main and m the main's own (positive to the branch's side), d c^2/2 + d c k - m k^2/2 = gauge and
        F = d c - m k; k grows with the number, which is therefore found by repetition.
        """
        bend = (1 if self.same else -1) / float(read_length(self.main.radius)) if self.main.radius else 0.0
        away = 1 / radius - bend
        if away <= 0:
            return math.inf
        number = math.sqrt(1 / (away * 2 * self.wide))
        for _ in range(_REPETITIONS):
            toe = TOE_HEADS * self.head * number
            arc = -toe + math.sqrt(max(toe * toe + (2 * self.wide + bend * toe * toe) / away, 0.0))
            angle = away * arc - bend * toe
            if angle * 2 * LARGEST_NUMBER < 1:
                return math.inf
            number = 1 / angle
        return max(number, 2.0)

    @property
    def largest(self) -> float:
        """The largest radius in mm that still parts from the main at a frog that can be built."""
        low, high = self.wide, float(read_length(self.main.radius))
        while high - low > 1.0:
            middle = (low + high) / 2
            low, high = (middle, high) if self.number(middle) <= LARGEST_NUMBER else (low, middle)
        return low


def either_check(bend: Bend) -> Check:
    """Return the check of a frog number, or of the radius of a branch where a unit is written."""

    def check(text: str) -> str:
        return branch_radius_check(bend)(text) if re.search(r"[a-z\"']", text) else frog_check(text)

    return check


def branch_radius_check(bend: Bend) -> Check:
    """Return the check of the radius of a branch: it must part from its main."""

    def check(text: str) -> str:
        written = radius_check(bend.wide)(text)
        if bend.number(float(read_length(written))) <= LARGEST_NUMBER:
            return written
        if not bend.main.radius:
            raise ValueError(
                f"A radius of {written} would need a frog beyond No. {LARGEST_NUMBER}; take a smaller one."
            )
        raise ValueError(
            f"The main turns {bend.main.turn} at {bend.main.radius}, and a branch that turns the same way at {written} "
            f"never parts far enough for a frog. Take a radius of {_spoken(bend.largest, written)} or less, or let the "
            "branch go to the other side."
        )

    return check


def _spoken(mm: float, like: str) -> str:
    """Return a length rounded down, in inches if `like` is written in them."""
    return format_inches(math.floor(mm / 12.7) * 12.7) if uses_inches(like) else format_mm(math.floor(mm / 10) * 10)


def one_of(words: Iterable[str]) -> Check:
    """Return the check of one of `words`."""

    def check(text: str) -> str:
        word = " ".join(text.lower().split())
        if word not in words:
            raise ValueError(f'"{text}" is not among {", ".join(words)}.')
        return word

    return check


def scale_check(text: str) -> str:
    """Return the scale as written."""
    _probe(text.strip())
    return text.strip()


def gauges_check(scale: str) -> Check:
    """Return the check of one gauge or two."""

    def check(text: str) -> str:
        words = [word for word in re.split(r"\s+and\s+|[\s/+&;]+", text.strip()) if word]
        if "," not in text and len(words) > 1 and all(_is_gauge(scale, word) for word in words):
            raise ValueError(f'Put a comma between them: "{", ".join(words)}".')
        if not 1 <= len(_parts(text)) <= 2:
            raise ValueError("Name one gauge, or two with a comma between them.")
        found = widths(scale, text)
        if len(found) == 2 and found[0][1] - found[1][1] < 0.01:
            raise ValueError("The two gauges are equally wide; name one of them only.")
        return text

    return check


def widths(scale: str, text: str) -> list[tuple[str, float]]:
    """Return (gauge as written, width in mm) of the gauges with commas between them, the widest first."""
    return sorted(((name, _width(scale, name)) for name in _parts(text)), key=lambda pair: -pair[1])


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _is_gauge(scale: str, word: str) -> bool:
    try:
        return _width(scale, word) > 0
    except ValueError:
        return False


def _probe(scale: str, gauge: str | None = None) -> Spec:
    """Return the spec of one straight in `scale` and `gauge`; raises ValueError."""
    gauges = "" if gauge is None else f"gauges: {{standard: {_yaml_text(gauge)}}}\n"
    text = f"spec: 1\nname: probe\nscale: {_yaml_text(scale)}\n{gauges}routes:\n  main:\n    path: [straight: 1 m]\n"
    try:
        return read_spec(text, file="", folder=None).spec
    except InputProblems as error:
        problem = error.problems[0]
        raise ValueError(f"{problem.sentence} {problem.remedy}".strip()) from error


def head_of(scale: str) -> float:
    """Return the width in mm of the head of the rail that `scale` takes unsaid."""
    return _probe(scale).rail.head


def _width(scale: str, gauge: str) -> float:
    return _probe(scale, gauge).gauges["standard"].width


def _yaml_text(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def radius_check(wide: float) -> Check:
    """Return the check of a radius for a gauge `wide` mm."""

    def check(text: str) -> str:
        try:
            radius = read_length(text)
        except QuantityError as error:
            raise ValueError(str(error)) from error
        if radius < Fraction(str(wide)) * 4:
            raise ValueError(f"A radius of {text} is less than four times the gauge; nothing runs on it.")
        return text.strip()

    return check


def frog_check(text: str) -> str:
    """Return the frog number as written."""
    try:
        number = read_number(text)
    except QuantityError as error:
        raise ValueError(str(error)) from error
    if not 2 <= number <= LARGEST_NUMBER:
        raise ValueError(f"Frog numbers run from 2 to {LARGEST_NUMBER}; 4 to 10 are usual.")
    return text.strip()


def name_check(text: str) -> str:
    """Return the name on one line."""
    if not file_stem(text):
        raise ValueError("The name needs at least one letter or figure.")
    return " ".join(text.split())


def file_stem(name: str) -> str:
    """Return a name for the file: small letters and figures with hyphens between."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
