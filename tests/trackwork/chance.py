"""Draw specs by chance: valid in form, of every kind of route there is, whether or not they can be built."""

from __future__ import annotations

import random
from collections.abc import Sequence

SCALES = (
    ("HO", ("HO", "HOn3"), 1.0),
    ("N", ("N", "6.5 mm"), 0.55),
    ("O", ("O", "On3", "16.5 mm"), 2.0),
    ("1:22.5", ("45 mm", "32 mm"), 2.75),
    ("HO", ("16.5 mm", "12 mm", "9 mm"), 1.0),
    ("1:1", ("56.5 in", "36 in"), 87.0),
)


class Chance:
    """One spec in the making; lengths are those of HO, enlarged to the scale."""

    def __init__(self, seed: int) -> None:
        self.pick = random.Random(seed)
        self.scale, self.widths, self.by = self.pick.choice(SCALES)

    def text(self) -> str:
        """Return the spec."""
        count = self.pick.randint(1, len(self.widths))
        names = [chr(ord("a") + i) for i in range(count)]
        gauges = ", ".join(f"{name}: {width}" for name, width in zip(names, self.widths, strict=False))
        lines = ["spec: 1", "name: by chance", f"scale: {self.scale}", f"gauges: {{{gauges}}}", "routes:"]
        carried: dict[str, list[str]] = {}
        for i in range(self.pick.randint(1, 5)):
            if i == 0 or self.pick.random() < 0.25:
                carried[f"r{i}"] = names if i == 0 else sorted(self.pick.sample(names, self.pick.randint(1, count)))
                route = self.free(carried[f"r{i}"])
            else:
                parent = f"r{self.pick.randrange(i)}"
                some = [name for name in carried[parent] if self.pick.random() < 0.7]
                carried[f"r{i}"] = some or [self.pick.choice(carried[parent])]
                route = self.branch(parent, carried[f"r{i}"])
            lines.append(f"  r{i}: {route}")
        return "\n".join(lines) + "\n"

    def length(self, low: float, high: float) -> str:
        return f"{self.pick.uniform(low, high) * self.by:.3f} mm"

    def side(self) -> str:
        return self.pick.choice(["left", "right"])

    def bend(self) -> str:
        return f"{{radius: {self.length(400, 3000)}, turn: {self.side()}}}"

    def piece(self) -> str:
        kind = self.pick.random()
        if kind < 0.4:
            return f"{{straight: {self.length(20, 500)}}}"
        if kind < 0.75:
            return f"{{curve: {self.bend()[:-1]}, length: {self.length(30, 500)}}}}}"
        ends = [self.bend(), self.pick.choice(["straight", self.bend()])]
        self.pick.shuffle(ends)
        return f"{{easement: {{length: {self.length(60, 400)}, from: {ends[0]}, to: {ends[1]}}}}}"

    def to_frog(self) -> str:
        through = self.pick.choice(["", "", ", through: curved", f", through: {{straight: {self.length(3, 20)}}}"])
        kind = self.pick.random()
        if kind < 0.2:
            return f"{{frog: {self.pick.uniform(4, 9):.3f}, lead: {self.length(100, 300)}{through}}}"
        if kind < 0.5:
            return f"{{frog: {self.pick.uniform(2.5, 9):.3f}{through}}}"
        if kind < 0.65:
            return f"{{frog_ratio: 1:{self.pick.uniform(3, 9):.3f}{through}}}"
        if kind < 0.8:
            return f"{{frog_angle: {self.pick.uniform(5, 16):.3f} deg{through}}}"
        return f"{{curve: {{radius: {self.length(250, 1200)}, turn: {self.side()}, to: frog{through}}}}}"

    def free(self, gauges: Sequence[str]) -> str:
        x, y = self.length(-300, 300), self.length(-100, 100)
        start = f"{{x: {x}, y: {y}, heading: {self.pick.uniform(-180, 180):.3f} deg}}"
        bent = self.pick.random() < 0.3
        pieces = [self.piece() for _ in range(self.pick.randint(1, 3))]
        path = f"{{straight: {self.length(300, 900)}}}" if bent else ", ".join(pieces)
        more = f", bend: {self.bend()}" if bent else ""
        return f"{{gauges: [{', '.join(gauges)}], common_rail: {self.side()}, start: {start}{more}, path: [{path}]}}"

    def branch(self, parent: str, gauges: Sequence[str]) -> str:
        at = "end" if self.pick.random() < 0.25 else self.length(10, 400)
        planed = f"{{length: {self.length(25, 60)}, spread: {self.length(1.5, 2.5)}, tip: {self.length(0.02, 0.3)}}}"
        entry = f"{{entry: {self.pick.uniform(0.3, 3):.3f} deg}}"
        stub = f"{{stub: {self.length(2.2, 3)}}}"
        thrown = f"{{stub: {self.length(2.2, 3)}, length: {self.length(40, 90)}}}"
        points = self.pick.choice(["tangent", "tangent", planed, entry, stub, thrown, "fixed"])
        has_hand = points != "tangent" or self.pick.random() < 0.9
        pieces = [self.piece() for _ in range(self.pick.randint(0, 1))]
        pieces += [self.to_frog()] if has_hand and self.pick.random() < 0.75 else []
        pieces += [self.piece() for _ in range(self.pick.randint(0, 2))]
        hand = f"hand: {self.side()}, " if has_hand else ""
        path = ", ".join(pieces or [self.piece()])
        return f"{{leaves: {parent}, at: {at}, gauges: [{', '.join(gauges)}], points: {points}, {hand}path: [{path}]}}"
