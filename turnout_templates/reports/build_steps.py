"""A step of building, as it is told at the bench."""

from __future__ import annotations

from msgspec import Struct

OPEN = "The meter shows no connection"
"""What a meter shows where two parts are apart, whatever it counts in: "no ohms" might be read as none between them."""


class Step(Struct, frozen=True):
    """A step: its `title`, what to `do` and what to `check` in sentences, and the `cautions` before it."""

    title: str
    do: tuple[str, ...]
    check: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
