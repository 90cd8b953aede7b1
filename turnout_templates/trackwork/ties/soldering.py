"""Turn what ties hold into what they are made of, and tell which rails move on them and must not be soldered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.spec.model import Copper, TieRules
from turnout_templates.trackwork.points.sliding import SAGITTA, TiesUnderPoints, tie_outlines
from turnout_templates.trackwork.rails.rail_parts import Bar, Interval, RouteFace, Stretch
from turnout_templates.trackwork.ties.holding import Held, Parts
from turnout_templates.trackwork.ties.tie_parts import Tie

_EVERY: dict[Copper, int] = {"all": 1, "every second": 2, "every third": 3, "every fourth": 4}
"""How many ties on from a copper-clad one the next is, where none is needed before: common practice, no source."""


def copper_ties(rules: TieRules, ties: Sequence[Tie], holds: Mapping[Tie, Sequence[Held]]) -> set[Tie]:
    """Return the ties that are copper-clad; `ties` in order along each route.

    Those that a rail is soldered to for what they hold and the headblocks, unless none are; of the others each second,
    third or fourth from the last copper-clad one.
    """
    if rules.copper == "none":
        return set()
    every = _EVERY.get(rules.copper)
    copper: set[Tie] = set()
    since, route = 0, ""
    for tie in ties:
        since = since + 1 if tie.route == route else every or 0
        route = tie.route
        needed = tie.role == "headblock" or any(held.soldered for held in holds.get(tie, ()))
        if needed or (every is not None and since >= every):
            copper.add(tie)
            since = 0
    return copper


def ties_for_bars(
    layout: Layout, bars: Sequence[Bar], ties: Sequence[Tie], copper: set[Tie], loose: Mapping[Tie, Sequence[str]]
) -> dict[Tie, list[str]]:
    """Return the ties that must be copper-clad for bars that would be soldered to none, with the ids of those bars.

    Of the ties that such a bar crosses without sliding on it, the one in the middle: between two frogs it may be short.
    """
    lines = [
        (bar.id, _line(layout, stretch)) for bar in bars for stretch in bar.stretches if stretch.high > stretch.low
    ]
    tree = shapely.STRtree(tie_outlines(ties))
    under: dict[str, set[int]] = {}
    for line, tie in tree.query([line for _, line in lines], predicate="intersects").T.tolist():
        under.setdefault(lines[line][0], set()).add(tie)
    more: dict[Tie, list[str]] = {}
    for name, found in under.items():
        fast = [ties[i] for i in sorted(found) if name not in loose.get(ties[i], ())]
        if fast and not any(tie in copper or tie in more for tie in fast):
            more.setdefault(fast[len(fast) // 2], []).append(name)
    return more


def _line(layout: Layout, stretch: Stretch) -> shapely.LineString:
    face = Parallel(layout.route(stretch.owner.route).path, stretch.owner.face.offset, stretch.low, stretch.high)
    return shapely.LineString(flatten(face, sagitta=SAGITTA))


def loose_rails(parts: Parts, rules: TieRules, bars: Sequence[Bar], ties: Sequence[Tie]) -> dict[Tie, tuple[str, ...]]:
    """Return the ids of the bars that slide on each tie: the points, from the tip to the first tie beyond the fix."""
    under = TiesUnderPoints(parts.layout, ties, rules.switch_spacing)
    lying: dict[RouteFace, list[tuple[Interval, str]]] = {}
    for bar in bars:
        for stretch in bar.stretches:
            lying.setdefault(stretch.owner, []).append(((stretch.low, stretch.high), bar.id))
    loose: dict[Tie, tuple[str, ...]] = {}
    moving = [(point, switch.fix_of(point)) for switch in parts.switches for point in switch.moving_points]
    for point, fix in moving:
        for tie, (near, far) in under.under(point, fix):
            if near < fix:
                on = sorted(point.tip + point.way * u for u in (near, min(far, fix)))
                names = [name for (low, high), name in lying.get(point.owner, ()) if low < on[1] and high > on[0]]
                loose[tie] = tuple(dict.fromkeys((*loose.get(tie, ()), *names)))
    return loose
