"""Stand the points open and see whether a head or base of theirs then lies on another rail.

An open point is moved inward by the throw at the bar, less toward where it is held (see `tips.moved_share`): a planed
point is hinged at its heel, one that is a bar with its closure rail bends from the far end of that bar. Points behind
rails of the other hand are then closed; those of its own hand move with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.path import Path
from turnout_templates.spec.model import StraightPoints
from turnout_templates.trackwork.base_parts import Course, Flange
from turnout_templates.trackwork.model import Bar, PointRail, Stretch, Switch
from turnout_templates.trackwork.tips import moved_share

_STEPS = 60
"""An open point is looked at in this many places from its tip to where it is held."""


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """A moving `point`, part of the bar `bar`, as it stands open, along the `stretch` that it lies on.

    `travel` is how far (mm) it is moved inward at each of `stations`, from its tip on.
    """

    bar: str
    switch: str
    point: PointRail
    stretch: Stretch
    path: Path
    stations: tuple[float, ...]
    travel: tuple[float, ...]

    @property
    def course(self) -> Course:
        """How the point runs when it is closed."""
        return Course(self.path, self.stretch.owner, self.stretch.low, self.stretch.high)

    def lies_on(self, flange: Flange) -> bool:
        """Tell whether the flange on the point's gauge side is this one."""
        course = flange.course
        return (flange.part.id, flange.side, course.owner, course.low) == (
            self.bar,
            "gauge",
            self.stretch.owner,
            self.stretch.low,
        )

    def moves_with(self, other: OpenPoint) -> bool:
        """Tell whether two points are opened together: both lie behind rails of one hand at one switch."""
        hands = [(p.point.owner.face.hand == "left") == (p.point.way > 0) for p in (self, other)]
        return self.switch == other.switch and hands[0] == hands[1]

    def swept(self, out: float) -> Polygon:
        """Return what the line at a distance `out` from the point's face passes over when the point is opened."""
        there = [self.path.point_at(s, self.course.offset(out)) for s in self.stations]
        moved = (self.course.offset(out) - self.course.outward * d for d in self.travel)
        return Polygon([*there, *reversed([self.path.point_at(*at) for at in zip(self.stations, moved, strict=True)])])


def open_points(layout: Layout, switches: Sequence[Switch], bars: Sequence[Bar]) -> Iterator[OpenPoint]:
    """Yield every moving point as it stands open."""
    by_tip = {(s.owner, end): (bar, s) for bar in bars for s in bar.stretches for end in (s.low, s.high)}
    for switch in switches:
        for point in switch.moving_points if switch.throw is not None else ():
            if (point.owner, point.tip) in by_tip:
                bar, stretch = by_tip[point.owner, point.tip]
                yield _opened(layout, switch, point, bar, stretch)


def _opened(layout: Layout, switch: Switch, point: PointRail, bar: Bar, stretch: Stretch) -> OpenPoint:
    far = stretch.high if point.way > 0 else stretch.low
    ends = (switch.end_of(layout.route(name)) for name in switch.onward[1:])
    bent = not any(end is not None and isinstance(end[1].points, StraightPoints) for end in ends)
    fix = point.beyond_tip(far) if bent else point.moving
    at_bar = abs((switch.bar_station or switch.filed_station) - switch.filed_station)
    distances = [fix * i / _STEPS for i in range(_STEPS + 1)]
    travel = tuple((switch.throw or 0.0) * moved_share(u, bar=at_bar, fix=fix, bent=bent) for u in distances)
    stations = tuple(point.tip + point.way * u for u in distances)
    path = layout.route(point.owner.route).path
    return OpenPoint(bar.id, switch.id, point, stretch, path, stations, travel)
