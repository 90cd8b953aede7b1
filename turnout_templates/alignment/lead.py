"""Turn a frog and its lead into the curve between: one arc and one straight, before or behind it.

The lead is the distance from the tip to the theoretical point along the parent's reference line, so it says which place
of the crossed face the point is; with the frog's angle and its toe the pose at the toe is known too. The tangents from
there and from where the branch begins meet at one place, t1 ahead of the beginning and t2 before the toe. The arc that
turns from one to the other takes the shorter of the two on either side, R = min(t1, t2)/tan(turn/2); what is left of
the longer one, |t1 - t2|, is straight and lies on its side. Where the tangents meet behind the beginning or beyond the
toe there is no such curve; and none will do that leaves a curved parent to the wrong side first, as a straight may.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import groupby

from msgspec import Struct

from turnout_templates.alignment.allowed import number_of
from turnout_templates.alignment.solving import FrogCurve, FrogTask, curves_to_angle, is_first
from turnout_templates.errors import KeyPath, LayoutError
from turnout_templates.geometry.path import join
from turnout_templates.geometry.pose import Pose, wrapped
from turnout_templates.units import MM_PER_INCH, Unit, format_inches, format_length, format_mm

_NOTHING = 1e-7
"""A straight shorter than this (mm) is left out: the bar for a crossing is ten times as wide."""
_ALONG = 1e-9
"""A branch that heads as the other line does within this (rad) starts along it; points have larger angles."""
_APART = 1e-6
"""A branch that is this far (mm) from where it would run along has parted."""
_RATIO = 1.015
"""Trial leads grow by this ratio: ranges of leads are in practice some tenths of the lead wide."""
_SHORTEST = 1.0
"""The shortest trial lead in gauges: a frog nearer to its tip would be steeper than any that there is a number for."""
_STEPS = {"mm": 0.1, "in": float(MM_PER_INCH) / 64}
"""Leads that are proposed are multiples of this (mm), of a tenth or a hundredth of it where a range is that narrow."""


class Tangents(Struct, frozen=True):
    """How two tangents meet: `ahead` of the first pose and `before` the second one (mm), turning by `turn` radians."""

    ahead: float
    before: float
    turn: float


def tangents_between(start: Pose, end: Pose) -> Tangents:
    """Return how the tangent ahead of `start` meets the one that leads to `end`; infinite where they are parallel."""
    turn = wrapped(end.heading - start.heading)
    ahead, left = start.local(end.point)
    if math.sin(turn) == 0.0:
        return Tangents(math.inf, math.inf, turn)
    before = left / math.sin(turn)
    return Tangents(ahead - before * math.cos(turn), before, turn)


class LeadTask(Struct, frozen=True):
    """A frog of `angle` radians that the branch of `task` is to make; no curve below the radius `least` (mm) will do.

    `angle` is that between branch and target.
    """

    task: FrogTask
    angle: float
    least: float

    def tangents(self, lead: float) -> Tangents:
        """Return the tangents from the start and to the toe of a frog `lead` mm from the tip."""
        end = self.task.end_pose(self.task.target.low + lead, self.angle)
        return tangents_between(self.task.start, end.ahead(-self.task.toe_length(self.angle)))

    def curve(self, lead: float) -> FrogCurve | None:
        """Return the curve to the frog `lead` mm from the tip, None where one arc and one straight make none."""
        return None if self.obstacle(lead) else self._curve(lead)

    def obstacle(self, lead: float) -> str:
        """Return what stands in the way of a curve to that frog, empty where there is one."""
        if lead > self.task.target.high - self.task.target.low:
            return "that is beyond the end of the track"
        met = self.tangents(lead)
        if not math.isfinite(met.ahead):
            return "points and frog head the same way"
        if met.ahead <= 0.0:
            return "the tangents of points and frog meet behind the points"
        if met.before <= 0.0:
            return "the tangents of points and frog meet beyond the toe of the frog"
        if min(met.ahead, met.before) < self.least * math.tan(abs(met.turn) / 2):
            return "the curve would be tighter than the gauge"
        curve = self._curve(lead)
        if self._parts_wrongly(curve):
            return "the branch would part to the wrong side first"
        return "" if is_first(self.task, curve) else "the branch would cross the other line before"

    def _parts_wrongly(self, curve: FrogCurve) -> bool:
        """Tell whether a branch that starts along the other line first moves away to the side it does not leave to."""
        start, line = self.task.start, self.task.target.path
        station, begun = line.foot_near(start.point, self.task.target.low)
        if abs(wrapped(start.heading - line.heading_at(station))) > _ALONG:
            return False
        path = join(start, curve.shapes)
        s = 0.5
        while s < path.length:
            left = line.foot_near(path.point_at(s), station + s)[1] - begun
            if abs(left) > _APART:
                return left * self.task.turn < 0.0
            s *= 1.2
        return False

    def _curve(self, lead: float) -> FrogCurve:
        met = self.tangents(lead)
        radius = min(met.ahead, met.before) / math.tan(abs(met.turn) / 2)
        rest = met.ahead - met.before
        rest = rest if abs(rest) > _NOTHING else 0.0
        return FrogCurve(
            length=radius * abs(met.turn),
            curvature=math.copysign(1.0 / radius, met.turn),
            toe=self.task.toe_length(self.angle),
            angle=self.angle,
            station=self.task.target.low + lead,
            before=max(rest, 0.0),
            after=max(-rest, 0.0),
        )

    def allowed(self) -> list[tuple[float, float]]:
        """Return the ranges of leads (mm) for which there is a curve, each as (least, most)."""
        longest = self.task.target.high - self.task.target.low
        first = min(_SHORTEST * self.least, longest)
        count = math.ceil(math.log(longest / first) / math.log(_RATIO)) if longest > first else 1
        trials = [first * (longest / first) ** (i / count) for i in range(count)] + [longest]
        trials += [curve.station - self.task.target.low for curve in curves_to_angle(self.task, self.angle)]
        return _ranges(lambda lead: self.curve(lead) is not None, sorted(trials))


def _ranges(works: Callable[[float], bool], trials: list[float]) -> list[tuple[float, float]]:
    """Return the ranges about those of the sorted `trials` that work, as far as the last place that works."""
    ranges = []
    index = 0
    for good, run in groupby(trials, key=works):
        first, index = index, index + len(tuple(run))
        if good:
            low = trials[first] if first == 0 else _edge(works, trials[first], trials[first - 1])
            high = trials[-1] if index == len(trials) else _edge(works, trials[index - 1], trials[index])
            ranges.append((low, high))
    return ranges


def _edge(works: Callable[[float], bool], good: float, bad: float) -> float:
    """Return the last lead from `good` toward `bad` that works, to a millionth of a mm."""
    while abs(good - bad) > 1e-6:
        middle = 0.5 * (good + bad)
        good, bad = (middle, bad) if works(middle) else (good, middle)
    return good


def curve_at_lead(task: LeadTask, lead: float, branch: str, along: str, units: Unit, key_path: KeyPath) -> FrogCurve:
    """Return the curve of `branch` to the frog `lead` mm from its tip on the route `along`.

    Raises LayoutError, with the leads that there are and the nearest of them in `units`.
    """
    curve = task.curve(lead)
    if curve is not None:
        return curve
    number = number_of(task.angle / task.task.share)
    asked = f"a No. {number:.4g} frog at a lead of {format_length(lead, units)}"
    sentence = f'"{branch}" cannot reach {asked}: {task.obstacle(lead)}.'
    ranges = task.allowed()
    if not ranges:
        remedy = f'No lead would do for this frog here: take another frog or other points, or lengthen "{along}".'
        raise LayoutError(sentence, remedy, key_path)
    spoken = [proposed(low, high, units) for low, high in ranges]
    nearest = min((end for ends in spoken for end in ends), key=lambda end: abs(end[0] - lead))
    said = " or ".join(f"{low[1]} to {high[1]}" if low != high else low[1] for low, high in spoken)
    raise LayoutError(
        f"{sentence} This site and frog allow leads of {said}.",
        f'The nearest that would do is "{nearest[1]}".',
        key_path,
    )


def proposed(low: float, high: float, units: Unit) -> tuple[tuple[float, str], tuple[float, str]]:
    """Return both ends of a range of mm as (mm, text in `units`), rounded toward its inside."""
    for finer in (1, 10, 100):
        step = _STEPS[units] / finer
        least, most = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if least <= most:
            break
    else:
        least = most = round(0.5 * (low + high) / step)
    places = 1 + round(math.log10(finer))

    def told(count: int) -> tuple[float, str]:
        mm = count * step
        return mm, format_mm(mm, places) if units == "mm" else format_inches(mm, 64 * finer)

    return told(least), told(most)
