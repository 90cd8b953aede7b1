"""Check guides that face each other beside the two rails of a gauge: two guards, or a guard and another frog's wing.

A wheelset passes between them with the backs of both wheels, so that their faces must lie no further apart than it is
between backs. No standard in use here states that for two guards. What is sure is that wheels to a standard pass
between guards laid to its check gauge C on both rails, 2 C - G apart, as at every diamond; and over its span S.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from turnout_templates.alignment.faces import opposite
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import clearance, phrase
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.frog_parts import Guard, GuidingSide
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.regions import overlap

_ROUNDING = 1e-6
"""Spans that differ by less (mm) are one."""


@dataclass(frozen=True, slots=True)
class _Guide:
    """What guides at `flangeway` mm from the face `beside` over `along`: its name, and the frogs that it belongs to."""

    name: str
    beside: RouteFace
    flangeway: float
    along: Interval
    frogs: tuple[str, ...]
    is_wing: bool


def check_facing_guides(work: Trackwork) -> Iterator[Finding]:
    """Report guides beside the two rails of a gauge so far apart that wheel backs may bind; each pair once.

    A wing of a frog that the guard is laid for is looked at by `check_span`. More than the span at a wing is an error,
    as the standard says; between two guards a warning, since no published figure says that it must bind.
    """
    guides = [*_guards(work), *_wings(work)]
    beside: dict[RouteFace, list[int]] = {}
    for number, guide in enumerate(guides):
        beside.setdefault(guide.beside, []).append(number)
    for number, guide in enumerate(guides):
        route = work.layout.route(guide.beside.route)
        for gauge in () if guide.is_wing else guide.beside.face.gauges:
            face = RouteFace(route.name, opposite(route.faces, guide.beside.face, gauge))
            for other in (guides[i] for i in beside.get(face, ()) if guides[i].is_wing or i > number):
                yield from _bound(work, gauge, guide, other)


def _guards(work: Trackwork) -> Iterator[_Guide]:
    names = Names(work) if work.sides else None
    guides: tuple[Guard | GuidingSide, ...] = (*work.guards, *work.sides)
    for guide in guides:
        if isinstance(guide, Guard):
            yield _Guide(guide.id, guide.beside, guide.flangeway, guide.straight, guide.frogs, is_wing=False)
        elif names is not None:
            path = work.layout.route(guide.beside.route).path
            place = path.point_at(sum(guide.guides) / 2, guide.beside.face.offset)
            name = f"the side of {names.rail_at(guide.owner, place)}"
            yield _Guide(name, guide.beside, guide.flangeway, guide.guides, guide.guarded, is_wing=False)


def _wings(work: Trackwork) -> Iterator[_Guide]:
    for wing in work.wings:
        yield _Guide(wing.id, wing.beside, wing.flangeway, wing.straight, (wing.frog,), is_wing=True)


def _bound(work: Trackwork, gauge: Gauge, guide: _Guide, other: _Guide) -> Iterator[Finding]:
    """Yield what is told of two guides that face each other."""
    shared = overlap(guide.along, other.along)
    span = gauge.width - guide.flangeway - other.flangeway
    between_guards = gauge.width - 2 * gauge.guard_flangeway
    most = gauge.span if other.is_wing else max(gauge.span, between_guards)
    if shared is None or span <= most + _ROUNDING or (other.is_wing and set(other.frogs) & set(guide.frogs)):
        return
    path = work.layout.route(guide.beside.route).path
    facing = "wing face" if other.is_wing else "guard face"
    yield Finding(
        "span",
        "error" if other.is_wing else "warning",
        f"{guide.name} and {other.name}, {gauge.name} gauge",
        path.point_at(sum(shared) / 2, guide.beside.face.offset),
        phrase(clearance(span), f" between guard face and {facing}"),
        phrase("at most ", clearance(most), "" if other.is_wing else ", as between guards at the check gauge"),
        gauge.source,
        phrase("Lay both as far from their rails as this gauge needs, or let one end before the other begins."),
    )
