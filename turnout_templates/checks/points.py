"""Checks of points at the bench: frogs on them, their places on the throw bar, and throw bars in each other's way."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry import Polygon

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.phrase import Phrase, Size, at_least, clearance, phrase
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.sliding import tie_outlines
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import HingeBefore, ThrowBar

_TOUCHES = 0.02
"""Less than this (mm) comes from flattening curves and is contact."""
_EDGE = 1e-6
"""Rectangles that touch share no more than this (mm²)."""
_SHIFTS = 80
"""A throw bar is tried so many steps of half its width further along."""


def check_frog_on_point(work: Trackwork) -> Iterator[Finding]:
    """Report frogs whose gap begins beside or on a point that moves, before its heel."""
    names = Names(work)
    for switch, made in work.works():
        for point, hinge in ((p, hinge) for p in made.points for hinge in p.hinges):
            frog = work.frog(hinge.frog)
            yield Finding(
                "frog-on-point",
                "warning",
                f"{frog.id} ({frog.kind}) on the point {names.rail(point.point.owner, point.point.tip)} of {switch.id}",
                frog.point,
                phrase("the gap of the frog begins ", Size(hinge.opening.fix), " from the filed tip"),
                phrase("the point moves as far as its heel, ", Size(point.heel), " from the tip"),
                "geometry of this turnout",
                _hinged(hinge, point.wanted),
            )


def _hinged(hinge: HingeBefore, wanted: float) -> Phrase:
    """Return what comes of a hinge before the gap of a frog."""
    opening = hinge.opening
    if not hinge.workable:
        return phrase(
            *("Take a larger frog number: a hinge before the gap, at most ", Size(opening.fix), " from the tip, "),
            *("would let the point open by only ", clearance(opening.least), " with the throw drawn."),
        )
    parts: list[str | Size] = [
        *("Hinge that point before the gap, at most ", Size(opening.fix), " from its tip: with the throw drawn it "),
        *("then opens by ", clearance(opening.least), " at the least"),
    ]
    if opening.throw_to_hold is not None:
        parts += [", and a throw of ", clearance(opening.throw_to_hold), " would hold ", clearance(wanted), "."]
    else:
        parts += [", less than ", clearance(wanted), "; at the hinge itself ", clearance(hinge.at_hinge)]
        parts += [" is open and no throw adds to that. Or take a larger frog number."]
    return phrase(*parts)


def check_spots(work: Trackwork) -> Iterator[Finding]:
    """Report points whose place on the throw bar slides under the base of a rail that the bar does not move."""
    names = Names(work)
    for switch, made in work.works():
        if made.bar is None:
            continue
        for spot in made.bar.spots:
            if spot.clear is not None and spot.clear < -_TOUCHES:
                yield Finding(
                    "throw-bar-spot",
                    "warning",
                    f"throw bar of {switch.id}, {names.rail_at(spot.owner, spot.place)} on it",
                    made.bar.pose.beside(made.bar.left + made.bar.right - made.bar.far),
                    phrase("its solder spot slides ", clearance(-spot.clear), " under the base of a rail beside it"),
                    phrase("the edge of its base must stay clear of bases beside it over the whole travel"),
                    "geometry of this turnout with bases as rolled",
                    phrase("Solder that point from below or to a pin, or file the base beside it."),
                )


def check_bars_between_ties(work: Trackwork) -> Iterator[Finding]:
    """Report throw bars that lie over ties somewhere in their travel: those of another track, set askew to the bar."""
    outlines = tie_outlines(work.ties)
    tree = shapely.STRtree(outlines)
    for switch, bar in ((switch, made.bar) for switch, made in work.works() if made.bar is not None):
        swept = Polygon(bar.outline(bar.travel / 2))
        over = sorted(i for i in tree.query(swept, predicate="intersects").tolist() if _lie_on(swept, outlines[i]))
        if over:
            yield Finding(
                "throw-bar-over-tie",
                "warning",
                f"throw bar of {switch.id}",
                _middle(swept, outlines[over[0]]),
                phrase(f"it lies over {'ties' if len(over) > 1 else 'tie'} {_names(work, over)}"),
                phrase("a throw bar ", clearance(bar.width), " wide lies between ties"),
                "geometry of this trackwork",
                _off_ties(work, switch, over),
            )


def _off_ties(work: Trackwork, switch: Switch, ties: list[int]) -> Phrase:
    """Return what can be done about a throw bar over ties: headblocks must not be cut."""
    square = "set the bar square to them and solder its rails to suit."
    own = {(block.route, block.station) for block in switch.headblocks}
    blocks = [tie for tie in (work.ties[i] for i in ties) if tie.role == "headblock"]
    others = [tie.id for tie in blocks if (tie.route, tie.station) not in own]
    if others:
        return phrase(
            f"Do not cut {' and '.join(others)}, headblock{'s' if len(others) > 1 else ''} of another switch: work "
            f"both by one bar where they are thrown together, move the switches apart, or {square}"
        )
    if blocks:
        return phrase(f"Do not cut {' and '.join(tie.id for tie in blocks)}, between which it is to lie: {square}")
    return phrase(f"Cut those ties off short of it, or {square}")


def _names(work: Trackwork, ties: list[int]) -> str:
    """Return the ids of ties as they are said: "18 and 19"."""
    return " and ".join(work.ties[tie].id for tie in ties)


def check_bars_apart(work: Trackwork) -> Iterator[Finding]:
    """Report throw bars of two switches that would lie on each other somewhere in their travel: each pair once."""
    bars = [(switch, made.bar) for switch, made in work.works() if made.bar is not None]
    swept = [Polygon(bar.outline(bar.travel / 2)) for _, bar in bars]
    pairs = shapely.STRtree(swept).query(swept, predicate="intersects").T.tolist() if swept else []
    for i, j in sorted((i, j) for i, j in pairs if i < j and _lie_on(swept[i], swept[j])):
        (first, bar), (second, other) = bars[i], bars[j]
        along, left = bar.pose.local(other.pose.point)
        yield Finding(
            "throw-bars-meet",
            "warning",
            f"throw bars of {first.id} and {second.id}",
            _middle(swept[i], swept[j]),
            phrase("their middles are ", clearance(math.hypot(along, left)), " apart, and they lie on each other"),
            phrase(*("bars ", clearance(bar.width), " wide that move by themselves lie clear of each other")),
            "geometry of this trackwork",
            phrase(
                *("Work both by one bar where they are thrown together; else lay one at least "),
                *(at_least(_clear_shift(bar, other)), " further toward its frog, between other ties."),
            ),
        )


def _lie_on(first: Polygon, second: Polygon) -> bool:
    """Tell whether two rectangles share more than an edge; one may lie wholly within the other."""
    return bool(first.intersection(second).area > _EDGE)


def _middle(first: Polygon, second: Polygon) -> Point:
    """Return the middle of what two rectangles share."""
    place = first.intersection(second).centroid
    return place.x, place.y


def _clear_shift(bar: ThrowBar, other: ThrowBar) -> float:
    """Return how far (mm) another throw bar must lie further on along its own track to be clear of the first."""
    swept, step = Polygon(bar.outline(bar.travel / 2)), other.width / 2
    for count in range(1, _SHIFTS):
        moved = _ahead(other, count * step)
        if not moved.intersects(swept):
            return count * step
    return _SHIFTS * step


def _ahead(bar: ThrowBar, by: float) -> Polygon:
    """Return what a bar sweeps if it lies `by` mm further on."""
    ahead: Pose = bar.pose.ahead(by)
    dx, dy = ahead.x - bar.pose.x, ahead.y - bar.pose.y
    return Polygon([(x + dx, y + dy) for x, y in bar.outline(bar.travel / 2)])
