"""Rebuild what is left of the bases from the cuts alone, with shapely on places sampled finely.

Nothing of the program's own regions of bases is used: only what a hand-layer is told (bars, wings, guards, filed heads,
cuts) and the section of the rail.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from trackwork.building import face_line, left_of, strip

from turnout_templates.trackwork.bases.base_cuts import BaseCut
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.guides.guides import FLARE_LENGTH, FLARE_OPENING
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Bar, Interval, RouteFace, Stretch


@dataclass(frozen=True)
class BaseMetal:
    """What is left of a part: its `core`, which is the head as filed, and the `flanges` that reach out beside it."""

    part: str
    core: BaseGeometry
    flanges: BaseGeometry
    courses: tuple[tuple[RouteFace, float, float], ...]


def base_metal(work: Trackwork, *, cut: bool = True) -> list[BaseMetal]:
    """Return what is left of every part of some trackwork; all of it as rolled where it is not to be `cut`."""
    cuts: dict[str, list[BaseCut]] = {}
    for one in work.base_cuts if cut else ():
        cuts.setdefault(one.part, []).append(one)
    bars = [_bar(work, bar, cuts.get(bar.id, [])) for bar in work.bars]
    guides = [_guide(work, guide, cuts.get(guide.id, [])) for guide in (*work.wings, *work.guards)]
    return [*bars, *guides]


def over(work: Trackwork) -> float:
    """Return how far a base reaches beyond its head on either side (mm)."""
    return (work.spec.rail.base - work.spec.rail.head) / 2


def _uncut(owner: RouteFace, side: str, low: float, high: float, cuts: list[BaseCut]) -> Iterator[Interval]:
    gone = sorted((c.low, c.high) for c in cuts if c.side == side and c.beside == owner)
    for begin, end in gone:
        if begin - low > 1e-9:
            yield low, min(begin, high)
        low = max(low, end)
    if high - low > 1e-9:
        yield low, high


def _bar(work: Trackwork, bar: Bar, cuts: list[BaseCut]) -> BaseMetal:
    head, reach = work.spec.rail.head, over(work)
    cores, flanges = [], []
    for stretch in bar.stretches:
        owner, out = stretch.owner, stretch.owner.face.outward
        core = _filed(work, stretch)
        for low, high in _uncut(owner, "gauge", stretch.low, stretch.high, cuts):
            flanges.append(strip(work, owner, -out * reach, 0.0, low, high))
        for low, high in _uncut(owner, "outer", stretch.low, stretch.high, cuts):
            flanges.append(strip(work, owner, 0.0, out * (head + reach), low, high).difference(core))
        cores.append(core)
    courses = tuple((s.owner, s.low, s.high) for s in bar.stretches)
    return BaseMetal(bar.id, shapely.union_all(cores), shapely.union_all(flanges), courses)


def _filed(work: Trackwork, stretch: Stretch) -> BaseGeometry:
    """Return what is left of the head along one stretch of a bar: what hangs together with its gauge face."""
    middle = (stretch.low + stretch.high) / 2
    head = next(h for h in work.heads if h.stretch.owner == stretch.owner and h.stretch.low <= middle <= h.stretch.high)
    line = face_line(work, stretch.owner, stretch.low, stretch.high)
    parts = shapely.get_parts(left_of(work, head).buffer(0)).tolist()
    return shapely.union_all([part for part in parts if part.buffer(0.005).intersection(line).length > 0.02])


def _guide(work: Trackwork, guide: Wing | Guard, cuts: list[BaseCut]) -> BaseMetal:
    head, reach = work.spec.rail.head, over(work)
    ends = guide.ends if isinstance(guide, Guard) else _ordered(*guide.straight, guide.end)
    sides = {"gauge": (-reach, 0.0), "outer": (head, head + reach)}
    flanges = [
        _beside(work, guide, ends, *sides[side], low, high)
        for side in sides
        for low, high in _uncut(guide.beside, side, *ends, cuts)
    ]
    core = _beside(work, guide, ends, 0.0, head, *ends)
    return BaseMetal(guide.id, core, shapely.union_all(flanges), ((guide.beside, *ends),))


def _ordered(*stations: float) -> Interval:
    return min(stations), max(stations)


def _beside(
    work: Trackwork, guide: Wing | Guard, ends: Interval, first: float, last: float, low: float, high: float
) -> Polygon:
    """Return what lies between two distances behind the guiding side of a wing or guard, flares being straight."""
    path = work.layout.route(guide.beside.route).path
    inward = -guide.beside.face.outward

    def place(station: float, out: float) -> tuple[float, float]:
        flared = max(guide.straight[0] - station, station - guide.straight[1], 0.0)
        away = guide.flangeway + out + flared * FLARE_OPENING / FLARE_LENGTH
        return path.point_at(station, guide.beside.face.offset + inward * away)

    def along(out: float) -> list[tuple[float, float]]:
        begin, end = max(low, guide.straight[0]), min(high, guide.straight[1])
        count = max(2, int(end - begin) + 1)
        straight = [begin + (end - begin) * i / count for i in range(count + 1)] if end > begin else []
        stations = sorted({low, high, *straight})
        return [place(station, out) for station in stations]

    return Polygon([*along(first), *reversed(along(last))])
