"""Say how each frog is made: which rails it has, which of them are laid now and which lie already or come later."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from turnout_templates.reports.id_lists import names
from turnout_templates.reports.lengths import fine_of
from turnout_templates.trackwork.bench.laid_units import Unit, laid_units
from turnout_templates.trackwork.bench.working_order import LayStep
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import EndKind, PieceEnd, RailPiece
from turnout_templates.units import format_degrees


@dataclass(slots=True)
class FrogTeller:
    """Tells of the frogs in `steps`."""

    work: Trackwork
    steps: Sequence[LayStep]
    step_of: dict[str, int] = field(init=False)
    ends: dict[str, list[tuple[EndKind, str]]] = field(default_factory=dict)
    units: dict[str, Unit] = field(init=False)

    def __post_init__(self) -> None:
        """Look up when parts are laid, what ends at each frog, and what is one bent bar."""
        self.step_of = {name: i for i, step in enumerate(self.steps) for name in step.parts}
        self.units = {name: unit for unit in laid_units(self.work) for name in unit.parts}
        for piece in self.work.pieces:
            for end in piece.ends:
                self.ends.setdefault(end.at or "", []).append((end.kind, piece.id))

    def is_rest(self, step: LayStep) -> bool:
        """Tell whether a step lays what an earlier one left of its frog."""
        return step.kind == "frog" and step.at not in step.parts

    def how(self, name: str, index: int) -> Iterator[str]:
        """Yield how a frog is made, as far as the step `index` makes it."""
        frog, step = self.work.frog(name), self.steps[index]
        what = f"{name}, No. {frog.number:.2f}, {format_degrees(frog.angle)}"
        elbow = self._bent(name, "elbow", "mitre")
        noses, vee = self._bent(name, "nose"), [*self._bent(name, "point"), *self._bent(name, "spliced")]
        if frog.kind == "K" and elbow:
            parts = [*elbow, *noses]
            yield f"{what}, a K: first its elbow, {names(elbow.values())}{_nose_words([*noses.values()])}."
            yield from self._elsewhere(parts, index)
        elif len(vee) > 1:
            yield from self._v(what, vee, index)
        else:
            yield f"{what}: made by the rails that end here."
        if len(step.parts) == 1 and step.at in step.parts:
            yield "All its rails are laid in other steps: set its marks now."

    def _v(self, what: str, vee: Sequence[str], index: int) -> Iterator[str]:
        """Yield how the two rails of a V become its point."""
        point, spliced = vee[0], vee[-1]
        told = f"{what}: {point} carries the point, {spliced} is spliced to it."
        now = [name for name in (point, spliced) if self.step_of[name] == index]
        if len(now) > 1:
            yield f"{told} Solder the two in a jig to that angle, or over the enlarged detail, then lay them as one."
            return
        yield told
        for name in now:
            other = spliced if name == point else point
            yield (
                f"{other} lies already: solder {name} to it in place."
                if self.step_of[other] < index
                else f"{other} is laid later, and is soldered to it in place then."
            )

    def _bent(self, frog: str, *kinds: EndKind) -> dict[str, str]:
        """Return the pieces that end so at a frog, of one bent bar the first, with the names of that bar's parts."""
        found: dict[str, str] = {}
        for kind, name in self.ends.get(frog, ()):
            if kind in kinds:
                parts = self.units[name].parts
                found[parts[0] if "elbow" in kinds else name] = " with ".join(parts) if "elbow" in kinds else name
        return found

    def _elsewhere(self, parts: Iterable[str], index: int) -> Iterator[str]:
        """Yield which parts of a frog are laid in other steps."""
        before = [name for name in parts if self.step_of[name] < index]
        later = [name for name in parts if self.step_of[name] > index]
        if before:
            yield f"{names(before)} lie{'' if len(before) > 1 else 's'} already."
        if later:
            yield f"{names(later)} {'are' if len(later) > 1 else 'is'} laid later."

    def noses(self, step: LayStep, pieces: Mapping[str, RailPiece]) -> Iterator[str]:
        """Yield the flangeway of each nose that a step lays: `nose of R2a at F1 0.048 in (1.22 mm)`."""
        for name in step.parts:
            for end in pieces[name].ends if name in pieces else ():
                if end.kind == "nose" and end.at is not None:
                    groove = _groove(self.work.frog(end.at), end)
                    yield f"nose of {name} at {end.at} {fine_of(self.work, groove)}"


def _nose_words(noses: Sequence[str]) -> str:
    if not noses:
        return ""
    return (
        f"; then its noses, {names(noses)}, each a flangeway from the rail before it"
        if len(noses) > 1
        else f"; then its nose, {noses[0]}, a flangeway from the rail before it"
    )


def _groove(frog: Frog, end: PieceEnd) -> float:
    """Return how wide the flangeway before a nose is: that of the other face, whose wheels pass there."""
    return (frog.second if frog.first == end.owner else frog.first).face.flangeway
