"""Laid routes: what alignment yields and trackwork builds on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from turnout_templates.alignment.faces import Face
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Hand, Points


@dataclass(frozen=True, slots=True)
class Departure:
    """How a branch leaves: the route `parent` at `station` (mm on it; `tip` is the pose there) to the side `hand` (None
    where the parent ends and the branch goes straight on).

    `along` names the route that goes on from the tip and whose faces the branch's are judged against: the parent
    itself, or where the parent ends there, another of the branches that part (`parting`). The branch itself starts at
    its vertex, which lies before the tip where the points have an angle. `along_station` is the tip's station on
    `along`.
    """

    parent: str
    station: float
    tip: Pose
    hand: Hand | None
    along: str
    along_station: float
    parting: bool
    points: Points


@dataclass(frozen=True, slots=True)
class LaidRoute:
    """A route in its place: its `path` is the reference line, its `faces` run parallel to it, left to right."""

    name: str
    faces: tuple[Face, ...]
    path: Path
    departure: Departure | None
    heel_start: float | None
    """The station on the path at which a frog's straight toe begins, None where the path has none."""
    begins: tuple[float, ...] = ()
    """Where each of the faces begins, in their order: of a branch that starts at an angle, each at its own bend."""
    frog_curve: int | None = None
    """The index of the piece of the path that turns to the frog, None where no piece was left open."""
    bent: bool = False
    """Whether the route was laid out on straight track and then bent (see `bending`)."""

    def begin_of(self, face: Face) -> float:
        """Return the station at which a face begins: where it leaves the parent's rail that it goes on from."""
        return self.begins[self.faces.index(face)] if self.begins else 0.0

    def parallel(self, face: Face) -> Parallel:
        """Return the whole gauge face as a curve."""
        return Parallel(self.path, face.offset, self.begin_of(face), self.path.length)


@dataclass(frozen=True, slots=True)
class Layout:
    """All routes of a spec in the order of the file."""

    routes: tuple[LaidRoute, ...]
    _by_name: Mapping[str, LaidRoute] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Sort the routes by name, so that finding one costs the same in a yard."""
        object.__setattr__(self, "_by_name", {route.name: route for route in self.routes})

    def __iter__(self) -> Iterator[LaidRoute]:
        """Iterate over the routes in the order of the file."""
        return iter(self.routes)

    def route(self, name: str) -> LaidRoute:
        """Return the route called `name`."""
        return self._by_name[name]
