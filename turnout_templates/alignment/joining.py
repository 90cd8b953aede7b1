"""Turn a path that is to end on another route into the shapes that take it there.

Whatever the near end of the path is (free, or a branch with a frog), its pieces run up to the far end, which is looked
at from its own tip like any branch: there begin the points, and the curve from the frog where the path has one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from turnout_templates.alignment.allowed import number_of
from turnout_templates.alignment.attempt import Attempt, JoinedPath, NearEnd
from turnout_templates.alignment.closing import Closing, Unknown, close_path
from turnout_templates.alignment.ends import NOTICED, check_on_parent, joining_view
from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.frog_end import far_piece
from turnout_templates.alignment.leaving import angled
from turnout_templates.alignment.model import LaidRoute, View
from turnout_templates.errors import KeyPath, LayoutError
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.spec.model import Hand, Route, Spec
from turnout_templates.units import format_length

_NO_PATH = (True, math.inf, math.inf)
"""Worse than any path."""
_IN_PLACE = 1e-3
"""A path that misses by less than this (mm) comes to the right place, whatever its direction."""


def join_path(
    spec: Spec, route: Route, faces: tuple[Face, ...], near: NearEnd, laid: Mapping[str, LaidRoute]
) -> JoinedPath:
    """Return the path of `route` from its near end to the route that it joins.

    Raises LayoutError that says what is free, what is over-determined, or by how much the nearest path misses.
    """
    view = joining_view(route, laid)
    attempts = [Attempt(spec, route, faces, near, view, laid, hand) for hand in _hands(spec, route, near, view)]
    if route.joins is not None and route.joins.at != "anywhere":
        check_on_parent(attempts[0].far_end(np.zeros(0)), "joins", spec.units)
    closings = [(attempt, close_path(attempt.unknowns, attempt)) for attempt in attempts]
    attempt, closing = min(closings, key=lambda pair: _NO_PATH if pair[1] is None else pair[1].badness)
    if closing is None or not closing.closes or closing.refused or closing.free:
        raise _cannot_join(attempt, closing)
    return attempt.path(closing)


def _hands(spec: Spec, route: Route, near: NearEnd, view: View) -> tuple[Hand, ...]:
    """Return the side from which the path comes to the route joined, as seen from there; both where it may be either.

    Only a path with a frog or angled points there needs to know. Where the other route ends, the side is that from
    another branch, which may itself lie to either.
    """
    station, _ = nearest_station(view.path, near.start.point)
    left = view.path.pose_at(station).local(near.start.point)[1]
    joint = route.joins
    if abs(left) > max(gauge.width for gauge in spec.gauges.values()) and not _joins_its_end(route, view):
        return ("left",) if left > 0 else ("right",)
    plain = far_piece(route) is None and joint is not None and angled(joint.points) is None
    return ("left",) if plain else ("left", "right")


def _joins_its_end(route: Route, view: View) -> bool:
    """Tell whether a route joins another, seen in `view`, where that ends."""
    joint, length = route.joins, view.path.length
    if joint is None or joint.at == "anywhere":
        return False
    return view.station(view.route.path.length if joint.at == "end" else joint.at) >= length - NOTICED


def _cannot_join(attempt: Attempt, closing: Closing | None) -> LayoutError:
    """Return the error that tells what is free, over-determined or out of reach."""
    route, joined = attempt.route.name, attempt.view.name
    where: KeyPath = ("routes", route, "joins")
    if closing is None:
        return LayoutError(
            f'No curve of "{route}" comes to "{joined}".',
            f'Check the side and the direction in which it joins, or lengthen "{joined}".',
            where,
        )
    if not closing.closes:
        return LayoutError(_missing(attempt, closing), _what_is_open(attempt, closing), where)
    if closing.free:
        names = " and ".join(closing.free)
        return LayoutError(
            f'"{route}" meets "{joined}" in more than one way: nothing fixes {names}.',
            "Give one of these a figure.",
            where,
        )
    spoken = [_spoken(attempt, unknown, closing) for unknown in closing.refused]
    return LayoutError(
        f'"{route}" would meet "{joined}" only with {" and ".join(spoken)}.',
        "Move the two apart, turn a curve to its other side, or take a sharper one or a smaller frog number.",
        where,
    )


def _missing(attempt: Attempt, closing: Closing) -> str:
    unit = attempt.spec.units
    with_what = [_spoken(attempt, unknown, closing) for unknown in attempt.unknowns]
    found = f", with {' and '.join(with_what)}" if with_what else ""
    return (
        f'"{attempt.route.name}" does not meet "{attempt.view.name}": the nearest that it comes is '
        f"{format_length(closing.miss, unit)} and {math.degrees(closing.turn):.3f} deg off{found}."
    )


def _what_is_open(attempt: Attempt, closing: Closing) -> str:
    """Say what there is to be found, and which of the three conditions nothing of it can meet."""
    count = len(attempt.unknowns)
    values = ", ".join(unknown.name for unknown in attempt.unknowns) or "nothing"
    if count < 3:
        return (
            f"To meet a route in place and direction takes three values to be found, and here there "
            f"{'is' if count == 1 else 'are'} {count}: {values}. Leave another one open, or give other figures."
        )
    if closing.miss < _IN_PLACE:
        return "Its place would do, but nothing that is open turns it: leave the length or the radius of a curve open."
    return f"It was sought with {values}. Give other figures, or leave another one open."


def _spoken(attempt: Attempt, unknown: Unknown, closing: Closing) -> str:
    """Return an unknown with its figure in words."""
    value = closing.values[attempt.unknowns.index(unknown)]
    unit = attempt.spec.units
    match unknown.kind:
        case "curvature":
            if abs(value) < 1e-9:
                return f"{unknown.name} straight"
            return f"{unknown.name} at {format_length(abs(1 / value), unit)} to the {'left' if value > 0 else 'right'}"
        case "angle":
            return f"{unknown.name} at No. {number_of(value):.4g}" if value > 0 else f"{unknown.name} at no number"
        case "station":
            length = attempt.view.path.length
            off = "" if unknown.allows(value) else f', off the {format_length(length, unit)} of "{attempt.view.name}"'
            return f"{unknown.name} at {format_length(attempt.view.station(value), unit)}{off}"
        case _:
            return f"{unknown.name} at {format_length(value, unit)}"
