"""Turn what ties hold into what they are made of, and tell which rails move on them and must not be soldered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from turnout_templates.spec.model import Copper, TieRules
from turnout_templates.trackwork.holding import Held, Parts
from turnout_templates.trackwork.rail_parts import Bar, Interval, RouteFace
from turnout_templates.trackwork.sliding import TiesUnderPoints
from turnout_templates.trackwork.tie_parts import Tie

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
