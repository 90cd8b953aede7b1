"""Tell in tables how points are filed and held, how they stand open, and what throws them."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.switch_parts import PointWork, ThrowBar
from turnout_templates.units import format_clearance, format_degrees


def points_block(work: Trackwork) -> Block:
    """Return the table of moving points; lengths in it are from the filed tip of each."""
    head: Row = ("point", "file off", "at (tip, full head)", "heel", "held", "solder from tie")
    rows = [
        (
            f"{switch.id} {made.point.owner.label}",
            f"{made.side} side, {length_of(work, made.planed)} long",
            _angles(made),
            length_of(work, made.heel),
            f"{'hinged' if made.point.rigid else 'bent'} at {length_of(work, made.fix)}",
            made.first_tie or "-",
        )
        for switch, works in work.works()
        for made in works.points
    ]
    return Block("Points, from their filed tips", (head, *rows) if rows else (), has_head=True)


def _angles(made: PointWork) -> str:
    """Return the angle to file at, or from which to which where the point or its stock rail is curved."""
    tip, full = (format_degrees(angle) for angle in (made.angle_at_tip, made.angle_at_full_head))
    return tip if tip == full else f"{tip}, {full}"


def openings_block(work: Trackwork) -> Block:
    """Return the table of how the outer point of each switch stands open, as drawn and held otherwise."""
    head: Row = ("open point", "held", "least opening", "at", "throw that would hold", "place that would hold")
    rows: list[Row] = []
    for switch in work.switches:
        for opening in switch.openings:
            rows.append(
                (
                    f"{switch.id}{', as drawn' if opening is switch.openings[0] else ''}",
                    f"{opening.model} at {length_of(work, opening.fix)}",
                    _fine(work, opening.least),
                    length_of(work, opening.at),
                    "none" if opening.throw_to_hold is None else _fine(work, opening.throw_to_hold),
                    "none" if opening.fix_to_hold is None else length_of(work, opening.fix_to_hold),
                )
            )
    return Block("Open points, from the filed tip of the outer one", (head, *rows) if rows else (), has_head=True)


def throw_bars_block(work: Trackwork) -> Block:
    """Return what each throw bar is, what is soldered to it, and what is notched and cut for it."""
    rows = tuple(
        f"{switch.id}: {'; '.join(_bar(work, made.bar))}." for switch, made in work.works() if made.bar is not None
    )
    return Block("Throw bars, from the end away from the throw", rows)


def _bar(work: Trackwork, bar: ThrowBar) -> Iterator[str]:
    """Yield what there is to say of one throw bar."""
    yield (
        f"{length_of(work, bar.length)} long, {_fine(work, bar.width)} wide, at {length_of(work, bar.station)}, "
        f"travel {_fine(work, bar.travel)}"
    )
    spots = (f"{spot.owner.label} at {length_of(work, spot.along)} ({spot.side} side)" for spot in bar.spots)
    yield f"solder {', '.join(spots)}"
    if bar.gaps:
        yield f"cut its copper at {', '.join(length_of(work, gap) for gap in bar.gaps)}"
    yield (
        f"drill for a {_fine(work, bar.slot.wire)} wire at {length_of(work, bar.slot.along)}, over a slot "
        f"{_fine(work, bar.slot.length)} by {_fine(work, bar.slot.width)} across the track"
    )
    if bar.notches:
        low, high = bar.notches[0].from_tip
        rails = ", ".join(dict.fromkeys(notch.rail for notch in bar.notches))
        yield f"notch the base of {rails} from {_fine(work, low)} to {_fine(work, high)} beyond the filed tip"


def _fine(work: Trackwork, mm: float) -> str:
    return format_clearance(mm, work.spec.units)
