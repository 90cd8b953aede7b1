"""Turn the eight-sheet two-gauge junction into the time that its templates take, from the shell.

python benchmarks/measure_speed.py [RUNS]
"""

from __future__ import annotations

import os
import platform
import re
import subprocess
import sys
import tempfile

from timing import EIGHT_SHEETS, PROGRAM, time_commands

RECORD = """
import sys
before = set(sys.modules)
from turnout_templates.cli import main
sys.argv = ["turnout-templates", *sys.argv[1:]]
try:
    main()
except SystemExit:
    pass
names = [name for name in sys.modules if name not in before and not name.startswith("__")]
print("import importlib\\nfor name in", repr(names), ":\\n    importlib.import_module(name)", file=sys.stderr)
"""
"""Runs the program and prints, to stderr, a program that imports all that it had imported, in the same order."""


def main() -> None:
    """Print the table."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    print(f"Python {platform.python_version()} on {platform.machine()}, {os.cpu_count()} cores, {runs} runs each\n")
    with tempfile.TemporaryDirectory() as folder:
        arguments = ["draw", str(EIGHT_SHEETS), "--out", folder]
        pdf = [*arguments, "--format", "pdf"]
        recorded = subprocess.run([sys.executable, "-c", RECORD, *pdf], capture_output=True, text=True, check=True)
        sheets = re.search(r"[0-9]+ sheets", recorded.stdout)
        print(f"draws {sheets[0] if sheets else 'an unknown number of sheets'}\n")
        times = time_commands(
            {
                "draw, PDF alone": [*PROGRAM, *pdf],
                "draw, PDF and SVG": [*PROGRAM, *arguments],
                "importing all that drawing a PDF imports": [sys.executable, "-c", recorded.stderr],
                "measure": [*PROGRAM, "measure", EIGHT_SHEETS],
                "--help": [*PROGRAM, "--help"],
                "bare interpreter": [sys.executable, "-c", "pass"],
            },
            runs=runs,
        )
    for row in times.values():
        print(row)
    drawn, imports = times["draw, PDF alone"], times["importing all that drawing a PDF imports"]
    print(f"\ndraw, PDF alone: {drawn.least:.3f} s (bar 1.5 s)")
    print(f"its work beside imports: {drawn.least - imports.least:.3f} s (bar 0.5 s)")
    print(f"--help over a bare interpreter: {times['--help'].least - times['bare interpreter'].least:.3f} s")


if __name__ == "__main__":
    main()
