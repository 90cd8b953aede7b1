"""What is filed off the bases of rails, as frozen values."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

from turnout_templates.trackwork.rails.rail_parts import PointRail, RailSide, RouteFace

BaseFoul = Literal["point", "head", "base", "open point"]


class BaseCut(Struct, frozen=True):
    """The base of the part `part` is filed flush with its head on one `side` from station `low` to `high`.

    Stations are those of the route of `beside`: a bar's own gauge face, or the face a wing or guard lies beside. The
    gauge side of a wing or guard is its guiding side. `against` are the parts that it would foul, and `why` tells
    how: a "point" that lies there, a "head" that would stand on the base, a "base" that it would meet, or an
    "open point" that would do either when it is thrown.
    """

    part: str
    side: RailSide
    beside: RouteFace
    low: float
    high: float
    against: tuple[str, ...]
    why: tuple[BaseFoul, ...]


def cuts_by_part(cuts: Iterable[BaseCut]) -> dict[str, list[BaseCut]]:
    """Return cuts of bases by the id of the part, for those parts that have any."""
    found: dict[str, list[BaseCut]] = {}
    for cut in cuts:
        found.setdefault(cut.part, []).append(cut)
    return found


class BaseRelief(Struct, frozen=True):
    """The base of a bar is filed off on its gauge side for the moving `point` behind it, a part of the bar `point_bar`.

    Stations are those of the route of `beside`, the face that the bar lies on there.
    """

    bar: str
    beside: RouteFace
    low: float
    high: float
    point_bar: str
    point: PointRail


class OpenFoul(Struct, frozen=True):
    """A `point` of `switch`, the bar `bar`, runs into the head of `against` when it is opened, between two stations."""

    switch: str
    point: PointRail
    bar: str
    against: str
    low: float
    high: float
