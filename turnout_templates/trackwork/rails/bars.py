"""Cut rails into bars: the unbroken pieces that lie between frogs, each named for what it does."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Literal

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.frogs.fits import Fitting
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.rails.rail_parts import Bar, FiledHead, Rail, RouteFace, Stretch

Role = Literal[
    "stock rail", "point and closure rail", "point rail", "closure rail", "frog rail", "running rail", "swinging rail"
]
SLIDING: tuple[Role, ...] = ("point and closure rail", "point rail", "swinging rail")
"""Bars of which at least a part slides on its ties, where no base holds them."""
_JOINS = 1e-4
"""Stations (mm) within which one stretch of face goes on where another ended."""


def cut_bars(
    layout: Layout,
    rails: tuple[Rail, ...],
    heads: tuple[FiledHead, ...],
    frogs: tuple[Frog, ...],
    joints: Mapping[str, Fitting],
) -> tuple[Bar, ...]:
    """Return the bars of all rails in the order of the rails, ids R1, R2a, R2b ... where a rail falls into several.

    `joints` tells by frog where a bar begins that is spliced to the point.
    """
    by_rail: dict[str, list[FiledHead]] = {}
    for head in heads:
        by_rail.setdefault(head.rail, []).append(head)
    ends = _Ends(layout, rails, frogs, joints)
    bars = []
    for rail in rails:
        pieces = list(_pieces(by_rail.get(rail.id, [])))
        for i, piece in enumerate(pieces):
            letter = chr(ord("a") + i) if 1 < len(pieces) <= 26 else f".{i + 1}" if len(pieces) > 1 else ""
            role = ends.role(rail, piece, begins=i == 0, ends_it=i == len(pieces) - 1)
            bars.append(Bar(rail.id + letter, role, tuple(piece)))
    return tuple(bars)


class _Ends:
    """Where rails end for a frog, and where points lie behind them: what tells the role of a bar."""

    def __init__(
        self, layout: Layout, rails: tuple[Rail, ...], frogs: tuple[Frog, ...], joints: Mapping[str, Fitting]
    ) -> None:
        self.beside: dict[RouteFace, list[float]] = {}
        for point in (point for rail in rails for point in rail.points):
            tip = layout.route(point.owner.route).path.point_at(point.tip, point.owner.face.offset)
            for owner in () if point.begins == "butt" else point.outside:
                station = nearest_station(layout.route(owner.route).path, tip)[0]
                self.beside.setdefault(owner, []).append(station)
        begun = [point for rail in rails for point in rail.points]
        self.toes = {(point.owner, round(point.tip, 3)) for point in begun if point.begins == "butt"}
        self.points: set[tuple[RouteFace, float]] = set()
        self.noses: set[tuple[RouteFace, float]] = set()
        for frog in frogs:
            owners = (frog.first, frog.second)
            fits = joints[frog.id].fits
            self.points |= {(fit.owner, round(fit.end, 3)) for fit in fits if fit.what in ("point", "spliced")}
            self.noses |= {(o, round(s, 3)) for o, s in zip(owners, frog.noses, strict=True) if s is not None}

    def role(self, rail: Rail, piece: list[Stretch], *, begins: bool, ends_it: bool) -> Role:
        """Return the role of a bar that begins its rail, or ends it."""
        ends = {(stretch.owner, round(end, 3)) for stretch in piece for end in (stretch.low, stretch.high)}
        moving = [p for p in (begins and rail.first, ends_it and rail.last) if p and p.begins == "point"]
        if moving:
            return "point rail" if all(p.hinge is not None for p in moving) else "point and closure rail"
        own = {(point.owner, round(point.tip, 3)) for point in rail.points}
        if self.toes & (ends - own):
            return "swinging rail"
        if self.points & ends:
            return "frog rail"
        if any(s.low <= station <= s.high for s in piece for station in self.beside.get(s.owner, [])):
            return "stock rail"
        hinged = {(p.owner, round(p.hinge, 3)) for p in rail.points if p.hinge is not None}
        return "closure rail" if (self.noses | hinged) & ends else "running rail"


def _pieces(heads: Iterable[FiledHead]) -> Iterator[list[Stretch]]:
    """Yield the stretches of gauge face that hang together."""
    piece: list[Stretch] = []
    open_end = False
    for head in heads:
        way = head.stretch.way
        for low, high in head.faces if way > 0 else reversed(head.faces):
            begins = abs(low - head.stretch.low) if way > 0 else abs(high - head.stretch.high)
            if piece and not (open_end and begins < _JOINS):
                yield piece
                piece = []
            piece.append(Stretch(head.stretch.owner, low, high, way))
            open_end = (abs(high - head.stretch.high) if way > 0 else abs(low - head.stretch.low)) < _JOINS
        if not head.faces:
            open_end = False
    if piece:
        yield piece
