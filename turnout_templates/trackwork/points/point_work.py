"""Tell of each moving point how it is filed, from where it bends, where it is fast, and what it comes near to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from msgspec.structs import replace
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from turnout_templates.alignment.faces import side
from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Point
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard, Wing
from turnout_templates.trackwork.points.fast_places import FrogsOn, PointFace, face_of, frogs_on
from turnout_templates.trackwork.points.opening_laws import moved_share
from turnout_templates.trackwork.points.points_beside import PointsBeside
from turnout_templates.trackwork.points.separations import separations_of
from turnout_templates.trackwork.points.sliding import TiesUnderPoints
from turnout_templates.trackwork.points.switch_model import Opening, Switch
from turnout_templates.trackwork.points.switch_parts import Beside, HingeBefore, PointWork, SwitchWork
from turnout_templates.trackwork.points.switches import LEAST_SHARE, wanted_opening
from turnout_templates.trackwork.points.throw_bar import make_throw_bar
from turnout_templates.trackwork.rails.across import RailsByPlace
from turnout_templates.trackwork.rails.rail_parts import FiledHead, PointRail, RouteFace, Stretch
from turnout_templates.trackwork.rails.regions import strip
from turnout_templates.trackwork.ties.tie_parts import Tie

_LOOKS = 24
"""An open point is looked at in so many places between tip and heel."""
_NEAR_GAUGES = 0.5
"""Nothing further than this part of the gauge from a point is in its way."""
_END = 1e-3
"""Rails count that end within this (mm) of a place beside an open point."""


def work_switches(
    spec: Spec,
    layout: Layout,
    switches: tuple[Switch, ...],
    rails: RailsByPlace,
    heads: tuple[FiledHead, ...],
    frogs: tuple[Frog, ...],
    guides: Sequence[Wing | Guard],
    ties: tuple[Tie, ...],
) -> tuple[SwitchWork, ...]:
    """Return what is made at each switch, in the order of the switches."""
    if not any(switch.throw is not None for switch in switches):
        return tuple(SwitchWork(switch.id, (), None) for switch in switches)
    bench = _Bench(spec, layout, switches, rails, heads, frogs_on(frogs), guides, ties)
    works = {switch.id: [bench.point_work(switch, point) for point in switch.moving_points] for switch in switches}
    ended = _ended_by_others([work for made in works.values() for work in made], rails)
    return tuple(
        SwitchWork(
            switch.id,
            tuple(replace(work, last_tie=ended.get(work.point)) for work in works[switch.id]),
            make_throw_bar(spec, layout, switch, rails),
        )
        for switch in switches
    )


def _ended_by_others(works: Sequence[PointWork], rails: RailsByPlace) -> dict[PointRail, str | None]:
    """Return for each point whose bar ends as a point again the last tie to solder it to: the first of that other."""
    ends = {(stretch.owner, round(stretch.low, 3), round(stretch.high, 3)) for _, stretch in rails.found}
    on_face: dict[RouteFace, list[PointWork]] = {}
    for work in works:
        on_face.setdefault(work.point.owner, []).append(work)
    ended = {}
    for work in works:
        beyond = [
            other.first_tie
            for other in on_face[work.point.owner]
            if (work.point.owner, *(round(s, 3) for s in sorted((work.point.tip, other.point.tip)))) in ends
        ]
        if beyond:
            ended[work.point] = beyond[0]
    return ended


def gap_on_point(layout: Layout, frog: Frog, point: PointRail) -> float:
    """Return the station of a point's route beside which the gap begins of a frog on its face.

    The gap begins at the first of the two noses; one on the other rail counts by its foot on the point's route.
    """
    path = layout.route(point.owner.route).path
    station = frog.s if point.owner == frog.first else frog.t
    places = [station]
    for owner, nose in zip((frog.first, frog.second), frog.noses, strict=True):
        if nose is not None:
            at = layout.route(owner.route).path.point_at(nose, owner.face.offset)
            places.append(path.foot_near(at, station)[0])
    return min(places, key=point.beyond_tip)


class _Bench:
    """Everything that lies about points, found by place."""

    def __init__(
        self,
        spec: Spec,
        layout: Layout,
        switches: Sequence[Switch],
        rails: RailsByPlace,
        heads: tuple[FiledHead, ...],
        frogs: FrogsOn,
        guides: Sequence[Wing | Guard],
        ties: tuple[Tie, ...],
    ) -> None:
        self.spec, self.layout, self.rails, self.frogs = spec, layout, rails, frogs
        self.guides = guides
        self.beside = PointsBeside(layout, switches)
        self.heads: dict[RouteFace, list[FiledHead]] = {}
        for filed in heads:
            self.heads.setdefault(filed.stretch.owner, []).append(filed)
        self.rings = [Polygon(guide.ring) for guide in guides]
        self.guide_tree = shapely.STRtree(self.rings)
        self.ties = TiesUnderPoints(layout, ties, spec.ties.switch_spacing)

    def point_work(self, switch: Switch, point: PointRail) -> PointWork:
        """Return what is made of one moving point."""
        face = face_of(self.layout, point)
        fix = face.length_to(switch.fix_station(point))
        first, loose = self._ties(point, switch.fix_of(point))
        opening, wanted = self._opening(switch, face, fix)
        return PointWork(
            point=point,
            side="left" if side(point.owner.face.hand) * point.way > 0 else "right",
            planed=face.length_to(point.full_head),
            angle_at_tip=self._angle(point, point.tip),
            angle_at_full_head=self._angle(point, point.full_head),
            heel=face.length_to(point.heel),
            fix=fix,
            fix_station=face.station_at(fix),
            first_tie=first,
            last_tie=None,
            loose_ties=loose,
            beside=self._beside(switch, face, fix),
            hinges=tuple(self._hinges(switch, face)),
            opening=opening,
            least_station=face.station_at(opening.at),
            wanted=wanted,
        )

    def _opening(self, switch: Switch, face: PointFace, fix: float) -> tuple[Opening, float]:
        """Return how a point stands open as drawn, and what opening the wheels that pass it want."""
        wanted, head = wanted_opening(face.point), self.spec.rail.head
        if face.point == switch.outer or switch.throw is None:
            return switch.openings[0], wanted
        bar = face.length_to(switch.bar_station_of(face.point))
        apart = separations_of(self.layout, face, bar, head, switch.fast_of(face.point) or 0.0)
        return apart.drawn(fix, switch.throw, wanted), wanted

    def _hinges(self, switch: Switch, face: PointFace) -> Iterator[HingeBefore]:
        """Yield for each frog whose gap begins on a point that moves where it can be hinged before that."""
        point, head = face.point, self.spec.rail.head
        wanted = wanted_opening(point)
        for frog in self.frogs.get(point.owner, ()):
            gap = gap_on_point(self.layout, frog, point)
            if not point.moves_at(gap) or switch.throw is None:
                continue
            at = face.length_to(gap)
            bar = face.length_to(switch.bar_station_of(point))
            apart = separations_of(self.layout, face, bar, head, at)
            opening = apart.opening("hinged", at, switch.throw, wanted)
            at_hinge = max(0.0, apart.apart_at(at) - head)
            runs = at > face.length_to(point.full_head) and opening.least >= LEAST_SHARE * wanted
            yield HingeBefore(frog.id, opening, at_hinge, runs)

    def _angle(self, point: PointRail, station: float) -> float:
        """Return the angle in radians between the gauge faces of a point and its stock rail beside a station."""
        path, stock = self.layout.route(point.owner.route).path, self.layout.route(point.outside[0].route).path
        beside = nearest_station(stock, path.point_at(station, point.owner.face.offset))[0]
        turn = abs(math.remainder(path.heading_at(station) - stock.heading_at(beside), 2 * math.pi))
        return min(turn, math.pi - turn)

    def _ties(self, point: PointRail, fix: float) -> tuple[str | None, tuple[str, ...]]:
        """Return the first tie that a point's rail crosses wholly beyond where it is held, and those before it."""
        crossed = [(near, tie.id) for tie, (near, _) in self.ties.under(point, fix)]
        first = next((name for near, name in crossed if near >= fix), None)
        return first, tuple(name for near, name in crossed if near < fix)

    def _beside(self, switch: Switch, face: PointFace, fix: float) -> Beside | None:
        """Return what an open point comes nearest to on its gauge side, up to its heel or the first frog on it."""
        point = face.point
        far = face.length_to(point.tip + point.way * min([point.moving, *self._gaps(point)]))
        if far <= 0.0 or switch.throw is None:
            return None
        bar = face.length_to(switch.bar_station_of(point))
        path, owner = self.layout.route(point.owner.route).path, point.owner.face
        looks = [far * i / _LOOKS for i in range(_LOOKS + 1)]
        moved = [switch.throw * moved_share(s, bar=bar, fix=fix, bent=not point.rigid) for s in looks]
        places = [
            path.point_at(face.station_at(s), owner.offset - owner.outward * d)
            for s, d in zip(looks, moved, strict=True)
        ]
        found = [
            Beside(clear, s, label)
            for label, clears in self._clearances(switch, point, places)
            for s, clear in zip(looks, clears, strict=True)
        ]
        return min(found, key=lambda beside: beside.clear, default=None)

    def _gaps(self, point: PointRail) -> Iterator[float]:
        """Yield how far behind a point's tip its face is broken for the flangeway of another."""
        for frog in self.frogs.get(point.owner, ()):
            nose = frog.noses[0 if frog.first == point.owner else 1]
            if nose is not None and point.beyond_tip(nose) > 0.0:
                yield point.beyond_tip(nose)

    def _clearances(self, switch: Switch, point: PointRail, places: list[Point]) -> Iterator[tuple[str, list[float]]]:
        """Yield what lies on the gauge side of an open point, with how far it is from each of `places` on its face.

        Not what moves with it, nor points of other switches that move beside it: how those may stand is told elsewhere.
        """
        line, reach = LineString(places), _NEAR_GAUGES * min(g.width for g in point.owner.face.gauges)
        dots = shapely.points(places)
        for index in sorted(self.guide_tree.query(line, predicate="dwithin", distance=reach).tolist()):
            guide = self.guides[index]
            kind = "guard rail" if isinstance(guide, Guard) else "wing rail"
            yield f"{kind} {guide.id}", shapely.distance(dots, self.rings[index]).tolist()
        told = {other.owner for other in switch.moving_points} | self.beside.faces(point)
        for name, stretch in self.rails.near(line, reach):
            if stretch.owner in told or stretch.owner in point.outside:
                continue
            head = self._head(stretch, places)
            if not head.is_empty:
                yield f"rail {name}", shapely.distance(dots, head).tolist()

    def _head(self, stretch: Stretch, places: list[Point]) -> BaseGeometry:
        """Return what is left of the head of a rail beside some places."""
        path, face = self.layout.route(stretch.owner.route).path, stretch.owner.face
        near = sorted(nearest_station(path, place)[0] for place in (places[0], places[-1]))
        low, high = max(stretch.low, near[0] - _END), min(stretch.high, near[1] + _END)
        head = face.offset + face.outward * self.spec.rail.head
        parts: list[BaseGeometry] = []
        for filed in self.heads.get(stretch.owner, ()):
            whole = ((max(low, begin), min(high, end)) for begin, end in filed.edges)
            parts += [strip(path, face.offset, head, *ends) for ends in whole if ends[0] < ends[1]]
            cut = any(begin < high and end > low for begin, end in filed.filed)
            parts += [Polygon(ring).buffer(0) for ring in filed.rings if cut]
        return shapely.union_all(parts)
