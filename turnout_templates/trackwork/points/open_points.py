"""Stand the points open and see whether a head or base of theirs then lies on another rail.

An open point is moved inward by the throw at the bar, less toward its fix (see `tips.moved_share`). Points behind
rails of the other hand are then closed; those of its own hand move with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from msgspec import Struct
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.points.opening_laws import moved_share
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.courses import Course
from turnout_templates.trackwork.rails.rail_parts import Bar, PointRail, Stretch

_STEPS = 60
"""An open point is looked at in this many places from its tip to where it is held."""


_LOOK = 0.5
"""How far (mm) to either side of where chords say an open point is looked at for where it reaches something."""
_EXACT = 1e-10


class OpenPoint(Struct, frozen=True):
    """A moving `point`, part of the bar `bar`, as it stands open, along the `stretch` that it lies on.

    It is thrown by `throw` mm at `bar_at` mm from its tip and held at `fix` mm; `bent` where it bends from there.
    """

    bar: str
    switch: str
    point: PointRail
    stretch: Stretch
    path: Path
    throw: float
    bar_at: float
    fix: float
    bent: bool

    @property
    def course(self) -> Course:
        """How the point runs when it is closed."""
        return Course(self.path, self.stretch.owner, self.stretch.low, self.stretch.high)

    @property
    def opens_with(self) -> tuple[str, bool]:
        """What is alike for points that are opened together: their switch, and whether they lie behind left rails."""
        return self.switch, (self.point.owner.face.hand == "left") == (self.point.way > 0)

    @property
    def stations(self) -> list[float]:
        """The stations at which the point is looked at, from its tip to where it is held."""
        return [self.point.tip + self.point.way * self.fix * i / _STEPS for i in range(_STEPS + 1)]

    def moved(self, s: float, out: float) -> Point:
        """Return where the place at a distance `out` beside station `s` comes to lie when the point is opened."""
        u = self.point.beyond_tip(s)
        travel = self.throw * moved_share(u, bar=self.bar_at, fix=self.fix, bent=self.bent)
        return self.path.point_at(s, self.course.offset(out) - self.course.outward * travel)

    def swept(self, out: float) -> BaseGeometry:
        """Return what the line at a distance `out` from the point's face passes over when the point is opened.

        Where the lines of the point closed and opened cross each other, it is in several parts.
        """
        stations = self.stations
        closed = [self.path.point_at(s, self.course.offset(out)) for s in stations]
        return shapely.make_valid(Polygon([*closed, *(self.moved(s, out) for s in reversed(stations))]))

    def reaches(self, out: float, course: Course, limit: float, near: float) -> float | None:
        """Return the station, near another, at which the moved line `out` crosses one of another course, None if none.

        `limit` is how far out that line lies on its own course.
        """

        def beyond(s: float) -> float:
            place = self.moved(s, out)
            return course.beyond(place, nearest_station(course.path, place)[0], limit)

        low, high = near - _LOOK, near + _LOOK
        if beyond(low) * beyond(high) > 0.0:
            return None
        rising = beyond(low) < 0.0
        while high - low > _EXACT:
            middle = (low + high) / 2
            low, high = (middle, high) if (beyond(middle) < 0.0) == rising else (low, middle)
        return (low + high) / 2


def open_points(layout: Layout, switches: Sequence[Switch], bars: Sequence[Bar]) -> Iterator[OpenPoint]:
    """Yield every moving point as it stands open."""
    by_tip = {(s.owner, end): (bar, s) for bar in bars for s in bar.stretches for end in (s.low, s.high)}
    for switch in switches:
        for point in switch.moving_points if switch.throw is not None else ():
            if (point.owner, point.tip) in by_tip:
                bar, stretch = by_tip[point.owner, point.tip]
                yield _opened(layout, switch, point, bar, stretch)


def _opened(layout: Layout, switch: Switch, point: PointRail, bar: Bar, stretch: Stretch) -> OpenPoint:
    """Return a point that stands open; where its bar ends at a K before the toe of its V, the bar is held there."""
    path = layout.route(point.owner.route).path
    end = point.beyond_tip(stretch.high if point.way > 0 else stretch.low)
    held = min(switch.fix_of(point), end)
    throw = switch.throw or 0.0
    return OpenPoint(bar.id, switch.id, point, stretch, path, throw, switch.bar_of(point), held, not point.rigid)
