"""Turn trackwork into the figures that `measure` prints: plain values, lengths in mm, angles in degrees.

The shape of these figures is a contract with other programs: names are added, never changed; `format` counts changes.
"""

from __future__ import annotations

import math

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.frog_figures import frog_figures, guard_figures, wing_figures
from turnout_templates.reports.places import Figures, point_figures
from turnout_templates.reports.polarity_figures import polarity_figures
from turnout_templates.reports.rail_figures import bar_figures
from turnout_templates.reports.route_figures import route_figures
from turnout_templates.reports.switch_figures import switch_figures
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.feeds import frogs_at_ends
from turnout_templates.trackwork.model import Tie, Trackwork
from turnout_templates.units import Unit

FORMAT = 1


def figures(work: Trackwork, findings: tuple[Finding, ...]) -> Figures:
    """Return all figures of `work` and its `findings` as values that JSON can hold, in full precision."""
    spec = work.spec
    at_ends = frogs_at_ends(work)
    return {
        "format": FORMAT,
        "name": spec.name,
        "fingerprint": spec.fingerprint,
        "scale_ratio": spec.scale.ratio,
        "gauges": {name: _gauge(gauge) for name, gauge in spec.gauges.items()},
        "rail": {"name": spec.rail.name, "head_mm": spec.rail.head, "base_mm": spec.rail.base},
        "routes": {route.name: route_figures(work, route) for route in work.layout},
        "switches": [switch_figures(work, switch) for switch in work.switches],
        "frogs": [frog_figures(work, frog) for frog in work.frogs],
        "wings": [wing_figures(wing) for wing in work.wings],
        "guards": [guard_figures(guard) for guard in work.guards],
        "rails": [bar_figures(work, bar, at_ends[bar.id]) for bar in work.bars],
        "ties": [_tie(tie) for tie in work.ties],
        "polarity": polarity_figures(work),
        "findings": [_finding(finding, work.spec.units) for finding in findings],
    }


def _gauge(gauge: Gauge) -> Figures:
    return {
        "width_mm": gauge.width,
        "flangeway_mm": gauge.flangeway,
        "check_gauge_mm": gauge.check_gauge,
        "span_mm": gauge.span,
        "point_spread_mm": gauge.point_spread,
        "source": gauge.source,
    }


def _tie(tie: Tie) -> Figures:
    return {
        "id": tie.id,
        "material": tie.material,
        "role": tie.role,
        "length_mm": tie.length,
        "width_mm": tie.width,
        **point_figures(tie.centre),
        "angle_deg": math.degrees(tie.angle),
        "route": tie.route,
        "station_mm": tie.station,
    }


def _finding(finding: Finding, units: Unit) -> Figures:
    """Return a finding: what was measured and its limit in mm, the sentences for people in the spec's `units` first."""
    return {
        "rule": finding.rule,
        "level": finding.level,
        "where": finding.where,
        **point_figures(finding.at),
        "measured": str(finding.measured),
        "limit": str(finding.limit),
        "source": finding.source,
        "remedy": finding.remedy.in_units(units),
        "sentence": finding.sentence(units),
    }
