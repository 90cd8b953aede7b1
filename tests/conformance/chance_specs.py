"""Draw specs of what people build: each seed is one spec, and the seeds run through all kinds, scales and rails.

Sizes are those of HO, enlarged to the scale. What cannot be built is refused by the program and counts for nothing but
its number, so that bounds here may be generous.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from turnout_templates.pipeline import Job, measure, work_out
from turnout_templates.spec.load import read_spec

SEEDS = range(200)


@dataclass(frozen=True)
class Trade:
    """A pair of gauges as they are built in one scale: their names in the table, rail codes, and size against HO."""

    scale: str
    wide: str
    narrow: str
    codes: tuple[int, ...]
    by: float
    standard: str = ""


TRADES = (
    Trade("HO", "HO", "HOn3", (55, 70, 83, 100), 1.0),
    Trade("N", "N", "Nn3", (40, 55), 0.55),
    Trade("O", "O", "On30", (83, 100), 1.9),
    Trade("H0", "H0", "H0e", (70, 83, 100), 1.0, "MOROP NEM 110 (2009)"),
)
CASES = ("both", "wide leaves", "narrow leaves", "parting, narrow leaves", "parting, wide leaves")


class Draw:
    """One spec in the making."""

    def __init__(self, seed: int) -> None:
        self.pick = random.Random(f"brindle fen {seed}")
        self.seed = seed
        self.trade = TRADES[seed % len(TRADES)]
        self.kind = KINDS[seed // len(TRADES) % len(KINDS)]
        self.two = self.pick.random() < 0.6
        self.common = self.side()

    def text(self) -> str:
        """Return the spec."""
        trade = self.trade
        body = self.kind(self)
        gauges = f"standard: {trade.wide}" + (f", narrow: {trade.narrow}" if self.two else "")
        lines = ["spec: 1", f"name: by chance {self.seed}", "units: mm", f"scale: {trade.scale}"]
        lines += [f"gauges: {{{gauges}}}", f"rail: code {self.pick.choice(trade.codes)}"]
        lines += [f"track_standard: {trade.standard}"] if trade.standard else []
        return "\n".join([*lines, *body]) + "\n"

    def side(self) -> str:
        return self.pick.choice(["left", "right"])

    def mm(self, low: float, high: float) -> str:
        return f"{self.pick.uniform(low, high) * self.trade.by:.2f}"

    def number(self, low: float = 4.0, high: float = 10.0) -> str:
        return f"{self.pick.uniform(low, high):.2f}" if self.pick.random() < 0.3 else f"{self.pick.randint(4, 10)}"

    def frog(self) -> str:
        kind = self.pick.random()
        if kind < 0.15:
            return f"{{curve: {{frog_ratio: 1:{self.pick.randint(5, 10)}}}}}"
        through = self.pick.choice(["", "", "", ", through: curved"])
        return f"{{curve: {{frog: {self.number()}{through}}}}}"

    def bend(self, low: float = 700, high: float = 2500) -> str:
        return f"{{radius: {self.mm(low, high)}, turn: {self.side()}}}"

    def main(self, length: float) -> str:
        """Return the path of a main: straight, a curve of either hand, or an easement and what follows it."""
        kind = self.pick.random()
        reach = length * self.trade.by
        if kind < 0.4:
            return f"[{{straight: {reach:.1f}}}]"
        bend = self.bend()
        if kind < 0.75:
            return f"[{{curve: {bend[:-1]}, length: {reach:.1f}}}}}]"
        ease = f"{{easement: {{length: {reach * 0.6:.1f}, from: straight, to: {bend}}}}}"
        return f"[{{straight: {reach * 0.2:.1f}}}, {ease}, {{curve: {bend[:-1]}, length: {reach * 0.4:.1f}}}}}]"

    def points(self) -> str:
        kind = self.pick.random()
        if kind < 0.6:
            return "tangent"
        if kind < 0.85:
            spread = self.pick.uniform(1.1, 1.7) * self.trade.by + 0.9
            return f"{{length: {self.mm(38, 55)}, spread: {spread:.2f}, tip: 0.1}}"
        return f"{{entry: {self.pick.uniform(0.5, 1.8):.2f} deg}}"

    def carried(self) -> str:
        return f"gauges: [standard, narrow], common_rail: {self.common}, " if self.two else ""


def turnout(draw: Draw) -> list[str]:
    """A branch that leaves a main of one or two gauges, which gauge ever goes which way."""
    draw.two = draw.pick.random() < 0.75
    case = draw.pick.choice(CASES) if draw.two else "one"
    hand, points = draw.side(), draw.points()
    tail = f"{{straight: {draw.mm(40, 80)}}}"
    taken = {"wide leaves": "[standard]", "narrow leaves": "[narrow]"}.get(case, "")
    gauges = f"gauges: {taken}, " if taken else ""
    if not case.startswith("parting"):
        branch = f"{{leaves: main, at: {draw.mm(60, 100)}, hand: {hand}, {gauges}points: {points}, path: ["
        return [
            "routes:",
            f"  main: {{{draw.carried()}path: {draw.main(480)}}}",
            f"  branch: {branch}{draw.frog()}, {tail}]}}",
        ]
    goes, leaves = ("[standard]", "[narrow]") if "narrow" in case else ("[narrow]", "[standard]")
    return [
        "routes:",
        f"  main: {{{draw.carried()}path: [straight: {draw.mm(80, 100)}]}}",
        f"  onward: {{leaves: main, at: end, gauges: {goes}, path: {draw.main(400)}}}",
        f"  branch: {{leaves: main, at: end, hand: {hand}, gauges: {leaves}, points: {points}, "
        f"path: [{draw.frog()}, {tail}]}}",
    ]


def bent(draw: Draw) -> list[str]:
    """The shorthand of a turnout, bent or on a curve."""
    main = draw.pick.choice(["", f", bend: {draw.bend()}", f", main: {draw.bend()}"])
    more = f", common_rail: {draw.common}" if draw.two else ""
    return [f"turnout: {{frog: {draw.number()}, hand: {draw.side()}, points: {draw.points()}{main}{more}}}"]


def crossover(draw: Draw) -> list[str]:
    """A link between two tracks, single or double, straight or curved."""
    double = not draw.two and draw.pick.random() < 0.6
    main = "" if double or draw.pick.random() < 0.6 else f", main: {draw.bend(900)}"
    more = f", common_rail: {draw.common}" if draw.two else ""
    word = "double_crossover" if double else "crossover"
    return [f"{word}: {{spacing: {draw.mm(45, 60)}, frog: {draw.number(4, 8)}, hand: {draw.side()}{main}{more}}}"]


def diamond(draw: Draw) -> list[str]:
    """Two tracks that cross at any angle that is still a crossing, one of them curved at times."""
    over = draw.pick.choice(["[standard]", "[narrow]", "[standard, narrow]"]) if draw.two else "[standard]"
    angle = draw.pick.choice([draw.pick.uniform(6, 25), draw.pick.uniform(25, 88)])
    half = 260 * draw.trade.by
    common = f", common_rail: {draw.side()}" if over.count(",") else ""
    path = draw.main(500) if draw.pick.random() < 0.4 else f"[straight: {2 * half:.1f}]"
    rise = -half * 0.5
    start = f"{{x: {half * 0.6:.1f}, y: {rise:.1f}, heading: {angle:.2f} deg}}"
    return [
        "routes:",
        f"  main: {{{draw.carried()}path: {path}}}",
        f"  over: {{gauges: {over}{common}, start: {start}, path: [straight: {3 * half:.1f}]}}",
    ]


def slip(draw: Draw) -> list[str]:
    """A diamond with roads between its tracks."""
    draw.two = False
    sides = draw.pick.choice(["single", "double"])
    tips = "inside" if sides == "double" else draw.pick.choice(["inside", "outside"])
    return [f"slip: {{frog: {draw.number(6, 9)}, hand: {draw.side()}, sides: {sides}, tips: {tips}}}"]


def three_way(draw: Draw) -> list[str]:
    """Branches to either side, from one place or one behind the other."""
    more = f", common_rail: {draw.common}" if draw.two else ""
    if draw.pick.random() < 0.4:
        return [f"three_way: {{frog: {draw.number(5, 8)}, hand: {draw.side()}{more}}}"]
    sides = f"left: {{frog: {draw.number(5, 8)}}}, right: {{frog: {draw.number(5, 8)}}}"
    return [f"three_way: {{{sides}, stagger: {draw.mm(50, 120)}, hand: {draw.side()}{more}}}"]


def gauntlet(draw: Draw) -> list[str]:
    """Two tracks drawn together over a bridge."""
    more = f", common_rail: {draw.common}" if draw.two else ""
    sizes = f"spacing: {draw.mm(52, 62)}, offset: {draw.mm(2.8, 4.5)}, length: {draw.mm(120, 200)}"
    return [f"gauntlet: {{{sizes}, frog: {draw.number(5, 8)}, hand: {draw.side()}{more}}}"]


def ladder(draw: Draw) -> list[str]:
    """A few sidings off a lead."""
    more = f", common_rail: {draw.common}" if draw.two else ""
    sizes = f"tracks: {draw.pick.randint(2, 3)}, spacing: {draw.mm(45, 60)}"
    return [f"ladder: {{{sizes}, frog: {draw.number(4, 7)}, hand: {draw.side()}{more}}}"]


def wye(draw: Draw) -> list[str]:
    """A main that ends in two branches."""
    first, second = draw.points(), draw.number()
    carried = f"{draw.carried()}path: [straight: {draw.mm(80, 100)}]"
    if draw.pick.random() < 0.5:
        left, right = (f"{{curve: {{radius: {draw.mm(450, 900)}, turn: {s}, length: 280}}}}" for s in ("left", "right"))
        return [
            "routes:",
            f"  main: {{{carried}}}",
            f"  left: {{leaves: main, at: end, path: [{left}]}}",
            f"  right: {{leaves: main, at: end, path: [{right}]}}",
        ]
    tail = f"{{straight: {draw.mm(40, 80)}}}"
    points = first if first.startswith("{entry") else "tangent"
    return [
        "routes:",
        f"  main: {{{carried}}}",
        *(
            f"  {side}: {{leaves: main, at: end, hand: {side}, points: {points}, path: [{{frog: {second}}}, {tail}]}}"
            for side in ("left", "right")
        ),
    ]


def still(draw: Draw) -> list[str]:
    """Switches without points: stubs, and gauges that part for good."""
    hand, tail = draw.side(), f"{{straight: {draw.mm(40, 80)}}}"
    if draw.pick.random() < 0.5:
        draw.two = draw.pick.random() < 0.4
        stub = f"{{stub: {draw.mm(2.3, 2.8)}}}"
        return [
            "routes:",
            f"  main: {{{draw.carried()}path: [straight: {draw.mm(420, 480)}]}}",
            f"  branch: {{leaves: main, at: {draw.mm(60, 90)}, hand: {hand}, points: {stub}, "
            f"path: [{{frog: {draw.number()}}}, {tail}]}}",
        ]
    draw.two = True
    goes, leaves = draw.pick.choice([("[standard]", "[narrow]"), ("[narrow]", "[standard]")])
    return [
        "routes:",
        f"  main: {{{draw.carried()}path: [straight: {draw.mm(80, 100)}]}}",
        f"  onward: {{leaves: main, at: end, gauges: {goes}, path: [straight: {draw.mm(380, 420)}]}}",
        f"  branch: {{leaves: main, at: end, hand: {hand}, gauges: {leaves}, points: fixed, "
        f"path: [{{frog: {draw.number()}}}, {tail}]}}",
    ]


KINDS: tuple[Callable[[Draw], list[str]], ...] = (
    turnout,
    turnout,
    turnout,
    turnout,
    turnout,
    bent,
    crossover,
    diamond,
    diamond,
    slip,
    three_way,
    gauntlet,
    ladder,
    wye,
    still,
)
"""Turnouts a third: they are what is built most, and most of what can differ is theirs."""


def spec(seed: int) -> str:
    """Return the spec of a seed."""
    return Draw(seed).text()


@cache
def job(seed: int) -> Job:
    """Return the spec of a seed worked out (the same object every time: read only). Raises InputProblems."""
    return work_out(read_spec(spec(seed), file="chance.yaml", folder=None))


@cache
def figures(seed: int) -> dict[str, Any]:
    """Return the figures of a seed's spec (the same object every time: read only). Raises InputProblems."""
    return measure(job(seed))
