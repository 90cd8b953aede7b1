"""Place feeders: one wire for each group of parts that is soldered together, in an open space between two ties.

Soldered together are bent bars, the two halves of a V, and what one stretch of a tie's copper holds. A rail joiner works
loose in time and counts as no feed (common practice, no source): so every piece of rail is soldered to a feeder, or to
what is. The hole lies just outside the base, on the side away from the wheels where there is room.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely

from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import other
from turnout_templates.trackwork.bar_runs import BarRun
from turnout_templates.trackwork.joined import Joined
from turnout_templates.trackwork.knuckles import heel_of
from turnout_templates.trackwork.lying import Bases, Lying
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces import RailPiece
from turnout_templates.trackwork.sections import metal_joints
from turnout_templates.trackwork.wiring_parts import CopperTie, Feeder, Section, Unfed

HOLE = 1.2
"""Diameter in mm of a feeder's hole, for thin insulated wire (common practice, no source)."""
HOLE_CLEAR = 0.2
"""How far in mm a hole stays from ties and from the bases of rails (common practice, no source)."""
END_BASES = 2.0
"""How far a feeder stays from the end of its piece, in widths of the base: a joiner is that long at most (common
practice, no source)."""
_SIDES = (1, -1)

Places = Mapping[str, Sequence[tuple[int, Lying]]]


def soldered_groups(work: Trackwork, copper: Sequence[CopperTie]) -> Joined:
    """Return which parts are soldered together: by their own metal, or by a stretch of the copper of a tie."""
    joined = Joined()
    for one, other_part in metal_joints(work):
        joined.join(one, other_part)
    for tie in copper:
        cuts = [gap.along for gap in tie.gaps]
        cuts += [(part.low + part.high) / 2 for part in tie.on if part.bared is not None]
        held = [part for part in tie.on if part.soldered]
        for before, after in pairwise(held):
            ends = sorted(((before.low + before.high) / 2, (after.low + after.high) / 2))
            if before.section == after.section and not any(ends[0] < cut < ends[1] for cut in cuts):
                joined.join(before.part, after.part)
    return joined


def place_feeders(
    work: Trackwork, bases: Bases, on_ties: Places, sections: Sequence[Section], copper: Sequence[CopperTie]
) -> tuple[tuple[Feeder, ...], tuple[Unfed, ...]]:
    """Return a feeder for each group of pieces soldered together, section by section, and what finds no room."""
    joined = soldered_groups(work, copper)
    pieces = {piece.id: piece for piece in work.pieces}
    placer = _Placer(work, bases, on_ties)
    feeders: list[Feeder] = []
    unfed: list[Unfed] = []
    for section in sections:
        own = [part for part in section.parts if part in pieces]
        for group in joined.groups(own).values():
            found = placer.place([pieces[name] for name in group], section)
            if found is None:
                unfed.append(Unfed(tuple(group), section.id, placer.point_of(pieces[group[0]])))
                continue
            piece, distance, side = found
            feeders.append(placer.feeder(f"{_LETTER}{len(feeders) + 1}", section, piece, distance, side))
    return tuple(feeders), tuple(unfed)


_LETTER = "D"
"""Feeders drop through the baseboard; W is a wing, F a frog."""


class _Placer:
    """Finds places for feeders."""

    def __init__(self, work: Trackwork, bases: Bases, on_ties: Places) -> None:
        self.work, self.bases, self.on_ties = work, bases, on_ties
        self.rail = work.spec.rail
        self.out = self.rail.base / 2 + HOLE_CLEAR + HOLE / 2
        self.bars = {bar.id: bar for bar in work.bars}
        self.frogs = {frog.id: frog for frog in work.frogs}
        self.parts = bases.rows[:, 0].astype(int)
        self.moving = self._moving()

    def _moving(self) -> dict[tuple[str, int], float]:
        """Return how much of a piece moves at its first (0) or last (1) end."""
        fixes = {(s.id, p.point.owner): p.fix for s, m in self.work.works() for p in m.points}
        swings = {s.id: s.swinging for s in self.work.switches}
        found = {}
        for piece in self.work.pieces:
            for k, end in enumerate(piece.ends):
                if end.kind == "point of switch":
                    found[piece.id, k] = fixes.get((end.at or "", end.owner), 0.0)
                elif end.kind == "butt" and self.bars[piece.bar].role == "swinging rail":
                    found[piece.id, k] = swings.get(end.at or "", 0.0)
        return found

    def place(self, pieces: Sequence[RailPiece], section: Section) -> tuple[RailPiece, float, int] | None:
        """Return a piece of some soldered together, how far along it, and on which side (+1 outer) a feeder fits."""
        at_heels = [(piece, at) for piece in pieces for at in self._heels(piece, section)]
        by_length = sorted(pieces, key=lambda piece: -piece.length)
        for piece, wanted in (*at_heels, *((piece, piece.length / 2) for piece in by_length)):
            spaces = sorted(self._spaces(piece), key=lambda at: round(abs(at - wanted), 6))
            for side in _SIDES:
                free = (at for at in spaces if self._is_free(piece, at, side))
                at = next(free, None)
                if at is not None:
                    return piece, at, side
        return None

    def _heels(self, piece: RailPiece, section: Section) -> Iterator[float]:
        """Yield how far along a piece the heels lie of frogs of the section whose V it is part of."""
        for k, end in enumerate(piece.ends):
            if end.kind in ("point", "spliced") and end.at in section.frogs:
                frog = self.frogs[end.at]
                heel = heel_of(self.work.layout, frog, self.rail.head)
                if heel is not None:
                    station = heel.stations[0 if end.owner == frog.first else 1]
                    behind = abs(station - end.station)
                    yield behind if k == 0 else piece.length - behind

    def _spaces(self, piece: RailPiece) -> Iterator[float]:
        """Yield the middles of the open spaces along a piece, clear of its ends, of what moves and of throw bars."""
        margin = END_BASES * self.rail.base
        low = max(margin, self.moving.get((piece.id, 0), 0.0))
        high = piece.length - max(margin, self.moving.get((piece.id, 1), 0.0))
        ties = self.on_ties.get(piece.id, ())
        for (one, before), (two, after) in pairwise(ties):
            middle, room = (before.end + after.begin) / 2, after.begin - before.end
            headblocks = self.work.ties[one].role == self.work.ties[two].role == "headblock"
            if low <= middle <= high and room >= HOLE + 2 * HOLE_CLEAR and not headblocks:
                yield middle

    def _is_free(self, piece: RailPiece, at: float, side: int) -> bool:
        """Tell whether a hole beside a piece is clear of the bases of all other parts."""
        hole = self.hole(piece, at, side)
        reach = HOLE / 2 + HOLE_CLEAR + self.rail.base / 2
        near = self.bases.tree.query(shapely.Point(hole), predicate="dwithin", distance=reach)
        own = self.bases.index[piece.id]
        return not np.any(self.parts[near] != own)

    def hole(self, piece: RailPiece, at: float, side: int) -> Point:
        """Return the middle of the hole."""
        middle, left = self.bases.pose(piece.id, at)
        return middle.beside(left * side * self.out)

    def point_of(self, piece: RailPiece) -> Point:
        """Return a place on a piece."""
        return self.bases.pose(piece.id, piece.length / 2)[0].point

    def feeder(self, name: str, section: Section, piece: RailPiece, at: float, side: int) -> Feeder:
        """Return the feeder at a place found."""
        run = BarRun(self.work.layout, self.bars[piece.bar], self.rail.head)
        owner, station = run.place(piece.low + at)
        hand = owner.face.hand if side > 0 else other(owner.face.hand)
        return Feeder(name, piece.id, section.id, owner, station, hand, self.hole(piece, at, side))
