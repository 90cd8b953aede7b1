"""The switch, where routes part: frozen values that say where it lies and how it is thrown."""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from turnout_templates.alignment.model import Departure, LaidRoute, Way
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, PointRail

Switching = Literal["points", "stub", "fixed"]


class Opening(Struct, frozen=True):
    """How an open point stands if it is held `fix` mm behind its filed tip, hinged there or bent from there.

    `least` is the least opening in mm beside it, `at` mm behind the tip; both places are told along its gauge face.
    `throw_to_hold` is the throw that would keep wheel backs off the whole point, `fix_to_hold` the place where it would
    have to be held for that with the throw as it is; None where there is none, before the bar is fast in a frog.
    """

    model: Literal["hinged", "bent"]
    fix: float
    least: float
    at: float
    throw_to_hold: float | None
    fix_to_hold: float | None


class Headblock(Struct, frozen=True):
    """A tie beside a throw bar, at `station` of its `route`, longer on the `side` that the bar reaches to (+1 left)."""

    route: str
    station: float
    side: int


class Switch(Struct, frozen=True):
    """The place where routes part: the rails that begin there, and how they are thrown where they move together.

    Where several branches part at one tip, those rails that move together are a switch of their own.

    `onward` names the routes that go on from the tip: first the one that the others are judged against, the parent or
    where it ends there the first branch of the file; then the branches that leave it. `hand` is the side to which the
    first of those leaves. `way` is the direction on the parent in which one looks from the tip to the frog. `parting`
    tells that the parent ends. `tip` is the pose of the parent's reference line at `station`, heading toward the frog;
    `filed_tip` the same at the filed tip of `outer`, the point that opens from the stock rail of the branch, at
    `filed_station`. `bar_station` is where the throw bar lies, `bar_turn` by how much it is turned from square to the
    parent (radians, left positive) to lie alongside its `headblocks`, and `bar_side` the side to which it reaches out,
    +1 left and -1 right as seen from the tip; `throw` its travel in mm; `least_opening` is the least that `outer`
    stands from its stock rail when open, at `least_station` of its route. Where nothing moves, `outer` is the fixed
    rail, `filed_tip` where that begins, and there is neither bar nor throw nor opening.

    In a stub switch the tip is the fixed end of the swinging rails and `filed_tip` their toe, where `points` are the
    rails that begin anew; `throws` is how far each route that leaves lies from the first of `onward` there, and `throw`
    the largest of them.

    `fixes` is how far behind its filed tip (mm of its route) each of the moving points is held: by a hinge, or
    fast before its frog; `fasts` how far behind it (mm of its face) its bar is fast in any case, None where none is.
    `bars` is how far behind its filed tip (mm of its route) the throw bar crosses each of them.
    `openings` tells how `outer` stands open: first held as it is drawn, which is what `least_opening` says, then
    as it might be held instead; `SwitchWork` tells the same of every point.
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
    least_opening: float | None
    least_station: float | None
    bar_turn: float = 0.0
    headblocks: tuple[Headblock, ...] = ()
    throws: tuple[float, ...] = ()
    fixes: tuple[float, ...] = ()
    fasts: tuple[float | None, ...] = ()
    bars: tuple[float, ...] = ()
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

    def leads_to_branch(self, point: PointRail) -> bool:
        """Tell whether wheels go to the branch where a point of this switch is closed, not to the route it leaves.

        Its own route says so, or else the rail that it lies against: one of the two is the branch's or the lead's.
        """
        lead, branch = self.onward[:2]
        own, outside = point.owner.route, point.outside[0].route
        return own == branch or (own != lead and outside != branch)

    def fix_of(self, point: PointRail) -> float:
        """Return how far behind its filed tip (mm of its route) a moving point of this switch is held."""
        return self.fixes[self.moving_points.index(point)]

    def fast_of(self, point: PointRail) -> float | None:
        """Return how far behind its filed tip (mm of its face) the bar of a moving point is fast, None without one."""
        return self.fasts[self.moving_points.index(point)]

    def bar_of(self, point: PointRail) -> float:
        """Return how far behind its filed tip (mm of its route) the throw bar crosses a moving point of this switch."""
        return self.bars[self.moving_points.index(point)]

    def bar_station_of(self, point: PointRail) -> float:
        """Return the station of a moving point's route at which the throw bar crosses its gauge face."""
        return point.tip + point.way * self.bar_of(point)

    def fix_station(self, point: PointRail) -> float:
        """Return the station of a moving point's route at which it is held."""
        return point.tip + point.way * self.fix_of(point)

    @property
    def bar_from_tip(self) -> float:
        """How far (mm) the throw bar lies behind the filed tip; nothing where there is none."""
        return 0.0 if self.bar_station is None else (self.bar_station - self.filed_station) * self.way

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

    def bar_pose(self, path: Path) -> Pose | None:
        """Return the pose of the throw bar on the parent's `path`, heading along the track; None without a bar."""
        return None if self.bar_station is None else self.pose_on(path, self.bar_station).turned(self.bar_turn)

    def pose_on(self, path: Path, station: float) -> Pose:
        """Return the pose at a station of the parent's `path`, heading toward the frog."""
        pose = path.pose_at(station)
        return pose if self.way > 0 else pose.turned(math.pi)
