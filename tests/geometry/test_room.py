"""Convex outlines kept apart, against shapely's overlaps."""

from __future__ import annotations

import math
import random

from shapely.geometry import MultiPoint, Polygon

from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, Room, rectangle


def convex(pick: random.Random) -> Outline:
    """Return the hull of some points drawn by chance, or a rectangle."""
    if pick.random() < 0.5:
        pose = Pose(pick.uniform(0, 60), pick.uniform(0, 60), pick.uniform(-4, 4))
        return rectangle(pose, *(pick.uniform(0.5, 6) for _ in range(4)))
    x, y, size = pick.uniform(0, 60), pick.uniform(0, 60), pick.uniform(1, 9)
    hull = MultiPoint([(x + pick.uniform(0, size), y + pick.uniform(0, size)) for _ in range(8)]).convex_hull
    return tuple((float(p), float(q)) for p, q in list(hull.exterior.coords)[:-1])


def test_what_is_free_is_what_overlaps_nothing() -> None:
    pick = random.Random(4)
    for cell in (1.7, 8.0, 500.0):
        room = Room(cell)
        placed: list[Polygon] = []
        agreed = {True: 0, False: 0}
        for _ in range(400):
            outline = convex(pick)
            shape = Polygon(outline)
            overlap = max((shape.intersection(other).area for other in placed), default=0.0)
            if 0.0 < overlap < 1e-9:
                continue
            free = room.is_free(outline)
            assert free == (overlap == 0.0)
            agreed[free] += 1
            if free:
                room.take(outline)
                placed.append(shape)
        # Both answers were put to the test, or the field was too empty or too full to tell.
        assert min(agreed.values()) > 30


def test_touching_is_no_overlap() -> None:
    room = Room(5.0)
    room.take(rectangle(Pose(0, 0, 0), 1, 1, 1, 1))
    assert room.is_free(rectangle(Pose(2, 0, 0), 1, 1, 1, 1))
    assert not room.is_free(rectangle(Pose(1.999, 0, 0), 1, 1, 1, 1))
    # A corner that points at a side, a little short of it and a little past it.
    assert room.is_free(rectangle(Pose(1 + math.sqrt(2), 0, math.pi / 4), 1, 1, 1, 1))
    assert not room.is_free(rectangle(Pose(0.999 + math.sqrt(2), 0, math.pi / 4), 1, 1, 1, 1))


def test_an_outline_in_an_outline_is_no_free_room() -> None:
    room = Room(3.0)
    room.take(rectangle(Pose(0, 0, 0.2), 20, 20, 20, 20))
    assert not room.is_free(rectangle(Pose(1, 2, 1), 1, 1, 1, 1))
    small = Room(3.0)
    small.take(rectangle(Pose(1, 2, 1), 1, 1, 1, 1))
    assert not small.is_free(rectangle(Pose(0, 0, 0.2), 20, 20, 20, 20))


def test_the_reaches_of_a_rectangle() -> None:
    # Heading north: ahead is up, left is to the west.
    corners = rectangle(Pose(10, 10, math.pi / 2), back=1, ahead=2, right=3, left=4)
    assert {(round(x, 9), round(y, 9)) for x, y in corners} == {(13, 9), (13, 12), (6, 12), (6, 9)}
    assert Polygon(corners).exterior.is_ccw
