"""What is cut from lengths of rail and strip as they are bought, as frozen values."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

Material = Literal["rail", "flat strip", "copper-clad", "wood"]
What = Literal["rail", "guard", "wing", "throw bar", "headblock", "tie"]


class Supply(Struct, frozen=True):
    """Rail or strip as it is bought, in lengths of `length` mm: `width` and `height` of its section in mm.

    The width of rail is that of its base, and `name` is what the rail is called, empty for strip.
    """

    material: Material
    name: str
    width: float
    height: float
    length: float


class CutPart(Struct, frozen=True):
    """A part that is cut in one: `ids` are what it becomes, several where they are one bent bar.

    It is `length` mm long when it is done; `filing` mm more are left on at its filed ends. `note` says what else is
    done to it.
    """

    what: What
    ids: tuple[str, ...]
    supply: Supply
    length: float
    filing: float = 0.0
    note: str = ""

    @property
    def cut(self) -> float:
        """The length to cut, in mm."""
        return self.length + self.filing


class CutLength(Struct, frozen=True):
    """A length of a `supply`, the `number`th of its material, and the `parts` cut from it in their order.

    `kerf` is what each cut takes and `offcut` what is left over, both in mm.
    """

    supply: Supply
    number: int
    parts: tuple[CutPart, ...]
    kerf: float
    offcut: float

    @property
    def label(self) -> str:
        """What it is called: "rail 1", "wood 12"."""
        return f"{self.supply.material} {self.number}"


class CutList(Struct, frozen=True):
    """All that is to be cut: the `lengths` to buy, and what is longer than them and has to be bought `alone`.

    `filed_end` is what is left on a filed end, in mm, and `kerf` what a cut takes.
    """

    lengths: tuple[CutLength, ...]
    alone: tuple[CutPart, ...]
    filed_end: float
    kerf: float

    @property
    def parts(self) -> tuple[CutPart, ...]:
        """All parts."""
        return (*(part for length in self.lengths for part in length.parts), *self.alone)
