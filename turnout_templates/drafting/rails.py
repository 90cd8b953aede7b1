"""Draw rails: gauge faces as firm lines, outer edges of heads as hairlines, filed heads as they are filed."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.drafting import styles
from turnout_templates.drawing.items import Fill, Item, PathItem, RegionItem, Stroke
from turnout_templates.geometry.flatten import segments_of
from turnout_templates.geometry.segments import Segment, polyline
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Bar, FiledHead, Ring, RouteFace


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
    yield from _filed_sides(work)


def _region(ring: Ring, fill: Fill, stroke: Stroke, layer: str, part: str) -> RegionItem:
    return RegionItem((polyline(ring, closed=True),), fill, stroke, layer, part)


def _edges(work: Trackwork, head: FiledHead) -> Iterator[Item]:
    """Yield the outer edge of a head where it is untouched."""
    for low, high in head.edges:
        edge = face_lines(work, head.stretch.owner, low, high, out=work.spec.rail.head)
        yield PathItem(edge, styles.EDGE, styles.RAILS, head.rail)


def _faces(work: Trackwork, bar: Bar) -> Iterator[Item]:
    """Yield the gauge face of a bar as exact lines, one item for each route it runs along."""
    for stretch in bar.stretches:
        face = face_lines(work, stretch.owner, stretch.low, stretch.high)
        yield PathItem(face, styles.FACE, styles.RAILS, bar.id)


def _filed_sides(work: Trackwork) -> Iterator[Item]:
    """Yield the other route's gauge face where the bar that carries the point of a V is filed to it."""
    practical = {frog.id: frog.practical_stations for frog in work.frogs}
    spliced = {fit.frog: fit for fit in work.fits if fit.what == "spliced"}
    for point in (fit for fit in work.fits if fit.what == "point"):
        tip, other = practical[point.frog], spliced.get(point.frog)
        if point.bar is not None and other is not None and tip is not None:
            low, high = sorted((tip[1], other.end))
            yield PathItem(face_lines(work, other.owner, low, high), styles.FACE, styles.RAILS, point.bar)


def draw_splices(work: Trackwork) -> Iterator[PathItem]:
    """Yield the line along which the bar that is spliced to the point of a V lies against the outer edge of that."""
    head = work.spec.rail.head
    points = {fit.frog: fit for fit in work.fits if fit.what == "point" and fit.bar is not None}
    for other in (fit for fit in work.fits if fit.what == "spliced" and fit.bar is not None):
        point = points.get(other.frog)
        if point is None or other.whole is None:
            continue
        route, path = work.layout.route(other.owner.route), work.layout.route(point.owner.route).path
        ends = ((other.end, 0.0), (other.whole, other.owner.face.outward * head))
        places = (route.path.point_at(s, route.offset_at(other.owner.face, s) + out) for s, out in ends)
        low, high = sorted(path.foot_near(place, point.end)[0] for place in places)
        yield PathItem(face_lines(work, point.owner, low, high, head), styles.SPLICE, styles.BASES, other.bar or "")


def face_lines(work: Trackwork, owner: RouteFace, low: float, high: float, out: float = 0.0) -> tuple[Segment, ...]:
    """Return the lines of what lies `out` mm outward of a gauge face, widened where the gauge is."""
    curves = work.layout.route(owner.route).lie(owner.face, low, high, out)
    return tuple(segment for curve in curves for segment in segments_of(curve))
