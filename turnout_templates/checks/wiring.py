"""Checks of wiring: that nothing joins two sections, that gaps lie clear of rails, and that every piece is fed."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Phrase, clearance, phrase
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.current.conducting import all_joins, sections_of
from turnout_templates.trackwork.current.copper import CLEAR, LEAST_GAP
from turnout_templates.trackwork.current.feeders import soldered_groups
from turnout_templates.trackwork.current.joined import Joined
from turnout_templates.trackwork.current.wiring_parts import CopperTie, Crowded
from turnout_templates.trackwork.model import Trackwork

_SOURCE = "the plain rule of this program (common practice, no source)"
_CIRCUIT = "geometry of this trackwork"
_ROUNDING = 1e-6


def check_sections_apart(work: Trackwork) -> Iterator[Finding]:
    """Report whatever joins parts of two sections: metal, a joiner, copper without a gap."""
    section_of = sections_of(work)
    joined = Joined()
    held: dict[str, str] = {}
    told: set[frozenset[str]] = set()
    for join in all_joins(work):
        one, two = joined.root(join.first), joined.root(join.second)
        first, second = (held.get(root, section_of.get(root)) for root in (one, two))
        if None not in (first, second) and first != second:
            if (pair := frozenset((join.first, join.second))) in told:
                continue
            told.add(pair)
            yield Finding(
                "sections-joined",
                "error",
                f"{join.first} and {join.second}",
                _place(work, join.first),
                phrase(f"{join.by} joins {join.first} ({_said(first)}) and {join.second} ({_said(second)})"),
                phrase("rails that touch must be of one section"),
                _CIRCUIT,
                phrase("It is a short circuit for some route: cut a gap between them, or space ties or frogs apart."),
            )
            continue
        joined.join(join.first, join.second)
        section = first or second
        if section is not None:
            held[joined.root(join.first)] = section


def _said(section: str | None) -> str:
    return f"section {section}"


def check_copper_gaps(work: Trackwork) -> Iterator[Finding]:
    """Report where no gap finds room on copper, and gaps that lie under a rail or too near to one.

    What is to be done alike for the same two parts on several ties is told once.
    """
    alike: dict[tuple[tuple[str, str], str | None, bool], list[tuple[CopperTie, Crowded]]] = {}
    for tie in work.wiring.copper:
        yield from _too_near(tie)
        for pair in tie.crowded:
            alike.setdefault((pair.parts, pair.bared, pair.cut), []).append((tie, pair))
    for found in alike.values():
        tie, worst = min(found, key=lambda place: place[1].room)
        slides = any(part.part == worst.bared and part.slides for part in tie.on)
        yield _crowded([place.tie for place, _ in found], worst, slides=slides)


def _is_parted(pair: Crowded) -> bool:
    return pair.cut or pair.bared is not None


def _crowded(ties: list[str], pair: Crowded, *, slides: bool) -> Finding:
    one, other = pair.parts
    tie = f"{'ties' if len(ties) > 1 else 'tie'} {', '.join(ties)}"
    if pair.cut:
        remedy = phrase(
            "Cut it there all the same, no wider than ",
            clearance(LEAST_GAP),
            " and midway, or file their bases first on the sides that face each other; let no solder run into it and "
            "prove it with a meter.",
        )
    elif pair.bared is None:
        remedy = phrase("Lay a wooden tie here, or space ties or frogs further apart.")
    else:
        touching = not slides and pair.room < _TOUCHING
        more = f" File {one} or {other} back until they do not touch." if touching else ""
        remedy = phrase(f"Do not solder {pair.bared} to {tie}: take the copper off under it, as drawn.{more}")
    return Finding(
        "copper-gap",
        "warning" if _is_parted(pair) else "error",
        tie,
        pair.at,
        _left_between(pair),
        phrase("a gap in the copper between them takes ", clearance(pair.need)),
        _SOURCE,
        remedy,
    )


def _left_between(pair: Crowded) -> Phrase:
    """Return what two bases leave, or where that is enough, that they lie too far askew for a cut across the tie."""
    bases = f"the bases of {pair.parts[0]} and {pair.parts[1]}, which are of two sections, "
    if pair.room < pair.need:
        return phrase(bases, "leave ", clearance(max(pair.room, 0.0)))
    return phrase(bases, "lie so askew that no straight cut across the tie keeps clear of both")


_TOUCHING = 0.02
"""Parts nearer to each other than this (mm) touch."""


def _too_near(tie: CopperTie) -> Iterator[Finding]:
    for gap in tie.gaps:
        for part in tie.on if not (gap.leans or gap.tight) else ():
            clear = max(part.low - gap.along, gap.along - part.high) - gap.width / 2
            if part.bared is None and clear < CLEAR - _ROUNDING:
                yield Finding(
                    "gap-at-base",
                    "error",
                    f"tie {tie.tie}",
                    gap.at,
                    phrase("a gap in its copper lies ", clearance(max(clear, 0.0)), f" from the base of {part.part}"),
                    phrase("solder bridges what is nearer than ", clearance(CLEAR)),
                    _SOURCE,
                    phrase("Cut the gap in the middle of the room between the rails."),
                )


def check_fed(work: Trackwork) -> Iterator[Finding]:
    """Report pieces of rail that are soldered to no feeder of their section, nor to anything that is."""
    joined = soldered_groups(work, work.wiring.copper)
    section_of = sections_of(work)
    fed = {(joined.root(feeder.piece), feeder.section) for feeder in work.wiring.feeders}
    for names in joined.groups(piece.id for piece in work.pieces).values():
        dead = [name for name in names if (joined.root(name), section_of.get(name)) not in fed]
        if dead:
            yield Finding(
                "piece-unfed",
                "error",
                ", ".join(dead),
                _place(work, dead[0]),
                phrase("no feeder is soldered to it or to anything that is soldered to it"),
                phrase("every piece of rail is fed by solder; a rail joiner works loose in time"),
                _SOURCE,
                phrase("Solder a wire to it wherever there is room, and lead it where its section is fed."),
            )


def _place(work: Trackwork, name: str) -> Point:
    """Return a place on a piece, wing or guard."""
    for piece in work.pieces:
        if piece.id == name:
            stretch = piece.stretches[0]
            path = work.layout.route(stretch.owner.route).path
            return path.point_at((stretch.low + stretch.high) / 2, stretch.owner.face.offset)
    rings = {wing.id: wing.ring for wing in work.wings} | {guard.id: guard.ring for guard in work.guards}
    return rings[name][0]
