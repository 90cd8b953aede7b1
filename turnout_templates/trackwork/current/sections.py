"""Turn pieces of rail, wings and guards into sections: what is left, what is right, what is a frog set apart.

Where left meets right the rails between two pairs of gaps are sections of their own.

What is one electrically: pieces that a joiner joins, what is one bent bar, the two halves of a V, and all that ends at
a frog that joins left and right. Gaps part. A guard belongs to the rail that it stands beside.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from shapely.geometry import Polygon

from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.current.joined import Joined
from turnout_templates.trackwork.current.wiring_parts import Section
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.polarity.feeds import frog_joins
from turnout_templates.trackwork.polarity.reversing import Reversing, reversing_sections
from turnout_templates.trackwork.rails.rail_parts import Interval, Ring, RouteFace

_AND = "+"
_TOUCHING = 0.02
"""Guides nearer to each other than this (mm) touch; others stand a head's width apart."""


def metal_joints(work: Trackwork) -> Iterator[tuple[str, str]]:
    """Yield the parts that are one metal or soldered to each other, pair by pair.

    Bent bars, the halves of a V, and a guard whose end touches a wing or guard.
    """
    for piece in work.pieces:
        yield from ((piece.id, other) for other in piece.bent_with)
    ends = _at_frogs(work)
    rings = {wing.id: wing.ring for wing in work.wings} | {guard.id: guard.ring for guard in work.guards}
    for contact in work.contacts:
        if contact.kind in ("splice", "elbow"):
            first, second = (ends.get((contact.at, bar), ()) for bar in (contact.first, contact.second))
            yield from ((one, other) for one in first for other in second)
    for guard in work.guards:
        yield from ((guard.id, other) for other, _ in guard.bent_at)
        near = (other for other in guard.shortened_by if other in rings)
        yield from ((guard.id, other) for other in near if _touch(guard.ring, rings[other]))


def _touch(one: Ring, other: Ring) -> bool:
    return float(Polygon(one).distance(Polygon(other))) < _TOUCHING


def joiner_joints(work: Trackwork) -> Iterator[tuple[str, str]]:
    """Yield the pieces that meet in a rail joiner."""
    first: dict[str, str] = {}
    for piece in work.pieces:
        for end in piece.ends:
            if end.kind == "joint" and end.at is not None:
                other = first.setdefault(end.at, piece.id)
                if other != piece.id:
                    yield other, piece.id


def _at_frogs(work: Trackwork) -> Mapping[tuple[str, str], Sequence[str]]:
    """Return the pieces of each bar that end at each frog, by the ids of frog and bar."""
    found: dict[tuple[str, str], list[str]] = {}
    for piece in work.pieces:
        for end in piece.ends:
            if end.at is not None:
                found.setdefault((end.at, piece.bar), []).append(piece.id)
    return found


def isolated_frogs(work: Trackwork) -> tuple[Frog, ...]:
    """Return the frogs that join left and right, each of which is set apart."""
    return tuple(frog for frog in work.frogs if frog_joins(work, frog) == "left and right")


def find_sections(work: Trackwork) -> tuple[tuple[Section, ...], dict[str, str]]:
    """Return all sections, and of each guard the part whose section it shares: what is beside it, or what it meets."""
    own = {frog.id for frog in isolated_frogs(work)}
    joined = _joined(work, own)
    names = [piece.id for piece in work.pieces] + [wing.id for wing in work.wings]
    kind_of = _kinds(work, joined, names, own)
    parts: dict[str, list[str]] = {"left": [], "right": []}
    for name in names:
        parts.setdefault(kind_of[joined.root(name)], []).append(name)
    bonded = _bonded(work, joined, names)
    for guard, part in bonded.items():
        parts[kind_of[joined.root(part)]].append(guard)
    return tuple(_section(name, found, own) for name, found in parts.items()), bonded


def _section(name: str, parts: Sequence[str], own: set[str]) -> Section:
    frogs = tuple(name.split(_AND))
    if own.issuperset(frogs):
        return Section(name, "frog", frogs, tuple(parts))
    return Section(name, "left" if name.split()[-1] == "left" else "right", (), tuple(parts))


def _joined(work: Trackwork, own: Collection[str]) -> Joined:
    """Return the parts that are one electrically, frogs set apart (`own`) among them by their ids."""
    joined = Joined()
    for one, other in (*metal_joints(work), *joiner_joints(work)):
        joined.join(one, other)
    for (frog, _), pieces in _at_frogs(work).items():
        if frog in own:
            joined.join(frog, *pieces)
    for wing in work.wings:
        if wing.frog in own:
            joined.join(wing.frog, wing.id)
    return joined


def _kinds(work: Trackwork, joined: Joined, names: Sequence[str], own: Collection[str]) -> dict[str, str]:
    """Return the ids of sections by what stands for their parts: that of their frogs, else their polarity."""
    set_apart = joined.groups(frog.id for frog in work.frogs if frog.id in own)
    pieces = {piece.id: piece for piece in work.pieces}
    reversing = tuple(reversing_sections(work))
    return {
        root: _AND.join(set_apart[root])
        if root in set_apart
        else _plain(work, reversing, [pieces[name] for name in members if name in pieces])
        for root, members in joined.groups(names).items()
    }


def _plain(work: Trackwork, reversing: Iterable[Reversing], pieces: Sequence[RailPiece]) -> str:
    """Return the id of the section of some pieces of plain track: their polarity, and where they are reversed."""
    hand = _polarity(work, pieces)
    return next((part.section(hand) for part in reversing if all(map(part.holds, pieces))), hand)


def _polarity(work: Trackwork, pieces: Sequence[RailPiece]) -> Hand:
    """Return the polarity of most of some pieces: gaps between left and right lie near where the two meet."""
    lengths: dict[Hand, float] = {"left": 0.0, "right": 0.0}
    for piece in pieces:
        for stretch in piece.stretches:
            owner = stretch.owner
            for low, high, hand in work.circuit.lengths(owner.route, owner.face.hand, stretch.low, stretch.high):
                lengths[hand] += high - low
    return max(lengths, key=lambda hand: lengths[hand])


def _bonded(work: Trackwork, joined: Joined, names: Iterable[str]) -> dict[str, str]:
    """Return the part that each guard is bonded to: what it meets, else the piece that it stands beside for the most.

    At a K that is the nearest piece of its rail. Guards that are bent into one are bonded as the first of them.
    """
    firsts = {root: members[0] for root, members in joined.groups(names).items()}
    lying: dict[RouteFace, list[tuple[Interval, str]]] = {}
    for piece in work.pieces:
        for stretch in piece.stretches:
            lying.setdefault(stretch.owner, []).append(((stretch.low, stretch.high), piece.id))
    bonded = {}
    for guard in work.guards:
        low, high = guard.ends
        shared = [(min(end, high) - max(begin, low), name) for (begin, end), name in lying.get(guard.beside, ())]
        if shared or joined.root(guard.id) in firsts:
            bonded[guard.id] = firsts.setdefault(joined.root(guard.id), max(shared, default=(0.0, ""))[1])
    return bonded
