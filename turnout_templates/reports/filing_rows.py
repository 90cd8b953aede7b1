"""Tell in a table how every bar at a frog is filed or cranked, one line a bar, so that it can be done at the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.between import bars_between_frogs
from turnout_templates.trackwork.fits import Fit
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance, format_degrees

_HEAD: Row = ("frog", "bar", "its end", "angle", "over", "from")
_EXPLAINED = (
    "Points, splices and noses are filed on the outer side of the head, at the angle to the gauge face. From: how far "
    "from the theoretical point the bar's gauge face ends."
)


def filing_block(work: Trackwork) -> Block:
    """Return the table of filings and cranks, and of bars that two frogs leave little of."""
    partners = {
        (contact.at, part): other
        for contact in work.contacts
        for part, other in ((contact.first, contact.second), (contact.second, contact.first))
        if contact.kind != "point behind stock rail"
    }
    rows = [row for fit in work.fits for row in _rows(work, fit, partners)]
    rows += _short(work)
    return Block("Filing", (_HEAD, *rows, _EXPLAINED) if rows else (), has_head=True)


def _rows(work: Trackwork, fit: Fit, partners: Mapping[tuple[str, str], str]) -> Iterator[Row]:
    if fit.bar is None:
        return
    frog = work.frog(fit.frog)
    station = frog.s if fit.owner == frog.first else frog.t
    away = abs(work.layout.route(fit.owner.route).parallel(fit.owner.face).length_between(station, fit.end))
    bent = fit.what in ("elbow", "knuckle", "groove", "mitre")
    yield (
        fit.frog,
        fit.bar,
        _what(fit, partners.get((fit.frog, fit.bar))),
        format_degrees(fit.angle / 2 if fit.what == "mitre" else fit.angle),
        "-" if bent else format_clearance(fit.length, work.spec.units),
        format_clearance(away, work.spec.units),
    )


def _what(fit: Fit, partner: str | None) -> str:
    """Return what is done to the end of a bar; `partner` is the part that it is fitted to."""
    match fit.what:
        case "point":
            return "point"
        case "spliced":
            return f"splice to {partner}" if partner else "splice"
        case "nose":
            return "nose"
        case "elbow":
            return f"crank toward {partner}" if partner else "square"
        case "mitre":
            return f"mitre to {partner}" if partner else "square"
        case "knuckle":
            return f"crank into {partner}, away from the V" if partner else "crank away from the V"
        case "groove":
            return "end at groove"


def _short(work: Trackwork) -> Iterator[Row]:
    """Yield bars between two frogs of which less than a tie space is left whole."""
    for bar in bars_between_frogs(work):
        if bar.whole < work.spec.ties.switch_spacing:
            yield (
                f"{bar.id} between {' and '.join(dict.fromkeys(bar.frogs))}: {fine_of(work, bar.whole)} of "
                f"{fine_of(work, bar.length, bracket='=')} stays whole."
            )
