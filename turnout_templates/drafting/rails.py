"""Draw rails: gauge faces as firm lines, outer edges of heads as hairlines, filed heads as they are filed."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.drafting import styles
from turnout_templates.drawing.items import Fill, Item, PathItem, RegionItem, Stroke
from turnout_templates.geometry.flatten import segments_of
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.segments import polyline
from turnout_templates.trackwork.model import Bar, FiledHead, Ring, Trackwork


def draw_rails(work: Trackwork) -> Iterator[Item]:
    """Yield filed heads first, then hairlines, then the firm lines of the gauge faces, then wings and guards."""
    for head in work.heads:
        for ring in head.rings:
            yield _region(ring, styles.FILED_FILL, styles.FILED_EDGE, styles.FILED, head.rail)
    for wing in work.wings:
        yield _region(wing.ring, styles.GUIDE_FILL, styles.GUIDE_EDGE, styles.GUIDES, f"{wing.frog} wing")
    for guard in work.guards:
        yield _region(guard.ring, styles.GUIDE_FILL, styles.GUIDE_EDGE, styles.GUIDES, guard.id)
    for head in work.heads:
        yield from _edges(work, head)
    for bar in work.bars:
        yield from _faces(work, bar)


def _region(ring: Ring, fill: Fill, stroke: Stroke, layer: str, part: str) -> RegionItem:
    return RegionItem((polyline(ring, closed=True),), fill, stroke, layer, part)


def _edges(work: Trackwork, head: FiledHead) -> Iterator[Item]:
    """Yield the outer edge of a head where it is untouched."""
    face = head.stretch.owner.face
    path = work.layout.route(head.stretch.owner.route).path
    offset = face.offset + face.outward * work.spec.rail.head
    for low, high in head.edges:
        yield PathItem(segments_of(Parallel(path, offset, low, high)), styles.EDGE, styles.RAILS, head.rail)


def _faces(work: Trackwork, bar: Bar) -> Iterator[Item]:
    """Yield the gauge face of a bar as exact lines, one item for each route it runs along."""
    for stretch in bar.stretches:
        path = work.layout.route(stretch.owner.route).path
        curve = Parallel(path, stretch.owner.face.offset, stretch.low, stretch.high)
        yield PathItem(segments_of(curve), styles.FACE, styles.RAILS, bar.id)
