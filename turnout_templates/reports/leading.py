"""Turn a job's figures and findings into the texts that come before the sheets: cautions, main figures, legend."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.grouping import group_findings
from turnout_templates.drafting.widening import widening_words
from turnout_templates.reports.base_rows import bases_block
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.filing_rows import filing_block
from turnout_templates.reports.frog_rows import frogs_block
from turnout_templates.reports.guide_rows import guides_block
from turnout_templates.reports.legend import legend
from turnout_templates.reports.lengths import fine_of, length_of
from turnout_templates.reports.point_rows import openings_block, points_block, throw_bars_block
from turnout_templates.reports.route_figures import widening_source
from turnout_templates.reports.switch_rows import switches_block
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.model import Trackwork


def leading_blocks(work: Trackwork, findings: tuple[Finding, ...], *, is_joined: bool = True) -> tuple[Block, ...]:
    """Return the blocks of the page after the first: findings, switches, frogs, what was assumed, and the legend.

    `is_joined` tells that there are several sheets to be joined.
    """
    blocks = [
        _findings(work, findings),
        switches_block(work),
        points_block(work),
        openings_block(work),
        throw_bars_block(work),
        frogs_block(work),
        filing_block(work),
        guides_block(work),
        bases_block(work),
        _ground(work),
        legend(work, is_joined=is_joined),
    ]
    return tuple(block for block in blocks if block.rows)


def _findings(work: Trackwork, findings: tuple[Finding, ...]) -> Block:
    rows = tuple(
        f"{number}. {group.first.level}: {group.sentence(work.spec.units)} ({group.first.source})"
        for number, group in enumerate(group_findings(findings), start=1)
    )
    return Block("Findings", rows or ("None: nothing that was checked stands in the way.",), leads=True)


def _ground(work: Trackwork) -> Block:
    spec = work.spec
    rows: list[Row] = [f"Scale {spec.scale.name}, 1:{spec.scale.ratio:g}."]
    for gauge in spec.gauges.values():
        rows.append(
            f"Gauge {gauge.name}: {fine_of(work, gauge.width, 3)} ({gauge.width_source}){_widest(work, gauge)}; "
            "frog flangeway "
            f"{fine_of(work, gauge.flangeway)} wide and {_depth(work, gauge)}, "
            f"guard flangeway {fine_of(work, gauge.guard_flangeway)}, check gauge "
            f"{fine_of(work, gauge.check_gauge)}, span at most {fine_of(work, gauge.span)} ({gauge.source})."
        )
    rail = spec.rail
    rows.append(
        f"Rail {rail.name}: {fine_of(work, rail.height)} high, head {fine_of(work, rail.head)}, base "
        f"{fine_of(work, rail.base)} ({rail.source})."
    )
    rows.append(f"Ties: {spec.ties.source}.")
    rows += _radii(work)
    return Block("What this is drawn for", tuple(rows))


def _depth(work: Trackwork, gauge: Gauge) -> str:
    """Return how deep a gauge's flangeways are cut at least, with the source where that is another than the width's."""
    if gauge.depth is None:
        return "of a depth that is not stated"
    source = "" if gauge.depth_source == gauge.source else f" ({gauge.depth_source})"
    return f"at least {fine_of(work, gauge.depth)} deep{source}"


def _widest(work: Trackwork, gauge: Gauge) -> str:
    """Return how wide a gauge becomes on curves; nothing where it is widened on none."""
    routes = (route for route in work.layout if any(gauge in face.gauges for face in route.faces))
    most = max((stretch.most for route in routes for stretch in route.widened), default=0.0)
    return f", {fine_of(work, gauge.width + most, 3)} where it is widened most" if most else ""


def _radii(work: Trackwork) -> Iterator[Row]:
    for route in work.layout:
        sharpest = route.path.greatest_curvature
        bend = f"least radius {length_of(work, 1 / sharpest)}" if sharpest else "straight"
        yield f"Route {route.name}: {length_of(work, route.path.length)} long, {bend}{_widening(work, route)}."


def _widening(work: Trackwork, route: LaidRoute) -> str:
    """Return where the gauge of a route is wider, and by whose rule; nothing where it is not."""
    if not route.widened:
        return ""
    words = "; ".join(widening_words(route, stretch, work.spec.units) for stretch in route.widened)
    return f"; {words} (stations on its centre line; {widening_source(work, route)})"
