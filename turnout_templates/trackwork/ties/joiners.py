"""Turn a joint between two rails, and a tie, into the notch that the rail joiner needs in the top of the tie."""

from __future__ import annotations

import math

from msgspec import Struct

from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.spec.model import Hand

JOINER_LENGTH = 5.0
"""Length of a rail joiner, in widths of the rail's base: common practice, no source."""
JOINER_WIDTH = 1.3
"""Width of a rail joiner over its lips, in widths of the rail's base: common practice, no source."""


class Joint(Struct, frozen=True):
    """A joint between two rails: `what` it is called, the face's `gauge` and `hand`, the `pose` of the rail."""

    what: str
    gauge: str
    hand: Hand
    pose: Pose


class Notch(Struct, frozen=True):
    """What is cut from the top of a tie for the joiner at `joint`.

    In mm from the tie's centre: `low` to `high` along its long axis, `back` to `ahead` to the right of that.
    """

    joint: Joint
    low: float
    high: float
    back: float
    ahead: float

    def middle(self, centre: Point, angle: float) -> Point:
        """Return the middle of the notch in a tie with this `centre` and `angle` of the long axis."""
        pose = Pose(*centre, angle).ahead((self.low + self.high) / 2)
        return pose.beside(-(self.back + self.ahead) / 2)

    def outline(self, centre: Point, angle: float) -> Outline:
        """Return its corners on a tie with this `centre` and `angle` of the long axis."""
        return rectangle(Pose(*centre, angle), -self.low, self.high, self.ahead, -self.back)


def notch_under(joint: Joint, tie: Pose, width: float, base: float) -> Notch | None:
    """Return the notch for a joiner on a tie, None where it lies beside it or reaches over its edge by a sliver.

    `tie` is the pose of the tie's centre along its long axis, `width` the tie's and `base` that of the rail's base.
    """
    along, left = tie.local(joint.pose.point)
    turn = joint.pose.heading - tie.heading
    forward, across = math.cos(turn), -math.sin(turn)  # how far along the axis and to its right a mm of rail goes
    if abs(across) < math.sin(_LEAST):
        return None
    half = JOINER_LENGTH * base / 2
    ends = sorted((-left - half * across, -left + half * across))
    back, ahead = max(ends[0], -width / 2), min(ends[1], width / 2)
    if ahead - back < _SLIVER * base:
        return None
    side = JOINER_WIDTH * base / 2 / abs(across)
    at = sorted(along + (right + left) * forward / across for right in (back, ahead))
    return Notch(joint, at[0] - side, at[1] + side, back, ahead)


_SLIVER = 0.1
"""What reaches less far over a tie, in widths of the rail's base, only meets its edge, which a stroke of a file eases
(common practice, no source)."""
_LEAST = math.radians(30)
"""A rail that crosses a tie's axis at less than this does not lie on the tie."""
