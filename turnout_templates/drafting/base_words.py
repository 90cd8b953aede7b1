"""Say of each cut of a base on which side, from where to where and from which end it is filed, the same everywhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from turnout_templates.drafting.bases import relief_about_tip
from turnout_templates.drafting.subjects import Remark
from turnout_templates.trackwork.bases.base_cuts import BaseCut, cuts_by_part
from turnout_templates.trackwork.bases.materials import Material, Measured, material_of, measure_cut, parts_by_id
from turnout_templates.trackwork.frogs.contacts import Prepared, bar_ends
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Bar, RouteFace
from turnout_templates.units import format_length, format_reach

_AT_FROG: Mapping[Prepared, tuple[str, str]] = {"elbow": ("the elbow", "of"), "knuckle": ("the knuckle", "of")}
"""What the end of a bar at a frog is called where the rail goes on."""
_AT = 1e-6
"""An end lies at a tip that is this near (mm)."""


class CutWords(NamedTuple):
    """What is said of a cut: its `side`, its `reach` and the `end` that this is measured from.

    `at` is the frog or the switch of that end, None where it has none; `place` is the end with that.
    """

    side: str
    reach: str
    end: str
    place: str
    at: str | None


class BaseWords:
    """Words for all cuts of bases of a trackwork."""

    def __init__(self, work: Trackwork) -> None:
        self._work = work
        self.parts = parts_by_id(work)
        self._cuts = cuts_by_part(work.base_cuts)
        self._ends = bar_ends(work.rails, work.switches, work.bars, work.fits)
        self._reliefs = {(relief.bar, relief.low, relief.high): relief for relief in work.reliefs}
        self._tips: dict[RouteFace, list[tuple[float, str]]] = {}
        for switch in work.switches:
            for point in switch.moving_points:
                self._tips.setdefault(point.owner, []).append((point.tip, switch.id))

    def cuts(self, part: str) -> Sequence[BaseCut]:
        """Return what is filed off the base of a part."""
        return self._cuts.get(part, ())

    def material(self, guide: str) -> Material:
        """Return what a wing or a guard is made of."""
        return material_of(self.cuts(guide))

    def of(self, cut: BaseCut) -> CutWords:
        """Return what is said of a cut."""
        work, part = self._work, self.parts[cut.part]
        relief = self._reliefs.get((cut.part, cut.low, cut.high))
        if relief is not None:
            low, high = relief_about_tip(work, relief)
            return CutWords(_side(part, cut), format_reach(low, high, work.spec.units), "tip", "tip beside it", None)
        along = measure_cut(work.layout, part, cut)
        end, place, at = self._end(part, along)
        return CutWords(_side(part, cut), format_reach(along.low, along.high, work.spec.units), end, place, at)

    def remarks(self, parts: Iterable[str], at: str) -> Iterator[Remark]:
        """Yield what is filed off the bases of `parts` and measured from their ends at the frog or switch `at`."""
        cuts = ((part, self.of(cut)) for part in dict.fromkeys(parts) for cut in self.cuts(part))
        told = sorted((words.end, words.side, words.reach, part) for part, words in cuts if words.at == at)
        for (end, side), alike in groupby(told, key=lambda cut: cut[:2]):
            reaches, names = zip(*((reach, part) for _, _, reach, part in alike), strict=True)
            few = ", ".join(f"{{}} {reach}" for reach in reaches)
            yield Remark(f"base off {side} side from {end}: {few}", names)

    def _end(self, part: Bar | Wing | Guard, along: Measured) -> tuple[str, str, str | None]:
        """Return what a cut is measured from: a tip, a bar's end or elbow at a frog, a knuckle, else where it lies."""
        if isinstance(part, Wing) and min(abs(along.end - s) for s in part.straight) < abs(along.end - part.end):
            return "knuckle", "knuckle", part.frog
        if isinstance(part, Bar):
            tips = self._tips.get(along.owner, ())
            switch = next((switch for tip, switch in tips if abs(tip - along.end) < _AT), None)
            if switch is not None:
                return "its tip", "its tip", switch
            end = self._ends[part.id][0 if along.first else 1]
            if end.fit is not None:
                what, joined = _AT_FROG.get(end.prepared, ("its end", "at"))
                return what, f"{what} {joined} {end.at}", end.at
        place = f"end at {format_length(along.end, self._work.spec.units)} of {along.owner.route}"
        return place, place, part.frog if isinstance(part, Wing) else None


def _side(part: Bar | Wing | Guard, cut: BaseCut) -> str:
    if isinstance(part, Bar):
        return cut.side
    return "flangeway" if cut.side == "gauge" else "back"
