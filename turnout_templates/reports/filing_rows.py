"""Tell in a table how every bar at a frog is filed or bent, one line a bar, so that it can be done at the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.between import bars_between_frogs
from turnout_templates.trackwork.fits import Fit
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_degrees

_HEAD: Row = ("frog", "bar", "what to do at its end", "angle", "filed over", "end, from the theoretical point")


def filing_block(work: Trackwork) -> Block:
    """Return the table of filings and bends, and of bars that two frogs leave little of."""
    partners = {
        (contact.at, part): other
        for contact in work.contacts
        for part, other in ((contact.first, contact.second), (contact.second, contact.first))
        if contact.kind != "point behind stock rail"
    }
    rows = [row for fit in work.fits for row in _rows(work, fit, partners)]
    rows += _short(work)
    return Block("Filing", (_HEAD, *rows) if rows else (), has_head=True)


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
        "-" if bent else fine_of(work, fit.length),
        fine_of(work, away) if away > 1e-9 else "at it",
    )


def _what(fit: Fit, partner: str | None) -> str:
    """Return what is done to a bar; `partner` is the part that it is fitted to."""
    match fit.what:
        case "point":
            return "carries the point: file the outer side"
        case "spliced":
            return f"file the outer side, splice to {partner}" if partner else "file the outer side"
        case "nose":
            return "nose: file the outer side"
        case "elbow":
            return f"bend into {partner}: one bar" if partner else "end square"
        case "mitre":
            return f"mitre to {partner}" if partner else "end square"
        case "knuckle":
            return f"bend into wing rail {partner}" if partner else "bend into the wing rail"
        case "groove":
            return "end at the groove"


def _short(work: Trackwork) -> Iterator[Row]:
    """Yield bars between two frogs of which less than a tie space is left whole."""
    for bar in bars_between_frogs(work):
        if bar.whole < work.spec.ties.switch_spacing:
            left = f"{fine_of(work, bar.whole)} of {fine_of(work, bar.length, bracket='=')} left whole"
            yield (", ".join(dict.fromkeys(bar.frogs)), bar.id, left, "-", "-", "-")
