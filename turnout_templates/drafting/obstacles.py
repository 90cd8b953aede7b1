"""Turn trackwork into the outlines that no text may lie on: heads, guiding rails, frogs, throw bars, centre lines."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.drafting.switches import bar_outlines, thrown_stretches
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Stretch

STEP = 6.0
"""Rails and centre lines are looked at in lengths of this many mm."""
_CENTRE = 0.55
"""Half the width of a centre line with its small ticks (mm)."""
_DASHES = 0.2
"""Half the width kept free for the dashed lines of rails as they lie when thrown (mm)."""


def track_outlines(work: Trackwork) -> Iterator[Outline]:
    """Yield convex outlines of all heads, wings, guards, frog points, throw bars and centre lines."""
    yield from _heads(work)
    for ring in [*(wing.ring for wing in work.wings), *(guard.ring for guard in work.guards)]:
        half = len(ring) // 2
        for i in range(half - 1):
            yield (ring[i], ring[i + 1], ring[-2 - i], ring[-1 - i])
    for frog in work.frogs:
        yield rectangle(Pose(*frog.point, frog.heading), 3.0, 3.0, 2.0, 2.0)
    for switch, made in work.works():
        yield from bar_outlines(made)
        for stretch in (s for point in switch.points for s in thrown_stretches(switch, point)):
            for pose in poses_along(work, stretch):
                yield rectangle(pose, STEP / 2, STEP / 2, _DASHES, _DASHES)
    for route in work.layout:
        length = route.path.length
        count = max(1, math.ceil(length / STEP))
        for i in range(count):
            pose = route.path.pose_at((i + 0.5) * length / count)
            yield rectangle(pose, length / count / 2, length / count / 2, _CENTRE, _CENTRE)


def _heads(work: Trackwork) -> Iterator[Outline]:
    head = work.spec.rail.head
    for bar in work.bars:
        for stretch in bar.stretches:
            face = stretch.owner.face
            left, right = (head, 0.0) if face.outward > 0 else (0.0, head)
            for pose in poses_along(work, stretch):
                yield rectangle(pose, STEP / 2, STEP / 2, right + 0.1, left + 0.1)


def poses_along(work: Trackwork, stretch: Stretch) -> Iterator[Pose]:
    """Yield poses on the gauge face at the middles of short lengths of a stretch, heading as its route does."""
    route = work.layout.route(stretch.owner.route)
    count = max(1, math.ceil((stretch.high - stretch.low) / STEP))
    for i in range(count):
        s = stretch.low + (i + 0.5) * (stretch.high - stretch.low) / count
        yield route.path.pose_at(s).shifted(route.offset_at(stretch.owner.face, s))
