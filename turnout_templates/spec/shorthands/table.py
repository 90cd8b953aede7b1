"""The formations that a spec may name in place of routes: the one list that all else goes by."""

from __future__ import annotations

from turnout_templates.spec.shorthands.crossings import DiamondForm, SlipForm, diamond_routes, slip_routes
from turnout_templates.spec.shorthands.crossovers import CrossoverForm, crossover_routes, double_crossover_routes
from turnout_templates.spec.shorthands.formation import Formation
from turnout_templates.spec.shorthands.gauntlet import GauntletForm, gauntlet_routes
from turnout_templates.spec.shorthands.ladder import LadderForm, ladder_routes
from turnout_templates.spec.shorthands.side_change import SideChangeForm, side_change_routes
from turnout_templates.spec.shorthands.siding import SidingForm, siding_routes
from turnout_templates.spec.shorthands.three_way import ThreeWayForm, three_way_routes
from turnout_templates.spec.shorthands.turnout import TurnoutForm, turnout_routes
from turnout_templates.spec.shorthands.wye import WyeForm, wye_routes

FORMATIONS: dict[str, Formation] = {
    "turnout": Formation(TurnoutForm, turnout_routes, "one turnout in a few words"),
    "three_way": Formation(ThreeWayForm, three_way_routes, "a turnout with a branch to either side"),
    "crossover": Formation(CrossoverForm, crossover_routes, "a link between two tracks side by side"),
    "double_crossover": Formation(CrossoverForm, double_crossover_routes, "two links that cross between two tracks"),
    "passing_siding": Formation(SidingForm, siding_routes, "a track that leaves the main and joins it again"),
    "ladder": Formation(LadderForm, ladder_routes, "a lead with a switch for each track of a yard"),
    "wye": Formation(WyeForm, wye_routes, "a triangle to turn trains on"),
    "diamond": Formation(DiamondForm, diamond_routes, "two tracks that cross"),
    "slip": Formation(SlipForm, slip_routes, "two tracks that cross, with curves from one to the other"),
    "gauntlet": Formation(GauntletForm, gauntlet_routes, "two tracks drawn together without points"),
    "side_change": Formation(SideChangeForm, side_change_routes, "a common rail that changes its side"),
}
