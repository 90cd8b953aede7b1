"""Checks of what parts routes without points: stub switches and fixed rails."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import clearance, phrase
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.trackwork.guides.needs import gauges_both_ways
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.stubs import stub_at
from turnout_templates.trackwork.points.switch_model import Switch

_ROUNDING = 1e-6
_SEEN = 0.02
"""Throws in mm that differ by less are one: a tenth of the width of the firm line that they are drawn with."""


def check_butts(work: Trackwork) -> Iterator[Finding]:
    """Report rails that begin at the toe of a stub too near to another for a flange to pass between them."""
    names = Names(work)
    for switch in work.switches:
        for point in switch.points:
            if point.begins != "butt" or point.beyond_tip(point.clear) < _ROUNDING:
                continue
            outside = point.outside[0]
            flangeway = max(point.owner.face.flangeway, outside.face.flangeway)
            path, other = (work.layout.route(owner.route).path for owner in (point.owner, outside))
            place = path.point_at(point.tip, point.owner.face.offset)
            station = nearest_station(other, place)[0]
            apart = abs(other.pose_at(station).local(place)[1] - outside.face.offset)
            yield Finding(
                "stub-throw",
                "error",
                f"{switch.id}, {names.rail(point.owner, point.tip)} beside {names.rail(outside, station)}",
                place,
                phrase("their faces are ", clearance(apart), " apart at the toe"),
                phrase(
                    "a head and a flangeway, ", clearance(work.spec.rail.head + flangeway), ", let wheels pass between"
                ),
                point.owner.face.gauges[0].source,
                phrase("Take a longer throw."),
            )


def check_butts_whole(work: Trackwork) -> Iterator[Finding]:
    """Report butts at a stub's toe that a flangeway of another route cuts into: a K lies too near."""
    names = Names(work)
    for switch in work.switches:
        butts = {(point.owner, point.tip): point for point in switch.points if point.begins == "butt"}
        for head in work.heads:
            ends = (head.stretch.low, head.stretch.high)
            point = next((p for end in ends if (p := butts.get((head.stretch.owner, end))) is not None), None)
            if point is None or (point.tip == ends[0]) != (point.way > 0):
                continue
            if any(low <= point.tip <= high for low, high in head.filed):
                yield Finding(
                    "stub-butt-filed",
                    "warning",
                    f"{switch.id}, {names.rail(point.owner, point.tip)}",
                    work.layout.route(point.owner.route).path.point_at(point.tip, point.owner.face.offset),
                    phrase("its head is filed where it begins, for the wheels on a rail that it crosses close by"),
                    phrase("butts at the toe of a stub have whole heads"),
                    "geometry of this turnout",
                    phrase("Take another throw or length, so that the toe lies clear of that crossing."),
                )


def check_one_toe(work: Trackwork) -> Iterator[Finding]:
    """Report routes of a stub that are thrown further than said, because its rails swing to one toe for all."""
    for switch in work.switches:
        others = (name for name in switch.onward if name != switch.onward[0])
        for name, throw in zip(others, switch.throws, strict=False):
            said = _said_throw(work, switch, name)
            if said is not None and abs(throw - said) > _SEEN:
                yield Finding(
                    "stub-toes",
                    "warning",
                    f'"{name}" at {switch.id}',
                    switch.filed_tip.point,
                    phrase("it is thrown ", clearance(throw), " at the toe"),
                    phrase(
                        clearance(said), " is said, but all rails of a stub swing to one toe, the furthest asked for"
                    ),
                    "the spec",
                    phrase("Give the routes that part here throws or curves that come to one toe."),
                )


def _said_throw(work: Trackwork, switch: Switch, name: str) -> float | None:
    """Return how far apart a stub's route and the one that leads are said to be at the toe, None where nothing is said.

    Where the parent ends and the rails are thrown straight for both, each to its side, their throws add up.
    """
    own, lead = (stub_at(work.layout.route(route), switch) for route in (name, switch.onward[0]))
    if own is None:
        return None
    both = switch.parting and lead is not None and lead.length is not None and own.length is not None
    return own.throw + lead.throw if both and lead is not None else own.throw


def check_gauges_told_apart(work: Trackwork) -> Iterator[Finding]:
    """Report fixed rails where wheels of one gauge should go both ways: nothing tells them apart."""
    names = Names(work)
    for switch in work.switches:
        for point in switch.points:
            for owner, gauge in gauges_both_ways(work.layout, point):
                place = work.layout.route(point.owner.route).path.point_at(point.tip, point.owner.face.offset)
                yield Finding(
                    "gauge-not-parted",
                    "error",
                    f"{switch.id}, fixed rail {names.rail(point.owner, point.tip)}",
                    place,
                    phrase(f'{gauge.name} gauge goes on along both "{point.owner.route}" and "{owner.route}"'),
                    phrase("nothing sends a wheel of this gauge to one side"),
                    "geometry of this turnout",
                    phrase("Let each gauge go on one way only, or take points that move."),
                )
