"""Turn trackwork into the figures that `measure` prints: plain values, lengths in mm, angles in degrees.

The shape of these figures is a contract with other programs: names are added, never changed; `format` counts changes.
"""

from __future__ import annotations

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.base_figures import base_cut_figures
from turnout_templates.reports.filing_figures import bar_filing_figures, contact_figures, frog_filing_figures
from turnout_templates.reports.frog_figures import frog_figures
from turnout_templates.reports.guide_figures import (
    guard_figures,
    guarded_by,
    side_figures,
    sides_cut,
    wing_figures,
)
from turnout_templates.reports.piece_figures import joint_figures, offset_figures, piece_figures, sum_figures
from turnout_templates.reports.places import Figures, point_figures
from turnout_templates.reports.polarity_figures import polarity_figures
from turnout_templates.reports.rail_figures import bar_figures
from turnout_templates.reports.route_figures import route_figures
from turnout_templates.reports.switch_figures import InFront, in_front_of_points, switch_figures
from turnout_templates.reports.tie_figures import tie_figures
from turnout_templates.reports.wiring_figures import copper_figures, feeder_figures, section_figures, wiring_figures
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.bases.base_cuts import cuts_by_part
from turnout_templates.trackwork.frogs.contacts import bar_ends
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.metal import metal_of_bars
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import SwitchWork
from turnout_templates.trackwork.polarity.feeds import frogs_at_ends
from turnout_templates.units import Unit

FORMAT = 1


def figures(work: Trackwork, findings: tuple[Finding, ...]) -> Figures:
    """Return all figures of `work` and its `findings` as values that JSON can hold, in full precision."""
    spec = work.spec
    at_ends = frogs_at_ends(work)
    metal = metal_of_bars(work.heads, work.bars)
    ends = bar_ends(work.rails, work.switches, work.bars, work.fits)
    fits: dict[str, list[Fit]] = {frog.id: [] for frog in work.frogs}
    for fit in work.fits:
        fits[fit.frog].append(fit)
    cuts = cuts_by_part(work.base_cuts)
    in_front = in_front_of_points(work)
    return {
        "format": FORMAT,
        "name": spec.name,
        "fingerprint": spec.fingerprint,
        "scale_ratio": spec.scale.ratio,
        "gauges": {name: _gauge(gauge) for name, gauge in spec.gauges.items()},
        "rail": {"name": spec.rail.name, "head_mm": spec.rail.head, "base_mm": spec.rail.base},
        "routes": {route.name: route_figures(work, route) for route in work.layout},
        "switches": [_switch(work, switch, made, in_front) for switch, made in work.works()],
        "frogs": [
            {**frog_figures(work, frog), **frog_filing_figures(work, frog, tuple(fits[frog.id]))} for frog in work.frogs
        ],
        "wings": [wing_figures(work, wing, cuts.get(wing.id, ())) for wing in work.wings],
        "guards": [guard_figures(work, guard, cuts.get(guard.id, ())) for guard in work.guards],
        "guiding_sides": [side_figures(work, side) for side in work.sides],
        "rails": [
            {
                **bar_figures(work, bar, at_ends[bar.id]),
                "sides_cut": sides_cut(work, bar),
                **bar_filing_figures(work, metal[bar.id], ends[bar.id]),
            }
            for bar in work.bars
        ],
        "contacts": list(contact_figures(work)),
        "base_cuts": base_cut_figures(work),
        "pieces": piece_figures(work),
        "joints": joint_figures(work),
        "rail_sums": list(sum_figures(work)),
        "offsets": offset_figures(work),
        "ties": [tie_figures(tie) for tie in work.ties],
        "polarity": polarity_figures(work),
        "sections": section_figures(work),
        "copper": copper_figures(work),
        "feeders": feeder_figures(work),
        "wiring": wiring_figures(work),
        "findings": [_finding(finding, work.spec.units) for finding in findings],
    }


def _switch(work: Trackwork, switch: Switch, made: SwitchWork, in_front: InFront) -> Figures:
    return {**switch_figures(work, switch, made, in_front), "guarded_by": guarded_by(work, switch.id)}


def _gauge(gauge: Gauge) -> Figures:
    return {
        "width_mm": gauge.width,
        "flangeway_mm": gauge.flangeway,
        "check_gauge_mm": gauge.check_gauge,
        "span_mm": gauge.span,
        "point_spread_mm": gauge.point_spread,
        "source": gauge.source,
        "flangeway_depth_mm": gauge.depth,
        "flangeway_depth_source": gauge.depth_source or "not stated",
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
