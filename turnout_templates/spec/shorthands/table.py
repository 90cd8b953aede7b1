"""The formations that a spec may name in place of routes: the one list that all else goes by.

The list holds where each formation is written, not the formation, so that a spec of plain routes loads none of them.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from turnout_templates.spec.shorthands.formation import Formation

FORMATIONS: dict[str, tuple[str, str, str, str]] = {
    "turnout": ("turnout", "TurnoutForm", "turnout_routes", "one turnout in a few words"),
    "three_way": ("three_way", "ThreeWayForm", "three_way_routes", "a turnout with a branch to either side"),
    "crossover": ("crossovers", "CrossoverForm", "crossover_routes", "a link between two tracks side by side"),
    "double_crossover": (
        *("crossovers", "CrossoverForm", "double_crossover_routes"),
        "two links that cross between two tracks",
    ),
    "passing_siding": ("siding", "SidingForm", "siding_routes", "a track that leaves the main and joins it again"),
    "ladder": ("ladder", "LadderForm", "ladder_routes", "a lead with a switch for each track of a yard"),
    "wye": ("wye", "WyeForm", "wye_routes", "a triangle to turn trains on"),
    "diamond": ("crossings", "DiamondForm", "diamond_routes", "two tracks that cross"),
    "slip": ("crossings", "SlipForm", "slip_routes", "two tracks that cross, with curves from one to the other"),
    "gauntlet": ("gauntlet", "GauntletForm", "gauntlet_routes", "two tracks drawn together without points"),
    "side_change": ("side_change", "SideChangeForm", "side_change_routes", "a common rail that changes its side"),
}
"""By key: the module beside this one, the form of its keys, the function that writes its routes, what it is for."""


@cache
def formation(key: str) -> Formation:
    """Return the formation that a spec names by `key`."""
    from turnout_templates.spec.shorthands.formation import Formation

    module, form, routes, purpose = FORMATIONS[key]
    written = import_module(f"turnout_templates.spec.shorthands.{module}")
    return Formation(getattr(written, form), getattr(written, routes), purpose)
