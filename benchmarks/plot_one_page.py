"""Turn polylines (JSON, mm) into one page at full size with matplotlib: `plot_one_page.py LINES.json PAGE.pdf`."""

from __future__ import annotations

import json
import sys
from pathlib import Path


def main() -> None:
    """Draw the page."""
    import matplotlib as mpl

    mpl.use("pdf")
    from matplotlib import pyplot as plt
    from matplotlib.collections import LineCollection

    lines = json.loads(Path(sys.argv[1]).read_text())
    xs = [x for line in lines for x, _ in line]
    ys = [y for line in lines for _, y in line]
    wide, high = max(xs) - min(xs) + 20, max(ys) - min(ys) + 20
    figure = plt.figure(figsize=(wide / 25.4, high / 25.4))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(min(xs) - 10, max(xs) + 10)
    axes.set_ylim(min(ys) - 10, max(ys) + 10)
    axes.add_collection(LineCollection(lines, colors="black", linewidths=0.4))
    figure.savefig(sys.argv[2])


if __name__ == "__main__":
    main()
