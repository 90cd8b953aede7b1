"""Frogs and what guides wheels through them, as frozen values."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.rails.rail_parts import Interval, Ring, RouteFace


class Frog(Struct, frozen=True):
    """A crossing of two gauge faces: `kind` V (left with right) or K (same hand).

    `s` and `t` are the stations of the theoretical `point` on the first and second route; `angle` is between the
    tangents there, radians up to a right angle. `noses` are the stations at which each face is broken for the other's
    flangeway (the knuckle of a V), `practical` the place where a V is blunt and `practical_stations` the same on each
    route; None where a face ends before. `heel_directions` lead along each route to the heel of a V; those of a K are
    read by `needs.way_to_nose`. `lead` is from the switch's tip along the parent, None without a switch.
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


class Wing(Struct, frozen=True):
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


class BarredWing(Struct, frozen=True):
    """A wing rail of `frog` that has no room: it would go on from `continues` beside the face `beside`.

    From its `knuckle` (station of the route of `beside`) it could be straight for `reach` mm only; `obstacles` are told
    in words.
    """

    frog: str
    continues: RouteFace
    beside: RouteFace
    knuckle: float
    reach: float
    obstacles: tuple[str, ...]


class Guard(Struct, frozen=True):
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


class Need(Struct, frozen=True):
    """A gap over which nothing holds the wheels of `gauge` to the face `face`, from its nose to where it goes on.

    `guarded` is the id of the frog or the switch; `beside` the face of the other rail of that gauge, where a guard
    belongs; `gap` its stations on the route of both.
    """

    guarded: str
    gauge: Gauge
    face: RouteFace
    beside: RouteFace
    gap: Interval


class GuidingSide(Struct, frozen=True):
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


class Guarding(Struct, frozen=True):
    """What became of a need: the parts of its gap that are `covered`, `by` what each, and what stood in the way.

    `by` holds the id of a guard, or "the side of" a rail; `obstacles` are told in words.
    """

    need: Need
    covered: tuple[Interval, ...]
    by: tuple[tuple[str, Interval], ...]
    missing: tuple[Interval, ...]
    obstacles: tuple[str, ...]
