"""Tell in a table how every bar at a frog is filed or cranked, one line a bar, so that it can be done at the bench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.drafting.frog_details import place_of
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.filing_figures import side_of
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.frogs.between import bars_between_frogs
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance, format_degrees

_HEAD: Row = ("frog", "bar", "its end", "side filed", "angle", "over", "begins")
_EXPLAINED = (
    "TP: theoretical point, where the gauge faces cross. Begins: where the bar's gauge face ends. At a V, before TP is "
    "toward the knuckle and past TP toward the heel; at a K it is away from TP along the bar's own rail. The angle is "
    "to the gauge face; of a crank it is the whole turn."
)
_LONE: Mapping[str, str] = {
    "point": "point",
    "spliced": "splice",
    "nose": "nose",
    "elbow": "square",
    "mitre": "square",
    "knuckle": "crank away from the V",
    "groove": "end at groove",
}
"""What is done to the end of a bar that is fitted to no other."""
_FITTED: Mapping[str, str] = {
    "spliced": "splice to {}",
    "elbow": "crank toward {}",
    "mitre": "mitre to {}",
    "knuckle": "crank away from the V, into {}",
}
"""What is done to the end of a bar that is fitted to another."""


def filing_block(work: Trackwork) -> Block:
    """Return the table of filings and cranks, and of bars that two frogs leave little of."""
    partners = {
        (contact.at, part): other
        for contact in work.contacts
        for part, other in ((contact.first, contact.second), (contact.second, contact.first))
        if contact.kind != "point behind stock rail"
    }
    bars = BarsByFace(work)
    rows = [row for fit in work.fits for row in _rows(work, fit, partners, bars)]
    rows += _short(work)
    return Block("Filing", (_HEAD, *rows, _EXPLAINED) if rows else (), has_head=True)


def _rows(work: Trackwork, fit: Fit, partners: Mapping[tuple[str, str], str], bars: BarsByFace) -> Iterator[Row]:
    if fit.bar is None:
        return
    frog, units = work.frog(fit.frog), work.spec.units
    partner = partners.get((fit.frog, fit.bar))
    is_filed = side_of(fit) is not None and fit.what != "mitre"
    yield (
        fit.frog,
        fit.bar,
        _FITTED[fit.what].format(partner) if partner and fit.what in _FITTED else _LONE[fit.what],
        _side(work, fit, partner, bars),
        format_degrees(fit.angle / 2 if fit.what == "mitre" else fit.angle),
        format_clearance(fit.length, units) if is_filed else "-",
        place_of(work, frog, fit),
    )


def _side(work: Trackwork, fit: Fit, partner: str | None, bars: BarsByFace) -> str:
    """Return the side that is filed with what it lies against; of a nose, whose flangeway it is filed along."""
    side = side_of(fit)
    if side is None:
        return "-"
    if fit.what == "nose":
        frog = work.frog(fit.frog)
        other = bars.at(fit.against, frog.t if fit.against == frog.second else frog.s) or fit.against.label
        return f"{side} (along the flangeway of {other})"
    return f"{side} (against {partner})" if partner else side


def _short(work: Trackwork) -> Iterator[Row]:
    """Yield bars between two frogs of which less than a tie space is left whole."""
    for bar in bars_between_frogs(work):
        if bar.whole < work.spec.ties.switch_spacing:
            yield (
                f"{bar.id} between {' and '.join(dict.fromkeys(bar.frogs))}: {fine_of(work, bar.whole)} of "
                f"{fine_of(work, bar.length, bracket='=')} stays whole."
            )
