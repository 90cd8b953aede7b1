"""Tell where the bars of points are fast in the frogs on them, so that what lies between there and the tip can move.

Lengths are told along the point's gauge face from its filed tip, as one measures the bar.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from turnout_templates.alignment.model import Layout
from turnout_templates.alignment.solving import practical_toe
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.frogs.frog_parts import Frog
from turnout_templates.trackwork.frogs.knuckles import heel_of
from turnout_templates.trackwork.pieces.gap_size import room_for_gap
from turnout_templates.trackwork.polarity.circuit import Circuit
from turnout_templates.trackwork.polarity.feeds import is_set_apart
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace
from turnout_templates.trackwork.ties.holding import bound

FrogsOn = Mapping[RouteFace, Sequence[Frog]]


def frogs_on(frogs: Sequence[Frog]) -> FrogsOn:
    """Return the frogs by the gauge faces that they lie on."""
    found: dict[RouteFace, list[Frog]] = {}
    for frog in frogs:
        for owner in (frog.first, frog.second):
            found.setdefault(owner, []).append(frog)
    return found


class PointFace(Struct, frozen=True):
    """The gauge face of a `point`, measured along it from the filed tip toward the heel (mm)."""

    point: PointRail
    line: Parallel

    def length_to(self, station: float) -> float:
        """Return how far along the face a station of the point's route lies behind its tip, negative before it."""
        return self.point.way * self.line.length_between(self.point.tip, station)

    def station_at(self, length: float) -> float:
        """Return the station of the point's route that lies `length` mm of face behind its tip."""
        return self.line.station_after(self.point.tip, self.point.way * length)


def face_of(layout: Layout, point: PointRail) -> PointFace:
    """Return the gauge face of a point."""
    return PointFace(point, layout.route(point.owner.route).parallel(point.owner.face))


class FastPlaces(Struct, frozen=True):
    """Where bars of points are fast in the frogs on them."""

    spec: Spec
    layout: Layout
    on_face: FrogsOn
    circuit: Circuit

    def fast_behind(self, face: PointFace) -> float | None:
        """Return how far behind its tip (mm) the first place lies in which a point's bar is fast, None without one.

        That is the toe of a V behind the place at which the point is clear, the heel of one whose point the bar ends
        in, or the near edge of the tie that the bar's end at a K is soldered to: where its face stops for the other's
        flangeway, or at the crossing, where it is one bent bar with the other rail. That tie may lie as far before the
        end as ties may from what they hold.

        Before a frog that is a section of its own the bar is fast earlier, so far ahead of the place at which it may
        first be cut (its knuckle, a heel, its end at a K) that a whole tie, the gap and its clearances fit between:
        `room_for_gap`, common practice, no source. Not before the point is clear; then the gap finds no room.
        """
        places = (self._fast_at(face, frog) for frog in self.on_face.get(face.point.owner, ()))
        return min((place for place in places if place is not None), default=None)

    def _fast_at(self, face: PointFace, frog: Frog) -> float | None:
        """Return where a point's bar is fast in a frog, None where that frog does not hold it."""
        found = self._plain_fast_at(face, frog)
        if found is None:
            return None
        place, end = found
        if is_set_apart(self.circuit, frog):
            before = end - room_for_gap(self.spec.ties, self.spec.rail.head)
            return min(place, max(before, self._clear(face)))
        return place

    def _plain_fast_at(self, face: PointFace, frog: Frog) -> tuple[float, float] | None:
        """Return where a point's bar would be fast in a frog if it needed no gap, and where that could first be cut."""
        mine = 0 if frog.first == face.point.owner else 1
        at, nose = (frog.s, frog.t)[mine], frog.noses[mine]
        if self._gap_over_tip(face, frog) is not None:
            return None
        if frog.kind == "K":
            ends = (face.length_to(end) for end in (at, nose) if end is not None)
            end = min((end for end in ends if end > 0.0), default=None)
            tie = bound(self.spec.ties) + self.spec.ties.switch_width / 2
            return None if end is None else (end - tie if end > tie else end, end)
        if frog.heel_directions[mine] * face.point.way < 0:
            heel = heel_of(self.layout, frog, self.spec.rail.head)
            reached = 0.0 if heel is None else face.length_to(heel.stations[mine])
            return (reached, reached) if reached > 0.0 else None
        toe = face.length_to(at) - practical_toe(self.spec.rail.head, frog.angle)
        return (toe, face.length_to(at if nose is None else nose)) if toe > self._clear(face) else None

    def begins_behind(self, face: PointFace) -> float:
        """Return how far behind its tip (mm) a point's rail begins: nothing, or where a gap that lies over it ends."""
        gaps = (self._gap_over_tip(face, frog) for frog in self.on_face.get(face.point.owner, ()))
        return max((gap for gap in gaps if gap is not None), default=0.0)

    def _gap_over_tip(self, face: PointFace, frog: Frog) -> float | None:
        """Return how far behind a point's tip a frog's gap ends that lies over the tip, None where it lies elsewhere.

        Such a frog does not hold the point's bar, which begins behind its gap.
        """
        mine = 0 if frog.first == face.point.owner else 1
        places = [(frog.s, frog.t)[mine], frog.noses[mine], (frog.practical_stations or (None, None))[mine]]
        ends = [face.length_to(place) for place in places if place is not None]
        return max(ends) if min(ends) <= 0.0 < max(ends) else None

    def toe_behind(self, face: PointFace) -> float | None:
        """Return how far behind its tip (mm) a point's bar would be fast if no frog needed a gap, None without one."""
        found = (self._plain_fast_at(face, frog) for frog in self.on_face.get(face.point.owner, ()))
        return min((place[0] for place in found if place is not None), default=None)

    def _clear(self, face: PointFace) -> float:
        """Return how far behind its tip (mm) a point is clear of its stock rail, of a hinged one where it is whole."""
        return face.length_to(face.point.full_head if face.point.hinge is not None else face.point.heel)
