"""Turn the gauges of a route into the gauge faces of its rails.

A rail is known by its gauge face, the inner side of its head, where gauge is measured. A left rail has its face on its
right side and its head to the left of it; a right rail the other way round. Offsets are mm to the left of the route's
reference line, which is the centre line of its widest gauge.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from turnout_templates.spec.model import Gauge, Hand, other

COMMON = "common"
"""The name of the face that several gauges share."""


def side(hand: Hand) -> int:
    """Return +1 for left and -1 for right."""
    return 1 if hand == "left" else -1


class Face(Struct, frozen=True):
    """One gauge face of a route: its `gauge` name ("common" where shared), `hand`, `offset`, and who runs on it."""

    gauge: str
    hand: Hand
    offset: float
    gauges: tuple[Gauge, ...]

    def __hash__(self) -> int:
        """Return the hash of what tells faces of one route apart: they key most tables of trackwork."""
        return hash((self.gauge, self.hand, self.offset))

    @property
    def outward(self) -> int:
        """The direction from the face to its own head: +1 for a left rail, whose head lies to the left."""
        return side(self.hand)

    @property
    def flangeway(self) -> float:
        """The frog flangeway beside this face: the largest that its gauges need (mm)."""
        return max(gauge.flangeway for gauge in self.gauges)

    def turned(self) -> Face:
        """Return the face as it is when its route is run through the other way."""
        return Face(self.gauge, other(self.hand), -self.offset, self.gauges)


def faces_of(names: tuple[str, ...], common_rail: Hand, gauges: Mapping[str, Gauge]) -> tuple[Face, ...]:
    """Return the faces of a route that carries the gauges `names`, from left to right."""
    carried = tuple(gauges[name] for name in names)
    half = max(gauge.width for gauge in carried) / 2
    c = side(common_rail)
    if len(carried) == 1:
        label = carried[0].name
        faces = [Face(label, common_rail, c * half, carried), Face(label, other(common_rail), -c * half, carried)]
    else:
        faces = [Face(COMMON, common_rail, c * half, carried)]
        faces += [Face(g.name, other(common_rail), c * (half - g.width), (g,)) for g in carried]
    return tuple(sorted(faces, key=lambda face: -face.offset))


def outermost(faces: tuple[Face, ...], hand: Hand) -> Face:
    """Return the face of the widest gauge on the side `hand`."""
    return max((face for face in faces if face.hand == hand), key=lambda face: side(hand) * face.offset)


def opposite(faces: tuple[Face, ...], face: Face, gauge: Gauge) -> Face:
    """Return the other face that `gauge` runs on beside `face`."""
    return next(f for f in faces if f.hand != face.hand and any(g.name == gauge.name for g in f.gauges))
