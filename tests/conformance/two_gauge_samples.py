"""Turn the table of the twenty two-gauge turnouts into the specs in `sample_specs/two_gauge`.

Five cases, two hands, two sides for the common rail. Run this module to write the files; a test holds the committed
ones to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from pathlib import Path

FOLDER = Path(__file__).parents[2] / "sample_specs" / "two_gauge"


@dataclass(frozen=True)
class Case:
    """A row of the table: who leaves, and what must come of it away from the common rail and toward it.

    `away` and `toward` are the kinds of the frogs in order along the track and the number of moving points.
    """

    words: str
    says: str
    away: tuple[str, int]
    toward: tuple[str, int]
    parting: bool
    leaving: str


CASES = {
    "both-leave": Case(
        "both gauges leave", "Both tracks carry both gauges.", ("KVV", 3), ("KVV", 3), False, "standard, narrow"
    ),
    "wide-leaves": Case(
        "the wide gauge leaves", "Both gauges run on; the wide one leaves.", ("VV", 2), ("KV", 2), False, "standard"
    ),
    "narrow-leaves": Case(
        "the narrow gauge leaves", "Both gauges run on; the narrow one leaves.", ("KVV", 2), ("V", 2), False, "narrow"
    ),
    "parting-narrow-leaves": Case(
        "the gauges part, the narrow one leaving",
        "The gauges part here: the wide one runs straight on, the narrow one leaves.",
        ("KV", 1),
        ("V", 1),
        True,
        "narrow",
    ),
    "parting-wide-leaves": Case(
        "the gauges part, the wide one leaving",
        "The gauges part here: the narrow one runs straight on, the wide one leaves.",
        ("V", 1),
        ("KV", 1),
        True,
        "standard",
    ),
}
NUMBERS = {1: "one", 2: "two", 3: "three"}


@dataclass(frozen=True)
class Sample:
    """One of the twenty."""

    case: str
    hand: str
    common: str

    @property
    def file(self) -> str:
        """The name of its file."""
        return f"{self.case}-{self.hand}-common-{self.common}.yaml"

    @property
    def expected(self) -> tuple[str, int]:
        """The kinds of its frogs, sorted, and its moving points."""
        case = CASES[self.case]
        return case.toward if self.hand == self.common else case.away

    @property
    def text(self) -> str:
        """The spec."""
        case = CASES[self.case]
        kinds, points = self.expected
        where = "toward the common rail" if self.hand == self.common else "away from the common rail"
        counts = f"{_counted(kinds.count('K'), 'K crossing')}{_counted(kinds.count('V'), 'V frog')}"
        head = (
            f"# {case.says} To the {self.hand}, {where}:\n"
            f"# {counts}{NUMBERS[points]} moving point{'s' if points > 1 else ''}.\n"
            "spec: 1\n"
            f"name: Tamsin, {case.words} to the {self.hand}, common rail {self.common}\n"
            "units: in\n"
            "scale: HO\n"
            "gauges: {standard: HO, narrow: HOn3}\n"
            "rail: code 70\n"
            "routes:\n"
        )
        return head + (self._parting(case) if case.parting else self._leaving(case))

    def _leaving(self, case: Case) -> str:
        return (
            f"  main:\n    common_rail: {self.common}\n    path:\n      - straight: 14 in\n"
            f"  branch:\n    leaves: main\n    at: 3 in\n    hand: {self.hand}\n    gauges: [{case.leaving}]\n"
            "    path:\n      - curve: {frog: 6}\n      - straight: 3 in\n"
        )

    def _parting(self, case: Case) -> str:
        wide_leaves = case.leaving == "standard"
        onward, leaving = ("narrow", "wide") if wide_leaves else ("wide", "narrow")
        gauge = {"wide": "standard", "narrow": "narrow"}
        radius = "36 in" if wide_leaves else "30 in"
        return (
            f"  both:\n    common_rail: {self.common}\n    path:\n      - straight: 4 in\n"
            f"  {onward}:\n    leaves: both\n    at: end\n    gauges: [{gauge[onward]}]\n"
            "    path:\n      - straight: 12 in\n"
            f"  {leaving}:\n    leaves: both\n    at: end\n    gauges: [{gauge[leaving]}]\n"
            f"    path:\n      - curve: {{radius: {radius}, turn: {self.hand}, length: 12 in}}\n"
        )


def _counted(number: int, thing: str) -> str:
    return f"{NUMBERS[number]} {thing}{'s' if number > 1 else ''}, " if number else ""


SAMPLES = tuple(Sample(*figures) for figures in product(CASES, ("left", "right"), ("left", "right")))

if __name__ == "__main__":
    for sample in SAMPLES:
        (FOLDER / sample.file).write_text(sample.text, encoding="utf-8", newline="\n")
