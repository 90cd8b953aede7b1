"""Say how the rails of a step are held: by joiners, by which ties, and on which ties they move or lie unsoldered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from turnout_templates.reports.id_lists import names
from turnout_templates.reports.id_ranges import ranges_of
from turnout_templates.reports.lengths import length_of
from turnout_templates.trackwork.bench.working_order import LayStep
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.points.switch_model import Switch


@dataclass(slots=True)
class Fastening:
    """Tells how parts are held; `step_of` says of each in which step it is laid."""

    work: Trackwork
    step_of: Mapping[str, int]
    pieces: dict[str, RailPiece] = field(init=False)
    loose: dict[str, list[str]] = field(init=False)
    bared: dict[str, list[str]] = field(init=False)
    below: dict[str, list[str]] = field(default_factory=dict)
    closed: dict[int, list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Look up the ties on which parts are not held, and by step the joints that it closes: at its later piece."""
        self.pieces = {piece.id: piece for piece in self.work.pieces}
        self.loose, self.bared = _loose(self.work), _bared(self.work)
        for feeder in self.work.wiring.feeders:
            if feeder.side is None:
                self.below.setdefault(feeder.piece, []).append(feeder.id)
        last: dict[str, int] = {}
        for piece in self.work.pieces:
            for end in piece.ends:
                if end.kind == "joint" and end.at is not None:
                    last[end.at] = max(last.get(end.at, 0), self.step_of[piece.id])
        for name, index in last.items():
            self.closed.setdefault(index, []).append(name)

    def before(self, step: LayStep) -> Iterator[str]:
        """Yield what is soldered under rails before they are laid: feeders whose holes those cover."""
        for piece in step.parts:
            for feeder in self.below.get(piece, ()):
                yield f"First solder the wire of feeder {feeder} under {piece}; lead it through its hole on laying."

    def after(self, step: LayStep, index: int, swings: Switch | None) -> Iterator[str]:
        """Yield what joins the rails of a step and where they move; `swings` is the stub whose rails it lays."""
        pieces = [self.pieces[name] for name in step.parts if name in self.pieces]
        if index in self.closed:
            yield f"Joiners on at {names(self.closed[index])}, with a hair's breadth between the ends."
        moving = [piece for piece in pieces if any(end.kind in ("point of switch", "butt") for end in piece.ends)]
        told = [
            f"{piece.id} moves on ties {ranges_of(self.loose[piece.bar])}"
            for piece in moving
            if piece.bar in self.loose
        ]
        if swings is not None:
            yield from self._swinging(swings)
        elif told:
            yield f"Solder or spike to every tie but those on which they move: {'; '.join(told)}."

    def unsoldered(self, step: LayStep) -> Iterator[str]:
        """Yield where parts that are fast elsewhere are not soldered, since the copper is taken off under them."""
        told = []
        for name in step.parts:
            moves = self.loose.get(self.pieces[name].bar, ()) if name in self.pieces else ()
            ties = [tie for tie in self.bared.get(name, ()) if tie not in moves]
            told += [f"{name} on tie{'s' if len(ties) > 1 else ''} {ranges_of(ties)}"] if ties else []
        if told:
            yield f"Leave unsoldered, where the copper is off under it: {'; '.join(told)}."

    def _swinging(self, switch: Switch) -> Iterator[str]:
        """Yield between which places and on which ties the rails of a stub swing."""
        low, high = sorted((switch.station, switch.filed_station))
        ties = [tie.id for tie in self.work.ties if tie.route == switch.parent and low < tie.station < high]
        over = f", over ties {ranges_of(ties)}" if ties else ""
        yield (
            f"They are fast up to {length_of(self.work, switch.station)} of {switch.parent} and swing from there to "
            f"the toe at {length_of(self.work, switch.filed_station)}{over}: solder to none of these. Cut them square "
            "at the toe."
        )


def _bared(work: Trackwork) -> dict[str, list[str]]:
    """Return by part the ties on which the copper is taken off under it."""
    own = {tie.id for tie in work.ties}
    bared: dict[str, list[str]] = {}
    for copper in work.wiring.copper:
        for part in copper.on if copper.tie in own else ():
            if part.bared is not None:
                bared.setdefault(part.part, []).append(copper.tie)
    return bared


def _loose(work: Trackwork) -> dict[str, list[str]]:
    """Return by bar the ties on which it moves."""
    loose: dict[str, list[str]] = {}
    for tie in work.ties:
        for bar in tie.loose:
            loose.setdefault(bar, []).append(tie.id)
    return loose
