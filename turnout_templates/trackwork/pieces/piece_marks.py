"""Tell what is filed, relieved, notched and bent on each piece of rail, and how far from its first end that lies."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.metal import metal_of_bars
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import BarRun
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.rails.rail_parts import Interval, RailSide, RouteFace

What = Literal["filed", "planed", "head cut", "guiding side", "base relief", "base filed off", "base notch", "bend"]
_NOTHING = 1e-6
"""What is shorter than this (mm) is not filed."""
_SCRAP_HEADS = 0.25
"""What is told as an outline begins less than so many heads before or after the filing that it is of, and is a scrap if
it is no longer."""


class Mark(Struct, frozen=True):
    """What is done to a piece between `low` and `high` mm from its first end, on which `side`, for what (`at`).

    Measured along the centre of the head. A "bend" has no length and no side but an `angle` in radians, left positive
    as seen from the first end.
    """

    what: What
    low: float
    high: float
    side: RailSide | None
    at: str | None
    angle: float | None = None


def marks_of_pieces(work: Trackwork) -> dict[str, tuple[Mark, ...]]:
    """Return by piece what is done to it, from its first end on."""
    on_bars: dict[str, list[Mark]] = {bar.id: [] for bar in work.bars}
    runs = {bar.id: BarRun(work.layout, bar, work.spec.rail.head) for bar in work.bars}
    for name, mark in _marks(work, runs):
        on_bars[name].append(mark)
    found = {}
    for piece in work.pieces:
        own = [clipped for mark in on_bars[piece.bar] if (clipped := _clipped(mark, piece)) is not None]
        bends = (Mark("bend", at, at, None, None, turn) for at, turn in piece.kinks)
        found[piece.id] = tuple(sorted((*own, *bends), key=lambda mark: (mark.low, mark.high, mark.what)))
    return found


def _clipped(mark: Mark, piece: RailPiece) -> Mark | None:
    low, high = max(mark.low, piece.low) - piece.low, min(mark.high, piece.high) - piece.low
    return Mark(mark.what, low, high, mark.side, mark.at) if high - low > _NOTHING else None


def _marks(work: Trackwork, runs: dict[str, BarRun]) -> Iterator[tuple[str, Mark]]:
    """Yield what is done to bars, measured along each."""
    on: dict[RouteFace, list[BarRun]] = {}
    for run in runs.values():
        for owner in dict.fromkeys(stretch.owner for stretch in run.bar.stretches):
            on.setdefault(owner, []).append(run)

    def along(owner: RouteFace, low: float, high: float, only: str | None = None) -> Iterator[tuple[str, Interval]]:
        for run in on.get(owner, ()):
            if only in (None, run.bar.id):
                yield from ((run.bar.id, part) for part in run.distances(owner, low, high))

    told: dict[str, list[Interval]] = {}
    for fit in work.fits:
        if fit.bar is not None and fit.what in ("point", "spliced", "nose", "mitre"):
            run = runs[fit.bar]
            for part in run.distances(fit.owner, *sorted((fit.end, _whole(run, fit)))):
                told.setdefault(fit.bar, []).append(part)
                yield fit.bar, Mark("filed", *part, "outer", fit.frog)
    for switch, made in work.works():
        for point in made.points:
            for name, part in along(point.point.owner, *_ordered(point.point.tip, point.point.full_head)):
                told.setdefault(name, []).append(part)
                yield name, Mark("planed", *part, "outer", switch.id)
        for notch in () if made.bar is None else made.bar.notches:
            for name, part in along(notch.owner, *notch.stations, only=notch.rail):
                yield name, Mark("base notch", *part, None, switch.id)
    for guiding in work.sides:
        for name, part in along(guiding.owner, *_on_own(work, guiding.beside, guiding.owner, guiding.cut)):
            told.setdefault(name, []).append(part)
            yield name, Mark("guiding side", *part, None, guiding.guarded[0] if guiding.guarded else None)
    relieved = {(relief.bar, relief.beside, relief.low, relief.high) for relief in work.reliefs}
    for relief in work.reliefs:
        for name, part in along(relief.beside, relief.low, relief.high, only=relief.bar):
            yield name, Mark("base relief", *part, "gauge", relief.point_bar)
    for cut in work.base_cuts:
        if (cut.part, cut.beside, cut.low, cut.high) in relieved:
            continue
        for name, part in along(cut.beside, cut.low, cut.high, only=cut.part) if cut.part in runs else ():
            yield name, Mark("base filed off", *part, cut.side, min(cut.against, default=None))
    for name, metal in metal_of_bars(work.heads, work.bars).items():
        for place in metal.filed:
            for _, part in along(place.owner, *place.part.zone, only=name):
                known, scrap = told.get(name, ()), _SCRAP_HEADS * work.spec.rail.head
                is_known = any(low < part[1] + scrap and part[0] < high + scrap for low, high in known)
                if part[1] - part[0] > scrap and not is_known:
                    yield name, Mark("head cut", *part, None, None)


def _whole(run: BarRun, fit: Fit) -> float:
    """Return the station at which a filing ends: where the head is whole, or the end of the bar's face."""
    if fit.whole is not None:
        return fit.whole
    on = [stretch for stretch in run.bar.stretches if stretch.owner == fit.owner]
    return max(stretch.high for stretch in on) if fit.way > 0 else min(stretch.low for stretch in on)


def _ordered(a: float, b: float) -> Interval:
    return (a, b) if a <= b else (b, a)


def _on_own(work: Trackwork, beside: RouteFace, owner: RouteFace, cut: Interval) -> Interval:
    """Return stations of one route as those of another that lie beside them."""
    if beside.route == owner.route:
        return cut
    path, own = work.layout.route(beside.route).path, work.layout.route(owner.route).path
    near = own.length / 2
    ends = sorted(own.foot_near(path.point_at(station, beside.face.offset), near)[0] for station in cut)
    return ends[0], ends[1]
