"""Tell the figures of a switch: where it lies, what moves there and how far, what is filed, soldered and drilled."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from turnout_templates.alignment.model import Way
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.reports.places import Figures, owner_figures, point_figures, pose_figures
from turnout_templates.trackwork.bases.base_cuts import BaseRelief, OpenFoul
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.behind import Behind, rails_in_front
from turnout_templates.trackwork.points.switch_model import Opening, Switch
from turnout_templates.trackwork.points.switch_parts import BaseNotch, PointWork, SwitchWork, ThrowBar
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace


def how_laid(work: Trackwork, switch: Switch) -> str:
    """Return how the turnout at `switch` came about: on the line it leaves, or on straight track and then bent."""
    return "bent from straight" if work.layout.route(switch.branch).bent else "solved on its main"


InFront = Mapping[tuple[RouteFace, Way], Sequence[Behind]]
"""The rails that points lie behind, by the face of the point and the way it runs."""


def in_front_of_points(work: Trackwork) -> InFront:
    """Return the rails that points lie behind, also where another switch begins beside them."""
    found: dict[tuple[RouteFace, Way], list[Behind]] = {}
    points = [point for switch in work.switches for point in switch.points]
    for pair in rails_in_front(work.layout, points, work.spec.rail.head):
        found.setdefault((pair.point, pair.way), []).append(pair)
    return found


def _behind(point: PointRail, in_front: InFront) -> list[RouteFace]:
    """Return the rails that a point lies behind, nearest first: those of its own switch, then of others beside it."""
    beside = (
        pair.outside
        for pair in in_front[point.owner, point.way]
        if 0.0 < point.beyond_tip(pair.clear) <= point.beyond_tip(point.clear)
    )
    return list(dict.fromkeys((*point.outside, *beside)))


def switch_figures(work: Trackwork, switch: Switch, made: SwitchWork, in_front: InFront) -> Figures:
    """Return the figures of a switch and of what is made there."""
    return {
        "id": switch.id,
        "main": switch.parent,
        "branch": switch.branch,
        "branches": list(switch.onward[1:]),
        "hand": switch.hand,
        "facing": "with" if switch.way > 0 else "against",
        "laid": how_laid(work, switch),
        "switching": switch.switching,
        "points": len(switch.moving_points),
        "station_mm": switch.station,
        "tip": pose_figures(switch.tip),
        "filed_tip": {**pose_figures(switch.filed_tip), "station_mm": switch.filed_station},
        "throw_bar_station_mm": switch.bar_station,
        "throw_mm": switch.throw,
        "throw_to_hold_mm": made.throw_to_hold,
        "least_opening_mm": switch.least_opening,
        "openings": [_opening(opening) for opening in switch.openings],
        "fix_to_hold_mm": switch.openings[0].fix_to_hold if switch.openings else None,
        "throw_bar": None if made.bar is None else _throw_bar(made.bar),
        "point_rails": [_point_rail(work, point, in_front) for point in made.points],
        "stock_relief": [_relief(work, relief) for relief in work.reliefs if relief.point in switch.points],
        "open_fouls": [_open_foul(foul) for foul in work.open_fouls if foul.switch == switch.id],
        "fixed_rails": [_fixed_rail(work, point) for point in switch.points if point.begins != "point"],
    }


def _opening(opening: Opening) -> Figures:
    return {
        "model": opening.model,
        "fix_mm": opening.fix,
        "least_opening_mm": opening.least,
        "at_mm": opening.at,
        "throw_to_hold_mm": opening.throw_to_hold,
        "fix_to_hold_mm": opening.fix_to_hold,
    }


def _throw_bar(bar: ThrowBar) -> Figures:
    """Return a throw bar in the middle of its travel; places along it are counted from its far end."""
    slot = bar.slot
    ends = [bar.pose.beside(left) for left in (bar.right, bar.left)][:: bar.side]
    return {
        "station_mm": bar.station,
        "length_mm": bar.length,
        "width_mm": bar.width,
        "travel_mm": bar.travel,
        "ends": [point_figures(end) for end in ends],
        "spots": [
            {
                **owner_figures(spot.owner),
                "side": spot.side,
                **point_figures(spot.place),
                "from_far_end_mm": spot.along,
                "clear_mm": spot.clear,
            }
            for spot in bar.spots
        ],
        "gaps_mm": list(bar.gaps),
        "notches": [_notch(notch) for notch in bar.notches],
        "slot": {**pose_figures(slot.pose), "length_mm": slot.length, "width_mm": slot.width, "wire_mm": slot.wire},
        "positions": [
            {"route": position.route, "from_far_stop_mm": bar.from_far_stop(position)} for position in bar.positions
        ],
        "drill": {**point_figures(slot.pose.point), "from_far_end_mm": slot.along},
    }


def _notch(notch: BaseNotch) -> Figures:
    return {
        "rail_id": notch.rail,
        **owner_figures(notch.owner),
        "from_mm": notch.stations[0],
        "to_mm": notch.stations[1],
        "from_filed_tip_mm": list(notch.from_tip),
    }


def _point_rail(work: Trackwork, made: PointWork, in_front: InFront) -> Figures:
    point = made.point
    path = work.layout.route(point.owner.route).path
    return {
        **owner_figures(point.owner),
        "behind": [owner_figures(owner) for owner in _behind(point, in_front)],
        "tip_station_mm": point.tip,
        "tip": point_figures(path.point_at(point.tip, point.owner.face.offset)),
        "full_head_station_mm": point.full_head,
        "heel_station_mm": point.heel,
        "clear_station_mm": point.clear,
        "hinge_station_mm": point.hinge,
        "held": "hinged" if point.rigid else "bent",
        "filed_side": made.side,
        "planed_mm": made.planed,
        "angle_at_tip_deg": math.degrees(made.angle_at_tip),
        "angle_at_full_head_deg": math.degrees(made.angle_at_full_head),
        "fix_mm": made.fix,
        "heel_mm": made.heel,
        "fix_station_mm": made.fix_station,
        "opening": _opening(made.opening),
        "wanted_opening_mm": made.wanted,
        "first_soldered_tie": made.first_tie,
        "last_soldered_tie": made.last_tie,
        "loose_ties": list(made.loose_ties),
        "beside": None
        if made.beside is None
        else {"clear_mm": made.beside.clear, "at_mm": made.beside.at, "what": made.beside.label},
        "frogs_on_point": [
            {
                "frog": hinge.frog,
                **_opening(hinge.opening),
                "at_hinge_mm": hinge.at_hinge,
                "workable": hinge.workable,
            }
            for hinge in made.hinges
        ],
    }


def _relief(work: Trackwork, relief: BaseRelief) -> Figures:
    """Return where the base of a rail is filed off on its gauge side for a point that lies behind it."""
    face = Parallel(work.layout.route(relief.beside.route).path, relief.beside.face.offset, relief.low, relief.high)
    return {
        "bar": relief.bar,
        **owner_figures(relief.beside),
        "from_mm": relief.low,
        "to_mm": relief.high,
        "length_mm": face.length_between(relief.low, relief.high),
        "point_bar": relief.point_bar,
    }


def _open_foul(foul: OpenFoul) -> Figures:
    """Return where a point runs into another part when it is opened."""
    return {"bar": foul.bar, "against": [foul.against], "from_mm": foul.low, "to_mm": foul.high}


def _fixed_rail(work: Trackwork, point: PointRail) -> Figures:
    """Return a rail that begins at a switch and does not move: behind a stub's toe, or where gauges part."""
    path = work.layout.route(point.owner.route).path
    return {
        **owner_figures(point.owner),
        "behind": [owner_figures(owner) for owner in point.outside],
        "parts_station_mm": point.parts,
        "begin_station_mm": point.tip,
        "begin": point_figures(path.point_at(point.tip, point.owner.face.offset)),
    }
