"""What a switch is made of at the bench: frozen values that say what is filed, bent, soldered, drilled and thrown."""

from __future__ import annotations

from msgspec import Struct

from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.points.switch_model import Opening
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, Interval, PointRail, RailSide, RouteFace


class Beside(Struct, frozen=True):
    """The nearest that an open point comes to what lies on its other side: `clear` mm, `at` mm behind its tip."""

    clear: float
    at: float
    label: str


class HingeBefore(Struct, frozen=True):
    """The last place at which a point can be hinged before the gap of `frog` begins on it, and its `opening` then.

    At the hinge itself it stands open by `at_hinge` mm, whatever the throw. It is `workable` where the hinge lies
    behind the planed part and wheels pass the open point.
    """

    frog: str
    opening: Opening
    at_hinge: float
    workable: bool


class PointWork(Struct, frozen=True):
    """One moving point: how it is filed, from where it may bend, and where its bar is fast.

    Its outer side, which is its `side` as seen from the tip, is planed over `planed` mm from the tip to where the full
    head begins. `angle_at_tip` and `angle_at_full_head` (radians) are between the tangents of the two gauge faces
    there, alike where the point is straight beside a straight stock rail. Its `heel` and its `fix`, from where the bar
    may bend or turn, are mm behind the tip along its gauge face, as are all lengths here. `first_tie` is the first tie
    that lies wholly beyond the fix and that the bar crosses, None where there is none, `last_tie` the last to solder it
    to where the same rail ends as a point again; `loose_ties` are those before the first, to which it is not soldered.
    `beside` is what the open point comes nearest to; `hinges` tells of each frog whose gap begins on the moving point.
    `opening` is how it stands open as drawn, least beside `least_station`, where `wanted` mm keep wheel backs off it.
    """

    point: PointRail
    side: Hand
    planed: float
    angle_at_tip: float
    angle_at_full_head: float
    heel: float
    fix: float
    fix_station: float
    first_tie: str | None
    last_tie: str | None
    loose_ties: tuple[str, ...]
    beside: Beside | None
    hinges: tuple[HingeBefore, ...]
    opening: Opening
    least_station: float
    wanted: float

    @property
    def missing(self) -> float:
        """By how much (mm) the least opening falls short of what is wanted, negative where it does not."""
        return self.wanted - self.opening.least


class Spot(Struct, frozen=True):
    """Where the rail `owner` is soldered to the throw bar: at the edge of its base on one `side`.

    `place` is as that rail is drawn. `along` is mm along the bar from its far end, which lies away from the side that
    it is thrown from; `clear` mm is what is left beside the base of the nearest rail that stays, over the whole travel.
    """

    owner: RouteFace
    side: RailSide
    place: Point
    along: float
    clear: float | None


class BaseNotch(Struct, frozen=True):
    """Where the base of a rail that stays is cut away for the throw bar: bar id, and stations on the rail's route.

    `from_tip` is the same in mm from the filed tip, along the parent.
    """

    rail: str
    owner: RouteFace
    stations: Interval
    from_tip: Interval


class Slot(Struct, frozen=True):
    """The slot in the baseboard through which the throw wire reaches the bar: about `pose`, heading across the track.

    `length` and `width` in mm; the bar is drilled where it lies over the slot's middle halfway through its travel,
    `along` mm from its far end, for a wire `wire` mm thick.
    """

    pose: Pose
    length: float
    width: float
    wire: float
    along: float


class BarPosition(Struct, frozen=True):
    """Where a throw bar stands for wheels to go along a `route`: `left` mm to the left of the middle of its travel."""

    route: str
    left: float


class ThrowBar(Struct, frozen=True):
    """The bar that throws a switch, between its headblocks, in the middle of its `travel` (mm).

    `pose` lies on the parent's reference line and heads along the track on which its headblocks lie; the bar reaches
    from `right` to `left` mm beside that and is `width` mm wide. `side` is the side to which it reaches out, +1 left.
    Its copper is cut `gaps` mm from its far end, wherever it would join rails of two polarities. It stops at its
    `positions`, told from where it lies furthest from the side that it is thrown from.
    """

    pose: Pose
    station: float
    right: float
    left: float
    side: int
    width: float
    travel: float
    spots: tuple[Spot, ...]
    gaps: tuple[float, ...]
    notches: tuple[BaseNotch, ...]
    slot: Slot
    positions: tuple[BarPosition, ...]

    def from_far_stop(self, position: BarPosition) -> float:
        """Return how far (mm) the bar stands from where it lies furthest from the side that it is thrown from."""
        return self.travel / 2 + self.side * position.left

    @property
    def stops_between(self) -> bool:
        """Whether it also stops between the ends of its travel, for more routes than two."""
        return any(abs(position.left) < self.travel / 2 - SAME_PLACE for position in self.positions)

    @property
    def length(self) -> float:
        """The length in mm."""
        return self.left - self.right

    @property
    def far(self) -> float:
        """How far the end away from the throwing side lies to the left of the pose (mm)."""
        return self.right if self.side > 0 else self.left

    def outline(self, spare: float = 0.0) -> Outline:
        """Return the corners, longer by `spare` mm at either end."""
        half = self.width / 2
        return rectangle(self.pose, half, half, spare - self.right, self.left + spare)


class SwitchWork(Struct, frozen=True):
    """What is made at one switch: its moving points and its throw bar; both empty where nothing is thrown."""

    switch: str
    points: tuple[PointWork, ...]
    bar: ThrowBar | None

    @property
    def worst(self) -> PointWork | None:
        """The point that falls shortest of the opening it wants, None where none moves."""
        return max(self.points, key=lambda point: point.missing, default=None)

    @property
    def throw_to_hold(self) -> float | None:
        """The throw (mm) that would keep wheel backs off all points, None where none would or nothing moves."""
        throws = [point.opening.throw_to_hold for point in self.points]
        known = [throw for throw in throws if throw is not None]
        return max(known) if known and len(known) == len(throws) else None
