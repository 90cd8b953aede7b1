"""All that is to be built: what the checks, the drawing and the figures read."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct, field

from turnout_templates.alignment.model import Layout
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.bases.base_cuts import BaseCut, BaseRelief, OpenFoul
from turnout_templates.trackwork.current.wiring_parts import Wiring
from turnout_templates.trackwork.frogs.contacts import Contact
from turnout_templates.trackwork.frogs.fits import Fit
from turnout_templates.trackwork.frogs.frog_parts import BarredWing, Frog, Guard, Guarding, GuidingSide, Wing
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.pieces.pieces import RailCuts, RailPiece
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import SwitchWork
from turnout_templates.trackwork.polarity.circuit import Circuit
from turnout_templates.trackwork.rails.rail_parts import Bar, FiledHead, Rail
from turnout_templates.trackwork.ties.tie_parts import MissingTie, Tie


class Trackwork(Struct, frozen=True):
    """Everything that is to be built; `fits` says how bars are fitted at frogs, `contacts` which parts may touch."""

    spec: Spec
    layout: Layout
    rails: tuple[Rail, ...]
    heads: tuple[FiledHead, ...]
    bars: tuple[Bar, ...]
    fits: tuple[Fit, ...]
    contacts: tuple[Contact, ...]
    switches: tuple[Switch, ...]
    frogs: tuple[Frog, ...]
    wings: tuple[Wing, ...]
    barred_wings: tuple[BarredWing, ...]
    guards: tuple[Guard, ...]
    sides: tuple[GuidingSide, ...]
    guarding: tuple[Guarding, ...]
    base_cuts: tuple[BaseCut, ...]
    reliefs: tuple[BaseRelief, ...]
    open_fouls: tuple[OpenFoul, ...]
    ties: tuple[Tie, ...]
    missing_ties: tuple[MissingTie, ...]
    switch_works: tuple[SwitchWork, ...]
    circuit: Circuit
    rail_cuts: RailCuts = field(default_factory=RailCuts)
    wiring: Wiring = field(default_factory=Wiring)

    @property
    def pieces(self) -> tuple[RailPiece, ...]:
        """The pieces of rail that the bars are cut into."""
        return self.rail_cuts.pieces

    @property
    def joints(self) -> tuple[Joint, ...]:
        """The joints and gaps between pieces, and the template's ends."""
        return self.rail_cuts.joints

    @property
    def unguarded(self) -> tuple[Guarding, ...]:
        """The needs of which something is not met."""
        return tuple(told for told in self.guarding if told.missing)

    def frog(self, name: str) -> Frog:
        """Return the frog with the id `name`."""
        return next(frog for frog in self.frogs if frog.id == name)

    def switch(self, name: str) -> Switch:
        """Return the switch with the id `name`."""
        return next(switch for switch in self.switches if switch.id == name)

    def works(self) -> Iterator[tuple[Switch, SwitchWork]]:
        """Yield each switch with what is made there."""
        return zip(self.switches, self.switch_works, strict=True)
