"""Check widened gauge: that it stays within what its standard allows, and that it comes back before the track ends."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Phrase, at_least, clearance, phrase
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.model import Trackwork

_ROUNDING = 1e-6
"""Widths and stations that differ by less than this (mm) are one."""


def check_gauge_max(work: Trackwork) -> Iterator[Finding]:
    """Report each gauge that is widened beyond the widest that its standard allows, where that is most."""
    for route in work.layout:
        stretch = max(route.widened, key=lambda stretch: stretch.most, default=None)
        gauges: dict[str, Gauge] = {gauge.name: gauge for face in route.faces for gauge in face.gauges}
        for gauge in gauges.values():
            if stretch is None or gauge.max_width is None or gauge.width + stretch.most <= gauge.max_width + _ROUNDING:
                continue
            yield Finding(
                "gauge-too-wide",
                "warning",
                f'"{route.name}", gauge {gauge.name}',
                route.path.point_at(min(max(sum(stretch.full) / 2, 0.0), route.path.length)),
                phrase("it is widened to ", clearance(gauge.width + stretch.most)),
                phrase(clearance(gauge.max_width), " is the widest allowed"),
                gauge.max_width_source,
                _remedy(gauge.max_width - gauge.width),
            )


def _remedy(room: float) -> Phrase:
    if room < _ROUNDING:
        return phrase("Leave the gauge as it is on straight track.")
    return phrase("Widen it by ", clearance(room), " at most.")


def check_widened_ends(work: Trackwork) -> Iterator[Finding]:
    """Report ends of routes at which the gauge is still wider: what goes on there has to be as wide."""
    for route in work.layout:
        for stretch in route.widened:
            for end, station, beyond in (
                ("start", 0.0, -stretch.begin),
                ("end", route.path.length, stretch.end - route.path.length),
            ):
                if beyond > _ROUNDING:
                    yield _still_wide(route, end, station, stretch.at(station), beyond)


def _still_wide(route: LaidRoute, end: str, station: float, by: float, beyond: float) -> Finding:
    return Finding(
        "widened-end",
        "warning",
        f'"{route.name}"',
        route.path.point_at(station),
        phrase("at its ", end, " the gauge is still wider by ", clearance(by)),
        phrase("its taper would need ", at_least(beyond), " more track"),
        "geometry of this trackwork",
        phrase("Lengthen it, shorten the taper, or carry the widening on in the track that follows."),
    )
