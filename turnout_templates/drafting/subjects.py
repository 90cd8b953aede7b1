"""What a detail shows, before it is known how much larger: a place, what lies round it and the lengths to be told."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from turnout_templates.drawing.dimensions import Span
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace


class Remark(Struct, frozen=True):
    """What is told in words: a `text` with one `{}` for each of `names`.

    Of details that are alike the texts are the same, and the names may differ.
    """

    text: str
    names: tuple[str, ...] = ()


def told_of_all(remarks: Sequence[Remark]) -> str:
    """Return what alike remarks say of all their subjects, each name said once: `G1, G5 or G9 beside R1`."""
    columns = zip(*(remark.names for remark in remarks), strict=True)
    return remarks[0].text.format(*(_or(list(dict.fromkeys(column))) for column in columns))


def _or(names: Sequence[str]) -> str:
    return " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))


class Subject(Struct, frozen=True):
    """A frog or a switch to be shown larger.

    `pose` is its place and what runs from left to right on paper; `work` is what lies round it, `reach` are the points
    that are to be seen and `least` those of them that must be, where paper is too small for all. `spans` are the
    lengths to be told, from point to point at full size; their `side` is as seen along `pose`. `words` say what it is,
    `remarks` all that no length tells. What is `wished` is shown where the notes are as wide.
    """

    id: str
    kind: str
    words: Remark
    pose: Pose
    work: Trackwork
    reach: tuple[Point, ...]
    least: tuple[Point, ...]
    spans: tuple[Span, ...]
    remarks: tuple[Remark, ...] = ()
    wished: tuple[Point, ...] = ()

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
