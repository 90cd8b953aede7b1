"""Turn trackwork into blocks that tell the sections of the track, their feeders and the contacts that feed frogs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import length_of
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.current.copper import CLEAR
from turnout_templates.trackwork.current.feeding import FrogFeed, frog_feeds
from turnout_templates.trackwork.current.wiring_parts import CopperTie, Feeder, TieGap
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.polarity.reversing import Reversing, reversing_sections
from turnout_templates.units import format_clearance

_SECTIONS = (
    "Left and right are the two rails as seen along the first route of each group of tracks; they are two poles, and "
    "what feeds them does not matter here: any control system does. Guards belong to the section of what they stand "
    "beside. Parts of one section may share copper; of two they may not.",
)
_CONTACT = (
    "A change-over contact on {} does it: its middle goes to the wire, one side to the left rail's feeders and the "
    "other to the right rail's. It must break before it makes."
)
_SHARED = "Wires whose rows are alike may share one contact."
_THREE_WAYS = (
    "Of a switch that is set more than two ways each frog has a contact of its own, which changes over between the two "
    "ways named in its row; it does not matter where it stands for the others."
)
_BY_ROUTE = (
    "Where no one switch decides, one change-over contact for each frog, worked with the route, or a device that "
    "reverses of itself does."
)
_REVERSE = (
    "Feed that section through a double-pole change-over switch, set before a train runs over either pair of gaps, or "
    "through a device that reverses of itself."
)
_FEEDERS = (
    "One for each group of rails that solder holds together; a rail joiner counts as none. Outer and gauge side: of "
    "that rail. Lead all wires of a section together. Low voltage only; what is fed from the mains is left to a "
    "licensed electrician and to local codes.",
)
_TIE_HEAD: Row = ("tie", "gaps in its copper, from its left end", "copper off under")
_TO = (
    "Left: as seen along the route that the tie lies under; far: away from the machine. 1 to 9: all copper-clad ties "
    "from the one to the other."
)


def wiring_blocks(work: Trackwork, findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Return the blocks."""
    if not work.wiring.feeders:
        return ()
    blocks = (_sections(work), _feeds(work), _double_gaps(work), _feeders(work), _copper(work))
    return tuple(block for block in blocks if block.rows)


def _sections(work: Trackwork) -> Block:
    rows: list[Row] = [("section", "its rails, wings and guards")]
    rows += [(_name(section.id), ", ".join(section.parts)) for section in work.wiring.sections if section.parts]
    return Block("Sections", (*rows, *_SECTIONS), has_head=True)


def _name(section: str) -> str:
    return section.replace("+", " and ")


def _feeds(work: Trackwork) -> Block:
    feeds = list(frog_feeds(work))
    head: Row = ("frog", "wire", "decided by", "to the left rail", "to the right rail")
    deciding = {feed.switch for feed in feeds}
    rows = [_feed(feed) for feed in feeds]
    told = [_CONTACT.format("what sets the route" if deciding <= {None} else "the switch machine")]
    told += [_SHARED] if len({row[2:] for row in rows}) < len(rows) else []
    told += [_THREE_WAYS] if any(s.id in deciding and len(s.onward) > 2 for s in work.switches) else []
    told += [_BY_ROUTE] if None in deciding else []
    return Block("Frogs and contacts", (head, *rows, " ".join(told)) if feeds else (), has_head=True)


def _feed(feed: FrogFeed) -> tuple[str, ...]:
    if feed.switch is None:
        by, how = "the route set over it", "route along {}"
    else:
        by, how = feed.switch, "set for {}"

    def to(hand: Hand) -> str:
        said = [how.format(name) for name, polarity in feed.routes if polarity == hand]
        said += [f"{how.format(name)} (one of them)" for name, polarity in feed.routes if polarity is None]
        return ", ".join(said) or "never"

    return (_name(feed.section), ", ".join(feed.feeders), by, to("left"), to("right"))


def _double_gaps(work: Trackwork) -> Block:
    """Return what is to be done where left meets right."""
    rows: list[Row] = []
    reversing = {section.route: section for section in reversing_sections(work)}
    for ring in work.circuit.rings:
        meeting = ring.broken
        begin = f'Where "{meeting.branch}" meets "{meeting.parent}" left comes to meet right'
        section = reversing.get(meeting.branch)
        if section is None or not section.near:
            rows.append(
                f"{begin}. Cut gaps in both rails there, and again at the far end of a section longer than any train. "
                + _REVERSE
            )
        else:
            rows.append(f"{begin}, so that both rails have gaps there ({_ids(section.near)}) {_far(work, section)}")
    rows += [
        f'At the crossing of "{crossing.first}" and "{crossing.second}" ({", ".join(crossing.frogs)}) left and right '
        "meet at its K as well as at its V: those in the table of frogs are fed by the route set over it."
        for crossing in work.circuit.opposed
    ]
    return Block("Where left meets right", tuple(rows))


def _far(work: Trackwork, section: Reversing) -> str:
    """Return what is said of the second gaps of a section that is reversed."""
    length = length_of(work, section.length)
    if not section.far:
        return (
            f"and need them again at the far end of a section longer than any train. Up to the next frog or tip there "
            f"are {length}, too little for that: cut them beyond it. {_REVERSE}"
        )
    return (
        f'and again at {_ids(section.far)}. Between them "{section.section("left")}" and "{section.section("right")}" '
        f"are one section, {length} long, with feeders of its own: no train that is longer may run over it, since it "
        f"would bridge both pairs of gaps. {_REVERSE}"
    )


def _ids(joints: Sequence[Joint]) -> str:
    return ", ".join(joint.id for joint in joints)


def _feeders(work: Trackwork) -> Block:
    head: Row = ("feeder", "feeds", "soldered to", "rail", "station", "hole")
    rows = [_feeder(work, feeder) for feeder in work.wiring.feeders]
    return Block("Feeders", (head, *rows, *_FEEDERS), has_head=True)


def _feeder(work: Trackwork, feeder: Feeder) -> Row:
    hand = feeder.owner.face.hand
    hole = "below it" if feeder.side is None else "outer side" if feeder.side == hand else "gauge side"
    hole += f", through tie {feeder.tie}" if feeder.tie is not None else ""
    return (
        feeder.id,
        _name(feeder.section),
        feeder.piece,
        feeder.owner.label,
        length_of(work, feeder.station),
        hole,
    )


def _copper(work: Trackwork) -> Block:
    """Return the table of gaps: ties that follow each other and are cut alike share a row, throw bars come last."""
    ties = {tie.id: tie for tie in work.ties}
    rows: list[Row] = []
    told: list[tuple[list[str], tuple[str, ...]]] = []
    for copper in work.wiring.copper:
        if copper.tie in ties:
            width = ties[copper.tie].width
            cells = tuple(_cells(work, copper, ties[copper.tie].angle, width))
            if told and told[-1][1] == cells:
                told[-1][0].append(copper.tie)
            else:
                told.append(([copper.tie], cells))
    rows += [(" to ".join(dict.fromkeys((cut[0], cut[-1]))), *cells) for cut, cells in told if any(cells)]
    for copper in work.wiring.copper:
        if copper.tie not in ties and copper.gaps:
            gaps = ", ".join(format_clearance(gap.along, work.spec.units) for gap in copper.gaps)
            rows.append((f"throw bar {copper.tie}", f"{gaps} from its far end", ""))
    clear = format_clearance(CLEAR, work.spec.units)
    sentence = (
        f"Saw each gap through the copper before the rails are laid; it stays {clear} clear of every base at least. "
        "Then try each tie with a meter: between two sections nothing must conduct. Copper off: leave that rail "
        "unsoldered on this tie and scrape the copper away under it. " + _TO
    )
    return Block("Gaps in copper", (_TIE_HEAD, *rows, sentence) if rows else (), has_head=True)


def _cells(work: Trackwork, copper: CopperTie, angle: float, width: float) -> Iterator[str]:
    """Yield where a tie's gaps lie, then under what its copper is taken off."""
    units = work.spec.units
    yield ", ".join(
        f"{format_clearance(low, units)} leaning to {format_clearance(high, units)}"
        if gap.leans
        else format_clearance(gap.along, units)
        for gap in copper.gaps
        for low, high in (_ends(gap, angle, width),)
    )
    yield ", ".join(
        f"{part.part}, {format_clearance(part.low - part.bared, units)} to "
        f"{format_clearance(part.high + part.bared, units)}"
        for part in copper.on
        if part.bared is not None
    )


def _ends(gap: TieGap, angle: float, width: float) -> tuple[float, float]:
    """Return where a gap meets the two sides of its tie, mm from the tie's first end, the nearer first."""
    aside = width / 2 / math.tan(gap.heading - angle)
    return gap.along - abs(aside), gap.along + abs(aside)
