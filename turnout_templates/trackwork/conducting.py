"""Tell which parts conduct into which, join by join: by metal, in joiners, through copper, where points are closed.

Each join names what makes it, so that one between two sections can be told with its place.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces import RailPiece
from turnout_templates.trackwork.sections import joiner_joints, metal_joints
from turnout_templates.trackwork.wiring_parts import CopperTie, OnCopper

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
    yield from _against(work)


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


def _against(work: Trackwork) -> Iterator[Join]:
    """Yield the points and the rails that they lie against, of a rail in pieces the one of their section."""
    section_of = sections_of(work)
    by_bar: dict[str, list[RailPiece]] = {}
    for piece in work.pieces:
        by_bar.setdefault(piece.bar, []).append(piece)
    for contact in work.contacts:
        if contact.kind == "point behind stock rail":
            points = [p for p in by_bar[contact.first] if any(_begins(p, k, contact.at) for k in (0, 1))]
            for point in points:
                stock = by_bar[contact.second]
                alike = [p for p in stock if section_of[p.id] == section_of[point.id]]
                yield Join(point.id, (alike or stock)[0].id, f"the closed point at {contact.at}")


def _begins(piece: RailPiece, k: int, switch: str) -> bool:
    return piece.ends[k].kind == "point of switch" and piece.ends[k].at == switch


def sections_of(work: Trackwork) -> Mapping[str, str]:
    """Return the section of each part."""
    return {part: section.id for section in work.wiring.sections for part in section.parts}
