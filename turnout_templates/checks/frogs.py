"""Checks of frogs and of what guides wheels through them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.alignment.faces import opposite
from turnout_templates.alignment.model import View, Way
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Size, at_least, clearance, phrase
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.knuckles import HEEL_HEADS
from turnout_templates.trackwork.model import Frog, RouteFace, Trackwork, Unguarded

_ROUNDING = 1e-6


_V_REMEDY = "Take a larger frog number, or make that frog self-guarding with raised wing rails."
_K_REMEDY = "Bend a check rail round the knuckle by hand, or raise it; the steeper tracks cross, the shorter the gap."
_FIXED_REMEDY = "Make room beside that rail, let the gauges part elsewhere, or take points that move."
_REMEDIES = {"V": _V_REMEDY, "K": _K_REMEDY, "fixed rail": _FIXED_REMEDY}


def check_guarding(work: Trackwork) -> Iterator[Finding]:
    """Report every wheel that nothing guides past a frog, or to a fixed rail, because no guard rail has room.

    Frogs are built self-guarding; but where no guard draws a wheel over to a fixed rail, it stays on the stock rail.
    """
    frogs = {frog.id: frog for frog in work.frogs}
    for case in work.unguarded:
        frog = frogs.get(case.guarded)
        kind = "fixed rail" if frog is None else frog.kind
        yield Finding(
            "separation-unguarded" if frog is None else "frog-unguarded",
            "error" if frog is None else "warning",
            f"{case.guarded} ({kind}), {case.gauge} gauge on {case.beside.label}",
            _middle(work, case) if frog is None else frog.point,
            phrase(
                *("no guard rail fits from ", Size(case.needed[0]), " to ", Size(case.needed[1])),
                f" on {case.beside.route}: {case.obstacle}",
            ),
            phrase("a wheel of that gauge is guided by nothing over the gap"),
            "the plain rule of this program: a guard for each gauge at each frog (NMRA RP-13.5: its parallel part "
            "must cover the open flangeway)",
            phrase(_REMEDIES[kind]),
        )


def _middle(work: Trackwork, case: Unguarded) -> Point:
    """Return the middle of what a missing guard should cover, on the rail that it would lie beside."""
    path = work.layout.route(case.beside.route).path
    return path.point_at(sum(case.needed) / 2, case.beside.face.offset)


def check_wings(work: Trackwork) -> Iterator[Finding]:
    """Report wing rails that end before the practical point, so that nothing carries the wheel over to it."""
    for wing in work.wings:
        frog = work.frog(wing.frog)
        which = (frog.first, frog.second).index(wing.beside)
        if frog.practical_stations is None:
            continue
        point = frog.practical_stations[which]
        missing = (point - wing.end) * frog.heel_directions[which]
        if missing > _ROUNDING:
            yield Finding(
                "wing-short",
                "warning",
                f"{wing.frog}, wing rail that goes on from {wing.continues.label}",
                frog.point,
                phrase(
                    *("it ends ", clearance(missing)),
                    " before the practical point, where another rail or its flangeway begins",
                ),
                phrase("a wing rail carries wheels as far as the point takes over"),
                "the plain rule of this program (common practice, no source)",
                phrase("Take a larger frog number, or file the wing down beside that flangeway and let it run on."),
            )


def check_span(work: Trackwork) -> Iterator[Finding]:
    """Report guards and wings so far apart that the backs of a wheelset would bind between them.

    A wheelset meets both where its other wheel runs on a face of that V: the wing stands beside that face at the face's
    flangeway, the guard beside the opposite rail at its own.
    """
    for guard in work.guards:
        route = work.layout.route(guard.beside.route)
        for frog in (work.frog(name) for name in guard.frogs):
            for gauge in guard.beside.face.gauges:
                face = RouteFace(route.name, opposite(route.faces, guard.beside.face, gauge))
                if frog.kind != "V" or face not in (frog.first, frog.second):
                    continue
                span = gauge.width - guard.flangeway - face.face.flangeway
                if span > gauge.span + _ROUNDING:
                    yield Finding(
                        "span",
                        "error",
                        f"{guard.id} and the wing rail of {frog.id}, {gauge.name} gauge",
                        frog.point,
                        phrase(clearance(span), " between guard face and wing face"),
                        phrase("at most ", clearance(gauge.span)),
                        gauge.source,
                        phrase("Widen the flangeway of the frog, or state clearances that fit in track_standard."),
                    )


def check_heel_curve(work: Trackwork) -> Iterator[Finding]:
    """Report frogs whose rails begin to curve before the heel, where a straight frog cannot be built."""
    for frog in work.frogs:
        way = _way_to_heel(work, frog)
        if frog.kind != "V" or way is None:
            continue
        route = work.layout.route(frog.second.route)
        needed = HEEL_HEADS * work.spec.rail.head / (2 * math.sin(frog.angle / 2))
        if abs(route.path.curvature_at(frog.t - way * 1e-3)) > 0.0:
            continue
        view = View(route, way)
        straight = _straight_after(view, view.station(frog.t))
        if straight < min(needed, view.path.length - view.station(frog.t)) - 1e-6:
            yield Finding(
                "curve-before-heel",
                "warning",
                f"{frog.id}, heel on {frog.second.route}",
                frog.point,
                phrase("only ", Size(straight), " is straight after the theoretical point"),
                phrase(Size(needed), f" to the heel, where the faces are {HEEL_HEADS} heads apart"),
                "NMRA RP-13.5 (gauge line straight from toe to heel) with the heel spread of RP-12.7 No. 6",
                phrase("Begin the curve with a straight of ", at_least(needed), "."),
            )


def _way_to_heel(work: Trackwork, frog: Frog) -> Way | None:
    """Return which way along the second route the heel lies of a frog that a curve was led to, None for any other."""
    route = work.layout.route(frog.second.route)
    if frog.switch is None:
        return None
    if route.heel_start is not None and route.heel_start - 1e-6 <= frog.t and frog.heel_directions[1] > 0:
        return 1
    if route.heel_end is not None and frog.t <= route.heel_end + 1e-6 and frog.heel_directions[1] < 0:
        return -1
    return None


def _straight_after(view: View, u: float) -> float:
    """Return how far a route stays straight from the distance `u` in its view on (mm)."""
    run = 0.0
    for begin, piece in zip(view.path.starts, view.path.pieces, strict=True):
        if begin + piece.length <= u + 1e-6:
            continue
        if piece.from_curvature != 0.0 or piece.to_curvature != 0.0:
            break
        run = begin + piece.length - u
    return run
