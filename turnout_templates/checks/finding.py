"""What a check has to say: a value, not an exception."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from turnout_templates.checks.phrase import Phrase
from turnout_templates.geometry.pose import Point
from turnout_templates.units import Unit


class Finding(Struct, frozen=True):
    """One thing that the builder must know before cutting rail.

    `rule` names the check; `level` is "error" where wheels will not pass as drawn and "warning" where they may or where
    care is needed; `where` names the place in words and `at` on the drawing; `measured` and `limit` keep
    their lengths as values; `source` names the document of the limit, or says that there is none; `remedy` says what to
    do.
    """

    rule: str
    level: Literal["error", "warning"]
    where: str
    at: Point
    measured: Phrase
    limit: Phrase
    source: str
    remedy: Phrase

    def sentence(self, unit: Unit) -> str:
        """Return the finding as people read it, lengths in `unit` first."""
        measured, limit, remedy = (said.in_units(unit) for said in (self.measured, self.limit, self.remedy))
        return f"{self.where}: {measured}; {limit}. {remedy}"
