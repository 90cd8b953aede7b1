"""Turn the gaps in both rails of a route into the section between them, which is reversed while a train is on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import Way
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.pieces.pieces import RailPiece

_AT_GAP = 1e-3
"""A piece that ends within this (mm) of the middle of a gap's half ends at it."""


class Reversing(Struct, frozen=True):
    """A section of a `route` between its gaps at the switch where left meets right (`near`) and the next ones (`far`).

    Both rails are of it from the station `low` to `high`. Where the second gaps find no room `far` is empty, and `low`
    and `high` are the first gaps and the next frog or tip.
    """

    route: str
    near: tuple[Joint, ...]
    far: tuple[Joint, ...]
    low: float
    high: float

    @property
    def length(self) -> float:
        """The length in mm along the reference line in which both rails are of the section."""
        return self.high - self.low

    def section(self, hand: Hand) -> str:
        """Return the id of the section of its rails of a polarity."""
        return f"{self.route} {hand}"

    def holds(self, piece: RailPiece) -> bool:
        """Tell whether a piece of rail lies between its gaps."""
        gaps = [[j.station for j in (*self.near, *self.far) if j.owner == s.owner] for s in piece.stretches]
        return bool(self.far) and all(
            len(found) == 2 and min(found) - _AT_GAP < s.low and s.high < max(found) + _AT_GAP
            for found, s in zip(gaps, piece.stretches, strict=True)
        )


def reversing_sections(work: Trackwork) -> Iterator[Reversing]:
    """Yield the sections, one for each place where left meets right."""
    double = [joint for joint in work.joints if joint.cut is not None and joint.cut.double]
    for (route, way), reach in work.circuit.reach.items():
        own = [joint for joint in double if joint.owner.route == route]
        yield _section(route, way, own, reach, work.circuit.far[route, way])


def _section(route: str, way: Way, joints: Sequence[Joint], reach: float, beyond: float) -> Reversing:
    faces = dict.fromkeys(joint.owner for joint in joints)
    pairs = [sorted((j for j in joints if j.owner == face), key=lambda j: way * (j.station - reach)) for face in faces]
    pairs = [[j for j in pair if (j.station - beyond) * way < 0.0] for pair in pairs]
    near = tuple(pair[0] for pair in pairs if pair)
    far = tuple(pair[1] for pair in pairs if len(pair) > 1) if all(len(pair) > 1 for pair in pairs) else ()
    begin = max((j.station * way for j in near), default=reach * way) * way
    end = min((j.station * way for j in far), default=beyond * way) * way
    return Reversing(route, near, far, *sorted((begin, end)))
