"""Turn the same rails and ties into paper by general tools, and state how long each way takes.

One page is plotted by matplotlib from the figures of `measure`, and cut into Letter sheets by pdfposter, a general
poster tool; beside it `draw` makes its templates, with labels, filed shapes, reports and an assembly map on top.

    pip install matplotlib
    apt-get install pdfposter
    python benchmarks/compare_with_poster.py [RUNS]
"""

from __future__ import annotations

import importlib.util
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from polylines import polylines
from timing import EIGHT_SHEETS, PROGRAM, time_commands

MISSING = "This comparison needs {}. Install it with: {}"


def main() -> None:
    """Print the comparison, or what is missing for it."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    poster = shutil.which("pdfposter")
    if importlib.util.find_spec("matplotlib") is None:
        raise SystemExit(MISSING.format("matplotlib", "pip install matplotlib"))
    if poster is None:
        raise SystemExit(MISSING.format("pdfposter", "apt-get install pdfposter"))
    with tempfile.TemporaryDirectory() as folder:
        lines, page, tiled = (Path(folder) / name for name in ("lines.json", "page.pdf", "tiled.pdf"))
        measured = subprocess.run([*PROGRAM, "measure", EIGHT_SHEETS], capture_output=True, text=True, check=True)
        drawn = polylines(json.loads(measured.stdout))
        lines.write_text(json.dumps([[[p.real, p.imag] for p in line] for line in drawn]))
        print(f"{len(drawn)} polylines, {sum(map(len, drawn))} points, {runs} runs each\n")
        plot = Path(__file__).parent / "plot_one_page.py"
        plotting, tiling, ours = time_commands(
            {
                "matplotlib, one page": [sys.executable, plot, lines, page],
                "pdfposter, cut to Letter": [poster, "-mletter", "-s1", page, tiled],
                "draw": [*PROGRAM, "draw", EIGHT_SHEETS, "--format", "pdf", "--out", folder],
            },
            runs=runs,
        ).values()
        for times in (plotting, tiling, ours):
            print(times)
        theirs = plotting.least + tiling.least
        size = (Path(folder) / EIGHT_SHEETS.with_suffix(".pdf").name).stat().st_size
        print(f"\nplot and cut {theirs:.3f} s, draw {ours.least:.3f} s: draw takes {ours.least / theirs:.2f} of it")
        print(f"files: cut poster {tiled.stat().st_size / 1e6:.2f} MB, templates {size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
