"""How a run ends, for scripts: the exit statuses, and the worst of several."""

from __future__ import annotations

from collections.abc import Iterable
from enum import IntEnum


class Status(IntEnum):
    """What the exit status says."""

    FINE = 0
    FINDINGS = 1
    BAD_INPUT = 2
    NOT_WRITTEN = 3
    FAULT = 4
    NOT_READ = 141
    """The reader of what is printed closed the pipe: as a shell tells of a program that SIGPIPE ended (128 + 13)."""


def worst(statuses: Iterable[Status]) -> Status:
    """Return the gravest of the statuses of several specs."""
    return max(statuses, default=Status.FINE)
