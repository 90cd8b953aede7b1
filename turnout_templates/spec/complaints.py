"""Collect what a spec cannot mean, each with the place that says it."""

from __future__ import annotations

from msgspec import Struct, field

from turnout_templates.errors import KeyPath


class Complaints(Struct):
    """What cannot be meant, by key path: (key path, sentence, remedy)."""

    found: list[tuple[KeyPath, str, str]] = field(default_factory=list)

    def add(self, path: KeyPath, sentence: str, remedy: str = "") -> None:
        """Note one."""
        self.found.append((path, sentence, remedy))
