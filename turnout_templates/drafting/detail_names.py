"""Write names of bars, joints, gaps, wings and guards into an enlarged detail, each where nothing is in its way."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from turnout_templates.drafting import styles
from turnout_templates.drafting.joints import cut_lines, cut_reach
from turnout_templates.drafting.subjects import Subject
from turnout_templates.drawing.bounds import Box, item_bounds
from turnout_templates.drawing.items import Item, TextItem
from turnout_templates.drawing.text_metrics import text_width
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.geometry.room import Outline, Room, rectangle
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.pieces.joints import Joint
from turnout_templates.trackwork.rails.rail_parts import Ring, Stretch

_SIZE, _TIE_SIZE = 2.0, 1.6
_STEP = 4.0
"""Rails are looked at in lengths of this many mm as printed."""
_TRIED = 16
"""Places along a bar at which its name is tried on either side."""
_ASIDE = (0.0, 0.5, -0.5, 0.9, -0.9)
"""Where across its tie a number may stand, in parts of what is free to the tie's edges."""
_GAP = 0.4
_LINE = 0.15
"""Half the width (mm) that is kept free for a line across a rail."""
_RISE = 0.37
"""Half the height of capital letters, in parts of the text's size."""


def name_parts(subject: Subject, factor: float, window: Box, notes: Sequence[Item]) -> list[Item]:
    """Return the names that find room in `window`, mm as printed; lines of `notes` are kept clear."""
    work = subject.work
    rails = [(bar.id, list(_strip(subject, factor, s, window))) for bar in work.bars for s in bar.stretches]
    guides: list[Wing | Guard] = [*work.wings, *work.guards]
    rings = [(guide.id, list(_sides(subject, factor, guide.ring))) for guide in guides]
    cuts = [(joint.id, list(_cut_lines(subject, factor, joint))) for joint in work.joints]
    reach = cut_reach(work) * factor
    room = Room(12.0)
    for outline in (
        *_noted(notes, window),
        *(head for _, poses in rails for head in _heads(poses)),
        *(quad for _, quads in rings for quad in quads),
        *(rectangle(line, _LINE, _LINE, reach, reach) for _, lines in cuts for line in lines),
    ):
        room.take(outline)
    beside = (work.spec.rail.head * factor / 2, reach)
    places = [
        *((name, _beside_cut(name, lines, *beside)) for name, lines in cuts),
        *((name, _beside(poses)) for name, poses in rails),
        *((name, _beside_guide(quads)) for name, quads in rings),
    ]
    return [*_named(places, room, window), *_tie_numbers(subject, factor, window, room)]


def _noted(notes: Sequence[Item], window: Box) -> Iterator[Outline]:
    """Yield what notes take of a window."""
    for box in map(item_bounds, notes):
        if box.touches(window):
            yield box.grown(0.25).corners


def _heads(poses: Sequence[tuple[Pose, float]]) -> Iterator[Outline]:
    """Yield what a head takes, length by length."""
    for pose, head in poses:
        (back, ahead), (x, y) = (pose.ahead(-_STEP / 2), pose.ahead(_STEP / 2)), pose.point
        over = pose.beside(head)
        dx, dy = over[0] - x, over[1] - y
        yield (back.point, ahead.point, (ahead.x + dx, ahead.y + dy), (back.x + dx, back.y + dy))


def _named(parts: Sequence[tuple[str, Iterator[tuple[Pose, float]]]], room: Room, window: Box) -> Iterator[TextItem]:
    """Yield the names of parts, each once, at the first free of its places."""
    named: set[str] = set()
    for name, places in parts:
        found = None if name in named else _free(name, places, room, window)
        if found is not None:
            named.add(name)
            yield _text(name, found)


def _tie_numbers(subject: Subject, factor: float, window: Box, room: Room) -> Iterator[Item]:
    """Yield the number of each tie, on the tie where nothing else is."""
    for tie in subject.work.ties:
        half, rise = text_width(tie.id, _TIE_SIZE) / 2 + 0.2, _RISE * _TIE_SIZE + 0.1
        axis = Pose(*tie.centre, tie.angle)
        ends = (axis.ahead(way * tie.length / 2).point for way in (1, -1))
        low, high = sorted(
            ((x * factor, y * factor) for x, y in map(subject.pose.local, ends)), key=lambda point: point[1]
        )
        spare = max(tie.width * factor / 2 - half, 0.0)
        for x, y in _on_tie(low, high, window, rise, spare):
            if not window.left < x - half < x + half < window.right:
                continue
            outline = ((x - half, y - rise), (x + half, y - rise), (x + half, y + rise), (x - half, y + rise))
            if room.is_free(outline):
                room.take(outline)
                at = (x, y - _RISE * _TIE_SIZE)
                yield TextItem(tie.id, at, _TIE_SIZE, styles.TIE_TEXT, 0.0, "middle", grey=0.35, part=f"tie {tie.id}")
                break


def _on_tie(low: Point, high: Point, window: Box, rise: float, spare: float) -> Iterator[Point]:
    """Yield where on the tie from `low` to `high` a number may stand, `spare` mm to either side of its axis at most.

    Near the window's lower edge, then near its upper one: amid the metal a number would be taken for a mark.
    """
    for part in range(1, 2 * _TRIED):
        for y in (window.bottom + rise + 0.25 * part, window.top - rise - 0.25 * part):
            if low[1] < y < high[1]:
                x = low[0] + (y - low[1]) / (high[1] - low[1]) * (high[0] - low[0])
                yield from ((x + aside * spare, y) for aside in _ASIDE)


def _free(name: str, places: Iterator[tuple[Pose, float]], room: Room, window: Box) -> Pose | None:
    """Return the first place at which a name is free and whole in the window, taken from `room`."""
    half = text_width(name, _SIZE) / 2 + 0.3
    for pose, off in places:
        middle = pose.shifted(off + math.copysign(_GAP + _RISE * _SIZE, off))
        if not _holds(window, middle.point):
            continue
        outline = rectangle(middle, half, half, _RISE * _SIZE + 0.15, _RISE * _SIZE + 0.15)
        if all(_holds(window, corner) for corner in outline) and room.is_free(outline):
            room.take(outline)
            return middle
    return None


def _holds(window: Box, point: Point) -> bool:
    return window.left < point[0] < window.right and window.bottom < point[1] < window.top


def _text(name: str, middle: Pose) -> TextItem:
    flat = math.remainder(middle.heading, math.pi)
    at = Pose(middle.x, middle.y, flat).beside(-_RISE * _SIZE)
    return TextItem(name, at, _SIZE, styles.RAIL_NAMES, flat, "middle", bold=True, part=name)


def _strip(subject: Subject, factor: float, stretch: Stretch, window: Box) -> Iterator[tuple[Pose, float]]:
    """Yield poses on a gauge face as printed, with how far the head reaches to the left of each, where it may show."""
    route = subject.work.layout.route(stretch.owner.route)
    count = max(1, math.ceil((stretch.high - stretch.low) * factor / _STEP))
    out = stretch.owner.face.outward * subject.work.spec.rail.head * factor
    seen = window.grown(abs(out))
    for i in range(count):
        s = stretch.low + (i + 0.5) * (stretch.high - stretch.low) / count
        pose = route.path.pose_at(s).shifted(route.offset_at(stretch.owner.face, s))
        x, y = subject.pose.local(pose.point)
        if _holds(seen, (x * factor, y * factor)):
            yield Pose(x * factor, y * factor, pose.heading - subject.pose.heading), out


def _beside(poses: list[tuple[Pose, float]]) -> Iterator[tuple[Pose, float]]:
    """Yield where a bar's name may stand: outside its head, then inside its gauge face, from its middle outward."""
    order = sorted(range(len(poses)), key=lambda i: (abs(2 * i + 1 - len(poses)), i))[:_TRIED]
    for inside in (False, True):
        for i in order:
            pose, out = poses[i]
            yield pose, math.copysign(1e-9, -out) if inside else out


def _cut_lines(subject: Subject, factor: float, joint: Joint) -> Iterator[Pose]:
    """Yield the poses, as printed, that the lines across a rail at a joint or a gap are square to."""
    for pose in cut_lines(subject.work, joint):
        x, y = subject.pose.local(pose.point)
        yield Pose(x * factor, y * factor, pose.heading - subject.pose.heading)


def _beside_cut(name: str, lines: Sequence[Pose], head: float, reach: float) -> Iterator[tuple[Pose, float]]:
    """Yield where the name of a joint may stand: beside its head next to its lines, then beyond their ends."""
    aside = text_width(name, _SIZE) / 2 + 2 * _GAP
    ways = ((lines[-1], 1), (lines[0], -1))
    for out, further in ((head, 0.0), (reach, 0.0), (reach, -aside), (head, aside), (reach, aside)):
        for pose, way in ways:
            yield from ((pose.ahead(way * (aside + further)), side * out) for side in (1, -1))


def _sides(subject: Subject, factor: float, ring: Ring) -> Iterator[Outline]:
    """Yield the quadrangles that a guiding rail's outline is made of, as printed."""
    points = [(x * factor, y * factor) for x, y in map(subject.pose.local, ring)]
    for i in range(len(points) // 2 - 1):
        yield (points[i], points[i + 1], points[-2 - i], points[-1 - i])


def _beside_guide(quads: list[Outline]) -> Iterator[tuple[Pose, float]]:
    """Yield where a guiding rail's name may stand: beside its longest part, away from the face it guides along."""
    for a, b, c, d in sorted(quads, key=lambda quad: -math.dist(quad[0], quad[1])):
        middle = ((a[0] + b[0] + c[0] + d[0]) / 4, (a[1] + b[1] + c[1] + d[1]) / 4)
        along = Pose(*middle, math.atan2(b[1] - a[1], b[0] - a[0]))
        off = along.local(((c[0] + d[0]) / 2, (c[1] + d[1]) / 2))[1]
        for ahead in (0.0, 3.0, -3.0, 6.0, -6.0, 10.0, -10.0):
            if abs(ahead) <= math.dist(a, b) / 2:
                yield along.ahead(ahead), off
                yield along.ahead(ahead), -off
