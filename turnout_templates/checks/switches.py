"""Checks of switches and of rails too near to each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from turnout_templates.alignment.faces import side
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import Size, clearance, phrase
from turnout_templates.spec.model import Hand, ToFrog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import PointWork, SwitchWork
from turnout_templates.trackwork.points.switches import LEAST_SHARE, passing_gauge


def check_opening(work: Trackwork) -> Iterator[Finding]:
    """Report open points that stand nearer to their stock rail than gauge less point spread: wheel backs touch them.

    Of a switch's points the one that falls short most is told.
    """
    names = Names(work)
    for switch, made in work.works():
        worst = max(made.points, key=lambda point: point.missing, default=None)
        if worst is None or worst.missing <= 1e-6:
            continue
        owner, opening = worst.point.owner, worst.opening
        blocked = opening.least < LEAST_SHARE * worst.wanted
        yield Finding(
            "point-opening",
            "error" if blocked else "warning",
            f"{switch.id}, open point {names.rail(owner, worst.point.tip)}",
            work.layout.route(owner.route).path.point_at(worst.least_station, owner.face.offset),
            phrase(
                *("the opening falls to ", clearance(opening.least), ", "),
                *(Size(opening.at), " from the filed tip"),
            ),
            phrase(clearance(worst.wanted), " keeps wheel backs off the point"),
            passing_gauge(worst.point).source,
            phrase("No flange passes there; " if blocked else "Such turnouts run; ", *_what_holds(switch, made, worst)),
        )


def _what_holds(switch: Switch, made: SwitchWork, worst: PointWork) -> Iterator[str | Size]:
    """Yield what throw would hold the openings wanted, and where the point would have to be held for that."""
    if made.throw_to_hold is None or switch.throw is None:
        yield "no throw that switches have would hold that"
    else:
        points = "the whole point" if len(made.points) == 1 else "all points"
        yield from ("a throw of ", clearance(made.throw_to_hold), f" would hold that beside {points}, ")
        yield from (clearance(switch.throw), " is drawn")
    if worst.opening.fix_to_hold is not None:
        yield from ("; ", "hinged" if worst.point.rigid else "held", " ", Size(worst.opening.fix_to_hold))
        yield " from the filed tip it would hold with the throw drawn."
    elif made.throw_to_hold is None:
        yield "; take a longer branch to the frog, a larger frog number, or wheels with narrower flanges."
    else:
        yield "."


def check_frog_reached(work: Trackwork) -> Iterator[Finding]:
    """Report branches that end before they have crossed the route that they leave."""
    for switch in work.switches:
        for branch in switch.onward[1:]:
            if len(work.layout.route(branch).departures) > 1:
                continue  # its wheels go over to the rails of another route before its end
            if any(f.switch == switch.id and branch in (f.first.route, f.second.route) for f in work.frogs):
                continue
            end = work.layout.route(branch).path.end
            yield Finding(
                "no-frog",
                "warning",
                f'"{branch}" of {switch.id}',
                end.point,
                phrase("it ends before its rails cross those of the route it leaves"),
                phrase("a turnout needs a frog to be complete"),
                "geometry of this turnout",
                phrase(f'Lengthen "{branch}" and the route it leaves.'),
            )


def check_frog_possible(work: Trackwork) -> Iterator[Finding]:
    """Report branches that ask for a frog where nothing parts: where the route that they leave ends, alone."""
    parting = {name for switch in work.switches for name in switch.onward}
    for route in work.spec.routes:
        asks = route.leaves is not None and any(isinstance(piece, ToFrog) for piece in route.path)
        if asks and route.name not in parting:
            yield Finding(
                "no-frog",
                "warning",
                f'"{route.name}"',
                work.layout.route(route.name).path.start.point,
                phrase(f'it asks for a frog, but "{route.leaves}" ends where it leaves, and nothing else goes on'),
                phrase("a frog lies where two routes part"),
                "geometry of this trackwork",
                phrase("Give its curve a radius and a length, or let another route go on from there."),
            )


def check_third_rail(work: Trackwork) -> Iterator[Finding]:
    """Report rails of one route so near to each other that their bases overlap, or a flange finds no way between."""
    rail = work.spec.rail
    for route in work.layout:
        for hand in ("left", "right"):
            faces = sorted((f for f in route.faces if f.hand == hand), key=lambda f: side(f.hand) * f.offset)
            for inner, outer in pairwise(faces):
                apart = abs(outer.offset - inner.offset)
                room = apart - rail.head
                if room < outer.flangeway:
                    yield Finding(
                        "third-rail-flangeway",
                        "error",
                        f"{route.name}, between {inner.gauge} and {outer.gauge} rails",
                        route.path.point_at(route.path.length / 2, inner.offset),
                        phrase(clearance(room), " between their heads"),
                        phrase("a flangeway of ", clearance(outer.flangeway)),
                        outer.gauges[0].source,
                        phrase("Take a smaller rail section, or do not mix these gauges."),
                    )
                elif apart < rail.base:
                    yield Finding(
                        "third-rail-base",
                        "warning",
                        f"{route.name}, between {inner.gauge} and {outer.gauge} rails",
                        route.path.point_at(route.path.length / 2, inner.offset),
                        phrase(clearance(apart), " between faces"),
                        phrase("rail bases are ", clearance(rail.base), " wide and overlap"),
                        rail.source,
                        phrase("File the facing flanges of both bases, or take a smaller rail section."),
                    )


def check_hand(work: Trackwork) -> Iterator[Finding]:
    """Report branches that leave to the other side than said: their rail on that side is the point, not the stock."""
    said = {route.name: route.hand for route in work.spec.routes if route.hand is not None}
    for switch in work.switches:
        for name in switch.onward[1:]:
            here = switch.end_of(work.layout.route(name))
            if here is None or here[0] < 0 or name not in said or not _lies_behind(switch, name, said[name]):
                continue
            yield Finding(
                "wrong-hand",
                "error",
                f'"{name}" at {switch.id}',
                switch.tip.point,
                phrase(f"it is said to leave to the {said[name]}, but first parts to the other side"),
                phrase("the hand is the side it leaves to as seen from the tip"),
                "the spec",
                phrase("Correct the hand, turn the curve the other way, or take another frog number."),
            )


def _lies_behind(switch: Switch, branch: str, hand: Hand) -> bool:
    """Tell whether of two coincident rails the branch's is the point on the side `hand`, or the stock on the other.

    The branch runs from the tip with its own stations, so that its rails' hands are as they are seen from there.
    """
    along = switch.onward[0]
    for point in switch.points:
        outside = {o.route for o in point.outside}
        if point.owner.route == branch and along in outside and point.owner.face.hand == hand:
            return True
        beside = next((o for o in point.outside if o.route == branch), None)
        if point.owner.route == along and beside is not None and beside.face.hand != hand:
            return True
    return False
