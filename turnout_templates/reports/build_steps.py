"""A step of building, as it is told at the bench."""

from __future__ import annotations

from msgspec import Struct


class Step(Struct, frozen=True):
    """A step: its `title`, what to `do` and what to `check` in sentences, and the `cautions` before it."""

    title: str
    do: tuple[str, ...]
    check: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
