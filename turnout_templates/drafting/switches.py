"""Mark switches: where points begin, where they have a full head, their heel, the throw bar and the headblocks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from turnout_templates.alignment.faces import side
from turnout_templates.alignment.leaving import angled
from turnout_templates.drafting import styles
from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.drafting.labels import Label
from turnout_templates.drawing.items import Item, MarkItem, PathItem, RegionItem
from turnout_templates.geometry.flatten import segments_of
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Pose
from turnout_templates.geometry.room import Outline, rectangle
from turnout_templates.geometry.segments import polyline
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.points.switch_model import Switch, Switching
from turnout_templates.trackwork.points.switch_parts import SwitchWork, ThrowBar
from turnout_templates.trackwork.rails.rail_parts import PointRail, Stretch
from turnout_templates.trackwork.ties.tie_parts import Tie
from turnout_templates.units import format_clearance, format_length

_TICK_HEADS = 2.4
"""Length of a mark across a rail, in widths of its head."""
_MARK_HALF = 0.2
"""Half the width kept free for a mark across a rail (mm)."""
_SPOT, _DRILL = 0.5, 0.8
"""Sizes of the dot where a point is soldered to the throw bar, and of the mark where that is drilled (mm)."""
_BESIDE = 0.6
"""Marks of one name so near each other along the track (mm) share a label."""
_KINDS: Mapping[Switching, str] = {"points": "", "stub": ", stub", "fixed": ", fixed separation"}
"""What the label of a switch adds for its kind."""


def draw_switches(work: Trackwork) -> Iterator[Item]:
    """Yield the throw bars with their slots, and the marks on every point rail."""
    for switch, made in work.works():
        if made.bar is not None:
            yield from throw_bar(switch, made.bar)
        yield MarkItem("tick", switch.tip.point, 4.0, styles.POINTS, switch.tip.heading, styles.MARK, switch.id)
        for point in switch.points:
            yield from thrown_position(work, switch, point)
        for pose in _marked(work, switch, made):
            size = _TICK_HEADS * work.spec.rail.head
            yield MarkItem("tick", pose.point, size, styles.POINTS, pose.heading, styles.MARK, switch.id)


def throw_bar(switch: Switch, bar: ThrowBar) -> Iterator[Item]:
    """Yield a throw bar in the middle of its travel, where it is soldered and drilled, and the slot below it."""
    for outline, style in ((bar.outline(), styles.BAR), (slot_outline(bar), styles.MARK)):
        yield RegionItem((polyline(outline, closed=True),), styles.NO_FILL, style, styles.POINTS, switch.id)
    yield MarkItem(
        "saltire", bar.slot.pose.point, _DRILL, styles.POINTS, bar.slot.pose.heading, styles.DRILL, switch.id
    )
    for spot in bar.spots:
        yield MarkItem("dot", spot.place, _SPOT, styles.POINTS, part=switch.id)


def slot_outline(bar: ThrowBar) -> Outline:
    """Return the corners of the slot in the baseboard."""
    half, side = bar.slot.length / 2, bar.slot.width / 2
    return rectangle(bar.slot.pose, half, half, side, side)


def bar_outlines(made: SwitchWork) -> Iterator[Outline]:
    """Yield the corners of the throw bar of a switch, if there is one."""
    if made.bar is not None:
        yield made.bar.outline()


def _marked(work: Trackwork, switch: Switch, made: SwitchWork) -> Iterator[Pose]:
    """Yield the places on point rails that are marked: those with a name, and where points spring from or turn."""
    for point in switch.points:
        yield from (point_pose(work, point, station) for station, _, _ in named_stations(point))
    yield from (point_pose(work, told.point, told.fix_station) for told in made.points)


def mark_outlines(work: Trackwork) -> Iterator[Outline]:
    """Yield the places of the marks across point rails, which no rail's name may lie on."""
    half = _TICK_HEADS * work.spec.rail.head / 2
    for switch, made in work.works():
        for pose in _marked(work, switch, made):
            yield rectangle(pose, _MARK_HALF, _MARK_HALF, half, half)


def thrown_position(work: Trackwork, switch: Switch, point: PointRail) -> Iterator[Item]:
    """Yield the gauge face of a stub's swinging rail as it lies thrown for a route that leaves: dashed."""
    for stretch in thrown_stretches(switch, point):
        curve = Parallel(
            work.layout.route(stretch.owner.route).path, stretch.owner.face.offset, stretch.low, stretch.high
        )
        yield PathItem(segments_of(curve), styles.BAR, styles.POINTS, switch.id)


def thrown_stretches(switch: Switch, point: PointRail) -> Iterator[Stretch]:
    """Yield where a swinging rail lies thrown for `point`, if that is of a route that leaves at a stub."""
    if point.begins == "butt" and point.owner.route != switch.onward[0]:
        yield Stretch(point.owner, min(point.parts, point.tip), max(point.parts, point.tip), point.way)


def point_pose(work: Trackwork, point: PointRail, station: float) -> Pose:
    """Return the pose on the gauge face of a point at a station of its route."""
    return work.layout.route(point.owner.route).path.pose_at(station).shifted(point.owner.face.offset)


def label_switches(work: Trackwork) -> Iterator[Label]:
    """Yield the labels of all switches, placed on the side the branch leaves to where there is room."""
    bars, ties = BarsByFace(work), {tie.id: tie for tie in work.ties}
    for switch, made in work.works():
        toward = side(switch.hand)
        half = max(abs(f.offset) for f in work.layout.route(switch.parent).faces) + work.spec.ties.overhang
        tip = switch.tip
        yield Label(
            f"{switch.id} {begin_name(work, switch)}{_KINDS[switch.switching]}",
            tip.point,
            tip.heading,
            toward,
            half + 1.5,
            1,
            bold=True,
            part=switch.id,
        )
        if switch.bar_station is not None and switch.throw is not None:
            bar = switch.pose_on(work.layout.route(switch.parent).path, switch.bar_station)
            places = (
                f"{len(switch.onward)} positions, " if switch.switching == "stub" and len(switch.onward) > 2 else ""
            )
            text = f"{switch.id} throw bar, {places}throw {format_clearance(switch.throw, work.spec.units)}"
            yield Label(text, bar.point, bar.heading, toward, half + 1.5, 2, size=1.8, part=switch.id)
        if switch.swinging:
            middle = tip.ahead(switch.swinging / 2)
            text = f"rails swing over {format_length(switch.swinging, work.spec.units)}"
            yield Label(text, middle.point, middle.heading, -toward, half + 1.5, 3, part=switch.id)
        yield from _point_labels(work, switch, half)
        yield from _spring_labels(work, made, bars, ties, half)


def outer_name(switch: Switch) -> str:
    """Return what the place is called at which the switch's outer rail begins, and lengths are measured from."""
    return {"point": "filed tip", "fixed": "fixed rail", "butt": "toe"}[switch.outer.begins]


def outer_place(switch: Switch, bars: BarsByFace) -> str:
    """Return the same with the switch and the bar that begins there: `S1 filed tip of R4a`."""
    name = bars.begun(switch.outer)
    return f"{switch.id} {outer_name(switch)}{f' of {name}' if name else ''}"


def begin_name(work: Trackwork, switch: Switch) -> str:
    """Return what the switch's tip is called for its kind of points."""
    if switch.switching == "stub":
        return "fixed end"
    here = switch.end_of(work.layout.route(switch.branch))
    return "point of switch" if here is not None and angled(here[1].points) is not None else "tangent point"


def named_stations(point: PointRail) -> tuple[tuple[float, str, int], ...]:
    """Return the stations marked on a rail that begins at a switch, each with its name and its label's rank."""
    if point.begins == "butt":
        return ((point.parts, "fixed end", 4), (point.tip, "toe", 3))
    if point.begins == "fixed":
        return ((point.parts, "flange leaves the stock rail", 4), (point.tip, "fixed rail begins", 3))
    return ((point.tip, "filed tip", 3), (point.full_head, "full head", 4), (point.heel, "heel", 4))


def _point_labels(work: Trackwork, switch: Switch, half: float) -> Iterator[Label]:
    """Yield the labels of the rails that begin at a switch, each on the side that its rail lies on.

    Marks of one name that lie side by side on that side share one.
    """
    told: list[tuple[str, int, float]] = []
    for point in switch.points:
        toward = point.owner.face.outward
        if point.begins == "butt" and point is not switch.outer:
            continue  # all of a stub's rails begin side by side: one label tells
        clear = max(half - abs(point.owner.face.offset), 0.0) + 1.5
        for station, name, rank in named_stations(point):
            pose = point_pose(work, point, station)
            along = switch.tip.local(pose.point)[0]
            if any((name, toward) == known[:2] and abs(along - known[2]) < _BESIDE for known in told):
                continue
            told.append((name, toward, along))
            yield Label(name, pose.point, pose.heading, toward, clear, rank, size=1.8, part=switch.id)


def _spring_labels(
    work: Trackwork, made: SwitchWork, bars: BarsByFace, ties: Mapping[str, Tie], half: float
) -> Iterator[Label]:
    """Yield where each point springs from or turns, and from which tie on its rail is soldered down."""
    for told in made.points:
        owner = told.point.owner
        pose = point_pose(work, told.point, told.fix_station)
        own = bars.begun(told.point)
        text = f"{own} {'turns' if told.point.rigid else 'springs'} here".strip()
        tie = ties.get(told.first_tie or "")
        if tie is not None:
            station = work.layout.route(owner.route).path.foot_near(tie.centre, told.fix_station)[0]
            there = bars.at(owner, station)
            text += f"{f'; {there}' if there not in ('', own) else ','} soldered from tie {tie.id} on"
        clear = max(half - abs(owner.face.offset), 0.0) + 1.5
        yield Label(text, pose.point, pose.heading, owner.face.outward, clear, 8, size=1.8, part=made.switch)
