"""Turn what lies on copper-clad ties and throw bars into the gaps that keep the sections on them apart.

Between two neighbours of different sections the copper is cut midway in the room between their bases, square across the
tie; where rails lean on it so that no square cut has room, along the line that keeps furthest from both. Where there is
no room at all, one of the two is left unsoldered and the copper is taken off under it, if other ties hold it; else it
is cut as narrow and as near as it can be.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import shapely
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.current.base_regions import BaseRegions
from turnout_templates.trackwork.current.lying import Lying
from turnout_templates.trackwork.current.moved import Moved
from turnout_templates.trackwork.current.wiring_parts import CopperTie, Crowded, OnCopper, TieGap
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import Spot, ThrowBar
from turnout_templates.trackwork.rails.rail_parts import RouteFace
from turnout_templates.trackwork.ties.tie_parts import Tie

GAP = 0.6
"""Width in mm of a gap in copper where there is room: what a razor saw or a thin cutting disc leaves, whatever the
scale (common practice, no source)."""
LEAST_GAP = 0.25
"""The narrowest in mm, sawn with a jeweller's saw or scraped with a knife (common practice, no source)."""
CLEAR = 0.15
"""How far in mm a gap stays from every base, so that solder does not run into it (common practice, no source)."""
TIGHT = 0.04
"""The same in mm where there is room for no more and neither rail can be left unsoldered: told as a finding."""
_CORNER = 0.05
"""A base that reaches over less of a tie than this (mm) touches it with a corner, which nobody can solder."""
_HELD = 2
"""A part may be left unsoldered on a tie where so many others hold it (common practice, no source)."""
_STEEPEST = math.radians(50)
"""A cut leans no further than this from square: the lean of rails on the ties that they share."""


def gap_copper(
    work: Trackwork, on_ties: Sequence[Sequence[Lying]], section_of: Mapping[str, str]
) -> tuple[CopperTie, ...]:
    """Return the copper-clad ties, then the throw bars, with what lies on each and its gaps; `on_ties` tie by tie."""
    moved, bases = Moved(work), BaseRegions(work)
    found = []
    for tie, lying in zip(work.ties, on_ties, strict=True):
        if tie.material == "copper-clad":
            known = [part for part in lying if part.part in section_of and part.high - part.low > _CORNER]
            found.append((tie, [moved.on(tie, part, section_of[part.part]) for part in known]))
    holding = _Holding(work)
    for _, on in found:
        for part in on:
            holding.count(part.part, part.soldered)
    guards = {guard.id for guard in work.guards}
    copper = [_Gapping(tie, on, bases, holding, guards).gapped() for tie, on in found]
    bars = [_throw_bar(work, switch, made.bar, section_of) for switch, made in work.works() if made.bar is not None]
    return (*copper, *bars)


def first_end(tie: Tie) -> Pose:
    """Return the first end of a tie, which is its left end as seen along its route, heading along it."""
    return Pose(*tie.centre, tie.angle).ahead(tie.length / 2).turned(math.pi)


class _Holding:
    """How many ties hold each part; what is one bent bar is held as one."""

    def __init__(self, work: Trackwork) -> None:
        self._first: dict[str, str] = {}
        for piece in work.pieces:
            first = min(piece.id, *piece.bent_with) if piece.bent_with else piece.id
            self._first.update(dict.fromkeys((piece.id, *piece.bent_with), first))
        self._ties: dict[str, int] = {}

    def count(self, part: str, ties: int) -> None:
        """Add to the ties that hold a part."""
        first = self._first.get(part, part)
        self._ties[first] = self._ties.get(first, 0) + ties

    def ties(self, part: str) -> int:
        """Return how many ties hold a part."""
        return self._ties[self._first.get(part, part)]


class _Gapping:
    """Gaps one tie."""

    def __init__(
        self,
        tie: Tie,
        on: Sequence[OnCopper],
        bases: BaseRegions,
        holding: _Holding,
        guards: set[str],
    ) -> None:
        self.tie, self.bases, self.holding, self.guards = tie, bases, holding, guards
        self.end = first_end(tie)
        self.on = {part.part: part for part in sorted(on, key=lambda part: part.low)}

    def gapped(self) -> CopperTie:
        """Return the tie with its gaps, and with what is bared where no gap has room."""
        bared: list[Crowded] = []
        gaps, crowded = self._cut()
        while mended := next((self._bare(pair) for pair in crowded if self._may_be_bared(pair)), None):
            bared.append(mended)
            gaps, crowded = self._cut()
        if crowded:
            gaps, crowded = self._cut(tight=True)
        return CopperTie(self.tie.id, self.tie.length, tuple(self.on.values()), gaps, (*bared, *crowded))

    def _cut(self, *, tight: bool = False) -> tuple[tuple[TieGap, ...], list[Crowded]]:
        """Return gaps between all neighbours of two sections, and the pairs that leave them too little room.

        Copper that is taken off between two parts them as well. Where it may be `tight`, those are cut as well if they
        can be.
        """
        gaps, crowded = [], []
        bared = [part for part in self.on.values() if part.bared is not None]
        before: OnCopper | None = None
        for lying in [part for part in self.on.values() if part.bared is None]:
            if before is not None and lying.section != before.section and not _parted_by(bared, before, lying):
                gap = self._gap(before, lying, CLEAR)
                if gap is None:
                    gap = self._gap(before, lying, TIGHT) if tight else None
                    crowded.append(replace(self._crowded(before, lying), cut=gap is not None))
                gaps += [gap] if gap is not None else []
            if before is None or lying.high > before.high or lying.section != before.section:
                before = lying
        return tuple(gaps), crowded

    def _gap(self, before: OnCopper, after: OnCopper, clear: float) -> TieGap | None:
        """Return the gap between two parts that keeps `clear` mm from both, None where it has no room."""
        return self._square(before, after, clear) or self._leaning(before, after, clear)

    def _square(self, before: OnCopper, after: OnCopper, clear: float) -> TieGap | None:
        """Return the gap square across the tie midway between two parts, None where there is too little room."""
        width = _width(after.low - before.high, clear)
        if width is None:
            return None
        middle = (before.high + after.low) / 2
        square = self.tie.angle + math.pi / 2
        return TieGap(middle, width, self.end.ahead(middle).point, square, tight=clear < CLEAR)

    def _leaning(self, before: OnCopper, after: OnCopper, clear: float) -> TieGap | None:
        """Return the gap square to the shortest way between two bases that do not move, None where it has no room."""
        if not (before.soldered and after.soldered):
            return None
        one, two = (self.region(part.part) for part in (before, after))
        if one.is_empty or two.is_empty:
            return None
        places: list[Point] = [tuple(xy) for xy in shapely.get_coordinates(shapely.shortest_line(one, two)).tolist()]
        room = math.dist(*places)
        width = _width(room, clear)
        if width is None:
            return None
        (x, y), (u, v) = places
        way = Pose((x + u) / 2, (y + v) / 2, math.atan2(v - y, u - x) + math.pi / 2)
        square = self.tie.angle + math.pi / 2
        if math.cos(way.heading - square) < 0.0:
            way = way.turned(math.pi)
        lean = math.remainder(way.heading - square, math.tau)
        if abs(lean) > _STEEPEST:
            return None
        local = self.end.local(way.point)
        place = way.ahead(local[1] / math.cos(lean))
        gap = TieGap(self.end.local(place.point)[0], width, place.point, way.heading, leans=True, tight=clear < CLEAR)
        half = self.tie.width / 2 / math.cos(lean) + width
        cut = shapely.LineString([place.ahead(-half).point, place.ahead(half).point])
        least = width / 2 + clear - _ROUNDING
        clear_of_all = all(self._is_clear(cut, part, least) for part in self.on.values())
        return gap if clear_of_all and self._parts_all(gap, after) else None

    def _parts_all(self, gap: TieGap, after: OnCopper) -> bool:
        """Tell whether a leaning cut has on its far side `after` and all that comes after it, and nothing else.

        Near the crossing of steep tracks the tip of another rail may lie beside both, on the wrong side of the cut.
        """
        beyond = False
        for part in self.on.values():
            beyond = beyond or part.part == after.part
            if part.bared is None and ((part.low + part.high) / 2 > gap.along) != beyond:
                return False
        return True

    def _is_clear(self, cut: shapely.LineString, part: OnCopper, least: float) -> bool:
        """Tell whether a leaning cut keeps `least` mm from a part, of one that moves from all that it reaches over."""
        if part.bared is not None:
            return True
        if part.soldered:
            return bool(cut.distance(self.region(part.part)) >= least)
        along = [self.end.local((x, y))[0] for x, y in cut.coords]
        return max(along) <= part.low - least or min(along) >= part.high + least

    def region(self, part: str) -> BaseGeometry:
        """Return where the base of a part lies over the tie."""
        return self.bases.over(self.tie, part)

    def _crowded(self, before: OnCopper, after: OnCopper) -> Crowded:
        room = after.low - before.high
        if before.soldered and after.soldered:
            room = self.region(before.part).distance(self.region(after.part))
        place = self.end.ahead((after.low + before.high) / 2).point
        return Crowded((before.part, after.part), room, LEAST_GAP + 2 * CLEAR, place)

    def _may_be_bared(self, pair: Crowded) -> bool:
        slides = any(not self.on[part].soldered for part in pair.parts)
        return (slides or pair.room >= -_ROUNDING) and any(self._can_do_without(part) for part in pair.parts)

    def _can_do_without(self, part: str) -> bool:
        """Tell whether a part need not touch the copper of this tie: it slides, or so many other ties hold it."""
        return not self.on[part].soldered or self.holding.ties(part) > _HELD - (part in self.guards)

    def _bare(self, pair: Crowded) -> Crowded:
        """Take the copper off under one of two parts: one that slides, a guard, else the one that more ties hold.

        What of its section lies on nothing but what is taken off goes with it.
        """
        parts = [part for part in pair.parts if self._can_do_without(part)]
        part = max(parts, key=lambda name: (not self.on[name].soldered, name in self.guards, self.holding.ties(name)))
        low, high = self.on[part].low - CLEAR, self.on[part].high + CLEAR
        for name, lying in tuple(self.on.items()):
            if name == part or (lying.section == self.on[part].section and low <= lying.low and lying.high <= high):
                self.holding.count(name, -lying.soldered)
                self.on[name] = replace(lying, soldered=False, bared=CLEAR)
        return replace(pair, bared=part)


_ROUNDING = 1e-6


def _parted_by(bared: Sequence[OnCopper], before: OnCopper, after: OnCopper) -> bool:
    """Tell whether copper that is taken off lies between two parts."""
    return any(before.high <= part.high and part.low <= after.low for part in bared)


def _width(room: float, clear: float) -> float | None:
    """Return how wide a gap is in a `room` (mm) of which it leaves `clear` on either side, None where it has no room.

    Where that is less than gaps should, it is as narrow as it can be, since what is left keeps the solder out.
    """
    width = min(GAP if clear >= CLEAR else LEAST_GAP, room - 2 * clear)
    return None if width < LEAST_GAP else width


def _throw_bar(work: Trackwork, switch: Switch, bar: ThrowBar, section_of: Mapping[str, str]) -> CopperTie:
    """Return a throw bar, which is gapped as it is made, with what is soldered to it, in the middle of its travel."""
    end = bar.pose.shifted(bar.far).turned(bar.side * math.pi / 2)
    tips = {point.owner: point.tip for point in switch.points}
    on = []
    for spot in bar.spots:
        station = work.layout.route(spot.owner.route).path.foot_near(spot.place, tips[spot.owner])[0]
        low, high = _base_at(work, spot, station, end.heading)
        piece = _piece_at(work, spot.owner, station)
        on.append(OnCopper(piece, section_of[piece], low, high, soldered=True))
    gaps = tuple(TieGap(along, GAP, end.ahead(along).point, bar.pose.heading) for along in bar.gaps)
    return CopperTie(switch.id, bar.length, tuple(sorted(on, key=lambda lying: lying.low)), gaps)


def _piece_at(work: Trackwork, owner: RouteFace, station: float) -> str:
    """Return the piece that lies on a face at a station."""
    misses = (
        (max(s.low - station, station - s.high, 0.0), piece.id)
        for piece in work.pieces
        for s in piece.stretches
        if s.owner == owner
    )
    return min(misses)[1]


def _base_at(work: Trackwork, spot: Spot, station: float, heading: float) -> tuple[float, float]:
    """Return from where to where the base of a moved rail lies over its throw bar, mm from the bar's far end.

    The bar runs from there along `heading`; the rail is soldered at the edge of its base on one side.
    """
    outward = work.layout.route(spot.owner.route).path.heading_at(station) + spot.owner.face.outward * math.pi / 2
    onward = math.cos(outward - heading) > 0.0
    base = work.spec.rail.base
    return (spot.along, spot.along + base) if onward == (spot.side == "gauge") else (spot.along - base, spot.along)
