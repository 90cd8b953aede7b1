"""Tell how each frog that is set apart is fed: to which rail for which route, and what decides that."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.current.wiring_parts import Section
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork


class FrogFeed(Struct, frozen=True):
    """How the frogs of a `section` are fed: for each route over them the polarity, None where they want both at once.

    `switch` is the id of the one whose contacts decide it; None where it is the route that is set over the crossing, as
    it is where nothing is thrown.
    """

    section: str
    frogs: tuple[str, ...]
    feeders: tuple[str, ...]
    switch: str | None
    routes: tuple[tuple[str, Hand | None], ...]


def frog_feeds(work: Trackwork) -> Iterator[FrogFeed]:
    """Yield how each section of frogs is fed."""
    frogs = {frog.id: frog for frog in work.frogs}
    feeders: dict[str, list[str]] = {}
    for feeder in work.wiring.feeders:
        feeders.setdefault(feeder.section, []).append(feeder.id)
    for section in work.wiring.sections:
        if section.kind == "frog":
            yield _feed(work, section, [frogs[name] for name in section.frogs], tuple(feeders.get(section.id, ())))


def _feed(work: Trackwork, section: Section, frogs: list[Frog], feeders: tuple[str, ...]) -> FrogFeed:
    wanted: dict[str, set[Hand]] = {}
    for frog in frogs:
        for owner, station in ((frog.first, frog.s), (frog.second, frog.t)):
            hand = work.circuit.polarity_at(owner.route, owner.face.hand, station)
            wanted.setdefault(owner.route, set()).add(hand)
    thrown = {switch.id for switch in work.switches if switch.switching != "fixed"}
    switches = {frog.switch if frog.switch in thrown else None for frog in frogs}
    routes = tuple((name, next(iter(hands)) if len(hands) == 1 else None) for name, hands in wanted.items())
    return FrogFeed(section.id, section.frogs, feeders, switches.pop() if len(switches) == 1 else None, routes)
