"""Make the throw bar of a switch: where it lies, what is soldered to it, what is notched over it, the slot below it.

The bar lies alongside its headblocks, its top level with the ties, so that the base of each rail that does not move
with it is notched. With the bar in the middle of its travel every point stands half open.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from msgspec import Struct

from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import RailSection, Spec
from turnout_templates.trackwork.points.bar_places import bar_reach, bar_width
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import BarPosition, BaseNotch, Slot, Spot, ThrowBar
from turnout_templates.trackwork.rails.across import Across, RailsByPlace, station_at
from turnout_templates.trackwork.rails.rail_parts import RailSide
from turnout_templates.trackwork.rails.regions import without

_NOTCH_CLEARANCE = 0.25
"""A notch is longer than the bar is wide by this part of its width at either end (common practice, no source)."""
_WIRE = 1 / 3
"""Thickness of the throw wire in widths of the bar, which leaves as much beside its hole (common practice, no source:
about 0.6 mm in HO)."""
_SLOT_CLEARANCE = 1.0
"""A slot is longer and wider than the wire needs by this many wires (common practice, no source)."""


def make_throw_bar(spec: Spec, layout: Layout, switch: Switch, rails: RailsByPlace) -> ThrowBar | None:
    """Return the throw bar of a switch, None where nothing is thrown."""
    pose, side = switch.bar_pose(layout.route(switch.parent).path), switch.bar_side
    if pose is None or switch.bar_station is None or switch.throw is None:
        return None
    shifts = _shifts(layout, switch, pose) if switch.switching == "stub" else {}
    travel = max(shifts.values()) - min(shifts.values()) if shifts else switch.throw
    middle = (max(shifts.values()) + min(shifts.values())) / 2 if shifts else 0.0
    right, left = (end + middle for end in bar_reach(spec, layout, switch))
    far = right if side > 0 else left
    found = rails.across(pose, right - travel / 2, left + travel / 2)
    across = sorted(found, key=lambda rail: abs(rail.left - far))
    moved = tuple(rail for rail in across if _moves(switch, rail))
    staying = tuple(rail for rail in across if rail not in moved)
    section = _Section(pose, spec.rail, far, travel, middle if shifts else None, moved, staying)
    width = bar_width(spec)
    slot = section.slot(side, _WIRE * width)
    stands = {route: shift - middle for route, shift in shifts.items()} or _positions(switch, moved, travel)
    places = [BarPosition(route, left) for route, left in stands.items()]
    return ThrowBar(
        pose=pose,
        station=switch.bar_station,
        right=right,
        left=left,
        side=side,
        width=width,
        travel=travel,
        spots=tuple(section.spot(rail) for rail in moved),
        gaps=tuple(section.gaps(slot.along)),
        notches=tuple(_notch(layout, switch, rail, pose, width) for rail in staying),
        slot=slot,
        positions=tuple(sorted(places, key=lambda position: side * position.left)),
    )


def _notch(layout: Layout, switch: Switch, rail: Across, pose: Pose, width: float) -> BaseNotch:
    """Return where a rail that stays is notched over the bar."""
    half, turn = width * (0.5 + _NOTCH_CLEARANCE), switch.bar_turn
    path, offset = layout.route(rail.owner.route).path, rail.owner.face.offset
    ends = [station_at(path, offset, pose, ahead, rail.station + rail.way * ahead) for ahead in (-half, half)]
    kept = sorted(min(max(end, rail.stretch.low), rail.stretch.high) for end in ends)
    middle = switch.bar_from_tip - rail.left * math.sin(turn)
    along = half / math.cos(turn)
    return BaseNotch(rail.rail, rail.owner, (kept[0], kept[1]), (middle - along, middle + along))


def _shifts(layout: Layout, switch: Switch, pose: Pose) -> dict[str, float]:
    """Return how far to the left of where they are drawn the swinging rails of a stub lie at the bar, by route.

    Its rails, which swing about one place, are shifted by nearly alike: the mean of them is told.
    """
    lead = layout.route(switch.onward[0])
    shifts: dict[str, list[float]] = {lead.name: [0.0]}
    for butt in switch.points:
        if butt.owner.route != lead.name:
            path, offset = layout.route(butt.owner.route).path, butt.owner.face.offset
            fixed = path.point_at(butt.parts, offset)
            station = nearest_station(lead.path, fixed)[0]
            beside = lead.path.foot_near(fixed, station)[1]
            face = min((face for face in lead.faces), key=lambda face: abs(face.offset - beside))
            lies = lead.path.point_at(station_at(lead.path, face.offset, pose, 0.0, station), face.offset)
            thrown = path.point_at(station_at(path, offset, pose, 0.0, butt.parts), offset)
            shifts.setdefault(butt.owner.route, []).append(pose.local(thrown)[1] - pose.local(lies)[1])
    return {route: math.fsum(found) / len(found) for route, found in shifts.items()}


def _positions(switch: Switch, moved: tuple[Across, ...], travel: float) -> dict[str, float]:
    """Return how far to the left of the middle of its travel the bar of moving points stands, by route.

    A point is drawn closed, half the travel to its outer side from where it is then.
    """
    outward = {rail.owner: rail.outward for rail in moved}
    point = next((point for point in switch.moving_points if point.owner in outward), None)
    if point is None:
        return {}
    closed = outward[point.owner] * travel / 2
    to_branch = closed if switch.leads_to_branch(point) else -closed
    return {switch.onward[0]: -to_branch, switch.branch: to_branch}


def _moves(switch: Switch, rail: Across) -> bool:
    """Tell whether a rail over the bar moves with it: a point behind its tip, or a swinging rail before the toe."""
    for point in switch.points:
        if point.owner == rail.owner and point.begins == "point" and point.beyond_tip(rail.station) > 0.0:
            return True
        if point.owner == rail.owner and point.begins == "butt":
            return point.beyond_tip(point.parts) < point.beyond_tip(rail.station) < 0.0
    return False


class _Section(Struct, frozen=True):
    """What lies over a throw bar, as seen along the track at `pose`: rails that are `moved` by it and rails `staying`.

    Places are mm to the left of the pose; `far` is the end of the bar in the middle of its `travel`. A point is drawn
    closed and stands half the travel to its gauge side when the bar is there; swinging rails stand `middle` to the left
    of how they are drawn, which is None where the rails are points.
    """

    pose: Pose
    rail: RailSection
    far: float
    travel: float
    middle: float | None
    moved: tuple[Across, ...]
    staying: tuple[Across, ...]

    def _shift(self, rail: Across) -> float:
        """Return how far to the left of where it is drawn a moved rail lies in the middle of the travel."""
        return -rail.outward * self.travel / 2 if self.middle is None else self.middle

    def spot(self, rail: Across) -> Spot:
        """Return where a moved rail is soldered: at that edge of its base with more room beside the rails that stay."""
        low, high = rail.base(self.rail.head, self.rail.base)
        edges: tuple[tuple[RailSide, float], ...] = (("gauge", low), ("outer", high))
        if rail.outward < 0:
            edges = (("gauge", high), ("outer", low))
        side, edge = max(edges, key=lambda named: self._clear(named[1] + self._shift(rail)))
        middle = edge + self._shift(rail)
        clear = self._clear(middle)
        place, along = self.pose.beside(edge), abs(middle - self.far)
        return Spot(rail.owner, side, place, along, None if clear == math.inf else clear)

    def _clear(self, place: float) -> float:
        """Return how near a place on the bar comes to the base of a rail that stays; infinite where none does."""
        low, high = place - self.travel / 2, place + self.travel / 2
        bases = (rail.base(self.rail.head, self.rail.base) for rail in self.staying)
        return min((max(base[0] - high, low - base[1]) for base in bases), default=math.inf)

    def gaps(self, hole: float) -> Iterator[float]:
        """Yield where the bar's copper is cut, mm from its far end: midway between rails of two polarities.

        Where the `hole` for the wire lies between them, which may be metal, midway from there to the nearer end's rail.
        """
        for rail, other in pairwise(self.moved):
            if rail.outward != other.outward:
                near, far = self.spot(rail).along, self.spot(other).along
                yield (near + (hole if near < hole < far else far)) / 2

    def slot(self, side: int, wire: float) -> Slot:
        """Return the slot for a `wire` so thick (mm): in the widest place between rails, however the bar is thrown.

        Of places as wide as each other the one nearer the bar's far end; heading to the side it is thrown from.
        """
        bases = [rail.base(self.rail.head, self.rail.base) for rail in self.staying]
        for rail in self.moved:
            low, high = rail.base(self.rail.head, self.rail.base)
            shift, half = self._shift(rail), self.travel / 2
            bases.append((low + shift - half, high + shift + half))
        track = [rail.left for rail in (*self.moved, *self.staying)]
        room = without((min(track), max(track)), bases) if track else []
        middles = [(high - low, (low + high) / 2) for low, high in room]
        _, place = max(
            middles, key=lambda gap: (round(gap[0], 6), -abs(gap[1] - self.far)), default=(0.0, self.middle or 0.0)
        )
        pose = self.pose.shifted(place).turned(side * math.pi / 2)
        more = (1 + _SLOT_CLEARANCE) * wire
        return Slot(pose, self.travel + more, more, wire, abs(place - self.far))
