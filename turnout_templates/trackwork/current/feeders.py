"""Place feeders: one wire for each group of parts that is soldered together, in an open space between two ties.

Soldered together are bent bars, the two halves of a V, and what one stretch of a tie's copper holds. A rail joiner
works loose in time and counts as no feed (common practice, no source): so every piece of rail is soldered to a feeder,
or to what is. The hole lies just outside the base, on the side away from the wheels where there is room; else on the
other side, or below the rail.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import shapely
from msgspec import Struct

from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.spec.model import other
from turnout_templates.trackwork.current.conducting import copper_joins
from turnout_templates.trackwork.current.joined import Joined
from turnout_templates.trackwork.current.lying import Bases, Lying
from turnout_templates.trackwork.current.sections import metal_joints
from turnout_templates.trackwork.current.wiring_parts import CopperTie, Feeder, Section, Unfed
from turnout_templates.trackwork.frogs.knuckles import heel_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import BarRun
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.ties.tie_parts import Tie

HOLE = 1.2
"""Diameter in mm of a feeder's hole, for thin insulated wire (common practice, no source)."""


class Margins(Struct, frozen=True):
    """How far a feeder keeps away, all common practice without a source.

    Its hole stays `clear` mm from ties and from the bases of rails; it lies `ends` widths of the base from the ends of
    its piece, and behind so much of a point as `moving` is of what moves. Holes lie `apart` mm from each other at
    least, middle to middle. It may go `through` a tie.
    """

    clear: float
    ends: float
    moving: float
    apart: float
    through: bool = False


MARGINS = (Margins(0.2, 2.0, 1.0, 8.0), Margins(0.1, 0.5, 0.75, 2.4), Margins(0.1, 0.25, 0.75, 1.8, through=True))
"""What is kept where there is room, where there is none, and where a piece lies on no open space at all: behind three
quarters of a point its rail moves by less than a tenth of its throw, which a thin wire follows."""
_SIDES = (1, -1, 0)
"""Outer side, gauge side, and below the rail, where other rails leave no room on either."""

Places = Mapping[str, Sequence[tuple[int, Lying]]]


def soldered_groups(work: Trackwork, copper: Sequence[CopperTie]) -> Joined:
    """Return which parts are soldered together: by their own metal, or by a stretch of the copper of a tie.

    A throw bar counts for nothing: its joints work.
    """
    joined = Joined()
    for one, other_part in metal_joints(work):
        joined.join(one, other_part)
    ties = {tie.id for tie in work.ties}
    for tie in (tie for tie in copper if tie.tie in ties):
        for one, other_part in copper_joins(tie, soldered=True):
            joined.join(one, other_part)
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
            feeders.append(placer.feeder(f"{_LETTER}{len(feeders) + 1}", section, found))
    return tuple(feeders), tuple(unfed)


_LETTER = "D"
"""Feeders drop through the baseboard; W is a wing, F a frog."""


class _Place(Struct, frozen=True):
    """A place `along` a piece where a feeder fits, its hole on one `side`: +1 the outer, -1 the gauge side, 0 below."""

    piece: RailPiece
    along: float
    side: int
    hole: Point
    through: bool


def _cell(hole: Point) -> tuple[int, int]:
    """Return the square cell of a place, as wide as holes lie apart at most."""
    widest = max(margins.apart for margins in MARGINS)
    return math.floor(hole[0] / widest), math.floor(hole[1] / widest)


_ROUNDING = 1e-6


def _away(tie: Tie, place: Point) -> float:
    """Return how far (mm) a place lies from a tie."""
    along, aside = Pose(*tie.centre, tie.angle).local(place)
    return math.hypot(max(abs(along) - tie.length / 2, 0.0), max(abs(aside) - tie.width / 2, 0.0))


class _Placer:
    """Finds places for feeders."""

    def __init__(self, work: Trackwork, bases: Bases, on_ties: Places) -> None:
        self.work, self.bases, self.on_ties = work, bases, on_ties
        self.rail = work.spec.rail
        self.bars = {bar.id: bar for bar in work.bars}
        self.frogs = {frog.id: frog for frog in work.frogs}
        self.parts = bases.rows[:, 0].astype(int)
        self.moving = self._moving()
        self.holes: dict[tuple[int, int], list[Point]] = {}

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

    def place(self, pieces: Sequence[RailPiece], section: Section) -> _Place | None:
        """Return where a feeder fits on one of some pieces that are soldered together."""
        at_heels = [(piece, at) for piece in pieces for at in self._heels(piece, section)]
        by_length = sorted(pieces, key=lambda piece: -piece.length)
        wanted = [*at_heels, *((piece, piece.length / 2) for piece in by_length)]
        for margins in MARGINS:
            for piece, near in wanted:
                spaces = sorted(self._spaces(piece, margins), key=lambda at: round(abs(at - near), 6))
                for side in _SIDES:
                    for at in spaces:
                        hole = self._hole(piece, at, side * (self.rail.base / 2 + margins.clear + HOLE / 2))
                        own = [piece] if side else pieces
                        if self._is_off_ties(piece, at, hole, margins) and self._is_free(own, hole, margins):
                            return _Place(piece, at, side, hole, margins.through)
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

    def _spaces(self, piece: RailPiece, margins: Margins) -> Iterator[float]:
        """Yield the middles of the open spaces along a piece, clear of its ends, of what moves and of throw bars."""
        apart = margins.ends * self.rail.base
        low = max(apart, margins.moving * self.moving.get((piece.id, 0), 0.0))
        high = piece.length - max(apart, margins.moving * self.moving.get((piece.id, 1), 0.0))
        ties = () if margins.through else self.on_ties.get(piece.id, ())
        spaces = [(before.end, after.begin) for (_, before), (_, after) in pairwise(ties)]
        for i, ((one, _), (two, _)) in enumerate(pairwise(ties)):
            if self.work.ties[one].role == self.work.ties[two].role == "headblock":
                spaces[i] = (0.0, 0.0)
        if ties:
            spaces = [(0.0, ties[0][1].begin), *spaces, (ties[-1][1].end, piece.length)]
        for begin, end in spaces or [(0.0, piece.length)]:
            middle, room = (begin + end) / 2, end - begin
            if low <= middle <= high and room >= HOLE + 2 * margins.clear:
                yield middle

    def _is_free(self, own: Sequence[RailPiece], hole: Point, margins: Margins) -> bool:
        """Tell whether a hole is clear of the bases of all parts but its `own` and of the holes made.

        Beside a rail that is the rail alone; below it, all that are soldered to each other, as both halves of a V.
        """
        if any(math.dist(hole, made) < margins.apart for made in self._holes_near(hole)):
            return False
        reach = HOLE / 2 + margins.clear + self.rail.base / 2
        near = self.bases.tree.query(shapely.Point(hole), predicate="dwithin", distance=reach)
        return set(self.parts[near].tolist()) <= {self.bases.index[piece.id] for piece in own}

    def _is_off_ties(self, piece: RailPiece, at: float, hole: Point, margins: Margins) -> bool:
        """Tell whether a hole is clear of the ties beside it, which may lean on the rail."""
        if margins.through:
            return True
        clear = HOLE / 2 + margins.clear - _ROUNDING
        spacing = self.work.spec.ties.spacing
        near = (self.work.ties[i] for i, on in self.on_ties.get(piece.id, ()) if abs(on.begin - at) < 2 * spacing)
        return all(_away(tie, hole) >= clear for tie in near)

    def _holes_near(self, hole: Point) -> Iterator[Point]:
        """Yield the holes made in the cell of a place and in those about it."""
        i, j = _cell(hole)
        for k in (i - 1, i, i + 1):
            for n in (j - 1, j, j + 1):
                yield from self.holes.get((k, n), ())

    def _hole(self, piece: RailPiece, at: float, out: float) -> Point:
        """Return a place so far (mm) outward of the middle of a piece's head."""
        middle, left = self.bases.pose(piece.id, at)
        return middle.beside(left * out)

    def point_of(self, piece: RailPiece) -> Point:
        """Return a place on a piece."""
        return self._hole(piece, piece.length / 2, 0.0)

    def feeder(self, name: str, section: Section, place: _Place) -> Feeder:
        """Return the feeder at a place found."""
        piece = place.piece
        run = BarRun(self.work.layout, self.bars[piece.bar], self.rail.head)
        owner, station = run.place(piece.low + place.along)
        self.holes.setdefault(_cell(place.hole), []).append(place.hole)
        hands = {1: owner.face.hand, -1: other(owner.face.hand), 0: None}
        tie = self._tie_at(place) if place.through else None
        return Feeder(name, piece.id, section.id, owner, station, hands[place.side], place.hole, tie)

    def _tie_at(self, place: _Place) -> str | None:
        """Return the tie that the hole of a place goes through, None where it goes through none."""
        near = (self.work.ties[i] for i, _ in self.on_ties.get(place.piece.id, ()))
        return next((tie.id for tie in near if _away(tie, place.hole) < HOLE / 2), None)
