"""Turn the meetings of routes into groups that hang together, and find the rings in which left comes to meet right.

A route has two rails from end to end. At a meeting the branch's left rail goes over into the parent's left one where
both run the same way from the tip, else into its right one. Followed from meeting to meeting this gives every route its
side; a meeting that contradicts what is known closes a ring that exchanges the two.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence

from turnout_templates.alignment.model import Layout
from turnout_templates.trackwork.polarity.circuit import Meeting, Ring, Turn


class Sides:
    """Names in groups, each with the side that it has in its group: joined pair by pair, a contradiction refused."""

    def __init__(self, names: Iterable[str]) -> None:
        self.parent = {name: name for name in names}
        self.turn: dict[str, Turn] = dict.fromkeys(self.parent, 1)

    def root(self, name: str) -> tuple[str, Turn]:
        """Return (the name that stands for the group, the turn from `name` to it)."""
        chain = []
        while self.parent[name] != name:
            chain.append(name)
            name = self.parent[name]
        turn: Turn = 1
        for link in reversed(chain):
            turn = _times(turn, self.turn[link])
            self.parent[link], self.turn[link] = name, turn
        return name, turn

    def join(self, first: str, second: str, turn: Turn) -> bool:
        """Let `second` lie at `turn` to `first`; return False where it is known to lie the other way."""
        (one, to_one), (two, to_two) = self.root(first), self.root(second)
        between = _times(_times(to_one, turn), to_two)
        if one == two:
            return between > 0
        self.parent[two], self.turn[two] = one, between
        return True


def _times(a: Turn, b: Turn) -> Turn:
    return 1 if a == b else -1


def meetings_of(layout: Layout) -> tuple[Meeting, ...]:
    """Return all meetings in an order that does not depend on which way routes are written.

    By branch in the order of the file; the two ends of one by parent, then by distance from the parent's nearer end.
    """
    order = {route.name: i for i, route in enumerate(layout)}

    def key(meeting: Meeting) -> tuple[int, int, float]:
        length, station = layout.route(meeting.parent).path.length, meeting.departure.station
        return order[meeting.branch], order[meeting.parent], round(min(station, length - station), 3)

    found = (Meeting(route.name, way, departure) for route in layout for way, departure in route.departures)
    return tuple(sorted(found, key=key))


def follow_meetings(layout: Layout) -> tuple[Sides, tuple[Ring, ...]]:
    """Return the side that each route has in its group, and the rings that contradict it."""
    sides = Sides(route.name for route in layout)
    sound: dict[str, list[Meeting]] = {route.name: [] for route in layout}
    broken = []
    for meeting in meetings_of(layout):
        if sides.join(meeting.parent, meeting.branch, meeting.turn):
            for name in {meeting.parent, meeting.branch}:
                sound[name].append(meeting)
        else:
            broken.append(meeting)
    return sides, tuple(_ring(layout, sound, meeting) for meeting in broken)


def _ring(layout: Layout, sound: Mapping[str, Sequence[Meeting]], broken: Meeting) -> Ring:
    """Return the ring with the fewest routes that the meeting `broken` closes."""
    way_round = _shortest(sound, broken.branch, broken.parent)
    names = [broken.branch]
    for meeting in way_round:
        names.append(meeting.beyond(names[-1]))
    stretches = [
        (_stretch(layout, name, broken, next_to), name)
        for name, next_to in (
            (broken.branch, way_round[0] if way_round else broken),
            (broken.parent, way_round[-1] if way_round else broken),
        )
    ]
    length, section = max(stretches, key=lambda stretch: round(stretch[0], 3))
    routes, meetings = _from_first(layout, names, [*way_round, broken])
    return Ring(routes, meetings, broken, section, length)


def _shortest(sound: Mapping[str, Sequence[Meeting]], start: str, goal: str) -> list[Meeting]:
    """Return the meetings that lead from one route to another by the fewest, all sound."""
    came: dict[str, Meeting | None] = {start: None}
    waiting = deque([start])
    while goal not in came:
        name = waiting.popleft()
        for meeting in sound[name]:
            beyond = meeting.beyond(name)
            if beyond not in came:
                came[beyond] = meeting
                waiting.append(beyond)
    back: list[Meeting] = []
    name = goal
    while (step := came[name]) is not None:
        back.append(step)
        name = step.beyond(name)
    return back[::-1]


def _stretch(layout: Layout, name: str, one: Meeting, two: Meeting) -> float:
    """Return how much of a route lies between two meetings on it (mm); of one with itself, from its end to there."""
    first = _station(layout, name, one)
    second = two.departure.station if one is two else _station(layout, name, two)
    return abs(first - second)


def _station(layout: Layout, name: str, meeting: Meeting) -> float:
    if name == meeting.branch:
        return 0.0 if meeting.way > 0 else layout.route(name).path.length
    return meeting.departure.station


def _from_first(
    layout: Layout, names: list[str], meetings: list[Meeting]
) -> tuple[tuple[str, ...], tuple[Meeting, ...]]:
    """Return a ring begun at its first route in the file and taken round toward the earlier of its neighbours."""
    order = {route.name: i for i, route in enumerate(layout)}
    if len(names) == 1:
        return tuple(names), tuple(meetings)
    i = names.index(min(names, key=order.__getitem__))
    names, meetings = names[i:] + names[:i], meetings[i:] + meetings[:i]
    if order[names[-1]] < order[names[1]]:
        names, meetings = [names[0], *reversed(names[1:])], meetings[::-1]
    return tuple(names), tuple(meetings)
