"""Say what each gauge at the bench must show: what is drawn, and what its document allows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import fine_of
from turnout_templates.spec.model import Gauge
from turnout_templates.standards.track import Allowed
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance

_UNSTATED = "-"


def bench_gauges_block(work: Trackwork) -> Block:
    """Return the table of the gauges that the steps name, with what is allowed and by which document."""
    head: Row = ("wheels", "track gauge", "check gauge", "span", "frog flangeway", "by")
    rows = []
    for gauge in work.spec.gauges.values():
        limits = gauge.limits
        figures = (
            (gauge.width, limits.gauge),
            (gauge.check_gauge, limits.check_gauge),
            (gauge.span, limits.span),
            (gauge.flangeway, limits.flangeway),
        )
        rows.append((gauge.name, *(within(work, size, allowed) for size, allowed in figures), gauge.source))
    note = (
        "In brackets the least and the greatest that the document allows. Span is the most from guard to wing. Gauges "
        "are held to the heads, at right angles to the track."
    )
    return Block("Gauges for this build", (head, *rows, note), has_head=True)


def within(work: Trackwork, drawn: float, allowed: Allowed) -> str:
    """Return a size with its limits: `0.607 in (0.605 to 0.614)`, `(- to 0.661)` where one of them is not stated."""
    size, units = format_clearance(drawn, work.spec.units), work.spec.units
    if allowed == (None, None):
        return size
    low, high = (
        _UNSTATED if limit is None else format_clearance(float(limit), units).removesuffix(f" {units}")
        for limit in allowed
    )
    return f"{size} ({low} to {high})"


def track_gauges(work: Trackwork, gauges: Iterable[Gauge]) -> str:
    """Return what the track gauge must show for some gauges."""
    return "; ".join(f"{gauge.name} {within(work, gauge.width, gauge.limits.gauge)}" for gauge in gauges)


def guard_checks(work: Trackwork, ids: Iterable[str]) -> Iterator[str]:
    """Yield for each guard where it lies, its flangeway, and the check gauge over it."""
    guards = {guard.id: guard for guard in work.guards}
    for name in ids:
        guard = guards[name]
        gauge = work.spec.gauges[guard.gauge]
        check = within(work, gauge.width - guard.flangeway, gauge.limits.check_gauge)
        yield f"{name}: flangeway {fine_of(work, guard.flangeway)}, check gauge {guard.gauge} {check}"
