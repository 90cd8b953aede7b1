"""What a check has to say: a value, not an exception."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from turnout_templates.geometry.pose import Point


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the builder must know before cutting rail.

    `rule` names the check; `level` is "error" where wheels will not pass as drawn and "warning" where they may or where
    care is needed; `where` names the place in words and `at` on the drawing; `measured` and `limit` are given with
    their unit; `source` names the document of the limit, or says that there is none; `remedy` says what to do.
    """

    rule: str
    level: Literal["error", "warning"]
    where: str
    at: Point
    measured: str
    limit: str
    source: str
    remedy: str

    @property
    def sentence(self) -> str:
        """The finding as people read it."""
        return f"{self.where}: {self.measured}; {self.limit}. {self.remedy}"
