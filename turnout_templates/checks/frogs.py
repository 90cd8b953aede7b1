"""Checks of frogs: wings that reach the point, frogs clear of points, heels that are straight."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.alignment.model import View, Way
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import Phrase, Size, at_least, clearance, phrase
from turnout_templates.trackwork.frogs.frog_parts import BarredWing, Frog
from turnout_templates.trackwork.frogs.knuckles import HEEL_HEADS, heel_length
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace

_ROUNDING = 1e-6


def check_wings(work: Trackwork) -> Iterator[Finding]:
    """Report wing rails that end before the practical point, so that nothing carries the wheel over to it."""
    names = Names(work)
    yield from (_barred(work, names, wing) for wing in work.barred_wings)
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
                f"{wing.id} of {wing.frog}, wing rail that goes on from {_before(names, frog, wing.continues)}",
                frog.point,
                phrase(
                    *("it ends ", clearance(missing)),
                    f" before the practical point, at {_named(names.met(wing.shortened_by, frog.point))}",
                ),
                phrase("a wing rail carries wheels as far as the point takes over"),
                "the plain rule of this program (common practice, no source)",
                phrase("Take a larger frog number, or file the wing down beside that flangeway and let it run on."),
            )


def _barred(work: Trackwork, names: Names, wing: BarredWing) -> Finding:
    """Tell of a wing rail for which there is no room at all."""
    frog = work.frog(wing.frog)
    which = (frog.first, frog.second).index(wing.beside)
    places = frog.practical_stations
    missing = 0.0 if places is None else abs(places[which] - wing.knuckle)
    return Finding(
        "wing-missing",
        "warning",
        f"{wing.frog}, wing rail that would go on from {_before(names, frog, wing.continues)}",
        frog.point,
        phrase(
            *("of the ", clearance(missing), " from the knuckle to the practical point only the first "),
            *(clearance(wing.reach), f" are free, up to {_named(names.met(wing.obstacles, frog.point))}: "),
            "too short to bend, so that no wing rail is drawn there",
        ),
        phrase("a wing rail carries wheels as far as the point takes over"),
        "the plain rule of this program (common practice, no source)",
        phrase("Take a larger frog number, move the tracks apart, or make that frog in one piece."),
    )


def _before(names: Names, frog: Frog, owner: RouteFace) -> str:
    """Return the name of the rail on a face of a frog that ends at its knuckle, which a wing goes on from."""
    nose = frog.noses[(frog.first, frog.second).index(owner)]
    return names.rail_at(owner, frog.point) if nose is None else names.rail(owner, nose)


def _named(obstacles: tuple[str, ...]) -> str:
    return " and ".join(obstacles) or "the end of its route"


def check_heel_curve(work: Trackwork) -> Iterator[Finding]:
    """Report frogs whose rails begin to curve before the heel, where a straight frog cannot be built."""
    for frog in work.frogs:
        way = _way_to_heel(work, frog)
        if frog.kind != "V" or way is None:
            continue
        route = work.layout.route(frog.second.route)
        needed = heel_length(frog, work.spec.rail.head)
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
                _to_heel(needed),
                "NMRA RP-13.5 (gauge line straight from toe to heel) with the heel spread of RP-12.7 No. 6",
                phrase("Begin the curve with a straight of ", at_least(needed), "."),
            )


def check_heel_there(work: Trackwork) -> Iterator[Finding]:
    """Report Vs behind whose point one route ends before a bar of its own begins there, spliced to the point bar."""
    fitted = {(fit.frog, fit.owner) for fit in work.fits if fit.what in ("point", "spliced")}
    for frog in work.frogs:
        if frog.kind == "K" or frog.practical_stations is None:
            continue
        for owner, station, way in zip((frog.first, frog.second), (frog.s, frog.t), frog.heel_directions, strict=True):
            if (frog.id, owner) in fitted or not _ends_open(work, owner.route, way):
                continue
            route = work.layout.route(owner.route)
            there = abs((route.end_of(owner.face) if way > 0 else route.begin_of(owner.face)) - station)
            needed = heel_length(frog, work.spec.rail.head)
            yield Finding(
                "heel-missing",
                "warning",
                f"{frog.id}, {owner.label}",
                frog.point,
                phrase("its route ends ", Size(there), " behind the theoretical point, before its own rail begins"),
                _to_heel(needed),
                "heel spread of NMRA RP-12.7 No. 6",
                phrase(f'Lengthen "{owner.route}" by ', at_least(needed - there), "."),
            )


def _to_heel(needed: float) -> Phrase:
    return phrase(Size(needed), f" to the heel, where the faces are {HEEL_HEADS} heads apart")


def _ends_open(work: Trackwork, name: str, way: int) -> bool:
    """Tell whether a route, toward the heel of a frog, neither joins another nor is gone on with by one."""
    if any(end == -way for end, _ in work.layout.route(name).departures):
        return False
    return not any(switch.parting and switch.parent == name for switch in work.switches)


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
