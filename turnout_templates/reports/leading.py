"""Turn a job's figures and findings into the texts that come before the sheets: cautions, main figures, legend."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.grouping import group_findings
from turnout_templates.drafting.switches import begin_name, outer_name, point_pose
from turnout_templates.drafting.widening import widening_words
from turnout_templates.geometry.pose import Point
from turnout_templates.reports.figures import how_laid, widening_source
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.model import Switch, Trackwork
from turnout_templates.trackwork.switches import wanted_opening
from turnout_templates.units import format_clearance_with_mm, format_degrees, format_length

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
    ("tick on a rail", "filed tip, full head, heel; where a rail stops for a flangeway, or its gauge changes"),
    ("tick every 10 mm or 1/2 in", "station on the centre line, from the start of the route"),
    ("rectangles", "ties, hatched when copper-clad; the heavy pair are the headblocks"),
    ("text at a tie's end", "number of the tie and the length to cut"),
    ("dashed rectangle", "throw bar between the headblocks"),
    ("F, S, G and a number", "frog, switch, guard rail"),
    ("R3b", "name of a rail in the figures"),
    ("heavy dashes at an edge", "cut here, then lay this edge on the sheet that it names"),
    ("fine dots at an edge", "leave the paper: it goes under the sheet that it names, and is glued there"),
    ("pale dots inside an edge", "where the edge of the neighbour that it names comes to lie"),
    ("cross in a circle", "registration mark: lay it on the same mark of the neighbour"),
    ("line between two ticks", "bar beside the drawing: measure it before you trust the sheet"),
)
STUB_LEGEND: tuple[Row, ...] = (
    ("dashes up to a toe", "gauge faces of a stub's swinging rails as they lie when thrown for the branch"),
)


@dataclass(frozen=True, slots=True)
class Block:
    """A titled list of rows: sentences, or cells of a table; `has_head` where the first row names the columns."""

    title: str
    rows: tuple[Row, ...]
    has_head: bool = False


@dataclass(frozen=True, slots=True)
class Dimension:
    """A straight length to check when the sheets are joined, between two named places (mm)."""

    start: str
    end: str
    length: float


def leading_blocks(work: Trackwork, findings: tuple[Finding, ...]) -> tuple[Block, ...]:
    """Return the blocks of the page after the first: findings, switches, frogs, what was assumed, and the legend."""
    stubs = any(switch.switching == "stub" for switch in work.switches)
    marks = Block("What the marks mean", (*LEGEND, *(STUB_LEGEND if stubs else ())))
    blocks = [
        _findings(work, findings),
        _switches(work),
        _frogs(work),
        _ground(work),
        marks,
    ]
    return tuple(block for block in blocks if block.rows)


def _findings(work: Trackwork, findings: tuple[Finding, ...]) -> Block:
    rows = tuple(
        f"{number}. {group.first.level}: {group.sentence(work.spec.units)} ({group.first.source})"
        for number, group in enumerate(group_findings(findings), start=1)
    )
    return Block("Findings", rows or ("None: nothing that was checked stands in the way.",))


def _switches(work: Trackwork) -> Block:
    rows: list[Row] = []
    for switch in work.switches:
        rows.append(
            f"{switch.id}: {', '.join(_meeting(work, switch))}, "
            f"{begin_name(work, switch)} at {_length(work, switch.station)}; {_how_laid(work, switch)}; "
            f"{_how_thrown(work, switch)}"
        )
    return Block("Switches", tuple(rows))


def _how_thrown(work: Trackwork, switch: Switch) -> str:
    """Return the rest of a switch's sentence: what moves, how far, and where lengths are measured from."""
    filed, outer = _length(work, switch.filed_station), switch.outer.owner.label
    if switch.switching == "stub" and switch.throw is not None:
        return (
            f"a stub without points: the rails swing over {_length(work, switch.swinging)} to the toe at {filed}, and "
            f"lengths are measured from there on {outer}; all rails onward begin at the toe with square ends; throw "
            f"{_fine(work, switch.throw)}{' to either place beside the middle one' if len(switch.onward) > 2 else ''}."
        )
    if switch.throw is None or switch.least_opening is None:
        guards = ", ".join(guard.id for guard in work.guards if switch.id in guard.switches)
        drawn = f"{guards} draws the wheels over" if guards else "NO GUARD FITS to draw the wheels over"
        return (
            f"nothing moves; the fixed rail {outer} begins at {filed}, where a flangeway has opened beside it, and "
            f"lengths are measured from there; up to there its wheels run on the tread of the stock rail, and {drawn}."
        )
    count = len(switch.moving_points)
    return (
        f"{count} moving point{'s' if count != 1 else ''}; the outer one, {outer}, has its filed tip at {filed}, and "
        f"lengths are measured from that tip; throw {_fine(work, switch.throw)}, least opening beside the open point "
        f"{_fine(work, switch.least_opening)} ({_fine(work, wanted_opening(switch.outer), bracket='=')} keeps wheel "
        "backs clear)."
    )


def _meeting(work: Trackwork, switch: Switch) -> Iterator[str]:
    """Yield the branches of a switch with how they meet its main, and to which side."""
    for name in switch.onward[1:]:
        here = switch.end_of(work.layout.route(name))
        if here is None:
            raise TypeError("only a route that parts at a switch is one of its branches")
        way, end = here
        hand = switch.hand if name == switch.branch else end.hand or switch.hand
        yield f"{name} {'joins' if way < 0 else 'leaves'} {switch.parent} to the {hand}"


def _how_laid(work: Trackwork, switch: Switch) -> str:
    """Return how the turnout came about, with the radius of each branch that results."""
    branches = switch.onward if switch.parting else switch.onward[1:]
    radii = (f"{name} {_radius(work, name)}" for name in branches)
    return f"{how_laid(work, switch)}: {', '.join(radii)}"


def _radius(work: Trackwork, name: str) -> str:
    """Return the radius of a branch's curve to the frog, or its least one where no piece was found for a frog."""
    route = work.layout.route(name)
    curve = None if route.frog_curve is None else route.path.pieces[route.frog_curve]
    bend = route.path.greatest_curvature if curve is None else abs(curve.from_curvature)
    return f"with radius {_length(work, 1 / bend)}" if bend else "straight"


def _frogs(work: Trackwork) -> Block:
    begins = tuple(dict.fromkeys(begin_name(work, switch) for switch in work.switches))
    head: Row = ("frog", "number", "angle", *([f"lead (from the {' or '.join(begins)})"] if begins else []), "rails")
    rows: list[Row] = [head] if work.frogs else []
    for frog in work.frogs:
        lead = "-" if frog.lead is None else _length(work, frog.lead)
        name = frog.id if frog.kind == "V" else f"{frog.id} (K)"
        rails = f"{frog.first.label} × {frog.second.label}"
        rows.append((name, f"{frog.number:.2f}", format_degrees(frog.angle), *([lead] if begins else []), rails))
    return Block("Frogs", tuple(rows), has_head=True)


def _ground(work: Trackwork) -> Block:
    spec = work.spec
    rows: list[Row] = [f"Scale {spec.scale.name}, 1:{spec.scale.ratio:g}."]
    for gauge in spec.gauges.values():
        rows.append(
            f"Gauge {gauge.name}: {_fine(work, gauge.width, 3)} ({gauge.width_source}){_widest(work, gauge)}; "
            "frog flangeway "
            f"{_fine(work, gauge.flangeway)}, guard flangeway {_fine(work, gauge.guard_flangeway)}, check gauge "
            f"{_fine(work, gauge.check_gauge)}, span at most {_fine(work, gauge.span)} ({gauge.source})."
        )
    rail = spec.rail
    rows.append(
        f"Rail {rail.name}: {_fine(work, rail.height)} high, head {_fine(work, rail.head)}, base "
        f"{_fine(work, rail.base)} ({rail.source})."
    )
    rows.append(f"Ties: {spec.ties.source}.")
    rows += _radii(work)
    return Block("What this is drawn for", tuple(rows))


def _widest(work: Trackwork, gauge: Gauge) -> str:
    """Return how wide a gauge becomes on curves; nothing where it is widened on none."""
    routes = (route for route in work.layout if any(gauge in face.gauges for face in route.faces))
    most = max((stretch.most for route in routes for stretch in route.widened), default=0.0)
    return f", {_fine(work, gauge.width + most, 3)} where it is widened most" if most else ""


def _radii(work: Trackwork) -> Iterator[Row]:
    for route in work.layout:
        sharpest = route.path.greatest_curvature
        bend = f"least radius {_length(work, 1 / sharpest)}" if sharpest else "straight"
        yield f"Route {route.name}: {_length(work, route.path.length)} long, {bend}{_widening(work, route)}."


def _widening(work: Trackwork, route: LaidRoute) -> str:
    """Return where the gauge of a route is wider, and by whose rule; nothing where it is not."""
    if not route.widened:
        return ""
    words = "; ".join(widening_words(route, stretch, work.spec.units) for stretch in route.widened)
    return f"; {words} (stations on its centre line; {widening_source(work, route)})"


def _length(work: Trackwork, mm: float) -> str:
    """Return a length to lay out by in the spec's units: mm to a tenth, inches to 1/64."""
    return format_length(mm, work.spec.units)


def _fine(work: Trackwork, mm: float, places: int = 2, bracket: str = "(") -> str:
    """Return a small length in the spec's units (see `format_clearance_with_mm`)."""
    return format_clearance_with_mm(mm, work.spec.units, places, bracket)


def _filed_tip(work: Trackwork, switch: Switch) -> Point:
    """Return the filed tip of a switch's outer point, on its gauge face: what a rule can be put on."""
    return point_pose(work, switch.outer, switch.outer.tip).point


def assembly_dimensions(work: Trackwork) -> tuple[Dimension, ...]:
    """Return what to measure on the joined sheets: filed tip to each frog of a switch, tip to tip, ends of routes."""
    dimensions = []
    for switch in work.switches:
        for frog in work.frogs:
            if frog.switch == switch.id:
                length = math.dist(_filed_tip(work, switch), frog.point)
                dimensions.append(Dimension(f"{switch.id} {outer_name(switch)}", frog.id, length))
    for one, next_one in zip(work.switches, work.switches[1:], strict=False):
        length = math.dist(_filed_tip(work, one), _filed_tip(work, next_one))
        start, end = (f"{switch.id} {outer_name(switch)}" for switch in (one, next_one))
        dimensions.append(Dimension(start, end, length))
    if not work.switches:
        for first, second in zip(work.frogs, work.frogs[1:], strict=False):
            dimensions.append(Dimension(first.id, second.id, math.dist(first.point, second.point)))
    for route in work.layout:
        if route.departure is None:
            length = math.dist(route.path.start.point, route.path.end.point)
            dimensions.append(Dimension(f"{route.name}, start of centre line", "its end", length))
    return tuple(dimensions)
