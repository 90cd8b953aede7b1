"""Find the pieces of rail that carry a gauge face."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace

_AT_END = 0.01
"""A piece reaches to a station that is this near (mm) to its end."""


class PiecesByFace:
    """All pieces, found by the gauge face that they carry."""

    def __init__(self, pieces: Sequence[RailPiece]) -> None:
        self._on: dict[RouteFace, list[tuple[float, float, str]]] = {}
        for piece in pieces:
            for stretch in piece.stretches:
                self._on.setdefault(stretch.owner, []).append((stretch.low, stretch.high, piece.id))
        for found in self._on.values():
            found.sort()

    def at(self, owner: RouteFace, station: float) -> str | None:
        """Return the id of the piece that carries a face at a station, None where there is none."""
        there = (
            name for low, high, name in self._on.get(owner, ()) if low - _AT_END <= station <= high + _AT_END
        )  # fmt: skip
        return next(there, None)

    def nearest(self, owner: RouteFace, station: float) -> str | None:
        """Return the id of the piece that carries a face at a station or next to it, None where it has no piece."""
        there = self._on.get(owner, ())
        away = ((max(low - station, station - high, 0.0), name) for low, high, name in there)
        return min(away, default=(0.0, None))[1]

    def within(self, owner: RouteFace, along: Interval) -> Iterator[tuple[str, Interval]]:
        """Yield the pieces that carry a face between two stations, each with the stations from which to which."""
        for low, high, name in self._on.get(owner, ()):
            if low < along[1] and high > along[0]:
                yield name, (max(low, along[0]), min(high, along[1]))
