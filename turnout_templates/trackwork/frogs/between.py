"""Tell of bars between two frogs what their filings leave whole, and how long the piece is that each is part of.

A bar goes on round an elbow into the other whole half of a K, and round a knuckle into its wing rail: one bent piece.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.trackwork.frogs.metal import metal_of_bars
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.feeds import frogs_at_ends
from turnout_templates.trackwork.rails.rail_parts import Bar, Stretch


class Between(Struct, frozen=True):
    """A bar with a frog at each end: the `frogs`, its `length`, how much in one run its filings leave `whole`, all mm.

    `piece` is the length of the bent piece of rail that it is part of, flares of wings included.
    """

    id: str
    bar: Bar
    frogs: tuple[str, str]
    length: float
    whole: float
    piece: float


def bars_between_frogs(work: Trackwork) -> Iterator[Between]:
    """Yield the bars that have a frog at each end, in order."""
    metal = metal_of_bars(work.heads, work.bars)
    lengths = {bar.id: sum(_length(work, stretch) for stretch in bar.stretches) for bar in work.bars}
    pieces, bars = _pieces(work, lengths), {bar.id: bar for bar in work.bars}
    for name, frogs in frogs_at_ends(work).items():
        if frogs[0] is not None and frogs[1] is not None:
            bar = bars[name]
            whole = max((_length(work, stretch) for stretch in metal[name].whole), default=0.0)
            yield Between(name, bar, (frogs[0], frogs[1]), lengths[name], whole, pieces[name])


def _length(work: Trackwork, stretch: Stretch) -> float:
    """Return the length of gauge face along a stretch; there is no widened gauge at frogs."""
    face = work.layout.route(stretch.owner.route).parallel(stretch.owner.face)
    return face.length_between(stretch.low, stretch.high)


def _pieces(work: Trackwork, lengths: dict[str, float]) -> dict[str, float]:
    """Return by bar the length of the bent piece that it is part of."""
    bent = {(fit.frog, fit.bar) for fit in work.fits if fit.what == "elbow"}
    wings = {wing.id: abs(wing.end - wing.straight[0 if wing.end > wing.straight[0] else 1]) for wing in work.wings}
    onward: dict[str, list[str]] = {}
    whole = dict(lengths)
    for contact in work.contacts:
        if contact.kind == "wing at knuckle":
            whole[contact.first] += wings[contact.second]
        elif contact.kind == "elbow" and (contact.at, contact.first) in bent:
            onward.setdefault(contact.first, []).append(contact.second)
            onward.setdefault(contact.second, []).append(contact.first)
    return {name: sum(whole[part] for part in _joined(name, onward)) for name in lengths}


def _joined(name: str, onward: dict[str, list[str]]) -> set[str]:
    """Return a bar and all that it goes on into."""
    found, pending = {name}, [name]
    while pending:
        for other in onward.get(pending.pop(), []):
            if other not in found:
                found.add(other)
                pending.append(other)
    return found
