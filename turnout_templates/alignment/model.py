"""Laid routes: what alignment yields and trackwork builds on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from msgspec import Struct

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.widened import Widened, lie, offset_at
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.taper import Curve
from turnout_templates.spec.model import Hand, Points

Way = Literal[1, -1]
"""A direction along a route: +1 with its stations, -1 against them."""


class Departure(Struct, frozen=True):
    """How one end of a branch meets another route: `parent` at `station` (mm on it), looking from there to the frog.

    `tip` is the parent's pose there, heading toward the frog, and `way` the direction of that on the parent; on the
    branch itself, what leaves at its start runs with its stations and what joins at its end against them. `hand` is the
    side to which the branch parts (None where the parent ends and the branch goes straight on).

    `along` names the route that goes on from the tip and whose faces the branch's are judged against: the parent
    itself, or where the parent ends there, another of the branches that part (`parting`). The branch itself starts at
    its vertex, which lies before the tip where the points have an angle. `along_station` is the tip's station on
    `along`.
    """

    parent: str
    station: float
    way: Way
    tip: Pose
    hand: Hand | None
    along: str
    along_station: float
    parting: bool
    points: Points


class LaidRoute(Struct, frozen=True):
    """A route in its place: its `path` is the reference line, its `faces` run parallel to it, left to right.

    Over the stretches in `widened` the gauge is wider and some rails lie further out than their faces say; there is
    neither switch nor frog on them. What is drawn, measured and tied asks `lie` and `offset_at`; tips, frogs and filing
    ask `parallel`, the face as it is outside of them.
    `departure` tells how it leaves another route, `arrival` how it joins one; None where that end is free.
    """

    name: str
    faces: tuple[Face, ...]
    path: Path
    departure: Departure | None
    heel_start: float | None
    """The station on the path at which a frog's straight toe begins, None where the path has none."""
    begins: tuple[float, ...] = ()
    """Where each of the faces begins, in their order: of a branch that starts at an angle, each at its own bend."""
    arrival: Departure | None = None
    heel_end: float | None = None
    """The station at which the straight toe of the frog at the far end ends, None where the path has none."""
    ends: tuple[float, ...] = ()
    """Where each of the faces ends, in their order: of one that joins at an angle, each at its own bend."""
    frog_curve: int | None = None
    """The index of the piece of the path that turns to the frog, None where no piece was left open."""
    bent: bool = False
    """Whether the route was laid out on straight track and then bent (see `bending`)."""
    widened: tuple[Widened, ...] = ()
    """Where the gauge is wider, in order (see `widening`)."""

    @property
    def departures(self) -> tuple[tuple[Way, Departure], ...]:
        """The ends that meet other routes, each with the direction of this route from there to the frog."""
        found: list[tuple[Way, Departure]] = []
        if self.departure is not None:
            found.append((1, self.departure))
        if self.arrival is not None:
            found.append((-1, self.arrival))
        return tuple(found)

    def begin_of(self, face: Face) -> float:
        """Return the station at which a face begins: where it leaves the parent's rail that it goes on from."""
        return self.begins[self.faces.index(face)] if self.begins else 0.0

    def end_of(self, face: Face) -> float:
        """Return the station at which a face ends: the end of the route, or where it goes over into another's rail."""
        return self.ends[self.faces.index(face)] if self.ends else self.path.length

    def parallel(self, face: Face) -> Parallel:
        """Return the whole gauge face as a curve."""
        return Parallel(self.path, face.offset, self.begin_of(face), self.end_of(face))

    def offset_at(self, face: Face, s: float) -> float:
        """Return how far (mm) a gauge face lies to the left of the reference line at a station."""
        return offset_at(face, self.widened, s)

    def lie(self, face: Face, low: float, high: float, out: float = 0.0) -> tuple[Curve, ...]:
        """Return what lies `out` mm outward of a gauge face between two stations, as parallels and tapers in order."""
        return lie(self.path, face, self.widened, low, high, out)


@dataclass(frozen=True, slots=True)
class View:
    """A route as it lies before somebody who looks along it one `way`.

    Looked at against its stations, a left rail is a right one, and distances `u` are counted from the far end. All that
    is said of tips and points is said in such views, so that joining is leaving seen from the other side.
    """

    route: LaidRoute
    way: Way
    path: Path = field(init=False, repr=False, compare=False)
    faces: tuple[Face, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Turn the path and the faces round where the view is against the stations; the order of faces stays."""
        with_it = self.way > 0
        object.__setattr__(self, "path", self.route.path if with_it else self.route.path.reversed())
        faces = self.route.faces
        object.__setattr__(self, "faces", faces if with_it else tuple(face.turned() for face in faces))

    @property
    def name(self) -> str:
        """The route's name."""
        return self.route.name

    def station(self, u: float) -> float:
        """Return the route's station at the distance `u` from where the view begins; it is its own inverse."""
        return u if self.way > 0 else self.route.path.length - u

    def begin_of(self, index: int) -> float:
        """Return the distance at which the face `index` begins in this view."""
        face = self.route.faces[index]
        return self.station(self.route.begin_of(face) if self.way > 0 else self.route.end_of(face))


@dataclass(frozen=True, slots=True)
class Layout:
    """All routes of a spec in the order of the file."""

    routes: tuple[LaidRoute, ...]
    _by_name: Mapping[str, LaidRoute] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Sort the routes by name, so that finding one costs the same in a yard."""
        object.__setattr__(self, "_by_name", {route.name: route for route in self.routes})

    def __iter__(self) -> Iterator[LaidRoute]:
        """Iterate over the routes in the order of the file."""
        return iter(self.routes)

    def route(self, name: str) -> LaidRoute:
        """Return the route called `name`."""
        return self._by_name[name]
