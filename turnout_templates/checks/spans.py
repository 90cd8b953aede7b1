"""Check that no two guides stand so far apart that the backs of a wheelset would bind between them.

A guide is a guard, a wing, or the side of a rail cut as a guard. What stands `w` mm inside one rail of a gauge leaves
what is opposite a place at least gauge less `w` less span inside the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import shapely
from msgspec import Struct
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.faces import opposite
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.names import Names
from turnout_templates.checks.opposite import HeadsByPlace
from turnout_templates.checks.phrase import Phrase, clearance, phrase
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.current.joined import Joined
from turnout_templates.trackwork.frogs.frog_parts import Guard, GuidingSide, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import RouteFace
from turnout_templates.trackwork.rails.regions import CRUMB, strip

_ROUNDING = 1e-6
_FLAT = 0.005
"""Regions may be off by this much (mm): two curves are flattened to a sagitta of 0.002 mm each."""
_NEAR = 0.5
"""Nothing stands nearer to a face than this part of its flangeway but the rail itself, where its wing begins."""

_Guide = Guard | Wing | GuidingSide


class _Bound(Struct, frozen=True):
    """Two guides, by name, with `span` mm between their guiding sides for the wheels of a gauge, beside `point`.

    It should be `most` mm at most.
    """

    names: tuple[str, str]
    gauge: Gauge
    span: float
    most: float
    point: Point


def check_span(work: Trackwork) -> Iterator[Finding]:
    """Report guides and wings so far apart that the backs of a wheelset would bind between them.

    A wheelset meets both where its other wheel runs on a face of that V: the wing stands beside that face at the face's
    flangeway, the guard, or the side cut as one, beside the opposite rail at its own.
    """
    frogs = {frog.id: frog for frog in work.frogs}
    names = Names(work)
    guides: list[Guard | GuidingSide] = [*work.guards, *work.sides]
    for guide in guides:
        route = work.layout.route(guide.beside.route)
        for frog in (frogs[n] for n in _guarded(guide) if n in frogs):
            for gauge in guide.beside.face.gauges:
                face = RouteFace(route.name, opposite(route.faces, guide.beside.face, gauge))
                span = gauge.width - guide.flangeway - face.face.flangeway
                if frog.kind != "V" or face not in (frog.first, frog.second) or span <= gauge.span + _ROUNDING:
                    continue
                name = _name(names, guide)
                yield _finding(
                    f"{name} and the wing rail of {frog.id}, {gauge.name} gauge",
                    _Bound((name, frog.id), gauge, span, gauge.span, frog.point),
                    phrase("Widen the flangeway of the frog, or state clearances that fit in track_standard."),
                    "error",
                )


def check_facing_guides(work: Trackwork) -> Iterator[Finding]:
    """Report guides that face each other and do not belong to one V, as at the two K crossings of a diamond.

    Two guards that each stand at check gauge C leave 2 C - G, as at every diamond, which in some standards is more than
    the span S; no published figure says that it binds, so that the larger of the two is what they may leave. Beside a
    wing it is S. Where one belongs to another gauge, it stands nearer to its rail than a guard of this gauge would.
    Guides that hang together are told once for each gauge. A warning, because wider wheelsets pass.
    """
    bounds = list(_facing(work))
    for gauge in work.spec.gauges.values():
        for group in _joined([bound for bound in bounds if bound.gauge.name == gauge.name]):
            worst = max(group, key=lambda bound: bound.span - bound.most)
            names = " and ".join(dict.fromkeys(name for bound in group for name in bound.names))
            remedy = phrase(
                "Wheelsets with their backs further apart pass; for others set, or file, one of these back by ",
                clearance(worst.span - worst.most),
                ", or both by half of that, and try wheels of every gauge that passes.",
            )
            yield _finding(f"{names}, {gauge.name} gauge", worst, remedy, "warning")


def _finding(where: str, bound: _Bound, remedy: Phrase, level: Literal["error", "warning"]) -> Finding:
    return Finding(
        "span",
        level,
        where,
        bound.point,
        phrase(clearance(bound.span), " between their guiding sides"),
        phrase("at most ", clearance(bound.most)),
        bound.gauge.source,
        remedy,
    )


def _facing(work: Trackwork) -> Iterator[_Bound]:
    """Yield what stands too far in opposite each guard or guiding side, a V's own wings left out.

    Heads as well, but of rails that go on as a wing there: they stand a flangeway from the face, which is too far in
    where the guard is that of a narrower gauge.
    """
    names, heads = Names(work), HeadsByPlace(work)
    others: list[_Guide] = [*work.guards, *work.wings, *work.sides]
    regions = [_region(work, other) for other in others]
    tree = shapely.STRtree(regions)
    guides: list[Guard | GuidingSide] = [*work.guards, *work.sides]
    for guide in guides:
        over = guide.straight if isinstance(guide, Guard) else guide.guides
        route = work.layout.route(guide.beside.route)
        place = route.path.point_at(sum(over) / 2, guide.beside.face.offset)
        for gauge in guide.beside.face.gauges:
            face = opposite(route.faces, guide.beside.face, gauge)
            near, far = _NEAR * face.flangeway, gauge.width - guide.flangeway - gauge.span - _FLAT
            if far <= near:
                continue
            first, second = (face.offset - face.outward * deep for deep in (near, far))
            zone = strip(route.path, first, second, *over)
            standing: list[tuple[str, BaseGeometry, float]] = []
            told: set[RouteFace] = set()
            widest = max(gauge.span, between_guards(gauge))
            for index in sorted(tree.query(zone, predicate="intersects").tolist()):
                other = others[index]
                if isinstance(other, Wing):
                    told.add(other.continues)
                if other is not guide and not _one_v(guide, other, RouteFace(route.name, face)):
                    most = gauge.span if isinstance(other, Wing) else widest
                    standing.append((_name(names, other), regions[index].intersection(zone), most))
            met = ((owner, common) for owner, common in heads.within(zone) if owner not in told)
            standing += [(names.rail_at(owner, place), common, widest) for owner, common in met]
            for name, common, most in standing:
                if common.area < CRUMB:
                    continue
                depth = LineString(flatten(Parallel(route.path, face.offset, *over))).distance(common)
                span = gauge.width - guide.flangeway - depth
                if span > most + _FLAT:
                    yield _Bound((_name(names, guide), name), gauge, span, most, place)


def _one_v(guide: Guard | GuidingSide, other: _Guide, face: RouteFace) -> bool:
    """Tell whether `other` is the wing beside `face` at a V that `guide` guards, of which `check_span` tells."""
    return isinstance(other, Wing) and other.frog in _guarded(guide) and other.beside == face


def _region(work: Trackwork, guide: _Guide) -> BaseGeometry:
    """Return the metal of a guide; of the side of a rail what is filed of that rail over the length of the cut."""
    if not isinstance(guide, GuidingSide):
        return Polygon(guide.ring).buffer(0)
    face = guide.beside.face
    near, far = (face.offset - face.outward * deep for deep in (0.0, guide.flangeway + work.spec.rail.head))
    over = strip(work.layout.route(guide.beside.route).path, near, far, *guide.guides)
    parts = [part.rings for head in work.heads if head.stretch.owner == guide.owner for part in head.parts]
    return shapely.union_all([Polygon(outline, holes).buffer(0) for outline, *holes in parts]).intersection(over)


def _guarded(guide: Guard | GuidingSide) -> tuple[str, ...]:
    return guide.frogs if isinstance(guide, Guard) else guide.guarded


def between_guards(gauge: Gauge) -> float:
    """Return how far apart (mm) two guards stand that are each laid to the check gauge: 2 C - G."""
    return gauge.width - 2 * gauge.guard_flangeway


def _name(names: Names, guide: _Guide) -> str:
    if not isinstance(guide, GuidingSide):
        return guide.id
    path = names.layout.route(guide.beside.route).path
    place = path.point_at(sum(guide.guides) / 2, guide.beside.face.offset)
    return f"the side of {names.rail_at(guide.owner, place)}"


def _joined(bounds: Sequence[_Bound]) -> list[list[_Bound]]:
    """Return the pairs in groups that have guides in common, in the order of their first."""
    joined = Joined()
    for bound in bounds:
        joined.join(*bound.names)
    groups: dict[str, list[_Bound]] = {}
    for bound in bounds:
        groups.setdefault(joined.root(bound.names[0]), []).append(bound)
    return list(groups.values())
