"""Work out how the bars at a frog are fitted to each other: what is filed on which bar, from where to where.

A V: the bar of the frog's first route (the parent before its branch, else the earlier in the file) carries the point,
which is common practice, no source; the other's where the flangeway of a third rail takes the first's there and not the
other's. It is filed on its outer side along the other route's gauge face, from the practical point to where its whole
head is reached. The other bar is spliced to it: its gauge face begins where it leaves the outer edge of the point bar,
and its outer side is filed to lie against that edge until its head is whole.

A K: of each rail one half runs whole up to the crossing, and the two whole halves are one bent bar, the elbow. The
other halves stop for the other route's flangeway: noses, filed on their outer side along its far edge.

Every place is a crossing of parallels of the two routes, found exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace
from shapely.geometry import Polygon

from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.geometry.crossing import Crossing, find_crossings
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.rails.regions import strip

What = Literal["point", "spliced", "nose", "elbow", "mitre", "knuckle", "groove"]
_LONGER = 4.0
"""By what the search for a crossing grows where curves put it further off than straight lines would."""


class Fit(Struct, frozen=True):
    """How the bar on the face `owner` is fitted at a frog, to the face `against`.

    `end` is the station of the owner's route where the bar's gauge face ends, and `way` leads from there into the bar.
    What it is: the bar that carries the "point" of a V, or is "spliced" to that; a "nose" of a K; bent into an "elbow",
    or with a "mitre" where tracks cross steeply; bent at the "knuckle" into a wing rail, or ended at the "groove".

    At `whole` its head is untouched: None where that lies beyond the end of a route. `length` is mm of its gauge face
    between the two. `angle` is that between the tangents of both faces in the middle of the filing (radians, at most a
    right angle); of an elbow and a knuckle, by how much the bar bends. `bar` is the id of the bar, None where another
    flangeway has taken its end.
    """

    frog: str
    what: What
    owner: RouteFace
    against: RouteFace
    way: int
    end: float
    whole: float | None
    length: float
    angle: float
    bar: str | None = None


class Fitting(Struct, frozen=True):
    """A frog's fits, and what its bars take from each other's heads: regions by the face they are taken from."""

    fits: tuple[Fit, ...]
    takers: Mapping[RouteFace, Polygon]

    def spliced(self, owner: RouteFace) -> float | None:
        """Return the station where the bar on `owner` begins that is spliced to the point, None where it is not."""
        return next((fit.end for fit in self.fits if fit.what == "spliced" and fit.owner == owner), None)


class _Side(Struct, frozen=True):
    """One of the two faces of a frog: the `station` of the theoretical point and a `way` along its route from there.

    Of a V that leads to the heel, where the two heads meet; of a K to the face's nose, away from its whole half.
    """

    owner: RouteFace
    route: LaidRoute
    station: float
    way: int
    nose: float | None

    def line(self, out: float, reach: float) -> Parallel:
        """Return what lies `out` mm outward of the face within `reach` mm of the theoretical point."""
        face = self.owner.face
        low, high = self.within(self.station - reach), self.within(self.station + reach)
        return Parallel(self.route.path, face.offset + face.outward * out, low, high)

    def within(self, station: float) -> float:
        """Return a station, or the end of the face where that comes before it."""
        face = self.owner.face
        return min(max(station, self.route.begin_of(face)), self.route.end_of(face))

    @property
    def last(self) -> float:
        """The end of the face toward the heel."""
        return self.within(self.way * math.inf)

    def beside(self, other: _Side, station: float) -> float:
        """Return the station beside which a station of the other side's gauge face lies."""
        point = other.route.path.point_at(station, other.owner.face.offset)
        return self.route.path.foot_near(point, self.station)[0]

    def strip(self, head: float, low: float, high: float) -> Polygon:
        """Return the whole head between two stations in either order."""
        face = self.owner.face
        return strip(self.route.path, face.offset, face.offset + face.outward * head, min(low, high), max(low, high))


IsTaken = Callable[[Frog, RouteFace, Interval], bool]
"""Tells whether a third rail's flangeway takes some of a frog's face between two stations."""


def fit_frogs(layout: Layout, frogs: tuple[Frog, ...], head: float, is_taken: IsTaken) -> dict[str, Fitting]:
    """Return by frog how its bars are fitted; `head` is the width of a rail's head in mm."""
    return {frog.id: _joint(layout, frog, head, is_taken) for frog in frogs}


def _joint(layout: Layout, frog: Frog, head: float, is_taken: IsTaken) -> Fitting:
    first, second = frog.heel_directions
    ways = (first, second if frog.kind == "V" else -second)
    sides = [
        _Side(owner, layout.route(owner.route), station, way, nose)
        for owner, station, way, nose in zip((frog.first, frog.second), (frog.s, frog.t), ways, frog.noses, strict=True)
    ]
    one, two = sides
    if frog.kind == "K":
        return _join_k(frog, one, two, head)
    knuckles = tuple(_knuckles(frog, one, two))
    if frog.practical_stations is None:
        return Fitting(knuckles, {})
    joint = _join_v(frog, one, two, frog.practical_stations[0], head)
    if _loses_point(frog, joint, is_taken):
        swapped = _join_v(frog, two, one, frog.practical_stations[1], head)
        joint = joint if _loses_point(frog, swapped, is_taken) else swapped
    return replace(joint, fits=(*knuckles, *joint.fits))


def _loses_point(frog: Frog, joint: Fitting, is_taken: IsTaken) -> bool:
    """Tell whether a third rail's flangeway takes the point from the bar that is to carry it, up to the splice."""
    point = joint.fits[0]
    last = point.end + point.way * point.length if point.whole is None else point.whole
    return is_taken(frog, point.owner, (min(point.end, last), max(point.end, last)))


def _join_v(frog: Frog, point: _Side, other: _Side, tip: float, head: float) -> Fitting:
    """Return how the bars of a V are fitted if the one on the side `point` carries the point, from station `tip` on."""
    fits: list[Fit] = []
    reach = 2.0 * head / math.sin(frog.angle / 2)
    leaves = _meeting(point, head, other, 0.0, reach, point.way)
    parts = _meeting(point, head, other, head, reach, point.way)
    last = point.last if parts is None else parts.s
    begin = other.within(other.beside(point, last)) if leaves is None else leaves.t
    whole = parts.t if parts is not None else _ends(other, point)
    fits.append(_fit(frog, "point", point, other, tip, _ends(point, other) if leaves is None else leaves.s))
    if (other.last - begin) * other.way > 0:
        fits.append(_fit(frog, "spliced", other, point, begin, whole))
    return Fitting(tuple(fits), {other.owner: point.strip(head, point.station, last)})


def _ends(side: _Side, other: _Side) -> float | None:
    """Return the station beside which the other side's face ends, from where on nothing is filed off this one's head.

    None where this face ends first, counted from the theoretical point.
    """
    if abs(other.last - other.station) >= abs(side.last - side.station):
        return None
    return side.beside(other, other.last)


def _knuckles(frog: Frog, one: _Side, two: _Side) -> Iterator[Fit]:
    for side, other in ((one, two), (two, one)):
        if side.nose is not None:
            yield _fit(frog, "knuckle", side, other, side.nose, side.nose, -side.way)


def _join_k(frog: Frog, one: _Side, two: _Side, head: float) -> Fitting:
    fits = []
    for side, other in ((one, two), (two, one)):
        if side.nose is not None:
            flangeway = other.owner.face.flangeway
            clear = _meeting(side, head, other, -flangeway, 2.0 * (head + flangeway) / math.sin(frog.angle / 2))
            fits.append(_fit(frog, "nose", side, other, side.nose, None if clear is None else clear.s))
    inner = _meeting(one, head, two, head, 2.0 * head)
    if inner is None:
        return Fitting(tuple(fits), {})
    fits.append(_fit(frog, "elbow", one, two, one.station, inner.s, -one.way))
    fits.append(_fit(frog, "elbow", two, one, two.station, inner.t, -two.way))
    reach = head + 1.5 * head / math.sin(frog.angle)
    return Fitting(
        tuple(fits),
        {one.owner: _half(two, head, inner.t, reach), two.owner: _half(one, head, inner.s, reach)},
    )


def _half(side: _Side, head: float, inner: float, reach: float) -> Polygon:
    """Return the head of the half that runs whole to the crossing, mitred there, `reach` mm of it."""
    path, face = side.route.path, side.owner.face
    far = side.within(side.station - side.way * reach)
    gauge = flatten(Parallel(path, face.offset, *sorted((far, side.station))))
    outer = flatten(Parallel(path, face.offset + face.outward * head, *sorted((far, inner))))
    return Polygon([*gauge, *reversed(outer)])


def _fit(
    frog: Frog, what: What, side: _Side, other: _Side, end: float, whole: float | None, way: int | None = None
) -> Fit:
    """Return a fit; where the head is whole before the gauge face ends, nothing is filed."""
    onward = side.way if way is None else way
    if whole is not None and what != "elbow" and (whole - end) * onward < 0:
        whole = end
    last = side.within(onward * math.inf) if whole is None else whole
    length = abs(side.line(0.0, math.inf).length_between(end, last))
    middle = end if what in ("elbow", "knuckle") else (end + last) / 2
    turn = side.route.path.heading_at(middle) - other.route.path.heading_at(other.beside(side, middle))
    angle = abs(math.asin(math.sin(turn)))
    return Fit(frog.id, what, side.owner, other.owner, onward, end, whole, length, angle)


def _meeting(one: _Side, out: float, two: _Side, out_two: float, reach: float, way: int = 0) -> Crossing | None:
    """Return the crossing, nearest to the theoretical point, of lines outward of two faces; None where none is.

    Not nought, `way` is the side of the point along the first route that is looked at: two lines that draw together and
    part again have a frog at either end.
    """
    while True:
        a, b = one.line(out, reach), two.line(out_two, reach)
        found = [crossing for crossing in find_crossings(a, b) if (crossing.s - one.station) * way >= 0]
        if found:
            return min(found, key=lambda crossing: abs(crossing.s - one.station))
        longest = one.line(out, math.inf), two.line(out_two, math.inf)
        if (a, b) == longest:
            return None
        reach *= _LONGER
