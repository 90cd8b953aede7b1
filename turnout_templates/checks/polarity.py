"""Checks of polarity: places where left comes to meet right, and crossings that join what they should not."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Phrase, Size, phrase
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.circuit import Crossing, Meeting, Ring
from turnout_templates.trackwork.polarity.feeds import crossing_frogs, frog_joins
from turnout_templates.trackwork.polarity.reversing import reversing_sections

_EITHER_WAY = "; fed the other way this crossing would agree, and another of these tracks would not"
_SOURCE = "geometry of this trackwork"


def check_rings(work: Trackwork) -> Iterator[Finding]:
    """Report every ring of routes that comes back with left and right exchanged: a wye, a reversing loop."""
    for ring in work.circuit.rings:
        yield Finding(
            "left-meets-right",
            "warning",
            f"ring of {_listed(ring.routes)}",
            _place(work, ring.broken),
            phrase(
                f'where "{ring.broken.branch}" meets "{ring.broken.parent}" the left rail comes to the right one, and '
                "the right to the left"
            ),
            phrase("rails that touch must be of one polarity"),
            _SOURCE,
            _gaps(work, ring),
        )


def _gaps(work: Trackwork, ring: Ring) -> Phrase:
    begin = "It runs, but is a short circuit as it stands: cut gaps in both rails there (double gaps)"
    end = "and feed the section through a switch that reverses it, as the wiring tells."
    section = next((part for part in reversing_sections(work) if part.route == ring.broken.branch), None)
    if section is not None and section.far:
        return phrase(
            f"{begin} and again at the far end of the section drawn. No train longer than the ",
            Size(section.length),
            f" between them may run over it, {end}",
        )
    return phrase(
        f'{begin} and again at the far end of a section longer than any train ("{ring.section}" has ',
        Size(ring.length),
        f" of the ring), {end}",
    )


def check_opposed_crossings(work: Trackwork) -> Iterator[Finding]:
    """Report crossings where a K joins two polarities and a V one, whichever way unconnected tracks are fed."""
    for crossing in work.circuit.opposed:
        bound = next(group for group in work.circuit.groups if crossing.first in group.routes)
        connected = crossing.second in bound.routes
        yield Finding(
            "crossing-opposed",
            "warning",
            f'crossing of "{crossing.first}" and "{crossing.second}"',
            crossing.point,
            phrase(_joined(work, crossing)),
            phrase("a V ordinarily joins left and right, a K rails of one polarity", "" if connected else _EITHER_WAY),
            _SOURCE,
            phrase(
                "Insulate each K here and switch its polarity with the route, as is done for a V elsewhere; its V need "
                "no section. How it is fed belongs to the wiring."
            ),
        )


def _joined(work: Trackwork, crossing: Crossing) -> str:
    """Say how many K of a crossing join left and right, and how many V rails of one polarity."""
    frogs = crossing_frogs(work, crossing)
    count = {kind: sum(frog.kind == kind for frog in frogs) for kind in ("K", "V")}
    wrong = {"K": "left and right", "V": "one polarity"}
    told = []
    for kind, joins in wrong.items():
        found = sum(frog.kind == kind and frog_joins(work, frog) == joins for frog in frogs)
        if found:
            told.append(f"{found} of {count[kind]} {kind} {'joins' if found == 1 else 'join'} {_words(joins)}")
    return " and ".join(told)


def _words(joins: str) -> str:
    return "rails of one polarity" if joins == "one polarity" else joins


def _listed(names: tuple[str, ...]) -> str:
    quoted = [f'"{name}"' for name in names]
    if len(quoted) == 1:
        return quoted[0]
    return f"{', '.join(quoted[:-1])} and {quoted[-1]}"


def _place(work: Trackwork, meeting: Meeting) -> tuple[float, float]:
    departure = meeting.departure
    return work.layout.route(departure.parent).path.point_at(departure.station)
