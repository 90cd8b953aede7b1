"""Turn a command into the wall times of several runs of it."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
EIGHT_SHEETS = ROOT / "sample_specs" / "13-long-two-gauge-junction.yaml"
PROGRAM = [sys.executable, "-m", "turnout_templates"]


Command = Sequence[str | Path]


@dataclass(frozen=True)
class Times:
    """The runs of one command: wall times, and times that the processors were busy with it, both in seconds."""

    name: str
    wall: list[float]
    busy: list[float]

    @property
    def least(self) -> float:
        """The fastest run: what the machine can do when nothing else wants it."""
        return min(self.wall)

    def __str__(self) -> str:
        """Name, fastest and median run, and the least processor time."""
        median = statistics.median(self.wall)
        return f"{self.name:<42} min {self.least:6.3f} s  median {median:6.3f} s  processor {min(self.busy):6.3f} s"


def time_commands(commands: dict[str, Command], *, runs: int) -> dict[str, Times]:
    """Return the times of `runs` runs of each command, after one that warms the disk and is not counted.

    The commands take turns, so that another program on the machine slows all of them alike. Raises RuntimeError where
    one fails: a benchmark of an error would be a very good one.
    """
    times = {name: Times(name, [], []) for name in commands}
    for run in range(runs + 1):
        for name, command in commands.items():
            wall, busy = _time_once(name, command)
            if run:
                times[name].wall.append(wall)
                times[name].busy.append(busy)
    return times


def _time_once(name: str, command: Command) -> tuple[float, float]:
    before, begin = os.times(), time.perf_counter()
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    wall, after = time.perf_counter() - begin, os.times()
    if done.returncode != 0:
        raise RuntimeError(f"{name} failed with status {done.returncode}:\n{done.stdout}{done.stderr}")
    return wall, after.children_user + after.children_system - before.children_user - before.children_system
