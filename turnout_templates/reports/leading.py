"""Turn a job's figures and findings into the texts that come before the sheets: cautions, main figures, legend."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from turnout_templates.checks.finding import Finding
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_degrees, format_length

Row = str | tuple[str, ...]

CAUTIONS = (
    "Wear eye protection whenever you cut, file, grind or solder: cut rail flies and its ends are sharp.",
    "Solder with fumes drawn away from your face. The iron burns; many solders and old rail contain lead: do not eat "
    "or drink at the bench, and wash your hands afterwards.",
    "Filing or sawing copper-clad board makes glass dust: wear a dust mask, wet the work, and wipe up; never blow.",
    "Power switch machines and track from a low-voltage supply only. Leave anything connected to the mains to a "
    "licensed electrician and to your local codes.",
    "Test with your own gauges and wheels before gluing: this paper shows where rails belong, not whether they were "
    "laid there.",
)
"""The usual cautions of the craft (common practice; local codes and licensed practice come first)."""

LEGEND: tuple[Row, ...] = (
    ("firm line", "gauge face of a rail: set the rail's inner side on it"),
    ("thin line beside it", "outer edge of the rail's head"),
    ("grey shape", "a head to be filed: a point, or a rail at a frog"),
    ("light shape, bent ends", "wing rail or guard rail with its flares"),
    ("cross", "theoretical point of a frog, where the gauge faces cross"),
    ("small ring", "practical point: file the V blunt here"),
    ("tick on a rail", "filed tip, full head, heel; or where a rail stops for a flangeway"),
    ("tick every 10 mm or 1/2 in", "station on the centre line, from the start of the route"),
    ("rectangles", "ties, hatched when copper-clad; the heavy pair are the headblocks"),
    ("text at a tie's end", "number of the tie and the length to cut"),
    ("dashed rectangle", "throw bar between the headblocks"),
    ("F, S, G, R and a number", "frog, switch, guard rail, rail"),
)


@dataclass(frozen=True, slots=True)
class Block:
    """A titled list of rows: sentences, or cells of a table."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Dimension:
    """A straight length to check when the sheets are joined, between two named places (mm)."""

    start: str
    end: str
    length: float


def leading_blocks(work: Trackwork, findings: tuple[Finding, ...]) -> tuple[Block, ...]:
    """Return the blocks of the page after the first: findings, switches, frogs, what was assumed, and the legend."""
    blocks = [_findings(findings), _switches(work), _frogs(work), _ground(work), Block("What the marks mean", LEGEND)]
    return tuple(block for block in blocks if block.rows)


def _findings(findings: tuple[Finding, ...]) -> Block:
    rows = tuple(
        f"{number}. {finding.level}: {finding.sentence} ({finding.source})"
        for number, finding in enumerate(findings, start=1)
    )
    return Block("Findings", rows or ("None: nothing that was checked stands in the way.",))


def _switches(work: Trackwork) -> Block:
    rows: list[Row] = []
    for switch in work.switches:
        gauge = max(switch.outer.owner.face.gauges, key=lambda g: g.width)
        rows.append(
            f"{switch.id}: {', '.join(switch.onward[1:])} leaves {switch.parent} at {_length(work, switch.station)} to "
            f"the {switch.hand}, {len(switch.points)} moving point{'s' if len(switch.points) != 1 else ''}; filed tip "
            f"at {_length(work, switch.filed_station)}, throw {switch.throw:.2f} mm, least opening beside the open "
            f"point {switch.least_opening:.2f} mm ({gauge.width - gauge.point_spread:.2f} mm keeps wheel backs clear)."
        )
    return Block("Switches", tuple(rows))


def _frogs(work: Trackwork) -> Block:
    rows: list[Row] = [("frog", "number", "angle", "lead from tip", "rails")] if work.frogs else []
    for frog in work.frogs:
        lead = "-" if frog.lead is None else _length(work, frog.lead)
        name = frog.id if frog.kind == "V" else f"{frog.id} (K)"
        rails = f"{frog.first.label} × {frog.second.label}"
        rows.append((name, f"{frog.number:.2f}", format_degrees(frog.angle), lead, rails))
    return Block("Frogs", tuple(rows))


def _ground(work: Trackwork) -> Block:
    spec = work.spec
    rows: list[Row] = [f"Scale {spec.scale.name}, 1:{spec.scale.ratio:g}."]
    for gauge in spec.gauges.values():
        rows.append(
            f"Gauge {gauge.name}: {gauge.width:.3f} mm ({gauge.width_source}); frog flangeway {gauge.flangeway:.2f}, "
            f"guard flangeway {gauge.guard_flangeway:.2f}, check gauge {gauge.check_gauge:.2f}, span at most "
            f"{gauge.span:.2f} mm ({gauge.source})."
        )
    rail = spec.rail
    rows.append(
        f"Rail {rail.name}: {rail.height:.2f} mm high, head {rail.head:.2f}, base {rail.base:.2f} mm ({rail.source})."
    )
    rows.append(f"Ties: {spec.ties.source}.")
    rows += _radii(work)
    return Block("What this is drawn for", tuple(rows))


def _radii(work: Trackwork) -> Iterator[Row]:
    for route in work.layout:
        sharpest = max(max(abs(p.from_curvature), abs(p.to_curvature)) for p in route.path.pieces)
        if sharpest:
            bend = f"least radius {_length(work, 1 / sharpest)}"
        else:
            bend = "straight"
        yield f"Route {route.name}: {_length(work, route.path.length)} long, {bend}."


def _length(work: Trackwork, mm: float) -> str:
    return format_length(mm, work.spec.units)


def assembly_dimensions(work: Trackwork) -> tuple[Dimension, ...]:
    """Return what to measure on the joined sheets: tip to each frog of a switch, tip to tip, and ends of routes."""
    dimensions = []
    for switch in work.switches:
        for frog in work.frogs:
            if frog.switch == switch.id:
                length = math.dist(switch.tip.point, frog.point)
                dimensions.append(Dimension(f"{switch.id} tip", frog.id, length))
    for one, next_one in zip(work.switches, work.switches[1:], strict=False):
        length = math.dist(one.tip.point, next_one.tip.point)
        dimensions.append(Dimension(f"{one.id} tip", f"{next_one.id} tip", length))
    if not work.switches:
        for first, second in zip(work.frogs, work.frogs[1:], strict=False):
            dimensions.append(Dimension(first.id, second.id, math.dist(first.point, second.point)))
    for route in work.layout:
        if route.departure is None:
            length = math.dist(route.path.start.point, route.path.end.point)
            dimensions.append(Dimension(f"{route.name}, start of centre line", "its end", length))
    return tuple(dimensions)
