"""Tell the steps after all rails are laid: gaps, wires, cleaning, and the proof by meter, gauge and wheels."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.reports.build_steps import Step
from turnout_templates.reports.cautions import CUTTING, POWER, PROVING
from turnout_templates.reports.id_lists import names
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.feeding import FrogFeed, frog_feeds
from turnout_templates.trackwork.joints import Joint
from turnout_templates.trackwork.model import Trackwork


def finishing_steps(work: Trackwork) -> Iterator[Step]:
    """Yield the steps."""
    yield from _gaps(work)
    yield from _wires(work)
    yield Step(
        "Clean",
        (
            "Wash off flux and filings, brush out every flangeway, and dress solder that stands above a rail or in a "
            "groove.",
        ),
        ("A fingertip along each gauge face finds no step.",),
    )
    yield from _meter(work)
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


def _wires(work: Trackwork) -> Iterator[Step]:
    """Yield the step of soldering feeders, once the trackwork tells of any, and of wiring machines."""
    do = [f"Solder feeder {feeder.id} to {feeder.piece}." for feeder in work.wiring.feeders]
    do += [f"Lead the wire of {feed.section} to {_contact(feed)}." for feed in frog_feeds(work)]
    machines = [switch.id for switch, made in work.works() if made.bar is not None]
    if machines:
        do.append(f"Fix the machine of {names(machines)} and set its throw to the travel of the bar.")
    for switch, made in work.works():
        if made.bar is not None and made.bar.stops_between:
            do.append(f"{switch.id} has {len(made.bar.positions)} positions: its drive must stop and hold in each.")
    if do:
        held = "; at both ends of the throw the rails are held where they belong" if machines else ""
        title = "Wires and machines" if machines else "Wires"
        yield Step(title, tuple(do), (f"Wires by the wiring table{held}.",), (POWER,))


def _contact(feed: FrogFeed) -> str:
    """Return where a frog's wire goes: what the switch decides, or the route that is set where none does."""
    return f"the contact of {feed.switch}'s machine" if feed.switch is not None else "what the wiring table says"


def _meter(work: Trackwork) -> Iterator[Step]:
    """Yield the test by meter, with nothing connected: rails apart, frogs apart from both."""
    gapped = {frog for joint in work.joints for frog in (*joint.frogs, *_apart(joint))}
    apart = [frog.id for frog in work.frogs if frog.id in gapped]
    do = ["With nothing connected, test that the two rails of each route are apart."]
    if apart:
        do.append(f"Test each frog that gaps set apart against both rails: {names(apart)}.")
    yield Step("Test with a meter", tuple(do), ("No ohms shown anywhere: what shows any has solder or a burr across.",))


def _apart(joint: Joint) -> tuple[str, ...]:
    return () if joint.cut is None else joint.cut.frogs


def _wheels(work: Trackwork) -> Step:
    ways = "; ".join(route.name for route in work.layout)
    gauges = names(work.spec.gauges)
    return Step(
        "Run wheels",
        (f"Push a truck, then your longest engine, of {gauges} both ways over {ways}, slowly.",),
        ("No wheel lifts, drops, picks or binds anywhere.",),
    )
