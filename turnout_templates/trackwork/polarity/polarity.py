"""Turn routes, switches and frogs into the circuit they make: who is connected, where left meets right, what crosses.

An ordinary V joins left and right, and a K joins rails of one polarity. Tracks that nothing connects can be fed so that
this holds where they cross, unless two of their crossings want it differently; then the squarer one, where V and K
differ less, is the one that does not agree.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from turnout_templates.alignment.model import Layout, Way
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.polarity.circuit import Circuit, Crossing, Group, Meeting, Turn
from turnout_templates.trackwork.polarity.rings import Sides, follow_meetings

_SQUARE = math.sin(math.radians(1.0))
"""Tracks that cross within a degree of square have no V and no K to speak of: the corners are alike."""
_ONE_PLACE = 1.5
"""Frogs of two tracks are one crossing when they lie within this many sides of its rhombus along both."""
_SAME = 1e-6
"""Stations (mm) that differ by less are one."""


def tell_polarity(layout: Layout, switches: Sequence[Switch], frogs: Sequence[Frog]) -> Circuit:
    """Return the circuit that the rails of a layout make where nothing is gapped but what must be."""
    sides, rings = follow_meetings(layout)
    members = _members(layout, sides)
    group_of = {name: names[0] for names in members for name in names}
    turns = {name: _between(sides, names[0], name) for names in members for name in names}
    crossings = tuple(_crossings(layout, frogs))
    own_frogs = {frog.id: frog for frog in frogs}
    reach = {
        (ring.broken.branch, ring.broken.way): end
        for ring in rings
        if (end := _reach(layout, ring.broken, switches, crossings, own_frogs)) is not None
    }
    alone = Circuit((), rings, crossings, (), turns, reach)
    fed = Sides(names[0] for names in members)
    sharpest_first = sorted(crossings, key=lambda c: round(max(own_frogs[name].angle for name in c.frogs), 6))
    opposed = tuple(c for c in sharpest_first if not _agrees(alone, c, own_frogs[c.frogs[0]], fed, group_of))
    groups = tuple(_groups(members, fed, turns))
    together = {name: turn for group in groups for name, turn in group.turns.items()}
    far = {end: _far(layout, end, station, frogs) for end, station in reach.items()}
    return Circuit(groups, rings, crossings, opposed, together, reach, far)


def _agrees(alone: Circuit, crossing: Crossing, frog: Frog, fed: Sides, group_of: Mapping[str, str]) -> bool:
    """Tell whether a crossing's V join left and right, feeding groups to suit where they are not bound yet."""
    first = alone.polarity_at(crossing.first, "left", frog.s)
    second = alone.polarity_at(crossing.second, "left", frog.t)
    wanted: Turn = 1 if (first == second) == (crossing.turn > 0) else -1
    return not crossing.judged or fed.join(group_of[crossing.first], group_of[crossing.second], wanted)


def _members(layout: Layout, sides: Sides) -> list[list[str]]:
    """Return the names of the routes that are connected, group by group, all in the order of the file."""
    members: dict[str, list[str]] = {}
    for route in layout:
        members.setdefault(sides.root(route.name)[0], []).append(route.name)
    return list(members.values())


def _between(sides: Sides, one: str, two: str) -> Turn:
    """Return how two names of one group lie to each other."""
    return 1 if sides.root(one)[1] == sides.root(two)[1] else -1


def _groups(members: Sequence[Sequence[str]], fed: Sides, turns: Mapping[str, Turn]) -> Iterator[Group]:
    """Yield the groups, the sides of each turned as it is fed beside the first group that crossings bind it to."""
    firsts: dict[str, str] = {}
    for names in members:
        fed_with = firsts.setdefault(fed.root(names[0])[0], names[0])
        turn = _between(fed, fed_with, names[0])
        yield Group(tuple(names), fed_with, {name: 1 if turns[name] == turn else -1 for name in names})


def _crossings(layout: Layout, frogs: Sequence[Frog]) -> Iterator[Crossing]:
    """Yield the crossings of every pair of routes, those nearest an end of the first route first."""
    pairs = groupby(frogs, key=lambda frog: (frog.first.route, frog.second.route))
    for (first, _), found in pairs:
        length = layout.route(first).path.length
        places = sorted(_places(found), key=lambda place: round(min(place[0].s, length - place[-1].s), 3))
        yield from (_crossing(layout, place) for place in places)


def _places(frogs: Iterable[Frog]) -> list[list[Frog]]:
    """Return the frogs of two routes by the place where the two cross, each in order along the first."""
    places: list[list[Frog]] = []
    for frog in sorted(frogs, key=lambda frog: frog.s):
        place = next((place for place in places if any(_is_near(frog, known) for known in place)), None)
        if place is None:
            places.append([frog])
        else:
            place.append(frog)
    return places


def _is_near(frog: Frog, known: Frog) -> bool:
    """Tell whether two frogs lie near each other along both tracks, so that they belong to one crossing."""
    side = max(_side(frog), _side(known))
    return abs(frog.s - known.s) < side and abs(frog.t - known.t) < side


def _side(frog: Frog) -> float:
    """Return the farthest (mm) that the next frog of the same crossing lies along the track."""
    width = max(gauge.width for owner in (frog.first, frog.second) for gauge in owner.face.gauges)
    return _ONE_PLACE * width / math.sin(frog.angle)


def _crossing(layout: Layout, frogs: Sequence[Frog]) -> Crossing:
    first, second = layout.route(frogs[0].first.route), layout.route(frogs[0].second.route)
    along = [math.cos(second.path.heading_at(frog.t) - first.path.heading_at(frog.s)) for frog in frogs]
    judged = min(map(abs, along)) > _SQUARE and (min(along) > 0.0) == (max(along) > 0.0)
    x, y = (sum(frog.point[i] for frog in frogs) / len(frogs) for i in (0, 1))
    names = tuple(frog.id for frog in frogs)
    return Crossing(first.name, second.name, names, (x, y), 1 if sum(along) > 0.0 else -1, judged)


def _reach(
    layout: Layout,
    broken: Meeting,
    switches: Sequence[Switch],
    crossings: Sequence[Crossing],
    frogs: Mapping[str, Frog],
) -> float | None:
    """Return the station of the branch behind the frogs of the switch at a meeting; None where it has none."""
    switch = next((switch for switch in switches if _is_at(switch, broken)), None)
    if switch is None:
        return None
    length = layout.route(broken.branch).path.length
    begin = 0.0 if broken.way > 0 else length
    nearest: dict[str, list[float]] = {}
    for crossing in crossings:
        own = [frogs[name] for name in crossing.frogs if frogs[name].switch == switch.id]
        if own and broken.branch in (crossing.first, crossing.second):
            other = crossing.second if crossing.first == broken.branch else crossing.first
            places = [abs(_behind(frog, broken.branch) - begin) for frog in own]
            nearest[other] = min(nearest.get(other, places), places, key=min)
    far = max((distance for places in nearest.values() for distance in places), default=None)
    return None if far is None else begin + broken.way * far


def _far(layout: Layout, end: tuple[str, Way], reach: float, frogs: Sequence[Frog]) -> float:
    """Return the station of the next frog or tip of a route beyond `reach`, seen from that end; else its other end."""
    name, way = end
    length = layout.route(name).path.length
    places = [0.0, length]
    for frog in frogs:
        places += [at for owner, at in ((frog.first, frog.s), (frog.second, frog.t)) if owner.route == name]
    for route in layout:
        places += [tip.station for _, tip in route.departures if tip.parent == name]
    beyond = [place for place in places if (place - reach) * way > _SAME]
    return min(beyond, key=lambda place: abs(place - reach), default=reach)


def _is_at(switch: Switch, meeting: Meeting) -> bool:
    tip = meeting.departure
    at_tip = (switch.parent, switch.way) == (tip.parent, tip.way) and abs(switch.station - tip.station) < _SAME
    return at_tip and meeting.branch in switch.onward


def _behind(frog: Frog, route: str) -> float:
    """Return the station of a route at which a frog's own rail begins: the practical point, or the crossing."""
    which = 0 if frog.first.route == route else 1
    return frog.practical_stations[which] if frog.practical_stations else (frog.s, frog.t)[which]
