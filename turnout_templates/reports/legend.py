"""Say what the marks on the sheets mean, of those marks that are on them."""

from __future__ import annotations

from turnout_templates.reports.block import Block, Row
from turnout_templates.trackwork.model import Trackwork

LEGEND: tuple[tuple[str, str], ...] = (
    ("firm line", "gauge face of a rail: set the rail's inner side on it"),
    ("thin line beside it", "outer edge of the rail's head"),
    ("grey shape", "what is left of a rail's head after filing: a point, or a rail at a frog"),
    ("line across a grey shape", "splice: the second bar of a V begins there, filed to lie against the first"),
    ("light shape, flared ends", "wing rail or guard rail with its flares"),
    ("heavy line on a head", "cut the head off here: its side guides as a guard"),
    ("short dashes at a rail", "base to be filed off flush with the head, from where to where they run"),
    ("short bars at a throw bar", "notch the base of that rail over the throw bar"),
    ("cross", "theoretical point of a frog, where the gauge faces cross"),
    ("small ring", "practical point: file the V blunt here"),
    ("tick on a rail", "filed tip, full head, heel, spring of a point; end of a rail at a flangeway; change of gauge"),
    (
        "heel",
        "a full flangeway has opened beside the point, or straight points have their heel; nothing is fixed there "
        "unless it says turns here",
    ),
    ("springs here, turns here", "a point flexes, or is hinged, from here: solder nothing nearer its tip to a tie"),
    ("tick every 10 mm or 1/2 in", "station on the centre line, from the start of the route"),
    ("rectangles", "ties, hatched when copper-clad; the heavy pair are the headblocks"),
    ("line across a tie or throw bar", "cut its copper through here: it parts left, right and frogs"),
    ("white box on a tie", "take the copper off here and leave the rail over it unsoldered"),
    ("ring with a cross", "hole for a feeder: D and a number, and what it feeds"),
    ("grey box on a tie", "notch the tie here for the rail joiner"),
    ("text at a tie's end", "number of the tie and the length to cut"),
    ("dashed rectangle", "throw bar between the headblocks, halfway through its travel"),
    ("dots on it", "solder the rails to the bar here"),
    ("small rectangle on it", "slot in the baseboard for the throw wire; drill the bar at the small cross in it"),
    ("dashes up to a toe", "gauge faces of a stub's swinging rails as they lie when thrown for the branch"),
    ("F, S, G, W and a number", "frog, switch, guard rail, wing rail"),
    ("R3b, R3b/2", "a bar of rail between frogs; its second piece where a gap or a joint cuts it"),
    ("line across a rail, J", "joint: both rails meet in a joiner over the tie"),
    (
        "two lines across a rail, IG",
        "isolating gap: saw the rail through there when both sides are soldered",
    ),
    ("line across a rail's end, E", "the template ends here and track goes on"),
    ("heavy dashes at an edge", "cut here, then lay this edge on the sheet that it names"),
    ("fine dots at an edge", "leave the paper: it goes under the sheet that it names, and is glued there"),
    ("pale dots inside an edge", "where the edge of the neighbour that it names comes to lie"),
    ("cross in a circle", "registration mark: lay it on the same mark of the neighbour"),
    (
        "cross in a square, M1",
        "control mark: measure from one to another across the seams of joined sheets; drill down through it where a "
        "sheet for the underside shows it",
    ),
    ("line between two ticks", "bar beside the drawing: measure it before you trust the sheet"),
)
"""Every mark, in the order in which they are told."""


def legend(work: Trackwork, *, is_joined: bool) -> Block:
    """Return the legend of the marks that a drawing has; `is_joined` tells that it has sheets to be joined."""
    missing = {sign for sign, is_there in _presence(work, is_joined=is_joined).items() if not is_there}
    rows: tuple[Row, ...] = tuple(row for row in LEGEND if row[0] not in missing)
    return Block("What the marks mean", rows)


def _presence(work: Trackwork, *, is_joined: bool) -> dict[str, bool]:
    """Tell of each mark that not every drawing has whether this one does."""
    bars = [made.bar for made in work.switch_works if made.bar is not None]
    told = {
        "grey shape": any(head.parts for head in work.heads),
        "line across a grey shape": any(fit.what == "spliced" and fit.bar is not None for fit in work.fits),
        "light shape, flared ends": bool(work.guards or work.wings),
        "heavy line on a head": bool(work.sides),
        "short dashes at a rail": bool(work.base_cuts),
        "short bars at a throw bar": any(bar.notches for bar in bars),
        "cross": bool(work.frogs),
        "small ring": any(frog.practical for frog in work.frogs),
        "line across a tie or throw bar": any(tie.gaps for tie in work.wiring.copper),
        "white box on a tie": any(part.bared is not None for tie in work.wiring.copper for part in tie.on),
        "ring with a cross": bool(work.wiring.feeders),
        "grey box on a tie": any(tie.notches for tie in work.ties),
        "line across a rail, J": any(joint.kind == "joint" for joint in work.joints),
        "two lines across a rail, IG": any(joint.kind == "gap" for joint in work.joints),
        "line across a rail's end, E": any(joint.kind == "end" for joint in work.joints),
        "dots on it": any(bar.spots for bar in bars),
        "dashes up to a toe": any(switch.switching == "stub" for switch in work.switches),
        "F, S, G, W and a number": bool(work.frogs or work.switches),
    }
    told |= dict.fromkeys(("dashed rectangle", "small rectangle on it"), bool(bars))
    told |= dict.fromkeys(("heel", "springs here, turns here"), any(made.points for made in work.switch_works))
    told |= dict.fromkeys(_AT_EDGES, is_joined)
    return told


_AT_EDGES = ("heavy dashes at an edge", "fine dots at an edge", "pale dots inside an edge", "cross in a circle")
