"""Turn what a spec says of one end of a route into that end in place, as it is seen from the tip.

A route leaves another at its start and may join one at its end. Both are the same thing looked at from two sides: from
the tip, the branch goes off to its frog. Joined at its end, a path is looked at against its stations.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from turnout_templates.alignment.faces import Face
from turnout_templates.alignment.leaving import Start, face_begin, shift_of, start_branch, vertex_before_tip
from turnout_templates.alignment.model import Departure, LaidRoute, View, Way
from turnout_templates.errors import KeyPath, LayoutError
from turnout_templates.geometry.path import Path, Shape
from turnout_templates.spec.model import Facing, Hand, Points, Route, Spec
from turnout_templates.units import Unit, format_at_least, format_clearance_with_mm

NOTICED = 1e-6
"""Places that differ by less than this (mm) are one, and a branch that is nearer to the line it left is on it."""


class BranchEnd(Struct, frozen=True):
    """One end of the branch `name`, whose rails are `faces` seen from the tip at the distance `u` in the view `parent`.

    `shift` is how far to the left of the parent's reference line the branch's begins; `hand` the side it parts to, None
    where the path tells; `key_path` the key that says where the end lies.
    """

    name: str
    parent: View
    u: float
    faces: tuple[Face, ...]
    shift: float
    hand: Hand | None
    points: Points
    key_path: KeyPath

    @property
    def parting(self) -> bool:
        """Whether the parent ends at the tip, so that only branches go on."""
        return self.u >= self.parent.path.length - NOTICED

    def start(self) -> Start:
        """Return where the branch starts, looking from the tip."""
        return start_branch(self.parent.path, self.u, self.shift, self.faces, self.hand, self.points)

    def begins(self, path: Path) -> tuple[float, ...]:
        """Return where each face begins on the branch's `path`, which is looked at from the tip."""
        return tuple(face_begin(path, face.offset, self.parent.path, self.u, self.shift) for face in self.faces)

    def departure(self, hand: Hand | None, along: str, along_station: float) -> Departure:
        """Return how the end meets its parent, the branch parting to the side `hand` from the route `along`."""
        view = self.parent
        tip = view.path.pose_at(self.u)
        station = view.station(self.u)
        return Departure(view.name, station, view.way, tip, hand, along, along_station, self.parting, self.points)


def leaving_end(spec: Spec, route: Route, faces: tuple[Face, ...], laid: Mapping[str, LaidRoute]) -> BranchEnd:
    """Return the start of a branch. Raises LayoutError where its tip lies off the parent."""
    parent = laid[route.leaves or ""]
    view = View(parent, way_of(route.facing))
    station = parent.path.length if route.at is None else route.at
    where: KeyPath = ("routes", route.name, "at")
    end = BranchEnd(
        route.name, view, view.station(station), faces, shift_of(view.faces, faces), route.hand, route.points, where
    )
    check_on_parent(end, "leaves", spec.units)
    return end


def joining_view(route: Route, laid: Mapping[str, LaidRoute]) -> View:
    """Return the view of the route that `route` joins, looked at from the joint back to where `route` comes from."""
    joint = route.joins
    if joint is None:
        raise TypeError("only a route that joins has a joint")
    facing: Facing = "against" if joint.facing == "with" else "with"
    return View(laid[joint.route], way_of(facing))


def way_of(facing: Facing) -> Way:
    """Return the direction along a route that is faced `with` its stations or `against` them."""
    return 1 if facing == "with" else -1


def check_on_parent(end: BranchEnd, verb: str, units: Unit) -> None:
    """Raise LayoutError where the tip or the vertex before it lies off the parent, in sentences with `units` first."""
    parent, length = end.parent.name, end.parent.path.length
    station = end.parent.station(end.u)
    if not -NOTICED <= station <= length + NOTICED:
        raise LayoutError(
            f'"{end.name}" {verb} "{parent}" at {format_clearance_with_mm(station, units)}, but "{parent}" '
            f"is only {format_clearance_with_mm(length, units)} long.",
            f'Lengthen "{parent}", or let "{end.name}" {verb.rstrip("s")} earlier.',
            end.key_path,
        )
    before = vertex_before_tip(end.points)
    if end.u < before:
        raise LayoutError(
            f'The points of "{end.name}" bend from the stock rail {format_clearance_with_mm(before, units)} before '
            f"their tip, but the tip is only {format_clearance_with_mm(end.u, units)} from the "
            f'{"start" if end.parent.way > 0 else "end"} of "{parent}".',
            f'Let "{end.name}" {verb.rstrip("s")} at least {format_at_least(before, units)} from there.',
            end.key_path,
        )


def turned_shapes(shapes: list[Shape]) -> list[Shape]:
    """Return shapes run through the other way."""
    return [Shape(shape.length, -shape.to_curvature, -shape.from_curvature) for shape in reversed(shapes)]


def told_hand(path: Path, along: Path, station: float) -> Hand | None:
    """Return the side to which `path` leaves `along` beyond `station`, None where the two never clearly part."""
    start = along.foot_near(path.start.point, station)[1]
    s = 0.5
    while s <= path.length:
        left = along.foot_near(path.point_at(s), station + s)[1] - start
        if abs(left) > NOTICED:
            return "left" if left > 0 else "right"
        s *= 1.2
    return None
