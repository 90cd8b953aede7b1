"""Turn trackwork and a place into the trackwork round that place alone, so that a detail costs what it shows.

Everything is found by squares of the plane and by blocks of stations: a detail in a yard costs the same as one of a
single turnout.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Generic, TypeVar

from msgspec.structs import replace

from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.bases.base_cuts import BaseCut, BaseRelief, cuts_by_part
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard, GuidingSide, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.pieces.pieces import RailCuts, RailPiece
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import SwitchWork
from turnout_templates.trackwork.rails.rail_parts import Bar, FiledHead, Interval, Stretch
from turnout_templates.trackwork.ties.tie_parts import Tie

_CELL = 60.0
"""Side of the squares of the plane and length of the blocks of stations by which things are found, mm."""
_STEP = 20.0
"""Routes are found in lengths of about this many mm."""
_Thing = TypeVar("_Thing")
Ranges = dict[str, list[Interval]]
"""By route, the stations from and to which it lies near, in order."""


class Surroundings:
    """A trackwork that can be asked for what lies round a place."""

    def __init__(self, work: Trackwork) -> None:
        self.work = work
        widest = max((abs(face.offset) for route in work.layout for face in route.faces), default=0.0)
        self._aside = widest + work.spec.rail.head + _STEP
        self._routes = _ByPlace[tuple[str, float, float, Pose]]()
        for route in work.layout:
            for low, high in _lengths(route.path.length):
                pose = route.path.pose_at((low + high) / 2)
                self._routes.add((route.name, low, high, pose), pose.point)
        self._ties, self._frogs = _ByPlace[Tie](), _ByPlace[Frog]()
        self._switches = _ByPlace[tuple[Switch, SwitchWork]]()
        self._fits: dict[str, list[Fit]] = {}
        for fit in work.fits:
            self._fits.setdefault(fit.frog, []).append(fit)
        self._cuts = cuts_by_part(work.base_cuts)
        self._reliefs: dict[str, list[BaseRelief]] = {}
        for relief in work.reliefs:
            self._reliefs.setdefault(relief.bar, []).append(relief)
        for tie in work.ties:
            self._ties.add(tie, tie.centre)
        for frog in work.frogs:
            self._frogs.add(frog, frog.point)
        for switch, made in work.works():
            self._switches.add((switch, made), switch.filed_tip.point)
        self._bars, self._heads = _ByStation[Bar](), _ByStation[FiledHead]()
        self._wings, self._guards = _ByStation[Wing](), _ByStation[Guard]()
        for bar in work.bars:
            for stretch in bar.stretches:
                self._bars.add(bar, stretch.owner.route, stretch.low, stretch.high)
        for head in work.heads:
            self._heads.add(head, head.stretch.owner.route, head.stretch.low, head.stretch.high)
        for wing in work.wings:
            ends = (*wing.straight, wing.end)
            self._wings.add(wing, wing.beside.route, min(ends), max(ends))
        for guard in work.guards:
            self._guards.add(guard, guard.beside.route, *guard.ends)
        self._joints = _ByPlace[Joint]()
        for joint in work.joints:
            self._joints.add(joint, joint.point)
        self._pieces: dict[str, list[RailPiece]] = {}
        for piece in work.pieces:
            self._pieces.setdefault(piece.bar, []).append(piece)
        self._sides = _ByStation[GuidingSide]()
        for side in work.sides:
            self._sides.add(side, side.beside.route, *side.cut)

    def near(self, centre: Point, reach: float) -> Trackwork:
        """Return the trackwork with what may lie within `reach` mm of `centre`, rails cut off somewhat beyond."""
        ranges = self._ranges(centre, reach)
        trimmed = (_trimmed_bar(bar, ranges) for bar in self._bars.near(ranges))
        bars = tuple(bar for bar in trimmed if bar.stretches)
        heads = (_trimmed_head(head, ranges) for head in self._heads.near(ranges))
        wings, guards = tuple(self._wings.near(ranges)), tuple(self._guards.near(ranges))
        switches = tuple(self._switches.near(centre, reach))
        frogs = tuple(self._frogs.near(centre, reach))
        names = (*(bar.id for bar in bars), *(wing.id for wing in wings), *(guard.id for guard in guards))
        cuts = [cut for name in names for cut in self._cuts.get(name, ())]
        return replace(
            self.work,
            bars=bars,
            heads=tuple(heads),
            wings=wings,
            guards=guards,
            sides=tuple(self._sides.near(ranges)),
            base_cuts=tuple(near for cut in cuts for near in _trimmed_cut(cut, ranges)),
            reliefs=tuple(relief for bar in bars for relief in self._reliefs.get(bar.id, ())),
            ties=tuple(self._ties.near(centre, reach)),
            frogs=frogs,
            fits=tuple(fit for frog in frogs for fit in self._fits.get(frog.id, ())),
            switches=tuple(switch for switch, _ in switches),
            switch_works=tuple(made for _, made in switches),
            rail_cuts=RailCuts(
                pieces=tuple(piece for bar in bars for piece in self._pieces.get(bar.id, ())),
                joints=tuple(self._joints.near(centre, reach)),
            ),
        )

    def _ranges(self, centre: Point, reach: float) -> Ranges:
        """Return the stations of each route whose rails may lie within `reach` of `centre`."""
        ranges: Ranges = {}
        for route, low, high, pose in self._routes.near(centre, reach + self._aside):
            if abs(pose.local(centre)[0]) > reach + _STEP:
                continue
            known = ranges.setdefault(route, [])
            if known and low - known[-1][1] < 1e-6:
                known[-1] = (known[-1][0], high)
            else:
                known.append((low, high))
        return ranges


def _lengths(length: float) -> Iterator[Interval]:
    count = max(1, math.ceil(length / _STEP))
    return ((length * i / count, length * (i + 1) / count) for i in range(count))


def _trimmed_bar(bar: Bar, ranges: Ranges) -> Bar:
    cut = (
        Stretch(stretch.owner, low, high, stretch.way)
        for stretch in bar.stretches
        for low, high in shared((stretch.low, stretch.high), ranges.get(stretch.owner.route, ()))
    )
    return replace(bar, stretches=tuple(cut))


def _trimmed_head(head: FiledHead, ranges: Ranges) -> FiledHead:
    near = ranges.get(head.stretch.owner.route, ())
    return replace(
        head,
        faces=tuple(part for face in head.faces for part in shared(face, near)),
        edges=tuple(part for edge in head.edges for part in shared(edge, near)),
    )


def _trimmed_cut(cut: BaseCut, ranges: Ranges) -> Iterator[BaseCut]:
    near = ranges.get(cut.beside.route, ())
    return (replace(cut, low=low, high=high) for low, high in shared((cut.low, cut.high), near))


def shared(interval: Interval, others: Iterable[Interval]) -> Iterator[Interval]:
    """Yield what an interval shares with each of the others, where that is more than a point."""
    for low, high in others:
        if max(low, interval[0]) < min(high, interval[1]):
            yield (max(low, interval[0]), min(high, interval[1]))


class _ByPlace(Generic[_Thing]):
    """Things found by where they lie."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[tuple[int, Point, _Thing]]] = {}
        self._count = 0

    def add(self, thing: _Thing, at: Point) -> None:
        self._cells.setdefault((math.floor(at[0] / _CELL), math.floor(at[1] / _CELL)), []).append(
            (self._count, at, thing)
        )
        self._count += 1

    def near(self, centre: Point, reach: float) -> Iterator[_Thing]:
        """Yield what lies within `reach` mm of `centre`, in the order in which it was added."""
        x, y = centre
        columns = range(math.floor((x - reach) / _CELL), math.floor((x + reach) / _CELL) + 1)
        rows = range(math.floor((y - reach) / _CELL), math.floor((y + reach) / _CELL) + 1)
        found = [
            (number, thing)
            for column in columns
            for row in rows
            for number, at, thing in self._cells.get((column, row), ())
            if math.dist(at, centre) <= reach
        ]
        return (thing for _, thing in sorted(found, key=lambda pair: pair[0]))


class _ByStation(Generic[_Thing]):
    """Things found by the stations of a route that they lie along."""

    def __init__(self) -> None:
        self._blocks: dict[tuple[str, int], list[int]] = {}
        self._things: list[_Thing] = []

    def add(self, thing: _Thing, route: str, low: float, high: float) -> None:
        if not self._things or self._things[-1] is not thing:
            self._things.append(thing)
        for block in range(math.floor(low / _CELL), math.floor(high / _CELL) + 1):
            self._blocks.setdefault((route, block), []).append(len(self._things) - 1)

    def near(self, ranges: Ranges) -> Iterator[_Thing]:
        """Yield what may lie in any of the ranges, in the order in which it was added."""
        blocks = {
            (route, block)
            for route, spans in ranges.items()
            for low, high in spans
            for block in range(math.floor(low / _CELL), math.floor(high / _CELL) + 1)
        }
        found = {index for block in blocks for index in self._blocks.get(block, ())}
        return (self._things[index] for index in sorted(found))
