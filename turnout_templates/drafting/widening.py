"""Mark where the gauge is wider: ticks on the rail that moves where its taper begins or ends, and a label in words."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.alignment.faces import side
from turnout_templates.alignment.model import LaidRoute
from turnout_templates.alignment.widened import Widened
from turnout_templates.drafting import styles
from turnout_templates.drafting.labels import Label
from turnout_templates.drawing.items import Item, MarkItem
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import Unit, format_clearance_with_mm, format_length

_TICK_HEADS = 2.4
"""Length of a mark across a rail, in widths of its head."""


def draw_widening(work: Trackwork) -> Iterator[Item]:
    """Yield the ticks on the rails that move, at every station where their taper changes."""
    size = _TICK_HEADS * work.spec.rail.head
    for route in work.layout:
        for stretch in route.widened:
            for face in (face for face in route.faces if face.hand == stretch.inner):
                for station, _ in stretch.within(route.path.length):
                    pose = route.path.pose_at(station).shifted(route.offset_at(face, station))
                    yield MarkItem("tick", pose.point, size, styles.RAILS, pose.heading, styles.MARK, route.name)


def label_widening(work: Trackwork) -> Iterator[Label]:
    """Yield for each stretch of wider gauge what it is and from where to where, on the inner side of the curve."""
    half = max(gauge.width for gauge in work.spec.gauges.values()) / 2 + work.spec.ties.overhang
    for route in work.layout:
        for stretch in route.widened:
            at = min(max(sum(stretch.full) / 2, 0.0), route.path.length)
            pose = route.path.pose_at(at)
            text = widening_words(route, stretch, work.spec.units)
            yield Label(text, pose.point, pose.heading, side(stretch.inner), half + 9.0, 8, part=route.name)


def widening_words(route: LaidRoute, stretch: Widened, unit: Unit) -> str:
    """Return how much wider the gauge is, from where to where, and where its tapers begin and end."""
    knots = stretch.within(route.path.length)
    most = max(by for _, by in knots)
    full = [station for station, by in knots if by == most]
    begin, first, last, end = (format_length(s, unit) for s in (knots[0][0], full[0], full[-1], knots[-1][0]))
    words = f"gauge + {format_clearance_with_mm(most, unit, bracket='=')} from {first} to {last}"
    tapers = [*([f"from {begin}"] if begin != first else []), *([f"to {end}"] if end != last else [])]
    return f"{words}, taper{'s' if len(tapers) > 1 else ''} {' and '.join(tapers)}" if tapers else words
