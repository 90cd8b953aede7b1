"""What is cut out round a place is all that lies there."""

from __future__ import annotations

import math

import pytest
from paper.samples import drawn

from turnout_templates.drafting.around import Surroundings
from turnout_templates.trackwork.model import Trackwork

CASES = ["06-n-nn3-no-6", "20-ladder", "24-double-slip", "43-plain-curve-gauge-widened"]
REACH = 30.0


def faces_within(work: Trackwork, centre: tuple[float, float], reach: float) -> set[tuple[str, str, int]]:
    """Return (bar, face, whole mm of station) of what lies within reach, looked for everywhere."""
    found = set()
    for bar in work.bars:
        for stretch in bar.stretches:
            route = work.layout.route(stretch.owner.route)
            for k in range(math.ceil(stretch.low), math.floor(stretch.high) + 1):
                point = route.path.point_at(k, route.offset_at(stretch.owner.face, k))
                if math.dist(point, centre) <= reach:
                    found.add((bar.id, stretch.owner.label, k))
    return found


@pytest.mark.parametrize("name", CASES)
def test_nothing_near_is_lost_and_little_far_is_kept(name: str) -> None:
    work = drawn(name, None).job.trackwork
    around = Surroundings(work)
    route = work.layout.routes[0]
    for share in (0.0, 0.3, 0.55, 0.9):
        centre = route.path.point_at(share * route.path.length)
        near = around.near(centre, REACH)
        assert faces_within(near, centre, REACH) == faces_within(work, centre, REACH)
        kept = faces_within(near, centre, math.inf)
        assert kept <= faces_within(work, centre, 4 * REACH + 60.0)
        for things, known in ((near.ties, work.ties), (near.frogs, work.frogs)):
            assert set(things) <= set(known)
        wanted = {tie.id for tie in work.ties if math.dist(tie.centre, centre) <= REACH}
        assert {tie.id for tie in near.ties} == wanted
        for guide in (*work.wings, *work.guards):
            if min(math.dist(point, centre) for point in guide.ring) <= REACH:
                assert guide in (*near.wings, *near.guards)
