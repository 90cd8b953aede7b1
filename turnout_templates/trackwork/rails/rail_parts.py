"""What rails are made of: faces, stretches, points, filed heads and bars, as frozen values.

Stations are mm on the reference line of the route that is named; offsets are mm to its left. Rings are closed outlines
given as points, the last not repeating the first.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.model import Way
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point

Ring = tuple[Point, ...]


Interval = tuple[float, float]


RailSide = Literal["gauge", "outer"]
"""The side of a rail: that of its gauge face, or the other."""


SAME_PLACE = 1e-6
"""Places that differ by less than this (mm) are one: tips at one station, faces with one offset."""


class RouteFace(Struct, frozen=True):
    """A gauge face by the route it belongs to."""

    route: str
    face: Face

    @property
    def label(self) -> str:
        """A short name for people: "quarry narrow right"; of a route named like the gauge, that name once."""
        words = (self.route, self.face.gauge, self.face.hand)
        return " ".join(words[1:] if self.route == self.face.gauge else words)


class Stretch(Struct, frozen=True):
    """A gauge face between two stations of its route; the rail runs along it in the direction `way`."""

    owner: RouteFace
    low: float
    high: float
    way: Way = 1


class PointRail(Struct, frozen=True):
    """A rail `owner` that begins where routes part, lying behind the rails `outside` it, nearest first.

    Stations on the owner's route, along which it runs from tip to heel in the direction `way`: `tip` where it is filed
    to the tip thickness, `full_head` where it has its whole head, `heel` where it stands clear of the stock rail,
    `clear` where a full flangeway has opened between them. `parts` is where its face leaves the stock rail's.

    `begins` tells as what it begins: a "point" moves from tip to heel, with its tip where it parts; a "fixed" rail
    has all four stations where the flangeway has opened, and no rail lies between there and where it parts; a "butt"
    begins at the toe of a stub switch, which is its tip and its heel, and `parts` is where the swinging rail is fixed.

    A `rigid` point turns about its heel, any other bends with the closure rail that is one bar with it. `hinge` is the
    heel where the spec asks that the bar be cut and hinged there, else None.
    """

    owner: RouteFace
    outside: tuple[RouteFace, ...]
    way: Way
    tip: float
    full_head: float
    heel: float
    clear: float
    parts: float
    begins: Literal["point", "fixed", "butt"] = "point"
    rigid: bool = False
    hinge: float | None = None

    def beyond_tip(self, station: float) -> float:
        """Return how far (mm) a station of the owner's route lies behind the tip, toward the heel."""
        return (station - self.tip) * self.way

    @property
    def moving(self) -> float:
        """The length in mm from tip to heel, over which the point moves."""
        return self.beyond_tip(self.heel)

    def moves_at(self, station: float) -> bool:
        """Tell whether a station of the owner's route lies between tip and heel."""
        return 0.0 < self.beyond_tip(station) < self.moving


class Rail(Struct, frozen=True):
    """A rail as it is laid, before frogs break it: the `stretches` it runs along, and its points.

    `first` is the point that it begins as, `last` the one that it ends as; None where it does not.
    """

    id: str
    stretches: tuple[Stretch, ...]
    first: PointRail | None
    last: PointRail | None

    @property
    def points(self) -> tuple[PointRail, ...]:
        """The points that the rail begins and ends as."""
        return tuple(point for point in (self.first, self.last) if point is not None)

    def points_on(self, stretch: Stretch) -> tuple[PointRail, ...]:
        """Return the points that lie on one of the rail's stretches."""
        found = []
        if self.first is not None and self.stretches[0] is stretch:
            found.append(self.first)
        if self.last is not None and self.stretches[-1] is stretch:
            found.append(self.last)
        return tuple(found)


class FiledPart(Struct, frozen=True):
    """What is left of a head between the stations of `zone`: its outline, first, and those of holes in it.

    `face` is the one of the head's `faces` that it hangs on.
    """

    face: Interval
    zone: Interval
    rings: tuple[Ring, ...]


class FiledHead(Struct, frozen=True):
    """The head of a rail along one stretch after filing.

    `faces` are the stations between which the gauge face is there; `edges` those between which the outer edge of the
    head is untouched; `filed` those over which the head is not whole; `parts` are what is left of the head there.
    `grooves` are the far edges of the flangeways that are taken from it, and the blunt ends of its points.
    """

    rail: str
    stretch: Stretch
    faces: tuple[Interval, ...]
    edges: tuple[Interval, ...]
    filed: tuple[Interval, ...]
    parts: tuple[FiledPart, ...]
    grooves: tuple[Parallel, ...] = ()

    @property
    def rings(self) -> tuple[Ring, ...]:
        """The outlines of all that is left of the head where it is filed."""
        return tuple(ring for part in self.parts for ring in part.rings)


class Bar(Struct, frozen=True):
    """One piece of rail without a break: the `stretches` of gauge face it runs along, and what it `role` is."""

    id: str
    role: Literal[
        "stock rail",
        "point and closure rail",
        "point rail",
        "closure rail",
        "frog rail",
        "running rail",
        "swinging rail",
    ]
    stretches: tuple[Stretch, ...]

    def __hash__(self) -> int:
        """Return the hash of the id, which no two bars share."""
        return hash(self.id)
