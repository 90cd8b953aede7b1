"""Turn pieces, wings and guards into units: what is one bent bar is laid as one."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece


class Unit(Struct, frozen=True):
    """Parts that are laid as one: the `pieces` and `wings` of one bent bar, or the `guards` of one."""

    pieces: tuple[RailPiece, ...] = ()
    wings: tuple[Wing, ...] = ()
    guards: tuple[Guard, ...] = ()

    @property
    def parts(self) -> tuple[str, ...]:
        """The ids of all parts."""
        pieces = (piece.id for piece in self.pieces)
        return (*pieces, *(wing.id for wing in self.wings), *(guard.id for guard in self.guards))

    @property
    def guides(self) -> tuple[Wing | Guard, ...]:
        """The wings and guards."""
        return (*self.wings, *self.guards)

    def ends(self, *kinds: str) -> list[str]:
        """Return the frog or switch of each end of some kinds."""
        return [end.at for piece in self.pieces for end in piece.ends if end.kind in kinds and end.at is not None]

    @property
    def knuckles(self) -> list[str]:
        """The frogs whose wings it has or goes on into."""
        return [*dict.fromkeys((*self.ends("knuckle"), *(wing.frog for wing in self.wings)))]


def laid_units(work: Trackwork) -> Iterator[Unit]:
    """Yield all units: those of the pieces in their order, then wings and guards that are bars of their own."""
    pieces = {piece.id: piece for piece in work.pieces}
    wings = {wing.id: wing for wing in work.wings}
    guards = {guard.id: guard for guard in work.guards}
    joined = {piece.id: piece.bent_with for piece in work.pieces}
    joined |= {guard.id: tuple(name for name, _ in guard.bent_at) for guard in work.guards}
    told: set[str] = set()
    for start in (*pieces, *wings, *guards):
        names, waiting = list[str](), [start]
        while waiting:
            name = waiting.pop(0)
            if name not in told:
                told.add(name)
                names.append(name)
                waiting += joined.get(name, ())
        if names:
            yield Unit(
                tuple(pieces[name] for name in names if name in pieces),
                tuple(wings[name] for name in names if name in wings),
                tuple(guards[name] for name in names if name in guards),
            )
