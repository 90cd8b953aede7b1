"""Turn values into nodes of a spec's tree that stand where a shorthand stands.

A node copied from the shorthand keeps its place, so that what is found wrong with it is told there; one that is made
here stands at the key of the shorthand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from turnout_templates import units
from turnout_templates.spec.tree import Listing, Node, Scalar, Table

Written = Node | str | Fraction | float | Mapping[str, "Written"] | Sequence["Written"]
"""A length in mm is a Fraction where it is round or exact, and a float where it is computed: that is rounded."""

_DECIMALS = {"mm": 4, "in": 6}
"""Places of a computed length: 1e-4 mm, and 2.5e-5 mm."""
_DEGREES = 8
"""Places of a computed angle: 1e-8 deg is 1e-9 mm of a No. 6 in N."""


class Writer(Struct, frozen=True):
    """Writes nodes that stand at the shorthand `origin`, lengths in `unit`."""

    origin: Table
    unit: units.Unit

    def node(self, value: Written) -> Node:
        """Return `value` as a node, with all that it holds."""
        if isinstance(value, Scalar | Listing | Table):
            return value
        if isinstance(value, str):
            return self._word(value)
        if isinstance(value, Fraction):
            return self._word(units.exact_length(float(value), self.unit))
        if isinstance(value, float):
            return self._word(self._computed(value))
        if isinstance(value, Mapping):
            return self._table({key: self.node(inner) for key, inner in value.items()})
        return Listing(tuple(self.node(item) for item in value), self.origin.place, self.origin.path)

    def copied(self, *keys: str) -> dict[str, Written]:
        """Return those of `keys` that were written in the shorthand, as they were written."""
        return {key: self.origin.entries[key] for key in keys if key in self.origin.entries}

    def free(self, start: Mapping[str, Written] | None = None, *, turned: bool = False) -> dict[str, Written]:
        """Return what a route that leaves no other says first; `turned` where it runs against the main."""
        common: dict[str, Written] = self.copied("common_rail")
        side = self.origin.scalar("common_rail")
        if turned and side is not None:
            word = {"left": "right", "right": "left"}.get(side.text.strip(), side.text)
            common["common_rail"] = Scalar(word, True, side.place, side.path)
        return {**({"start": start} if start else {}), **common}

    def track(self, key: str, length: Fraction) -> dict[str, Written]:
        """Return a piece of the `length`: straight, or as curved as `key` of the shorthand says."""
        curve = self.origin.table(key)
        return {"straight": length} if curve is None else {"curve": {**curve.entries, "length": length}}

    def _word(self, text: str) -> Scalar:
        return Scalar(text, True, self.origin.place, self.origin.path)

    def _computed(self, mm: float) -> str:
        size = mm if self.unit == "mm" else mm / float(units.MM_PER_INCH)
        return f"{trimmed(size, _DECIMALS[self.unit])} {self.unit}"

    def _table(self, entries: dict[str, Node]) -> Table:
        keys = {key: node.place for key, node in entries.items()}
        return Table(entries, keys, self.origin.place, self.origin.path)


def degrees(angle: float) -> str:
    """Return a computed angle of so many degrees as it is written."""
    return f"{trimmed(angle, _DEGREES)} deg"


def trimmed(value: float, places: int) -> str:
    """Return `value` to so many places, without zeros at its end."""
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text
