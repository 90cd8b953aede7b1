"""Turn trackwork and findings into the drawing: every item at full size, with what placing sheets must know."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from msgspec.structs import replace

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.grouping import group_findings
from turnout_templates.drafting import styles
from turnout_templates.drafting.bases import BarsByFace, draw_bases, label_bases, mark_outlines
from turnout_templates.drafting.centre import draw_centre_lines, label_curves, name_routes
from turnout_templates.drafting.frogs import draw_frogs, frog_keep_clear, label_frogs
from turnout_templates.drafting.joints import draw_joints, joint_outlines
from turnout_templates.drafting.labels import Label, LabelRoom
from turnout_templates.drafting.obstacles import track_outlines
from turnout_templates.drafting.rail_names import name_rails, name_small_parts
from turnout_templates.drafting.rails import draw_rails
from turnout_templates.drafting.switches import draw_switches, label_switches, outer_place, point_pose
from turnout_templates.drafting.switches import mark_outlines as point_outlines
from turnout_templates.drafting.ties import draw_ties
from turnout_templates.drafting.widening import draw_widening, label_widening
from turnout_templates.drafting.wiring import draw_copper_gaps, draw_feeders, feeder_outlines, label_feeders
from turnout_templates.drawing.items import Anchor, Drawing, Item, KeepClear, PathItem, TextItem
from turnout_templates.geometry.pose import Point, Pose
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.ties.tie_parts import Tie

_FROG_WEIGHT, _POINT_WEIGHT = 3.0, 2.0
_SAME_PLACE = 1.0
"""A finding this near (mm) to what a label speaks of is told by that label."""
_FLAG_SIZE, _FLAG_BEYOND = 1.8, 2.0
"""Size of the number of a finding that stands alone, and how far beyond a tie's end it begins at least (mm)."""
_POINT_CLEAR = 20.0
"""Radius in mm that seams should keep from points and their headblocks."""


def draft_drawing(work: Trackwork, findings: tuple[Finding, ...]) -> Drawing:
    """Return the drawing of `work` with a numbered flag for each of the `findings`."""
    room = LabelRoom()
    for outline in track_outlines(work):
        room.track.take(outline)
        room.take(outline)
    marks = list(draw_bases(work))
    for mark in marks:
        for outline in mark_outlines(mark):
            room.track.take(outline)
    for outline in (*point_outlines(work), *joint_outlines(work), *feeder_outlines(work)):
        room.track.take(outline)
    gaps = list(draw_copper_gaps(work))
    for gap in gaps:
        for outline in mark_outlines(gap) if isinstance(gap, PathItem) else ():
            room.track.take(outline)
    small_names, small_labels = name_small_parts(work, room)
    route_names, route_labels = name_routes(work, room)
    items: list[Item] = [*draw_ties(work, room), *(item for item in gaps if item.layer == styles.BARE)]
    labels = [*label_frogs(work), *label_switches(work), *label_bases(work), *route_labels]
    labels += [*label_curves(work), *label_widening(work), *label_feeders(work)]
    placed = list(room.place_all([*_flagged(work, labels, findings), *small_labels]))
    centre = list(draw_centre_lines(work, room))
    items += [item for item in centre if item.layer == styles.CENTRE]
    placed[:0] = [item for item in centre if isinstance(item, PathItem | TextItem) and item.layer != styles.CENTRE]
    names = list(name_rails(work, room))
    flags = 2 * sum(item.layer == styles.FINDINGS for item in placed)
    placed[len(placed) - flags : len(placed) - flags] = [
        item for item in names if item.layer in (styles.LEADERS, styles.LABELS)
    ]
    items += [item for item in placed if isinstance(item, PathItem)]
    items += draw_rails(work)
    items += draw_widening(work)
    items += marks
    items += [item for item in gaps if item.layer == styles.WIRING]
    items += draw_feeders(work)
    items += draw_joints(work)
    items += [item for item in small_names if item.layer == styles.JOINTS]
    items += route_names
    items += [item for item in (*small_names, *names) if item.layer == styles.RAIL_NAMES]
    items += draw_switches(work)
    items += draw_frogs(work)
    items += [item for item in placed if isinstance(item, TextItem)]
    return Drawing(tuple(items), tuple(_keep_clear(work)), tuple(_anchors(work)))


def _flagged(work: Trackwork, labels: Sequence[Label], findings: tuple[Finding, ...]) -> Iterator[Label]:
    """Yield labels with the numbers, on the list of findings, of those that are about their features.

    A place that none of them speaks of has a label of its own, beyond the nearer end of the tie there.
    """
    flags: dict[Point, list[int]] = {}
    for number, group in enumerate(group_findings(findings), start=1):
        for place in group.places:
            flags.setdefault(place, []).append(number)
    near: dict[int, list[int]] = {}
    features = shapely.STRtree(shapely.points([label.at for label in labels]))
    ties = shapely.STRtree([shapely.Polygon(tie.corners()) for tie in work.ties] if flags else [])
    for at, numbers in flags.items():
        best = features.query_nearest(shapely.Point(at), max_distance=_SAME_PLACE, all_matches=False).tolist()
        if best:
            near.setdefault(best[0], []).extend(numbers)
        else:
            nearest = ties.query_nearest(shapely.Point(at), all_matches=False).tolist()
            yield _flag(_see(numbers), at, work.ties[nearest[0]] if nearest else None)
    for k, label in enumerate(labels):
        yield replace(label, text=f"{label.text}, {_see(sorted(set(near[k])))}") if k in near else label


def _flag(text: str, at: Point, tie: Tie | None) -> Label:
    """Return a label for the place of a finding, whose leader runs to the nearer end of the tie there."""
    if tie is None:
        return Label(text, at, 0.0, -1, _FLAG_BEYOND, 9, _FLAG_SIZE, layer=styles.FINDINGS)
    along, _ = Pose(*tie.centre, tie.angle).local(at)
    clear = max(tie.length / 2 - abs(along), 0.0) + _FLAG_BEYOND
    heading, side = tie.angle - math.pi / 2, 1 if along >= 0.0 else -1
    return Label(text, at, heading, side, clear, 9, _FLAG_SIZE, layer=styles.FINDINGS)


def _see(numbers: Sequence[int]) -> str:
    return "see finding " + ", ".join(str(number) for number in numbers)


def _keep_clear(work: Trackwork) -> Iterator[KeepClear]:
    for frog in work.frogs:
        yield KeepClear(frog.point, frog_keep_clear(frog, work.spec.rail.head), _FROG_WEIGHT)
    for switch in work.switches:
        yield KeepClear(switch.filed_tip.point, _POINT_CLEAR, _POINT_WEIGHT)


def _anchors(work: Trackwork) -> Iterator[Anchor]:
    """Yield the points that people measure between when the sheets are joined."""
    bars = BarsByFace(work)
    for switch in work.switches:
        yield Anchor(outer_place(switch, bars), point_pose(work, switch.outer, switch.outer.tip).point)
    for frog in work.frogs:
        yield Anchor(frog.id, frog.point)
    for route in work.layout:
        if route.departure is None:
            yield Anchor(f"{route.name} start", route.path.start.point)
        yield Anchor(f"{route.name} end", route.path.end.point)
