"""Follow a rail from the tip at which it leaves others, and tell how far inside another one it has come to lie."""

from __future__ import annotations

from msgspec import Struct

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.model import View
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.roots import root_between
from turnout_templates.trackwork.rails.rail_parts import RouteFace


class Onward(Struct, frozen=True):
    """A rail that goes on from a tip: its face, its route looked at from the tip, and where it leaves the group.

    `origin` and all other places are distances in the `view` (mm).
    """

    owner: RouteFace
    view: View
    origin: float

    @property
    def face(self) -> Face:
        """The face as it is seen in the view."""
        return self.owner.face if self.view.way > 0 else self.owner.face.turned()

    @property
    def line(self) -> Parallel:
        """The gauge face in the view."""
        return Parallel(self.view.path, self.face.offset, 0.0, self.view.path.length)

    @property
    def room(self) -> float:
        """How far the rail goes on from where it leaves the group (mm)."""
        return self.view.path.length - self.origin

    def apart_from(self, other: Onward, u: float) -> float:
        """Return how far inside `other` this rail's face lies at the distance `u` (mm, inward positive)."""
        face = self.face
        point = self.view.path.point_at(u, face.offset)
        left = other.view.path.foot_near(point, other.origin + u - self.origin)[1]
        return (other.face.offset - left) * face.outward

    def distance_apart(self, other: Onward, apart: float) -> float | None:
        """Return the first distance `u` at which this rail lies `apart` mm inside `other`, None where it never does."""
        low = self.origin
        step = 0.25
        end = self.view.path.length
        while low < end:
            high = min(low + step, end)
            if self.apart_from(other, high) >= apart:
                return root_between(lambda u: self.apart_from(other, u) - apart, low, high)
            low, step = high, step * 1.25
        return None
