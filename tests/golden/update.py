"""Write what is kept of every sample anew, after a change that was meant: `python tests/golden/update.py`.

Read the diff before you commit it: each line of it is something that somebody will build differently.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from golden.telling import DATA, golden_files


def update() -> None:
    """Write all files and remove those that belong to no sample."""
    DATA.mkdir(exist_ok=True)
    kept = golden_files()
    for path in DATA.glob("*.txt"):
        if path.name not in kept:
            path.unlink()
    for name, text in kept.items():
        (DATA / name).write_text(text, encoding="utf-8", newline="\n")
    print(f"{len(kept)} files in {DATA}")


if __name__ == "__main__":
    update()
