"""Turn a gauge face and what widens the gauge along its route into the curves that the rail lies on.

On a curve the outer rail keeps its place and so does the reference line; the rails on the inner side move toward the
inside of the curve. Each gauge has one rail on that side, the common one or its own, so that all are widened alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct

from turnout_templates.alignment.faces import Face
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.taper import Curve, Taper
from turnout_templates.spec.model import Hand

Knot = tuple[float, float]
"""A station (mm) and how much wider the gauge is there (mm)."""


class Widened(Struct, frozen=True):
    """A stretch of a route whose gauge is wider: the rails of the hand `inner` lie further out, evenly between `knots`.

    The knots are in order, and the first and the last have no widening. They may lie beyond the ends of the route.
    """

    inner: Hand
    knots: tuple[Knot, ...]

    @property
    def begin(self) -> float:
        """The station at which the gauge begins to widen."""
        return self.knots[0][0]

    @property
    def end(self) -> float:
        """The station at which the gauge is what it was."""
        return self.knots[-1][0]

    @property
    def most(self) -> float:
        """The most that the gauge is widened by (mm)."""
        return max(by for _, by in self.knots)

    @property
    def full(self) -> tuple[float, float]:
        """The first and the last station with that much."""
        stations = [station for station, by in self.knots if by == self.most]
        return stations[0], stations[-1]

    def within(self, length: float) -> tuple[Knot, ...]:
        """Return the knots of what lies on a route of so many mm."""
        inside = [s for s, _ in self.knots if 0.0 < s < length]
        marks = [max(self.begin, 0.0), *(s for s in inside if self.begin < s < self.end), min(self.end, length)]
        return tuple((s, self.at(s)) for s in marks)

    def at(self, s: float) -> float:
        """Return how much wider (mm) the gauge is at a station."""
        for (low, before), (high, after) in pairwise(self.knots):
            if low <= s <= high:
                return before + (after - before) * (s - low) / (high - low)
        return 0.0


def offset_at(face: Face, widened: Sequence[Widened], s: float) -> float:
    """Return how far (mm) a gauge face lies to the left of its route's reference line at a station."""
    return face.offset + face.outward * sum(stretch.at(s) for stretch in widened if stretch.inner == face.hand)


def lie(path: Path, face: Face, widened: Sequence[Widened], low: float, high: float, out: float) -> tuple[Curve, ...]:
    """Return the curves that lie `out` mm outward of a gauge face between two stations of its route, in order."""
    stations = (s for stretch in widened if stretch.inner == face.hand for s, _ in stretch.knots)
    marks = [low, *(s for s in stations if low < s < high), high]
    return tuple(_curve(path, face, widened, one, two, face.outward * out) for one, two in pairwise(marks))


def _curve(path: Path, face: Face, widened: Sequence[Widened], low: float, high: float, more: float) -> Curve:
    first, last = (offset_at(face, widened, s) + more for s in (low, high))
    return Parallel(path, first, low, high) if first == last else Taper(path, first, last, low, high)
