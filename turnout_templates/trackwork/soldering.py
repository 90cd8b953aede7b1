"""Turn what ties hold into what they are made of, and tell which rails move on them and must not be soldered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import shapely

from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.spec.model import Copper, TieRules
from turnout_templates.trackwork.holding import Held, Parts, fix_of
from turnout_templates.trackwork.rail_parts import Bar, Interval, PointRail, RouteFace
from turnout_templates.trackwork.regions import SLIVER
from turnout_templates.trackwork.tie_parts import Tie

_EVERY: dict[Copper, int] = {"all": 1, "every second": 2, "every third": 3, "every fourth": 4}
"""How many ties on from a copper-clad one the next is, where none is needed before: common practice, no source."""
_SAGITTA = 0.02
"""How far chords may stray from a rail (mm) to tell which ties it lies on."""


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


def loose_rails(parts: Parts, bars: Sequence[Bar], ties: Sequence[Tie], width: float) -> dict[Tie, tuple[str, ...]]:
    """Return the ids of the bars that move on each tie: the points, from the tip to the fix.

    `width` is the widest tie's, in mm: one whose middle lies behind the fix is the first that the point is soldered to.
    """
    tree = shapely.STRtree([shapely.Polygon(tie.corners()) for tie in ties])
    lying: dict[RouteFace, list[tuple[Interval, str]]] = {}
    for bar in bars:
        for stretch in bar.stretches:
            lying.setdefault(stretch.owner, []).append(((stretch.low, stretch.high), bar.id))
    loose: dict[Tie, tuple[str, ...]] = {}
    for point in (point for switch in parts.switches for point in switch.moving_points):
        for tie, name in _moving_on(parts, point, lying.get(point.owner, []), ties, tree, width):
            loose[tie] = tuple(dict.fromkeys((*loose.get(tie, ()), name)))
    return loose


def _moving_on(
    parts: Parts,
    point: PointRail,
    lying: Sequence[tuple[Interval, str]],
    ties: Sequence[Tie],
    tree: shapely.STRtree,
    width: float,
) -> Iterator[tuple[Tie, str]]:
    """Yield the ties on which a point moves, each with the bar: those whose middle lies before its fix."""
    fix = fix_of(parts, point)
    low, high = min(point.tip, fix), max(point.tip, fix)
    behind = _line(parts, point.owner, *sorted((fix, fix + point.way * width)))
    for (begin, end), bar in lying:
        line = _line(parts, point.owner, max(low, begin), min(high, end))
        for i in () if line is None else tree.query(line, predicate="intersects").tolist():
            if behind is None or not behind.intersects(_axis(ties[i])):
                yield ties[i], bar


def _line(parts: Parts, owner: RouteFace, low: float, high: float) -> shapely.LineString | None:
    """Return a stretch of a gauge face as chords, None where nothing is left of it on its route."""
    path = parts.layout.route(owner.route).path
    low, high = max(low, 0.0), min(high, path.length)
    if high - low < SLIVER:
        return None
    return shapely.LineString(flatten(Parallel(path, owner.face.offset, low, high), sagitta=_SAGITTA))


def _axis(tie: Tie) -> shapely.LineString:
    a, b, c, d = tie.corners()
    return shapely.LineString([((a[0] + d[0]) / 2, (a[1] + d[1]) / 2), ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2)])
