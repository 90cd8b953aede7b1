"""Checks of what guides wheels: gaps that nothing covers, and guides so far apart that wheels bind between them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guarding
from turnout_templates.trackwork.guides.guides import STEEP
from turnout_templates.trackwork.model import Trackwork

_ROUNDING = 1e-6
_V_REMEDY = "Take a larger frog number, or make that frog self-guarding with raised wing rails."
_K_REMEDY = "Raise a check rail there, or let the tracks cross at a larger angle: the steeper, the shorter the gap."
_STEEP_REMEDY = (
    "Let the tracks cross at a smaller angle, so that the gaps of the two rails are not opposite each other; or fill "
    "the flangeways there until wheels run across on their flanges, and try every wheelset by hand."
)
_FIXED_REMEDY = "Make room beside that rail, let the gauges part elsewhere, or take points that move."
_REMEDIES = {"V": _V_REMEDY, "K": _K_REMEDY}


def check_guarding(work: Trackwork) -> Iterator[Finding]:
    """Report once each frog, and each switch with fixed rails, past which a wheel is guided in part or not at all.

    Frogs are built self-guarding; but where no guard draws a wheel over to a fixed rail, it stays on the stock rail.
    """
    frogs = {frog.id: frog for frog in work.frogs}
    cases: dict[str, list[Guarding]] = {}
    for case in work.unguarded:
        cases.setdefault(case.need.guarded, []).append(case)
    names = Names(work)
    for name, found in cases.items():
        frog = frogs.get(name)
        kind = "fixed rail" if frog is None else frog.kind
        yield Finding(
            "separation-unguarded" if frog is None else "frog-unguarded",
            "error" if frog is None else "warning",
            f"{name} ({kind})",
            _middle(work, found[0]) if frog is None else frog.point,
            phrase(*(part for i, case in enumerate(found) for part in _told(work, names, case, first=i == 0))),
            phrase("a guard rail, or the side of a rail cut as one, should cover the whole gap"),
            "the plain rule of this program: a guard for each gauge at each frog (NMRA RP-13.5: its parallel part "
            "must cover the open flangeway)",
            phrase(_remedy(frog)),
        )


def _remedy(frog: Frog | None) -> str:
    """Return what helps at a frog, or where there is none at a fixed rail."""
    if frog is None:
        return _FIXED_REMEDY
    return _STEEP_REMEDY if frog.angle > STEEP else _REMEDIES[frog.kind]


def _told(work: Trackwork, names: Names, case: Guarding, *, first: bool) -> Iterator[str | Size]:
    """Yield the words of one need: how much of its gap is unguided, where, what covers the rest, what is in the way."""
    need, missing = case.need, sum(high - low for low, high in case.missing)
    middle, place = sum(case.missing[0]) / 2, _middle(work, case)
    yield f"{'' if first else '; '}{need.gauge.name} gauge on {names.rail(need.face, middle)}: "
    if case.covered:
        yield Size(missing)
        yield " of its gap of "
        yield Size(need.gap[1] - need.gap[0])
        yield " unguided"
    else:
        yield "its whole gap of "
        yield Size(missing)
        yield " unguided"
    for i, (low, high) in enumerate(case.missing):
        yield " and from " if i else ", from "
        yield Size(low)
        yield " to "
        yield Size(high)
    rest = " and ".join(dict.fromkeys(names.met((name for name, _ in case.by), place)))
    yield f" beside {names.rail(need.beside, middle)}{f' (the rest by {rest})' if rest else ''}, where "
    yield (
        f"{what_stands(names.met(case.obstacles, place))} in the way"
        if case.obstacles
        else "no room is left for a flare"
    )


_FLANGEWAY = "the flangeway of "


def what_stands(names: Sequence[str]) -> str:
    """Return what stands somewhere and the verb: a rail once, with its flangeway where both do."""
    both = {name for name in names if _FLANGEWAY + name in names}
    told = [
        name + " with its flangeway" if name in both else name
        for name in dict.fromkeys(names)
        if name.removeprefix(_FLANGEWAY) == name or name.removeprefix(_FLANGEWAY) not in both
    ]
    *first, last = told
    return f"{', '.join(first)} and {last} are" if first else f"{last} is"


def _middle(work: Trackwork, case: Guarding) -> Point:
    """Return the middle of what nothing guides, on the rail that a guard would lie beside."""
    path = work.layout.route(case.need.beside.route).path
    return path.point_at(sum(case.missing[0]) / 2, case.need.beside.face.offset)
