"""Check the tips of points: that their rails begin there, are thrown, lie behind whole heads and behind no frog."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.rails.rail_parts import Interval, PointRail, RouteFace

_SEEN = 0.1
"""A point whose rail begins no further (mm) behind its filed tip is as it should be: half the width of a firm line."""


class _Rails:
    """Where rails begin and end, where their heads are filed and which of them are points, by gauge face."""

    def __init__(self, work: Trackwork) -> None:
        self.ends: dict[RouteFace, list[Interval]] = {}
        self.filed: dict[RouteFace, list[Interval]] = {}
        self.points: dict[RouteFace, list[PointRail]] = {}
        for stretch in (stretch for bar in work.bars for stretch in bar.stretches):
            self.ends.setdefault(stretch.owner, []).append((stretch.low, stretch.high))
        for head in work.heads:
            self.filed.setdefault(head.stretch.owner, []).extend(head.filed)
        for point in (point for switch in work.switches for point in switch.moving_points):
            self.points.setdefault(point.owner, []).append(point)

    def begun(self, point: PointRail) -> float | None:
        """Return the station at which the rail of a point begins, None where nothing is left of it."""
        ends = (low if point.way > 0 else high for low, high in self.ends.get(point.owner, ()))
        beyond = (end for end in ends if point.beyond_tip(end) > -_SEEN)
        return min(beyond, key=point.beyond_tip, default=None)

    def is_cut_off(self, point: PointRail) -> bool:
        """Tell whether the rail of a point begins behind its filed tip."""
        begun = self.begun(point)
        return begun is None or point.beyond_tip(begun) > _SEEN

    def is_filed_at(self, owner: RouteFace, station: float) -> bool:
        """Tell whether a rail is filed at a station, and not because it is a point there."""
        planed = any((station - p.tip) * (station - p.full_head) <= 0.0 for p in self.points.get(owner, ()))
        return not planed and any(low < station < high for low, high in self.filed.get(owner, ()))


def check_tips_there(work: Trackwork) -> Iterator[Finding]:
    """Report points whose filed tip lies in the gap of a frog, so that their rail begins behind it.

    One that begins behind the throw bar too is not thrown by it.
    """
    names, rails = Names(work), _Rails(work)
    for switch, made in work.works():
        thrown = {spot.owner for spot in made.bar.spots} if made.bar is not None else set()
        for point in switch.moving_points:
            begun, face = rails.begun(point), work.layout.route(point.owner.route).parallel(point.owner.face)
            if begun is None or (point.owner in thrown and not rails.is_cut_off(point)):
                continue
            off = "" if point.owner in thrown else ", behind the throw bar, which does not throw it"
            yield Finding(
                "tip-missing",
                "warning" if point.owner in thrown else "error",
                f"{switch.id}, point {names.rail(point.owner, begun)}",
                face.point_at(point.tip),
                phrase("its rail begins ", Size(abs(face.length_between(point.tip, begun))), f" behind its tip{off}"),
                phrase("no gap of a frog lies over the tip of a point"),
                "geometry of this turnout",
                phrase(f"Let {switch.id} begin where no rail crosses its tips: further on, or sooner."),
            )


def check_tips_backed(work: Trackwork) -> Iterator[Finding]:
    """Report points whose tip lies beside a stock rail that is filed itself there: at the nose of a frog.

    Not of a point behind another one, which is told as such, nor of one whose own tip a frog takes.
    """
    names, rails = Names(work), _Rails(work)
    for switch in work.switches:
        for point in (point for point in switch.moving_points if not rails.is_cut_off(point)):
            stock, beside = point.outside[0], _beside(work, point)
            if rails.is_filed_at(stock, beside):
                yield Finding(
                    "tip-unbacked",
                    "warning",
                    f"{switch.id}, point {names.rail(point.owner, point.tip)}",
                    work.layout.route(point.owner.route).path.point_at(point.tip, point.owner.face.offset),
                    phrase(f"its tip lies beside {names.rail(stock, beside)} where that is filed for a frog"),
                    phrase("a whole head lies before the tip of a point, and carries wheels up to it"),
                    "geometry of this turnout",
                    phrase(f"Let {switch.id} begin beside whole rail: further on, or sooner."),
                )


def check_frogs_before_tips(work: Trackwork) -> Iterator[Finding]:
    """Report frogs at which a branch is crossed before its switch's filed tip, where it is still one with its parent.

    Neither route's rail is whole there. Not where one of the tips is told for that.
    """
    rails = _Rails(work)
    on_route: dict[str, list[Frog]] = {}
    for frog in work.frogs:
        for owner in (frog.first, frog.second):
            on_route.setdefault(owner.route, []).append(frog)
    for switch in work.switches:
        if not switch.moving_points or any(_is_told(work, rails, point) for point in switch.moving_points):
            continue
        for branch in switch.onward[1:]:
            for frog in on_route.get(branch, ()):
                behind = _behind(work, switch, branch, frog)
                before = abs(switch.filed_station - switch.station) - behind
                if min(behind, before) > 0.0 and _other_route(frog, branch) not in switch.onward:
                    yield Finding(
                        "frog-before-tip",
                        "warning",
                        f"{frog.id} ({frog.kind}) and {switch.id}",
                        frog.point,
                        phrase("the frog lies ", Size(before), " before the filed tip of the switch, at its bend"),
                        phrase(f'no rail crosses "{branch}" where it is still one rail with "{switch.onward[0]}"'),
                        "geometry of this turnout",
                        phrase(f"Let {switch.id} begin beside whole rail: further on, or sooner."),
                    )


def _is_told(work: Trackwork, rails: _Rails, point: PointRail) -> bool:
    """Tell whether something is wrong with the tip of a point itself."""
    return rails.is_cut_off(point) or rails.is_filed_at(point.outside[0], _beside(work, point))


def _behind(work: Trackwork, switch: Switch, branch: str, frog: Frog) -> float:
    """Return how far (mm of the branch) a frog lies behind the tip of a switch; -1 where the branch ends elsewhere."""
    route = work.layout.route(branch)
    here = switch.end_of(route)
    station = frog.s if frog.first.route == branch else frog.t
    if here is None:
        return -1.0
    return station if here[0] > 0 else route.path.length - station


def _other_route(frog: Frog, route: str) -> str:
    return frog.second.route if frog.first.route == route else frog.first.route


def _beside(work: Trackwork, point: PointRail) -> float:
    """Return the station beside a point's tip of the route of the rail that it lies behind."""
    place = work.layout.route(point.owner.route).path.point_at(point.tip, point.owner.face.offset)
    return nearest_station(work.layout.route(point.outside[0].route).path, place)[0]
