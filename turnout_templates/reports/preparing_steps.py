"""Tell the steps before any rail is laid: sheets, holes, ties, copper, and the rails at the vice."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.drafting.no_framing import machines_sharing
from turnout_templates.reports.build_steps import OPEN, Step
from turnout_templates.reports.cautions import CUTTING, GLASS_DUST
from turnout_templates.reports.dimensions import assembly_dimensions
from turnout_templates.reports.id_lists import names
from turnout_templates.reports.id_ranges import ranges_of
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.bench.laid_units import Unit, laid_units
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.piece_marks import What, marks_of_pieces
from turnout_templates.trackwork.pieces.pieces import EndKind

_DIMENSIONS = 3
"""So many assembly dimensions are told here, or one more where that is all; all are on the map."""


def preparing_steps(work: Trackwork, *, is_joined: bool) -> Iterator[Step]:
    """Yield the steps; `is_joined` tells that there are several sheets to be joined."""
    yield _sheets(work, is_joined=is_joined)
    yield from _holes(work)
    yield _ties(work)
    yield from _copper(work)
    yield _pieces(work)
    yield from _filing(work)


def _sheets(work: Trackwork, *, is_joined: bool) -> Step:
    every = assembly_dimensions(work)
    few = every if len(every) <= _DIMENSIONS + 1 else every[:_DIMENSIONS]
    told = [f"{one.start} to {one.end} {fine_of(work, one.length)}" for one in few]
    told += [f"and {len(every) - len(few)} more"] if len(few) < len(every) else []
    lengths = "; ".join(told)
    if not is_joined:
        check = f"Its bars; then, with a steel rule, each length to measure that the map tells: {lengths}."
        return Step("Fix the sheet", ("Fix it flat to a board that will not warp.",), (check,))
    return Step(
        "Join the sheets",
        ("Cut and join the sheets as their edges say, and fix them flat to a board that will not warp.",),
        (f"Bars of every sheet; then, with a steel rule, each length to measure that the map tells: {lengths}.",),
    )


def _holes(work: Trackwork) -> Iterator[Step]:
    """Yield the step of drilling, while nothing lies over the holes yet."""
    slots = [
        f"the slot of {switch.id}, {fine_of(work, made.bar.slot.length)} by {fine_of(work, made.bar.slot.width)}"
        for switch, made in work.works()
        if made.bar is not None
    ]
    feeders = [feeder.id for feeder in work.wiring.feeders]
    holes = [*slots, *([f"the holes of feeders {names(feeders)}"] if feeders else [])]
    check = ["Each hole against its mark; below, that framing is clear."]
    sharing = list(machines_sharing(work))
    if sharing:
        check.append(
            f"That your machines fit beside each other under the board, before the slots are cut: {names(sharing)}."
        )
    if holes:
        yield Step(
            "Drill",
            (f"Prick their marks through the paper, then cut and drill {names(holes)}, before ties cover them.",),
            tuple(check),
            (CUTTING,),
        )


def _ties(work: Trackwork) -> Step:
    copper = [tie.id for tie in work.ties if tie.material == "copper-clad"]
    wood = [tie.id for tie in work.ties if tie.material == "wood"]
    heads = [tie.id for tie in work.ties if tie.role == "headblock"]
    notched = [tie.id for tie in work.ties if tie.notches]
    do = ["Cut each tie to the length at its end, and glue it down within its outline."]
    do += [f"Copper-clad: {ranges_of(copper)}."] if copper else []
    do += [f"Wood: {ranges_of(wood)}."] if wood else []
    do += [f"Headblocks, longer on the side of the machine: {ranges_of(heads)}."] if heads else []
    do += [f"Notch for joiners, as drawn, before they are glued: {ranges_of(notched)}."] if notched else []
    both = ", copper-clad ones with wood ones" if copper and wood else ""
    check = f"Straight-edge along the tops: all at one height{both}."
    return Step("Cut and glue ties", tuple(do), (check,), (GLASS_DUST,) if copper else ())


def _copper(work: Trackwork) -> Iterator[Step]:
    """Yield the step of cutting the copper of ties and throw bars, which can't be reached under rails."""
    own = {tie.id for tie in work.ties}
    on_ties = [copper for copper in work.wiring.copper if copper.tie in own]
    cut = [copper.tie for copper in on_ties if copper.gaps]
    bared = [copper.tie for copper in on_ties if any(part.bared is not None for part in copper.on)]
    bars = [switch.id for switch, made in work.works() if made.bar is not None and made.bar.gaps]
    if cut or bars:
        ties = ["of ties at the places of the table of gaps in copper"] if cut else []
        bar = [f"of the throw bar{'s' if len(bars) > 1 else ''} of {names(bars)}"] if bars else []
        yield Step(
            "Cut the copper",
            (
                f"File or saw through the copper {names([*ties, *bar])}, while no rail lies over it.",
                *([_bare(bared)] if bared else []),
            ),
            (f"{OPEN} across every gap. Again when rails are soldered.",),
            (GLASS_DUST,),
        )


def _bare(ties: list[str]) -> str:
    """Return on which ties copper is taken off: the paper's white boxes lie below those now."""
    return (
        f"Take the copper off where the sheet shows a white box, from and to where the same table says: "
        f"tie{'s' if len(ties) > 1 else ''} {ranges_of(ties)}."
    )


def _pieces(work: Trackwork) -> Step:
    bent = [unit for unit in laid_units(work) if len(unit.parts) > 1]
    do = [
        "Cut each piece of rail to the lengths of the cut list, and bend it by the table of what is done to each "
        "piece, before it is laid."
    ]
    if any(end.kind == "gap" for piece in work.pieces for end in piece.ends):
        do.append("Pieces that meet at a gap are laid later with a slip as wide as the gap between them.")
    do += [f"Bend from one bar each: {'; '.join(_with(unit) for unit in bent)}."] if bent else []
    return Step(
        "Cut and bend rail",
        tuple(do),
        ("Each piece lies on its line by itself, without being held.",),
        (CUTTING,),
    )


def _with(unit: Unit) -> str:
    return " with ".join(unit.parts)


def _filing(work: Trackwork) -> Iterator[Step]:
    """Yield the step of filing points, frogs and bases; none where all rails are plain."""
    marks = marks_of_pieces(work)

    def marked(*kinds: What) -> list[str]:
        return [name for name, own in marks.items() if any(mark.what in kinds for mark in own)]

    based = {cut.part for cut in work.base_cuts}
    guides = [name for name in (*(w.id for w in work.wings), *(g.id for g in work.guards)) if name in based]
    do = [
        f"{what}: {names(dict.fromkeys(parts))}."
        for what, parts in (
            ("Plane the points, outer side", _ending(work, "point of switch")),
            ("File for the V of frogs", _ending(work, "point", "spliced")),
            ("File noses and ends at grooves", _ending(work, "nose", "mitre", "groove", "cut off")),
            ("Cut heads for flangeways", marked("head cut")),
            ("Cut sides that guide", marked("guiding side")),
            ("Relieve the base for points", marked("base relief")),
            ("Notch the base over throw bars", marked("base notch")),
            ("File off bases elsewhere", [*marked("base filed off"), *guides]),
        )
        if parts
    ]
    if do:
        check = (
            "Lengths and angles: tables of what is done to each piece, of points, frogs and bases, and the enlarged "
            "details. Try each on the paper."
        )
        yield Step("File", tuple(do), (check,))


def _ending(work: Trackwork, *kinds: EndKind) -> list[str]:
    """Return the pieces that end in some way, with the frog or switch."""
    return [f"{p.id} ({end.at})" for p in work.pieces for end in p.ends if end.kind in kinds]
