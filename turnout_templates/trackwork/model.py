"""What trackwork is made of: frozen values that the checks, the drawing and the figures read.

Stations are mm on the reference line of the route that is named; offsets are mm to its left. Rings are closed outlines
given as points, the last not repeating the first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.model import Departure, LaidRoute, Layout, Way
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.room import rectangle
from turnout_templates.spec.model import Gauge, Hand, Spec
from turnout_templates.trackwork.circuit import Circuit
from turnout_templates.trackwork.joiners import Notch

if TYPE_CHECKING:
    from turnout_templates.trackwork.contacts import Contact
    from turnout_templates.trackwork.fits import Fit

if TYPE_CHECKING:
    from turnout_templates.trackwork.switch_parts import SwitchWork

Ring = tuple[Point, ...]
Interval = tuple[float, float]
BaseSide = Literal["gauge", "outer"]
BaseFoul = Literal["point", "head", "base", "open point"]
Switching = Literal["points", "stub", "fixed"]
Role = Literal["plain", "switch", "headblock"]
SAME_PLACE = 1e-6
"""Places that differ by less than this (mm) are one: tips at one station, faces with one offset."""


@dataclass(frozen=True, slots=True)
class RouteFace:
    """A gauge face by the route it belongs to."""

    route: str
    face: Face

    @property
    def label(self) -> str:
        """A short name for people: "quarry narrow right"."""
        return f"{self.route} {self.face.gauge} {self.face.hand}"


@dataclass(frozen=True, slots=True)
class Stretch:
    """A gauge face between two stations of its route; the rail runs along it in the direction `way`."""

    owner: RouteFace
    low: float
    high: float
    way: Way = 1


@dataclass(frozen=True, slots=True)
class PointRail:
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


@dataclass(frozen=True, slots=True)
class Rail:
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


@dataclass(frozen=True, slots=True)
class FiledPart:
    """What is left of a head between the stations of `zone`: its outline, first, and those of holes in it.

    `face` is the one of the head's `faces` that it hangs on.
    """

    face: Interval
    zone: Interval
    rings: tuple[Ring, ...]


@dataclass(frozen=True, slots=True)
class FiledHead:
    """The head of a rail along one stretch after filing.

    `faces` are the stations between which the gauge face is there; `edges` those between which the outer edge of the
    head is untouched; `filed` those over which the head is not whole; `parts` are what is left of the head there.
    """

    rail: str
    stretch: Stretch
    faces: tuple[Interval, ...]
    edges: tuple[Interval, ...]
    filed: tuple[Interval, ...]
    parts: tuple[FiledPart, ...]

    @property
    def rings(self) -> tuple[Ring, ...]:
        """The outlines of all that is left of the head where it is filed."""
        return tuple(ring for part in self.parts for ring in part.rings)


@dataclass(frozen=True, slots=True)
class Bar:
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


@dataclass(frozen=True, slots=True)
class Opening:
    """How an open point stands if it is held `fix` mm behind its filed tip, hinged there or bent from there.

    `least` is the least opening in mm beside it, `at` mm behind the tip. `throw_to_hold` is the throw that would keep
    wheel backs off the whole point, `fix_to_hold` the place where it would have to be held for that with the throw as
    it is; None where there is none, before the bar is fast in a frog.
    """

    model: Literal["hinged", "bent"]
    fix: float
    least: float
    at: float
    throw_to_hold: float | None
    fix_to_hold: float | None


@dataclass(frozen=True, slots=True)
class Switch:
    """The place where routes part: the rails that begin there, and how they are thrown where they move.

    `onward` names the routes that go on from the tip: first the one that the others are judged against, the parent or
    where it ends there the first branch of the file; then the branches that leave it. `hand` is the side to which the
    first of those leaves. `way` is the direction on the parent in which one looks from the tip to the frog. `parting`
    tells that the parent ends. `tip` is the pose of the parent's reference line at `station`, heading toward the frog;
    `filed_tip` the same at the filed tip of `outer`, the point that opens from the stock rail of the branch, at
    `filed_station`. `bar_station` is where the throw bar lies and `bar_side` the side to which it reaches out, +1 left
    and -1 right as seen from the tip; `throw` its travel in mm and `throw_to_hold` the travel that would keep wheel
    backs off the whole point, None where none would; `least_opening` is the least that the open points stand from their
    stock rails up to the heel, at `least_station` on the branch. Where nothing moves, `outer` is the fixed rail,
    `filed_tip` where that begins, and there is neither bar nor throw nor opening.

    In a stub switch the tip is the fixed end of the swinging rails and `filed_tip` their toe, where `points` are the
    rails that begin anew; `throws` is how far each route that leaves lies from the first of `onward` there, and `throw`
    the largest of them.

    `openings` tells how `outer` stands open: first held as it is drawn, which is what `least_opening` and
    `throw_to_hold` say, then as it might be held instead.
    """

    id: str
    parent: str
    onward: tuple[str, ...]
    hand: Hand
    way: Way
    parting: bool
    station: float
    tip: Pose
    filed_station: float
    filed_tip: Pose
    points: tuple[PointRail, ...]
    outer: PointRail
    bar_station: float | None
    bar_side: int
    throw: float | None
    throw_to_hold: float | None
    least_opening: float | None
    least_station: float | None
    throws: tuple[float, ...] = ()
    openings: tuple[Opening, ...] = ()

    @property
    def branch(self) -> str:
        """The first route that leaves here."""
        return self.onward[1]

    def end_of(self, route: LaidRoute) -> tuple[Way, Departure] | None:
        """Return the end at which a route meets the parent here, and the route's way from it; None without one."""
        here = (
            (way, end)
            for way, end in route.departures
            if (end.parent, end.way) == (self.parent, self.way) and abs(end.station - self.station) < SAME_PLACE
        )
        return next(here, None)

    @property
    def moving_points(self) -> tuple[PointRail, ...]:
        """The rails that move as points."""
        return tuple(point for point in self.points if point.begins == "point")

    @property
    def switching(self) -> Switching:
        """What sends wheels one way or the other: moving points, swinging rails, or fixed rails for each gauge."""
        if any(point.begins == "butt" for point in self.points):
            return "stub"
        return "points" if self.moving_points else "fixed"

    @property
    def swinging(self) -> float:
        """The length in mm over which the rails of a stub swing, from their fixed end to the toe; else zero."""
        return abs(self.filed_station - self.station) if self.switching == "stub" else 0.0

    def pose_on(self, path: Path, station: float) -> Pose:
        """Return the pose at a station of the parent's `path`, heading toward the frog."""
        pose = path.pose_at(station)
        return pose if self.way > 0 else pose.turned(math.pi)


@dataclass(frozen=True, slots=True)
class Frog:
    """A crossing of two gauge faces: `kind` V (left with right) or K (same hand).

    `s` and `t` are the stations of the theoretical `point` on the first and second route; `angle` is between the
    tangents there, radians up to a right angle. `noses` are the stations at which each face is broken for the other's
    flangeway (the knuckle of a V), `practical` the place where a V is blunt and `practical_stations` the same on each
    route; None where a face ends before. `lead` is from the switch's tip along the parent, None without a switch.
    """

    id: str
    kind: Literal["V", "K"]
    switch: str | None
    first: RouteFace
    second: RouteFace
    s: float
    t: float
    point: Point
    angle: float
    heading: float
    number: float
    lead: float | None
    noses: tuple[float | None, float | None]
    practical: Point | None
    practical_stations: tuple[float, float] | None
    heel_directions: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Wing:
    """A wing rail: from the knuckle of `frog` beside the face `beside`, straight over `straight`, flared to `end`.

    `full_end` is where it would end with all the room it could use, and `shortened_by` names what stood in the way.
    """

    id: str
    frog: str
    continues: RouteFace
    beside: RouteFace
    straight: Interval
    end: float
    flangeway: float
    ring: Ring
    full_end: float
    shortened_by: tuple[str, ...] = ()

    @property
    def ends(self) -> Interval:
        """Both ends as stations, the lower first: the knuckle, and the end of the flare."""
        return min(self.straight[0], self.end), max(self.straight[1], self.end)


@dataclass(frozen=True, slots=True)
class Guard:
    """A guard rail for `gauge` beside the running face `beside`, stations on that face's route.

    `frogs` and `switches` are the ids of what it guards: of a switch, the way past a stock rail to a fixed rail.
    `full_straight` and `full_ends` are what it would have with all the room it could use, `shortened_by` names what
    stood in the way, and `merged_from` the straight parts of those that became one with it. At an end in `bent_at` it
    has no flare: it is one bar with the guard named there, bent at that station to lie along the next rail of a K.
    """

    id: str
    gauge: str
    frogs: tuple[str, ...]
    beside: RouteFace
    flangeway: float
    straight: Interval
    ends: Interval
    ring: Ring
    switches: tuple[str, ...]
    full_straight: Interval
    full_ends: Interval
    shortened_by: tuple[str, ...] = ()
    merged_from: tuple[Interval, ...] = ()
    bent_at: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Need:
    """A gap over which nothing holds the wheels of `gauge` to the face `face`, from its nose to where it goes on.

    `guarded` is the id of the frog or the switch; `beside` the face of the other rail of that gauge, where a guard
    belongs; `gap` its stations on the route of both.
    """

    guarded: str
    gauge: Gauge
    face: RouteFace
    beside: RouteFace
    gap: Interval


@dataclass(frozen=True, slots=True)
class Side:
    """The side of a rail that fills the place of a guard and is cut to be it.

    Over `cut` (stations of the route of `beside`) the head of `owner` is cut at `flangeway` mm from the face `beside`,
    and it guides over `guides`. `gauge` names whose check gauge that is, `guarded` the frogs that it guards.
    """

    owner: RouteFace
    beside: RouteFace
    gauge: str
    flangeway: float
    cut: Interval
    guides: Interval
    guarded: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Guarding:
    """What became of a need: the parts of its gap that are `covered`, `by` what each, and what stood in the way.

    `by` holds the id of a guard, or "the side of" a rail; `obstacles` are told in words.
    """

    need: Need
    covered: tuple[Interval, ...]
    by: tuple[tuple[str, Interval], ...]
    missing: tuple[Interval, ...]
    obstacles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BaseCut:
    """The base of the part `part` is filed flush with its head on one `side` from station `low` to `high`.

    Stations are those of the route of `beside`: a bar's own gauge face, or the face a wing or guard lies beside. The
    gauge side of a wing or guard is its guiding side. `against` are the parts that it would foul, and `why` tells
    how: a "point" that lies there, a "head" that would stand on the base, a "base" that it would meet, or an
    "open point" that would do either when it is thrown.
    """

    part: str
    side: BaseSide
    beside: RouteFace
    low: float
    high: float
    against: tuple[str, ...]
    why: tuple[BaseFoul, ...]


@dataclass(frozen=True, slots=True)
class BaseRelief:
    """The base of a bar is filed off on its gauge side for the moving `point` behind it, a part of the bar `point_bar`.

    Stations are those of the route of `beside`, the face that the bar lies on there.
    """

    bar: str
    beside: RouteFace
    low: float
    high: float
    point_bar: str
    point: PointRail


@dataclass(frozen=True, slots=True)
class OpenFoul:
    """A point of `switch`, the bar `bar`, runs into the head of `against` when it is opened, between two stations."""

    switch: str
    bar: str
    against: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Tie:
    """A tie: `centre` in mm, `angle` of its long axis in radians, `length` and `width` in mm.

    `holds` names what it is there for; `loose` are the ids of bars that move on it and must not be soldered to it.
    """

    id: str
    role: Role
    material: Literal["wood", "copper-clad"]
    centre: Point
    angle: float
    length: float
    width: float
    route: str
    station: float
    holds: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()
    notches: tuple[Notch, ...] = ()

    def corners(self) -> Ring:
        """Return the four corners, counter-clockwise."""
        half, side = self.length / 2, self.width / 2
        return rectangle(Pose(*self.centre, self.angle), half, half, side, side)


@dataclass(frozen=True, slots=True)
class MissingTie:
    """A place that no tie holds: `what` is there, `at` which point, how far `away` (mm) a tie may lie and does lie."""

    what: str
    at: Point
    away: float
    limit: float


@dataclass(frozen=True, slots=True)
class Trackwork:
    """Everything that is to be built; `fits` says how bars are fitted at frogs, `contacts` which parts may touch."""

    spec: Spec
    layout: Layout
    rails: tuple[Rail, ...]
    heads: tuple[FiledHead, ...]
    bars: tuple[Bar, ...]
    fits: tuple[Fit, ...]
    contacts: tuple[Contact, ...]
    switches: tuple[Switch, ...]
    frogs: tuple[Frog, ...]
    wings: tuple[Wing, ...]
    guards: tuple[Guard, ...]
    sides: tuple[Side, ...]
    guarding: tuple[Guarding, ...]
    base_cuts: tuple[BaseCut, ...]
    reliefs: tuple[BaseRelief, ...]
    open_fouls: tuple[OpenFoul, ...]
    ties: tuple[Tie, ...]
    missing_ties: tuple[MissingTie, ...]
    switch_works: tuple[SwitchWork, ...]
    circuit: Circuit

    @property
    def unguarded(self) -> tuple[Guarding, ...]:
        """The needs of which something is not met."""
        return tuple(told for told in self.guarding if told.missing)

    def frog(self, name: str) -> Frog:
        """Return the frog with the id `name`."""
        return next(frog for frog in self.frogs if frog.id == name)

    def switch(self, name: str) -> Switch:
        """Return the switch with the id `name`."""
        return next(switch for switch in self.switches if switch.id == name)

    def works(self) -> Iterator[tuple[Switch, SwitchWork]]:
        """Yield each switch with what is made there."""
        return zip(self.switches, self.switch_works, strict=True)
