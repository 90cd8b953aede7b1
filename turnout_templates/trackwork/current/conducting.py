"""Tell which parts conduct into which, join by join: by metal, in joiners, through copper; and which points close.

Each join names what makes it, so that one between two sections can be told with its place.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.current.sections import joiner_joints, metal_joints
from turnout_templates.trackwork.current.wiring_parts import CopperTie, OnCopper
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece

_ROUNDING = 1e-6


class Join(Struct, frozen=True):
    """Two parts that conduct into each other; `by` says through what, in words."""

    first: str
    second: str
    by: str


def all_joins(work: Trackwork) -> Iterator[Join]:
    """Yield all joins between parts of `work` as it is gapped."""
    yield from (Join(one, two, "one piece of metal") for one, two in metal_joints(work))
    yield from (Join(one, two, "a rail joiner") for one, two in joiner_joints(work))
    bars = {made.switch for made in work.switch_works if made.bar is not None}
    for tie in work.wiring.copper:
        name = f"the throw bar of {tie.tie}" if tie.tie in bars else f"the copper of tie {tie.tie}"
        yield from (Join(one, two, name) for one, two in copper_joins(tie))


def copper_joins(tie: CopperTie, *, soldered: bool = False) -> Iterator[tuple[str, str]]:
    """Yield neighbours that one stretch of the copper of a tie joins; with `soldered`, only of what is soldered to it.

    A base that lies over a gap bridges it.
    """
    cuts = sorted(_cuts(tie))
    touched: dict[int, str] = {}
    for part in tie.on:
        if part.bared is None and (part.soldered or not soldered):
            for stretch in _stretches(part, cuts):
                if stretch in touched:
                    yield touched[stretch], part.part
                touched[stretch] = part.part


def _cuts(tie: CopperTie) -> Iterator[tuple[float, float, bool]]:
    """Yield from where to where along a tie its copper is gone, and whether the cut is square."""
    for gap in tie.gaps:
        yield gap.along - gap.width / 2, gap.along + gap.width / 2, not gap.leans
    for part in tie.on:
        if part.bared is not None:
            yield part.low - part.bared, part.high + part.bared, True


def _stretches(part: OnCopper, cuts: Sequence[tuple[float, float, bool]]) -> list[int]:
    """Return the stretches between cuts that a part touches; past a leaning cut, the one that its middle lies on."""
    middle = (part.low + part.high) / 2
    lows = [low if square else (low + high) / 2 for low, high, square in cuts]
    highs = [high if square else (low + high) / 2 for low, high, square in cuts]
    ends = [(part.low, part.high) if square else (middle, middle) for _, _, square in cuts]
    found = []
    for i in range(len(cuts) + 1):
        before = i == 0 or ends[i - 1][1] > highs[i - 1] + _ROUNDING
        after = i == len(cuts) or ends[i][0] < lows[i] - _ROUNDING
        if before and after:
            found.append(i)
    return found


class ClosedPoint(Struct, frozen=True):
    """The piece that is a `point` of a `switch` lies against the piece `stock` when it is set for the `route`."""

    point: str
    stock: str
    switch: str
    route: str


def closed_points(work: Trackwork) -> Iterator[ClosedPoint]:
    """Yield the points and the rails that they lie against, of a rail in pieces the one beside the tip."""
    by_bar: dict[str, list[RailPiece]] = {}
    for piece in work.pieces:
        by_bar.setdefault(piece.bar, []).append(piece)
    for contact in work.contacts:
        if contact.kind == "point behind stock rail":
            for point in by_bar[contact.first]:
                for end in point.ends:
                    if end.kind == "point of switch" and end.at == contact.at:
                        owner = end.owner
                        tip = work.layout.route(owner.route).path.point_at(end.station, owner.face.offset)
                        stock = min(by_bar[contact.second], key=lambda piece: _away(work, piece, tip))
                        yield ClosedPoint(point.id, stock.id, contact.at, owner.route)


def _away(work: Trackwork, piece: RailPiece, place: Point) -> float:
    """Return how far (mm) a place lies beyond the ends of a piece, along it."""
    stations = ((nearest_station(work.layout.route(s.owner.route).path, place)[0], s) for s in piece.stretches)
    return min(max(s.low - station, station - s.high, 0.0) for station, s in stations)


def sections_of(work: Trackwork) -> Mapping[str, str]:
    """Return the section of each part."""
    return {part: section.id for section in work.wiring.sections for part in section.parts}
