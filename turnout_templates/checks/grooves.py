"""Check the grooves of frogs that serve two gauges: they are as wide as the wider needs, too wide for the other."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.alignment.faces import opposite
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import clearance, phrase
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard, GuidingSide
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace

_ROUNDING = 1e-6


def check_shared_grooves(work: Trackwork) -> Iterator[Finding]:
    """Report once for each gauge that guards and wings leave it less than its least span, where a groove is shared.

    Wheels pass, but their treads bridge a wider gap than their standard promises.
    """
    found: dict[str, list[tuple[float, float, Frog]]] = {}
    for gauge, span, groove, frog in _spans(work):
        if span < _least(gauge) - _ROUNDING:
            found.setdefault(gauge.name, []).append((span, groove, frog))
    for name, narrow in found.items():
        gauge = work.spec.gauges[name]
        span, groove, frog = min(narrow, key=lambda told: told[0])
        ids = {told[2].id for told in narrow}
        frogs = ", ".join(one.id for one in work.frogs if one.id in ids)
        yield Finding(
            "groove-shared",
            "warning",
            f"{frogs}, {name} gauge",
            frog.point,
            phrase(clearance(span), " between guard and wing, whose groove serves a wider gauge, ", clearance(groove)),
            phrase("at least ", clearance(_least(gauge))),
            gauge.source,
            phrase(f"Try every wheelset of {name} gauge there: one with narrow treads drops, and needs wider wheels."),
        )


def _least(gauge: Gauge) -> float:
    """Return the least span (mm) that the standard of a gauge allows, nought where it gives none."""
    return float(gauge.limits.span[0] or 0)


def _spans(work: Trackwork) -> Iterator[tuple[Gauge, float, float, Frog]]:
    """Yield the span of guards, and sides cut as guards, to the wings of the Vs that they guard, and those' groove."""
    frogs = {frog.id: frog for frog in work.frogs if frog.kind == "V"}
    guides: list[Guard | GuidingSide] = [*work.guards, *work.sides]
    for guide in guides:
        route = work.layout.route(guide.beside.route)
        names = guide.frogs if isinstance(guide, Guard) else guide.guarded
        for frog in (frogs[name] for name in names if name in frogs):
            for gauge in guide.beside.face.gauges:
                face = RouteFace(route.name, opposite(route.faces, guide.beside.face, gauge))
                if face in (frog.first, frog.second) and len(face.face.gauges) > 1:
                    groove = face.face.flangeway
                    yield gauge, gauge.width - guide.flangeway - groove, groove, frog
