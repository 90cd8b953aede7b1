"""Turn a point beside its stock rail into how it stands open, held here or there: the least opening, and what mends it.

Lengths are told along the point's gauge face from its filed tip, as one measures the bar.
"""

from __future__ import annotations

import math
from bisect import bisect
from typing import Literal

from msgspec import Struct

from turnout_templates.alignment.model import Layout, View
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.points.fast_places import PointFace
from turnout_templates.trackwork.points.onward import Onward
from turnout_templates.trackwork.points.opening_laws import least_opening, throw_to_hold
from turnout_templates.trackwork.points.switch_model import Opening

_OPENING_STEPS = 100
_FURTHER_STEPS = 20
"""A point is looked at in so many places up to where a flangeway has opened, and in so many more up to the frog; and
where its full head begins, since the opening has a corner there."""
_MOST_THROW = 4.0
"""No switch is thrown by more than so many times the opening that wheels want (common practice, no source)."""
_HELD = 1e-9
"""An opening that falls short by less (mm) is held."""
_HALVINGS = 50

Model = Literal["hinged", "bent"]


class Separations(Struct, frozen=True):
    """How far a closed point's face lies inside its stock's: at `stations` (mm behind the filed tip), `apart` mm.

    `bar` is where it is thrown, `heel` where it stands clear; `last` is where its bar may be held last, and stations go
    on at least to there. Drawn, it turns about its heel as a `rigid` bar or bends.
    """

    stations: list[float]
    apart: list[float]
    bar: float
    heel: float
    head: float
    rigid: bool
    last: float

    def drawn(self, fix: float, throw: float, wanted: float) -> Opening:
        """Return how the point stands as it is drawn, held at `fix`."""
        return self.opening("hinged" if self.rigid else "bent", fix, throw, wanted)

    def opening(self, model: Model, fix: float, throw: float, wanted: float) -> Opening:
        """Return how the point stands held at `fix`, thrown by `throw`, where `wanted` keeps wheel backs off it."""
        bent = model == "bent"
        keys = {"bar": self.bar, "fix": fix, "head": self.head}
        stations, apart = self._up_to(fix)
        least, at = least_opening(stations, apart, throw=throw, bent=bent, **keys)
        to_hold = throw_to_hold(wanted, stations, apart, bent=bent, **keys)
        if to_hold is not None and to_hold > _MOST_THROW * wanted:
            to_hold = None
        return Opening(model, fix, least, at, to_hold, self._fix_to_hold(model, throw, wanted))

    def apart_at(self, s: float) -> float:
        """Return how far the faces are apart `s` mm behind the filed tip."""
        i = min(max(bisect(self.stations, s), 1), len(self.stations) - 1)
        low, high = self.stations[i - 1 : i + 1]
        if high - low < _HELD:
            return self.apart[i]
        return self.apart[i - 1] + (s - low) / (high - low) * (self.apart[i] - self.apart[i - 1])

    def openings(self, throw: float, wanted: float, fix: float, toe: float | None) -> tuple[Opening, ...]:
        """Return how the point stands as drawn, then hinged at its heel, bent from there, and from the `toe`."""
        ways: list[tuple[Model, float]] = [("hinged" if self.rigid else "bent", fix)]
        ways += [("hinged", self.heel), ("bent", self.heel)]
        ways += [] if toe is None else [("bent", toe)]
        return tuple(self.opening(model, fix, throw, wanted) for model, fix in dict.fromkeys(ways))

    def _up_to(self, fix: float) -> tuple[list[float], list[float]]:
        """Return the stations at which a point that is held at `fix` moves or has not parted by a flangeway."""
        count = max(_OPENING_STEPS + 1, sum(s <= fix for s in self.stations))
        stations, apart = self.stations[:count], self.apart[:count]
        at = bisect(stations, fix)
        return [*stations[:at], fix, *stations[at:]], [*apart[:at], self.apart_at(fix), *apart[at:]]

    def _fix_to_hold(self, model: Model, throw: float, wanted: float) -> float | None:
        """Return the nearest place that holds the opening: the further a bar is held, the further it opens."""
        low, high = self.bar, self.last
        if not self._holds(model, high, throw, wanted):
            return None
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self._holds(model, middle, throw, wanted) else (middle, high)
        return high

    def _holds(self, model: Model, fix: float, throw: float, wanted: float) -> bool:
        stations, apart = self._up_to(fix)
        keys = {"bar": self.bar, "fix": fix, "head": self.head}
        return least_opening(stations, apart, throw=throw, bent=model == "bent", **keys)[0] >= wanted - _HELD


def separations_of(
    layout: Layout, face: PointFace, to_bar: float, head: float, reach: float, toe: float | None = None
) -> Separations:
    """Return a point as it stands open, that may be held up to `reach` mm behind its filed tip, or to its clear end.

    It is looked at from its tip to there, and on to the `toe` (mm behind the tip) where that lies further.
    """
    point = face.point
    own = View(layout.route(point.owner.route), point.way)
    outside = layout.route(point.outside[0].route)
    begin = own.station(point.tip)
    tip = own.path.point_at(begin, point.owner.face.offset * point.way)
    beside = nearest_station(outside.path, tip)[0]
    heading = outside.path.heading_at(beside) - own.path.heading_at(begin)
    other = View(outside, 1 if math.cos(heading) > 0 else -1)
    rail = Onward(point.owner, own, begin)
    stock = Onward(point.outside[0], other, other.station(beside))
    near = max(point.moving, point.beyond_tip(point.clear)) if point.hinge is None else point.beyond_tip(point.clear)
    far, last = (point.beyond_tip(face.station_at(place)) for place in (max(reach, toe or 0.0), reach))
    behind = [i * near / _OPENING_STEPS for i in range(_OPENING_STEPS + 1)]
    behind = sorted([*behind, point.beyond_tip(point.full_head)])
    if far > near:
        behind += [near + (i + 1) * (far - near) / _FURTHER_STEPS for i in range(_FURTHER_STEPS)]
    apart = [rail.apart_from(stock, begin + u) for u in behind]
    lengths = [face.length_to(point.tip + point.way * u) for u in behind]
    held_last = face.length_to(point.tip + point.way * max(near, last))
    return Separations(lengths, apart, to_bar, face.length_to(point.heel), head, point.rigid, held_last)
