"""Write lists of ids short enough to be read at the bench."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

_WORTH = 4
"""So many numbers evenly apart are told as a run."""


def numbers(ids: Iterable[str]) -> str:
    """Return ids that are whole numbers in order, runs shortened: `1 to 21`, by twos `23, 25 … 41`."""
    return ", ".join(_runs(sorted(int(name) for name in ids)))


def _runs(values: list[int]) -> Iterator[str]:
    start = 0
    while start < len(values):
        end = start + 1
        step = values[end] - values[start] if end < len(values) else 0
        while end < len(values) and values[end] - values[end - 1] == step:
            end += 1
        run = values[start:end]
        if len(run) < _WORTH:
            yield str(values[start])
            start += 1
        else:
            yield f"{run[0]} to {run[-1]}" if step == 1 else f"{run[0]}, {run[1]} … {run[-1]}"
            start = end


def names(ids: Iterable[str]) -> str:
    """Return ids joined by commas, the last one by "and"."""
    every = list(ids)
    return " and ".join([", ".join(every[:-1]), every[-1]]) if len(every) > 1 else "".join(every)
