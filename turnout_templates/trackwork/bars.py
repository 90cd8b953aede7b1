"""Cut rails into bars: the unbroken pieces that lie between frogs, each named for what it does."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal

from turnout_templates.trackwork.model import Bar, FiledHead, Frog, Rail, RouteFace, Stretch

Role = Literal["stock rail", "point and closure rail", "closure rail", "frog rail", "running rail"]
_JOINS = 1e-4
"""Stations (mm) within which one stretch of face goes on where another ended."""


def cut_bars(rails: tuple[Rail, ...], heads: tuple[FiledHead, ...], frogs: tuple[Frog, ...]) -> tuple[Bar, ...]:
    """Return the bars of all rails in the order of the rails, ids R1, R2a, R2b ... where a rail falls into several."""
    outside = {owner for rail in rails if rail.point for owner in rail.point.outside}
    bars = []
    for rail in rails:
        pieces = list(_pieces([head for head in heads if head.rail == rail.id]))
        for i, piece in enumerate(pieces):
            letter = chr(ord("a") + i) if 1 < len(pieces) <= 26 else f".{i + 1}" if len(pieces) > 1 else ""
            bars.append(Bar(rail.id + letter, _role(rail, i, piece, frogs, outside), tuple(piece)))
    return tuple(bars)


def _pieces(heads: Iterable[FiledHead]) -> Iterator[list[Stretch]]:
    """Yield the stretches of gauge face that hang together."""
    piece: list[Stretch] = []
    open_end = False
    for head in heads:
        for low, high in head.faces:
            goes_on = open_end and abs(low - head.stretch.low) < _JOINS
            if piece and not goes_on:
                yield piece
                piece = []
            piece.append(Stretch(head.stretch.owner, low, high))
            open_end = abs(high - head.stretch.high) < _JOINS
        if not head.faces:
            open_end = False
    if piece:
        yield piece


def _role(rail: Rail, index: int, piece: list[Stretch], frogs: tuple[Frog, ...], outside: set[RouteFace]) -> Role:
    if rail.point and index == 0:
        return "point and closure rail"
    ends = {(stretch.owner, round(end, 3)) for stretch in piece for end in (stretch.low, stretch.high)}
    for frog in frogs:
        stations = frog.practical_stations
        if stations and {(frog.first, round(stations[0], 3)), (frog.second, round(stations[1], 3))} & ends:
            return "frog rail"
    if any(stretch.owner in outside for stretch in piece):
        return "stock rail"
    noses = {
        (o, round(s, 3)) for f in frogs for o, s in zip((f.first, f.second), f.noses, strict=True) if s is not None
    }
    return "closure rail" if noses & ends else "running rail"
