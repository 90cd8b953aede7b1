"""Tell how far what moves reaches over copper: points from closed to open, swinging rails from one way to the other."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from turnout_templates.trackwork.current.lying import Lying
from turnout_templates.trackwork.current.wiring_parts import OnCopper
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.points.opening_laws import moved_share
from turnout_templates.trackwork.ties.tie_parts import Tie


class _Moves(Struct, frozen=True):
    """How the end of a piece moves: by `throw` mm at `bar_at` mm from that end, not at all from `fix` mm on.

    It may be `bent` and not turned, and swings to `both` sides where it is no point.
    """

    throw: float
    bar_at: float
    fix: float
    bent: bool
    both: bool


class Moved:
    """Tells how far pieces that move reach over copper."""

    def __init__(self, work: Trackwork) -> None:
        self.pieces = {piece.id: piece for piece in work.pieces}
        roles = {bar.id: bar.role for bar in work.bars}
        points = {
            (switch.id, made.point.owner): _Moves(
                switch.throw or 0.0, switch.bar_of(made.point), made.fix, not made.point.rigid, both=False
            )
            for switch, works in work.works()
            for made in works.points
        }
        stubs = {
            s.id: _Moves(s.throw or 0.0, 0.0, s.swinging, bent=False, both=True)
            for s in work.switches
            if s.switching == "stub"
        }
        self.moves: dict[tuple[str, int], _Moves] = {}
        for piece in work.pieces:
            for k, end in enumerate(piece.ends):
                if end.kind == "point of switch" and (end.at, end.owner) in points:
                    self.moves[piece.id, k] = points[end.at or "", end.owner]
                elif end.kind == "butt" and roles[piece.bar] == "swinging rail" and end.at in stubs:
                    self.moves[piece.id, k] = stubs[end.at]

        self.moving = {name for name, _ in self.moves}

    def on(self, tie: Tie, lying: Lying, section: str) -> OnCopper:
        """Return how a part lies on a tie, from where to where over all its movement."""
        piece = self.pieces.get(lying.part)
        low, high, slides = lying.low, lying.high, False
        if piece is not None and (piece.id in self.moving or tie.loose):
            slides = piece.bar in tie.loose
            for opens, both in self._openings(piece, lying):
                slides = slides or both
                low -= opens if both or lying.inward < 0 else 0.0
                high += opens if both or lying.inward > 0 else 0.0
        return OnCopper(lying.part, section, low, high, not slides, slides=slides)

    def _openings(self, piece: RailPiece, lying: Lying) -> Iterator[tuple[float, bool]]:
        """Yield how far (mm) a piece moves over a tie, at most, and whether to both sides."""
        for k, behind in ((0, lying.begin), (1, piece.length - lying.end)):
            moves = self.moves.get((piece.id, k))
            if moves is not None and behind < moves.fix:
                share = moved_share(max(behind, 0.0), bar=moves.bar_at, fix=moves.fix, bent=moves.bent)
                yield moves.throw * share, moves.both
