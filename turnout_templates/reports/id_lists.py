"""Write a list of ids as it is said."""

from __future__ import annotations

from collections.abc import Iterable


def names(ids: Iterable[str]) -> str:
    """Return ids joined by commas, the last one by "and"."""
    every = list(ids)
    return " and ".join([", ".join(every[:-1]), every[-1]]) if len(every) > 1 else "".join(every)
