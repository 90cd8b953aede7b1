"""Lay the ties: headblocks at the points, long switch ties while tracks share them, plain ties elsewhere.

Routes are tied in the order of the file. Where a rail is then bare for too long, between the ties of two routes that
end there, one more tie is laid; where none lies under what must be held, the nearest are moved. Then it is told what
each tie is there for, what it is made of and where it is notched.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.nearby import Nearby
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, Bar, Rail
from turnout_templates.trackwork.ties.bearing import bare_stretches, most_bare, place_of
from turnout_templates.trackwork.ties.carrying import Carrying
from turnout_templates.trackwork.ties.holding import Parts, places_to_hold
from turnout_templates.trackwork.ties.leaning import Leaning
from turnout_templates.trackwork.ties.notching import joints_of, notches_under
from turnout_templates.trackwork.ties.shifting import Holders
from turnout_templates.trackwork.ties.soldering import copper_ties, loose_rails, ties_for_bars
from turnout_templates.trackwork.ties.tie_parts import MissingTie, Tie
from turnout_templates.trackwork.ties.tier import Anchor, Tier

_REACH_TIES = 4.0
"""Tracks further apart than this many plain ties never share one (the longest switch ties are shorter)."""


def lay_ties(
    spec: Spec, rails: tuple[Rail, ...], bars: tuple[Bar, ...], parts: Parts
) -> tuple[tuple[Tie, ...], tuple[MissingTie, ...]]:
    """Return all ties, numbered from 1 along each route in the order of the file, and the places that none holds."""
    layout, rules = parts.layout, spec.ties
    widest = max(gauge.width for gauge in spec.gauges.values())
    nearby = Nearby(layout, _REACH_TIES * (widest + 2 * rules.overhang))
    tier = Tier(rules, Carrying(rules, nearby, Leaning(rules, layout, parts.switches, parts.frogs)))
    anchors = _anchors(parts.switches)
    for route in layout:
        tier.lay_headblocks(route, anchors.get(route.name, []))
    for route in layout:
        tier.tie_route(route, anchors.get(route.name, []))
    for bare in list(bare_stretches(layout, rails, list(tier.ties), longer_than=most_bare(rules))):
        name, station = place_of(layout, bare)
        tier.tie_bare(layout.route(name), station)
    places = list(places_to_hold(parts, rules))
    holders = Holders(layout, tier)
    missing = tuple(holders.hold(places))
    holds = holders.held_by(places)
    loose = loose_rails(parts, rules, bars, list(tier.ties))
    notches = notches_under(joints_of(parts), holders, spec.rail)
    order = {route.name: i for i, route in enumerate(layout)}
    ties = sorted(tier.ties, key=lambda tie: (order[tie.route], tie.station))
    copper = copper_ties(rules, ties, holds)
    for_bars = ties_for_bars(layout, bars, ties, copper, loose) if rules.copper != "none" else {}
    return tuple(
        replace(
            tie,
            id=str(i),
            material="copper-clad" if tie in copper or tie in for_bars else "wood",
            holds=tuple(dict.fromkeys([*(held.what for held in holds.get(tie, ())), *for_bars.get(tie, ())])),
            loose=loose.get(tie, ()),
            notches=notches.get(tie, ()),
        )
        for i, tie in enumerate(ties, start=1)
    ), missing


def _anchors(switches: Sequence[Switch]) -> dict[str, list[Anchor]]:
    """Return the headblocks by the route they lie on; one that is beside two bars is longer on the sides of both."""
    sides: dict[str, dict[float, set[int]]] = {}
    for block in (block for switch in switches for block in switch.headblocks):
        on_route = sides.setdefault(block.route, {})
        here = next((at for at in on_route if abs(at - block.station) < SAME_PLACE), block.station)
        on_route.setdefault(here, set()).add(block.side)
    return {
        name: [Anchor(station, frozenset(found)) for station, found in sorted(on_route.items())]
        for name, on_route in sides.items()
    }
