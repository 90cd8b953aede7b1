"""What a detail shows, before it is known how much larger: a place, what lies round it and the lengths to be told."""

from __future__ import annotations

from msgspec import Struct

from turnout_templates.drawing.dimensions import Span
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import RouteFace


class Subject(Struct, frozen=True):
    """A frog or a switch to be shown larger.

    `pose` is its place and what runs from left to right on paper; `work` is what lies round it, `reach` are the points
    that are to be seen and `least` those of them that must be, where paper is too small for all. `spans` are the
    lengths to be told, from point to point at full size; their `side` is as seen along `pose`. `remarks` tell the rest
    in words.
    """

    id: str
    kind: str
    words: str
    pose: Pose
    work: Trackwork
    reach: tuple[Point, ...]
    least: tuple[Point, ...]
    spans: tuple[Span, ...]
    remarks: tuple[str, ...] = ()

    def side_of(self, *points: Point) -> int:
        """Return +1 where `points` lie on the left of the pose by and large, else -1."""
        return side_of(self.pose, *points)


def side_of(pose: Pose, *points: Point) -> int:
    """Return +1 where `points` lie on the left of `pose` by and large, else -1."""
    return 1 if sum(pose.local(point)[1] for point in points) > 0 else -1


def face_point(work: Trackwork, owner: RouteFace, station: float, out: float = 0.0) -> Point:
    """Return the point on a gauge face at a station of its route, or `out` mm outward of it."""
    route = work.layout.route(owner.route)
    return route.path.point_at(station, route.offset_at(owner.face, station) + owner.face.outward * out)


def face_length(work: Trackwork, owner: RouteFace, low: float, high: float) -> float:
    """Return the length in mm of a gauge face between two stations of its route, whichever comes first."""
    path = work.layout.route(owner.route).path
    return abs((high - low) - owner.face.offset * (path.heading_at(high) - path.heading_at(low)))
