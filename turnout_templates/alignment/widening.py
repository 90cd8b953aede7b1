"""Turn routes in their place and what is said of gauge widening into the stretches over which the gauge is wider.

Each curve that is tight enough has its full widening from its beginning to its end and a taper before and behind it, in
whatever piece lies there. Where that of several curves to one side overlaps, the greatest holds at each station; to
opposite sides it may not. Curves that run to a frog are left out: the gauge is not widened in turnouts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from msgspec import Struct
from msgspec.structs import replace

from turnout_templates.alignment.faces import side
from turnout_templates.alignment.model import LaidRoute, Layout
from turnout_templates.alignment.widened import Knot, Widened
from turnout_templates.errors import LayoutError
from turnout_templates.geometry.piece import Piece
from turnout_templates.spec.model import Hand, Spec, Widening
from turnout_templates.units import Unit, format_at_least, format_length

_ROUNDING = 1e-9
"""Radii and stations that differ by less than this (of themselves, or mm) are one."""


class _Bump(Struct, frozen=True):
    """What one curve asks for: the gauge wider `by` mm from `low` to `high`, with a `taper` at either end."""

    low: float
    high: float
    by: float
    taper: float

    @property
    def corners(self) -> tuple[float, float, float, float]:
        """The stations at which it begins, is full, is full no more, and ends."""
        return self.low - self.taper, self.low, self.high, self.high + self.taper

    def at(self, s: float) -> float:
        """Return the widening at a station."""
        away = max(self.low - s, s - self.high, 0.0)
        return self.by * max(0.0, 1.0 - away / self.taper)


def widen_routes(spec: Spec, layout: Layout) -> Layout:
    """Return the routes with their gauge widened as their specs say.

    Raises LayoutError where two curves to opposite sides are too near to each other for their tapers.
    """
    said = {route.name: route.widening for route in spec.routes}
    return Layout(tuple(_widen(route, said[route.name], spec.units) for route in layout))


def _widen(route: LaidRoute, widening: Widening | None, units: Unit) -> LaidRoute:
    if widening is None:
        return route
    hands: tuple[Hand, Hand] = ("left", "right")
    found = [Widened(hand, knots) for hand in hands for knots in _runs(list(_bumps(route, widening, hand)))]
    found.sort(key=lambda stretch: stretch.begin)
    for one, two in combinations(found, 2):
        _refuse_overlap(route, one, two, units)
    return replace(route, widened=tuple(found))


def _bumps(route: LaidRoute, widening: Widening, hand: Hand) -> Iterator[_Bump]:
    """Yield what each curve to one hand asks for, in order."""
    for begin, piece in zip(route.path.starts, route.path.pieces, strict=True):
        end = begin + piece.length
        by, taper = _asked(piece, widening, side(hand))
        if by and not _runs_to_frog(route, begin, end):
            yield _Bump(begin, end, by, taper)


def _asked(piece: Piece, widening: Widening, turn: int) -> tuple[float, float]:
    """Return (by, taper) in mm for a piece that turns to one side and is tight enough all along; else zeros."""
    flattest = min(turn * piece.from_curvature, turn * piece.to_curvature)
    fitting = ((by, taper) for radius, by, taper in widening.steps if radius * flattest > 1.0 + _ROUNDING)
    return max(fitting, default=(0.0, 0.0))


def _runs_to_frog(route: LaidRoute, begin: float, end: float) -> bool:
    """Tell whether what lies between two stations is before the toe of the route's frog, at either end."""
    near = route.heel_start is not None and end <= route.heel_start + _ROUNDING
    return near or (route.heel_end is not None and begin >= route.heel_end - _ROUNDING)


def _runs(bumps: list[_Bump]) -> Iterator[tuple[Knot, ...]]:
    """Yield the widening of curves to one side, in order along the route, as the knots of each stretch it holds on."""
    together: list[_Bump] = []
    for bump in sorted(bumps, key=lambda bump: bump.corners[0]):
        if together and bump.corners[0] >= max(other.corners[3] for other in together):
            yield _greatest(together)
            together = []
        together.append(bump)
    if together:
        yield _greatest(together)


def _greatest(bumps: Sequence[_Bump]) -> tuple[Knot, ...]:
    """Return the knots of the greatest widening that any of `bumps` asks for at each station."""
    stations = sorted({station for bump in bumps for station in bump.corners})
    stations += [s for low, high in pairwise(stations) for s in _meetings(bumps, low, high)]
    knots = [(s, max(bump.at(s) for bump in bumps)) for s in sorted(set(stations))]
    return tuple(knot for i, knot in enumerate(knots) if not _between(knots, i))


def _meetings(bumps: Sequence[_Bump], low: float, high: float) -> Iterator[float]:
    """Yield where two of `bumps` ask for the same between two stations, over which each changes evenly."""
    lines = {(bump.at(low), bump.at(high)) for bump in bumps}
    for one, two in combinations(sorted(lines), 2):
        before, after = one[0] - two[0], one[1] - two[1]
        if before * after < 0.0:
            yield low + (high - low) * before / (before - after)


def _between(knots: Sequence[Knot], i: int) -> bool:
    """Tell whether a knot lies on the line from the one before to the one after it, and says nothing."""
    if i in (0, len(knots) - 1):
        return False
    (low, before), (s, by), (high, after) = knots[i - 1 : i + 2]
    return abs(before + (after - before) * (s - low) / (high - low) - by) < _ROUNDING


def _refuse_overlap(route: LaidRoute, one: Widened, two: Widened, units: Unit) -> None:
    """Raise where widening to one side runs into widening to the other."""
    low, high = max(one.begin, two.begin), min(one.end, two.end)
    if high - low > _ROUNDING:
        raise LayoutError(
            f'"{route.name}" curves to one side and then to the other so soon that its gauge would widen on both sides '
            f"from {format_length(low, units)} to {format_length(high, units)}.",
            f"Put at least {format_at_least(high - low, units)} more between the two curves, or shorten the taper by "
            f"{format_at_least((high - low) / 2, units)}.",
            ("routes", route.name, "widening"),
        )
