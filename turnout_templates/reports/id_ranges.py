"""Say many numbered ids in few words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

_ID = re.compile(r"(\D*)(\d+)")
_STEPS = {1: 3, 2: 4}
"""So many ids at least, each so far from the one before, are told by the first and the last."""


def numbered(name: str) -> tuple[str, int]:
    """Return an id as its letters and its number, so that 9 comes before 10; any other name with no number."""
    found = _ID.fullmatch(name)
    return (found[1], int(found[2])) if found else (name, -1)


def ranges_of(ids: Sequence[str]) -> str:
    """Return ids in words, in order: `1 to 14, 20, 22 to 40 (every second)`."""
    return ", ".join(_ranges(sorted(ids, key=numbered)))


def _ranges(names: Sequence[str]) -> Iterator[str]:
    k = 0
    while k < len(names):
        counts = {step: _run(names, k, step) for step in _STEPS}
        step = max(counts, key=lambda step: counts[step])
        if counts[step] >= _STEPS[step]:
            last = names[k + counts[step] - 1]
            yield f"{names[k]} to {last}" + (" (every second)" if step == 2 else "")
            k += counts[step]
        else:
            yield names[k]
            k += 1


def _run(names: Sequence[str], first: int, step: int) -> int:
    """Return how many names from the `first` on are each numbered `step` more than the one before."""
    kind, number = numbered(names[first])
    count = 1
    while first + count < len(names) and numbered(names[first + count]) == (kind, number + count * step):
        count += 1
    return count
