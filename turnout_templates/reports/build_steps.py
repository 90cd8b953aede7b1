"""A step of building, as it is told at the bench."""

from __future__ import annotations

from dataclasses import dataclass

OPEN = "The meter shows no connection"
"""What a meter shows where two parts are apart, whatever it counts in: "no ohms" might be read as none between them."""


@dataclass(frozen=True, slots=True)
class Step:
    """A step: its `title`, what to `do` and what to `check` in sentences, and the `cautions` before it."""

    title: str
    do: tuple[str, ...]
    check: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
