"""Turn words and lengths into a phrase that keeps the lengths as values until it is said in somebody's units."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from msgspec import Struct

from turnout_templates.units import Unit, format_at_least, format_clearance_with_mm, format_length_with_mm

Kind = Literal["length", "clearance", "at least"]
_FORMS: dict[Kind, Callable[[float, Unit], str]] = {
    "length": format_length_with_mm,
    "clearance": format_clearance_with_mm,
    "at least": format_at_least,
}


class Size(Struct, frozen=True):
    """A length of `mm` in a phrase. Its `kind` says how finely it is told, and that "at least" is rounded up."""

    mm: float
    kind: Kind = "length"

    def in_units(self, unit: Unit) -> str:
        """Return the length as it is read, in `unit` first."""
        return _FORMS[self.kind](self.mm, unit)


class Phrase(Struct, frozen=True):
    """Part of a sentence: words and lengths in their order."""

    parts: tuple[str | Size, ...]

    def in_units(self, unit: Unit) -> str:
        """Return the phrase as it is read, lengths in `unit` first."""
        return "".join(part if isinstance(part, str) else part.in_units(unit) for part in self.parts)

    def __str__(self) -> str:
        """Return the phrase in mm."""
        return self.in_units("mm")

    @property
    def sizes(self) -> tuple[float, ...]:
        """The lengths in it, in mm."""
        return tuple(part.mm for part in self.parts if isinstance(part, Size))


def phrase(*parts: str | Size) -> Phrase:
    """Return the phrase of `parts`, one after the other: `phrase("only ", Size(19.0), " is straight")`."""
    return Phrase(parts)


def clearance(mm: float) -> Size:
    """Return a small length, to be told to a hundredth of a mm or a thousandth of an inch."""
    return Size(mm, "clearance")


def at_least(mm: float) -> Size:
    """Return a length that something must have at least, to be told rounded up."""
    return Size(mm, "at least")
