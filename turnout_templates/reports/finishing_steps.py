"""Tell the steps after all rails are laid: gaps, wires, cleaning, and the proof by meter, gauge and wheels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from turnout_templates.alignment.model import LaidRoute
from turnout_templates.reports.build_steps import OPEN, Step
from turnout_templates.reports.cautions import CUTTING, POWER, PROVING
from turnout_templates.reports.id_lists import names
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.current.feeding import frog_feeds
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.polarity.reversing import reversing_sections


def finishing_steps(work: Trackwork) -> Iterator[Step]:
    """Yield the steps."""
    yield from _gaps(work)
    yield from _feeders(work)
    yield Step(
        "Clean",
        (
            "Wash off flux and filings, brush out every flangeway, and dress solder that stands above a rail or in a "
            "groove.",
        ),
        ("A fingertip along each gauge face finds no step.",),
    )
    yield from _meter(work)
    yield from _wires(work)
    check = "Every reading is between its least and its greatest, or as drawn where that is outside."
    yield Step("Gauge it", ("Fill in the gauging record.",), (check,), (PROVING,))
    yield _wheels(work)


def _gaps(work: Trackwork) -> Iterator[Step]:
    gaps = [joint for joint in work.joints if joint.kind == "gap"]
    ends = [joint for joint in work.joints if joint.kind == "end" and joint.frogs]
    do = []
    if gaps:
        do.append(f"See that each gap is open, and saw open what solder closed: {'; '.join(map(_gap, gaps))}.")
        widths = names(dict.fromkeys(fine_of(work, gap.cut.width) for gap in gaps if gap.cut is not None))
        do.append(f"They are {widths} wide. Fill them with something that does not conduct, and file that to the head.")
    if ends:
        told = "; ".join(f"{end.id} ({end.bar}, {names(end.frogs)})" for end in ends)
        do.append(f"Leave these ends clear of the next rail, or join it with an insulated joiner: {told}.")
    if do:
        check = "Both ends at each gap are fast to a tie and in line."
        yield Step("Isolating gaps", tuple(do), (check,), (CUTTING,) if gaps else ())


def _gap(joint: Joint) -> str:
    where = f", ties {' and '.join(joint.ties)}" if joint.ties else ""
    return f"gap {joint.id} in {joint.bar}{where}"


def _feeders(work: Trackwork) -> Iterator[Step]:
    """Yield the step of soldering feeders beside rails; those below a rail were soldered as it was laid."""
    beside = [f"{feeder.id} to {feeder.piece}" for feeder in work.wiring.feeders if feeder.side is not None]
    if beside:
        yield Step("Feeders", (f"Solder each wire, through its hole: {'; '.join(beside)}.",), (_TUG,))


_TUG = "A tug at each wire from below. Connect none of them yet."


def _wires(work: Trackwork) -> Iterator[Step]:
    """Yield the step of connecting feeders and frogs, and of fixing machines, once all is proved apart."""
    sections = dict.fromkeys(feeder.section for feeder in work.wiring.feeders if feeder.section in ("left", "right"))
    do = [f"Join all feeders of the {names(sections)} rails, those of each to a wire of its own."] if sections else []
    by_switch: dict[str | None, list[str]] = {}
    for feed in frog_feeds(work):
        by_switch.setdefault(feed.switch, []).append(feed.section.replace("+", " and "))
    stubs = {switch.id for switch, made in work.works() if made.bar is not None and made.bar.stops_between}
    do += [
        f"Lead {_of_each('wire', frogs)} to {_contacts(switch, len(frogs), own=switch in stubs)}."
        for switch, frogs in by_switch.items()
    ]
    do += [
        f'Lead the wires of "{part.section("left")}" and "{part.section("right")}" to the switch that reverses them.'
        for part in reversing_sections(work)
        if part.far
    ]
    machines = [switch.id for switch, made in work.works() if made.bar is not None]
    if machines:
        throws = (
            "the throw of each to the travel of its bar" if len(machines) > 1 else "its throw to the travel of the bar"
        )
        do.append(f"Fix {_of_each('machine', machines)} and set {throws}.")
    for switch, made in work.works():
        if made.bar is not None and made.bar.stops_between:
            do.append(f"{switch.id} has {len(made.bar.positions)} positions: its drive must stop and hold in each.")
    if do:
        stops = "each position of a bar" if stubs else "both ends of the throw"
        held = f"; at {stops} the rails are held where they belong" if machines else ""
        title = "Wires and machines" if machines else "Wires"
        yield Step(title, tuple(do), (f"Wires by the wiring tables{held}.",), (POWER,))


def _of_each(what: str, ids: Sequence[str]) -> str:
    return f"the {what}{'s' if len(ids) > 1 else ''} of {names(ids)}"


def _contacts(switch: str | None, wires: int, *, own: bool) -> str:
    """Return where frogs' wires go: what the switch decides, or the route that is set where none does.

    `own` says that the switch is set more than two ways, so that each wire has a contact of its own.
    """
    if switch is None:
        return "a contact for the route set over it" if wires == 1 else "contacts for the routes set over them"
    if own and wires > 1:
        return f"the contacts of {switch}'s machine, one for each"
    return f"the contact of {switch}'s machine"


def _meter(work: Trackwork) -> Iterator[Step]:
    """Yield the test by meter, with nothing connected: rails apart, frogs apart from both."""
    gapped = {frog for joint in work.joints for frog in (*joint.frogs, *_apart(joint))}
    apart = [frog.id for frog in work.frogs if frog.id in gapped]
    do = ["With no wire connected, test that the two rails of each route are apart."]
    if apart:
        do.append(f"Test each frog that gaps set apart against both rails: {names(apart)}.")
    do += [
        f"Test both rails of {part.route} between {names([joint.id for joint in part.near])} and "
        f"{names([joint.id for joint in part.far])} against all rails beyond those gaps."
        for part in reversing_sections(work)
        if part.far
    ]
    check = f"{OPEN} anywhere: what shows one has solder or a burr across."
    yield Step("Test with a meter", tuple(do), (check,))


def _apart(joint: Joint) -> tuple[str, ...]:
    return () if joint.cut is None else joint.cut.frogs


def _wheels(work: Trackwork) -> Step:
    ways = names([_route(work, route) for route in work.layout])
    return Step(
        "Run wheels",
        (f"Push a truck, then your longest engine, both ways and slowly over {ways}.",),
        ("No wheel lifts, drops, picks or binds anywhere.",),
    )


def _route(work: Trackwork, route: LaidRoute) -> str:
    """Return a route, with the gauges that run on it where there are several."""
    if len(work.spec.gauges) == 1:
        return route.name
    return f"{route.name} ({names(dict.fromkeys(g.name for face in route.faces for g in face.gauges))})"
