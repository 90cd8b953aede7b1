"""Tell in tables how points are filed and held, how each stands open, and what throws them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.drafting.switches import outer_name
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Opening, Switch
from turnout_templates.trackwork.points.switch_parts import PointWork, SwitchWork, ThrowBar
from turnout_templates.units import format_clearance, format_degrees

_HEAD: Row = (
    "point", "file off", "at (tip, full head)", "heel", "held", "solder from tie", "least opening", "wanted",
)  # fmt: skip
_OPEN_HEAD: Row = ("open point", "held", "least opening", "at", "throw that is enough", "or held at, throw as drawn")
_OTHERWISE = (
    "Least opening: between the open point and the rail that it lies against when closed. Rows with “or” tell how the "
    "outer point would stand open if it were held otherwise."
)


def points_block(work: Trackwork) -> Block:
    """Return the table of moving points; lengths in it are from the filed tip of each."""
    bars, behind = BarsByFace(work), _behind(work)
    rows = [
        (
            _name(switch, bars, made),
            f"outer side{_against(behind, switch, bars.begun(made.point))}, {_fine(work, made.planed)} long",
            _angles(made),
            length_of(work, made.heel),
            f"{'turns at' if made.point.rigid else 'springs from'} {length_of(work, made.fix)}",
            made.first_tie or "-",
            _least(work, works, made),
            _fine(work, made.wanted),
        )
        for switch, works in work.works()
        for made in works.points
    ]
    return Block("Points, from their filed tips", (_HEAD, *rows) if rows else (), has_head=True)


def _name(switch: Switch, bars: BarsByFace, made: PointWork) -> str:
    """Return what a point is called: its switch, its bar, and its rail in words."""
    return " ".join(filter(None, (switch.id, bars.begun(made.point), made.point.owner.label)))


def _behind(work: Trackwork) -> Mapping[tuple[str, str], list[str]]:
    """Return by switch and bar of a point the rails that it lies behind."""
    found: dict[tuple[str, str], list[str]] = {}
    for contact in work.contacts:
        if contact.kind == "point behind stock rail":
            found.setdefault((contact.at, contact.first), []).append(contact.second)
    return found


def _against(behind: Mapping[tuple[str, str], list[str]], switch: Switch, bar: str) -> str:
    """Return what a point is filed to lie against, in brackets; nothing where it touches none."""
    names = dict.fromkeys(behind.get((switch.id, bar), ()))
    return f" (against {' and '.join(names)})" if names else ""


def _least(work: Trackwork, works: SwitchWork, made: PointWork) -> str:
    """Return the least opening beside a point; of several points the one that falls shortest is marked so."""
    worst = len(works.points) > 1 and made is works.worst
    return _fine(work, made.opening.least) + (" (worst)" if worst else "")


def _angles(made: PointWork) -> str:
    """Return the angle to file at, or from which to which where the point or its stock rail is curved."""
    tip, full = (format_degrees(angle) for angle in (made.angle_at_tip, made.angle_at_full_head))
    return tip if tip == full else f"{tip}, {full}"


def openings_block(work: Trackwork) -> Block:
    """Return the table of how each point stands open as drawn, and the outer one of a switch if held otherwise."""
    bars, rows = BarsByFace(work), list[Row]()
    for switch, works in work.works():
        for made in works.points:
            name = " ".join(filter(None, (switch.id, bars.begun(made.point))))
            rows.append(_opening(work, f"{name}, as drawn", made.opening))
            if made.point == switch.outer:
                rows += [_opening(work, f"{name}, or", opening) for opening in _possible(switch)]
    title = "Open points: what would keep wheel backs clear, from the filed tip of each"
    return Block(title, (_OPEN_HEAD, *rows, _OTHERWISE) if rows else (), has_head=True)


def _possible(switch: Switch) -> Iterator[Opening]:
    """Yield how the outer point of a switch might be held instead, but for what leaves no room for a gap."""
    last = switch.fast_of(switch.outer)
    yield from (opening for opening in switch.openings[1:] if last is None or opening.fix <= last)


def _opening(work: Trackwork, name: str, opening: Opening) -> Row:
    """Return the row of one way in which a point is held."""
    return (
        name,
        f"{'turns at' if opening.model == 'hinged' else 'springs from'} {length_of(work, opening.fix)}",
        _fine(work, opening.least),
        length_of(work, opening.at),
        "none" if opening.throw_to_hold is None else _fine(work, opening.throw_to_hold),
        "none" if opening.fix_to_hold is None else length_of(work, opening.fix_to_hold),
    )


def throw_bars_block(work: Trackwork) -> Block:
    """Return what each throw bar is, what is soldered to it, and what is notched and cut for it."""
    bars = BarsByFace(work)
    rows = tuple(
        f"{switch.id}: {'; '.join(_bar(work, bars, switch, made.bar))}."
        for switch, made in work.works()
        if made.bar is not None
    )
    return Block("Throw bars, measured from the end away from the machine", rows)


def _bar(work: Trackwork, bars: BarsByFace, switch: Switch, bar: ThrowBar) -> Iterator[str]:
    """Yield what there is to say of one throw bar."""
    yield (
        f"{length_of(work, bar.length)} long, {_fine(work, bar.width)} wide, at {length_of(work, bar.station)}, "
        f"travel {_fine(work, bar.travel)}"
    )
    if bar.stops_between:
        yield f"it stops in {len(bar.positions)} positions: {', '.join(bar_positions(work, bar))}"
    begun = {point.owner: bars.begun(point) for point in switch.moving_points}
    spots = (
        f"{begun.get(spot.owner, '')} {spot.owner.label}".strip()
        + f" at {length_of(work, spot.along)} ({spot.side} side)"
        for spot in bar.spots
    )
    yield f"solder {', '.join(spots)}"
    if bar.gaps:
        yield f"cut its copper at {', '.join(length_of(work, gap) for gap in bar.gaps)}"
    yield (
        f"drill for a {_fine(work, bar.slot.wire)} wire at {length_of(work, bar.slot.along)}, over a slot "
        f"{_fine(work, bar.slot.length)} by {_fine(work, bar.slot.width)} across the track"
    )
    notched: dict[str, list[str]] = {}
    for notch in bar.notches:
        low, high = (_fine(work, mm) for mm in notch.from_tip)
        notched.setdefault(f"from {low} to {high}", []).append(notch.rail)
    if notched:
        parts = (f"{', '.join(dict.fromkeys(rails))} {place}" for place, rails in notched.items())
        yield f"notch through the base, beyond the {outer_name(switch)}: {'; '.join(parts)}"


def bar_positions(work: Trackwork, bar: ThrowBar) -> Iterator[str]:
    """Yield where a bar stands for each of its routes, from the end of its travel away from the machine."""
    for position in bar.positions:
        yield f"{position.route} at {_fine(work, bar.from_far_stop(position))}"


def _fine(work: Trackwork, mm: float) -> str:
    return format_clearance(mm, work.spec.units)
