"""Ties and ties that are missing, as frozen values."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.room import rectangle
from turnout_templates.trackwork.rails.rail_parts import Ring
from turnout_templates.trackwork.ties.joiners import Notch

Role = Literal["plain", "switch", "headblock"]


class Tie(Struct, frozen=True):
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


class MissingTie(Struct, frozen=True):
    """A place that no tie holds: `what` is there, `at` which point, how far `away` (mm) a tie may lie and does lie."""

    what: str
    at: Point
    away: float
    limit: float
