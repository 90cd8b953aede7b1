"""Mark frogs: theoretical and practical point, knuckle or noses, with number and angle; and name the guards."""

from __future__ import annotations

import math
from collections.abc import Iterator

from turnout_templates.drafting import styles
from turnout_templates.drafting.bases import materials
from turnout_templates.drafting.labels import Label
from turnout_templates.drawing.items import Item, MarkItem
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance, format_degrees

_CROSS, _CROSS_HEADS = 3.0, 3.0
_RING, _RING_HEADS = 0.8, 1.0
"""Size in mm of the marks of a frog, and in widths of the head the most that they have: in N they would hide it."""


def draw_frogs(work: Trackwork) -> Iterator[Item]:
    """Yield a cross at each theoretical point, a ring at each practical one, a tick where each face is broken."""
    head = work.spec.rail.head
    for frog in work.frogs:
        yield MarkItem(
            "cross", frog.point, min(_CROSS, _CROSS_HEADS * head), styles.FROGS, frog.heading, styles.MARK, frog.id
        )
        if frog.practical:
            yield MarkItem(
                "ring", frog.practical, min(_RING, _RING_HEADS * head), styles.FROGS, frog.heading, styles.MARK, frog.id
            )
        for owner, nose in zip((frog.first, frog.second), frog.noses, strict=True):
            if nose is not None:
                pose = work.layout.route(owner.route).path.pose_at(nose).shifted(owner.face.offset)
                yield MarkItem("tick", pose.point, 1.6 * head, styles.FROGS, pose.heading, styles.MARK, frog.id)


def label_frogs(work: Trackwork) -> Iterator[Label]:
    """Yield the label of each frog with its number and angle, and of each guard with its flangeway."""
    half = max(gauge.width for gauge in work.spec.gauges.values()) / 2 + work.spec.ties.overhang
    for frog in work.frogs:
        yield Label(
            frog_text(frog), frog.point, frog.heading, _outer_side(frog), half + 1.5, 0, bold=True, part=frog.id
        )
    made_of = materials(work)
    for guard in work.guards:
        path = work.layout.route(guard.beside.route).path
        face = guard.beside.face
        pose = path.pose_at(sum(guard.straight) / 2).shifted(face.offset - face.outward * guard.flangeway)
        strip = ", strip" if made_of[guard.id] == "strip" else ""
        text = f"{guard.id} flangeway {format_clearance(guard.flangeway, work.spec.units)}{strip}"
        yield Label(text, pose.point, pose.heading, face.outward, work.spec.ties.overhang + 1.5, 6, 1.8, part=guard.id)


def frog_text(frog: Frog) -> str:
    """Return what a frog is called on paper: "F2 No. 6.00, 9.527 deg"; a K says so."""
    kind = "" if frog.kind == "V" else " K"
    return f"{frog.id}{kind} No. {frog.number:.2f}, {format_degrees(frog.angle)}"


def _outer_side(frog: Frog) -> int:
    """Return the side of the first route on which the frog lies."""
    return 1 if frog.first.face.offset >= 0 else -1


def frog_keep_clear(frog: Frog, head: float) -> float:
    """Return the radius in mm that seams should keep from a frog: to where its heel has opened."""
    return 4.0 * head / (2.0 * math.sin(frog.angle / 2)) + 5.0
