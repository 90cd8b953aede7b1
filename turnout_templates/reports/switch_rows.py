"""Tell of each switch, in one sentence, what meets there and how it is thrown."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.drafting.switches import begin_name
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import fine_of, length_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import SwitchWork

_STRAIGHT_FIRST, _AS_IT_LIES = "laid out straight, then curved with its main", "laid out on its main as that lies"
"""How a turnout came about."""


def switches_block(work: Trackwork) -> Block:
    """Return a sentence for each switch."""
    rows: list[Row] = []
    bars = BarsByFace(work)
    for switch, made in work.works():
        rows.append(
            f"{switch.id}: {', '.join(_meeting(work, switch))}, "
            f"{begin_name(work, switch)} at {length_of(work, switch.station)}; {_how_laid(work, switch)}; "
            f"{_how_thrown(work, switch, made, bars)}"
        )
    return Block("Switches", tuple(rows))


def _how_thrown(work: Trackwork, switch: Switch, made: SwitchWork, bars: BarsByFace) -> str:
    """Return the rest of a switch's sentence: what moves, how far, and where lengths are measured from."""
    filed = length_of(work, switch.filed_station)
    outer = f"{bars.begun(switch.outer)} {switch.outer.owner.label}".strip()
    if switch.switching == "stub" and switch.throw is not None:
        return (
            f"a stub without points: the rails swing over {length_of(work, switch.swinging)} to the toe at {filed}, "
            f"and lengths are measured from there on {outer}; all rails onward begin at the toe with square ends; "
            f"throw at the toe {' and '.join(_throws(work, switch))}."
        )
    worst = made.worst
    if switch.throw is None or worst is None:
        guards = ", ".join(guard.id for guard in work.guards if switch.id in guard.switches)
        whole = not any(told.need.guarded == switch.id for told in work.unguarded)
        drawn = f"{guards} draws the wheels over" if guards and whole else "NO GUARD FITS to draw the wheels over"
        return (
            f"nothing moves; the fixed rail {outer} begins at {filed}, where a flangeway has opened beside it, and "
            f"lengths are measured from there; up to there its wheels run on the tread of the stock rail, and {drawn}."
        )
    count = len(switch.moving_points)
    points = f"{count} moving points; the outer one" if count > 1 else "one moving point"
    return (
        f"{points}, {outer}, has its filed tip at {filed}, and lengths are measured from that tip; "
        f"throw {fine_of(work, switch.throw)}, least opening beside an open point "
        f"{fine_of(work, worst.opening.least)}, that of {bars.begun(worst.point)} "
        f"({fine_of(work, worst.wanted, bracket='=')} keeps wheel backs clear)."
    )


def _throws(work: Trackwork, switch: Switch) -> Iterator[str]:
    """Yield how far the rails of a stub are thrown at the toe for each route that leaves."""
    for name, throw in zip(switch.onward[1:], switch.throws, strict=True):
        yield f"{fine_of(work, throw)} from {switch.onward[0]} to {name}"


def _meeting(work: Trackwork, switch: Switch) -> Iterator[str]:
    """Yield the branches of a switch with how they meet its main, and to which side."""
    for name in switch.onward[1:]:
        here = switch.end_of(work.layout.route(name))
        if here is None:
            raise TypeError("only a route that parts at a switch is one of its branches")
        way, end = here
        hand = switch.hand if name == switch.branch else end.hand or switch.hand
        yield f"{name} {'joins' if way < 0 else 'leaves'} {switch.parent} to the {hand}"


def _how_laid(work: Trackwork, switch: Switch) -> str:
    """Return how the turnout came about, with the radius of each branch that results."""
    branches = switch.onward if switch.parting else switch.onward[1:]
    radii = (f"{name} {_radius(work, name)}" for name in branches)
    straight = work.layout.route(switch.branch).bent
    return f"{_STRAIGHT_FIRST if straight else _AS_IT_LIES}: {', '.join(radii)}"


def _radius(work: Trackwork, name: str) -> str:
    """Return the radius of a branch's curve to the frog, or its least one where no piece was found for a frog."""
    route = work.layout.route(name)
    curve = None if route.frog_curve is None else route.path.pieces[route.frog_curve]
    bend = route.path.greatest_curvature if curve is None else abs(curve.from_curvature)
    return f"with radius {length_of(work, 1 / bend)}" if bend else "straight"
