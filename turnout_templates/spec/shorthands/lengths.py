"""Turn a frog and the head of a spec into lengths: what a switch takes up, and what is long enough for the rest.

On a straight main they are exact, by the closed formulas of the textbooks; on a curved one they are near enough for
lengths that only have to hold what lies in them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from turnout_templates import units
from turnout_templates.spec.ground import Ground
from turnout_templates.spec.mean_routes import frog_angle
from turnout_templates.spec.path_forms import FrogKeys, PointsForm, ThroughForm
from turnout_templates.standards.practice import tie_practice
from turnout_templates.standards.rail import default_rail, rail_named

if TYPE_CHECKING:
    from turnout_templates.spec.forms import SpecForm

TIES_AT_ENDS = 5
"""Plain track before a tip and behind a frog, in tie spacings: common practice, no source."""
TOE_HEADS = 2.5
"""A frog's toe reaches to where the faces are this many rail heads apart: common practice (see RP-12.7)."""
HEEL_BY_TOE = 1.6
"""A frog's heel length by its toe length, as in AREA's No. 8 (from memory); only lengths of plain track rest on it."""
STEPS: dict[units.Unit, Fraction] = {"mm": Fraction(10), "in": Fraction(127, 10)}
"""Lengths written out are rounded to this, in mm: a centimetre, or half an inch."""

HEEL_STEPS: dict[units.Unit, Fraction] = {"mm": Fraction(1), "in": Fraction(127, 80)}
"""The straight heel of a frog is rounded up to this, in mm: a millimetre, or a sixteenth of an inch."""


class Reach(Struct, frozen=True):
    """What a switch and its frog take up (mm, radians), for a branch of the `gauge` on a straight parent.

    `angle` is the frog's, `toe` the straight before its theoretical point, `lead` runs from the tip to that point,
    `heel` is the straight behind it, and `plain` the plain track behind that.
    """

    gauge: float
    angle: float
    toe: float
    lead: float
    heel: float
    plain: float

    @property
    def behind(self) -> float:
        """From the theoretical point to the end of the plain track behind the heel."""
        return self.heel + self.plain

    @property
    def foot(self) -> tuple[float, float]:
        """Where the branch's centre line passes the theoretical point: ahead of the tip, and beside the parent's."""
        half = self.gauge / 2
        return self.lead - half * math.sin(self.angle), half * (1.0 + math.cos(self.angle))

    @property
    def bend(self) -> float:
        """From where the centre lines of parent and branch meet, made straight, to the frog along either."""
        return self.gauge / 2 / math.tan(self.angle / 2)

    @property
    def closure_radius(self) -> float:
        """The radius of the curve before the toe, for tangent points: (R + g/2)(1 - cos F) + k sin F = g."""
        rise = self.gauge - self.toe * math.sin(self.angle)
        return max(rise, 0.1 * self.gauge) / (1.0 - math.cos(self.angle)) - self.gauge / 2


class Measures(Struct, frozen=True):
    """What lengths rest on (mm): the widest `gauge`, the rail's `head`, the `tie` spacing; and the spec's `unit`.

    `widths` holds each gauge by its name.
    """

    gauge: float
    widths: Mapping[str, Fraction]
    head: float
    tie: float
    unit: units.Unit

    def aside(self, names: Sequence[str] | None) -> Fraction:
        """Return how far the centre line of the widest of the gauges `names` lies beside that of the widest of all.

        It lies toward the common rail. None stands for all gauges.
        """
        carried = [self.widths[name] for name in names or self.widths if name in self.widths]
        return (max(self.widths.values()) - max(carried, default=max(self.widths.values()))) / 2

    @property
    def end(self) -> Fraction:
        """Plain track before a tip or behind a frog, rounded up."""
        return self.rounded_up(TIES_AT_ENDS * self.tie)

    def rounded_up(self, mm: float) -> Fraction:
        """Return the next round length that is not shorter."""
        step = STEPS[self.unit]
        return max(1, math.ceil(Fraction(mm) / step)) * step

    def rounded_heel(self, reach: Reach) -> Fraction:
        """Return the length of a straight that holds the heel of a frog: short, so rounded up to less."""
        step = HEEL_STEPS[self.unit]
        return math.ceil(Fraction(reach.heel) / step) * step

    def rounded_down(self, mm: float) -> Fraction:
        """Return the next round length that is not longer, or `mm` itself where that would be nothing."""
        step = STEPS[self.unit]
        return math.floor(Fraction(mm) / step) * step or Fraction(round(mm, 1))

    def reach(self, form: FrogKeys, points: PointsForm | None) -> Reach:
        """Return what a switch with the frog of `form` takes up."""
        return self.reach_of(frog_angle(form) or 0.0, points, form.through, form.lead)

    def reach_of(
        self, angle: float, points: PointsForm | None, through: ThroughForm | None, given: float = 0.0
    ) -> Reach:
        """Return what a switch with a frog of `angle` radians takes up; a longer lead holds where it is `given`."""
        practical = TOE_HEADS * self.head / (2 * math.sin(angle / 2))
        toe = practical if through is None else 0.0 if through.word else through.straight
        lead = max(given, _lead(points, self.gauge, angle, toe))
        return Reach(self.gauge, angle, toe, lead, HEEL_BY_TOE * practical, TIES_AT_ENDS * self.tie)

    def angle_of_radius(self, radius: float, bend: float, through: ThroughForm | None) -> float:
        """Return the frog's angle that a branch of `radius` comes to, off a main of the curvature `bend` to its side.

        From (R + g/2)(1 - cos F) + k sin F = g, k being the toe.
        """
        parting = 1 / radius - bend
        least = 1 / (1000 * self.gauge)
        apart = 1 / max(parting, least)
        straight = 0.0 if through is not None and through.word else min(TOE_HEADS * self.head, 0.9 * self.gauge)
        return math.acos(max(0.5, 1 - (self.gauge - straight) / (apart + self.gauge / 2)))


def exact(mm: float) -> Fraction:
    """Return a length that was read as the decimal it is, so that sums of such lengths stay round."""
    return Fraction(repr(mm))


def measures_of(form: SpecForm, ground: Ground, unit: units.Unit) -> Measures:
    """Return what the lengths of a spec rest on."""
    widths = {name: gauge.width for name, gauge in ground.gauges.items()}
    gauge = max(widths.values())
    spacing = form.ties.spacing if form.ties is not None and form.ties.spacing is not None else None
    return Measures(
        float(gauge),
        widths,
        _rail_head(form, ground),
        spacing or float(tie_practice(ground.ratio, gauge).spacing),
        unit,
    )


def _rail_head(form: SpecForm, ground: Ground) -> float:
    if form.rail is None:
        return float(default_rail(ground.ratio).head)
    named = rail_named(form.rail.word, ground.ratio)
    return form.rail.head if named is None else float(named.head)


def _lead(points: PointsForm | None, gauge: float, frog: float, straight: float) -> float:
    """Return the lead in mm: a cos S + (R + g/2)(sin F - sin S) + k cos F, S and a being zero for tangent points."""
    entry, length, offset = 0.0, 0.0, gauge
    if points is not None and points.given("entry"):
        entry = points.entry
    elif points is not None and points.straight is not None:
        length, heel, tip = points.straight
        entry, offset = math.asin((heel - tip) / length), gauge - heel
    spread = math.cos(entry) - math.cos(frog)
    rise = offset - straight * math.sin(frog)
    if spread <= 0 or rise <= 0:
        return gauge / math.tan(frog / 2)
    outer = rise / spread
    return length * math.cos(entry) + outer * (math.sin(frog) - math.sin(entry)) + straight * math.cos(frog)
