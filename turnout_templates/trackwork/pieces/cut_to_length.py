"""Turn bars into pieces of rail that can be bought, cut and bent, and ties into ties notched for their joiners."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from msgspec.structs import replace

from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import Hand
from turnout_templates.trackwork.frogs.contacts import BarEnd
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.bar_runs import BarRun, face_length
from turnout_templates.trackwork.pieces.cut_zones import CutZones
from turnout_templates.trackwork.pieces.gaps import LEAST_SPACES, WORKABLE_SPACES, GapPlan, plan_gaps
from turnout_templates.trackwork.pieces.joints import Cut, Joint, JointKind
from turnout_templates.trackwork.pieces.lengths import Chain, Joiner, chains_of, longest_of
from turnout_templates.trackwork.pieces.pieces import EndKind, PieceEnd, RailCuts, RailPiece
from turnout_templates.trackwork.rails.rail_parts import SAME_PLACE, RouteFace
from turnout_templates.trackwork.rails.regions import merged
from turnout_templates.trackwork.ties.holding import free_ends
from turnout_templates.trackwork.ties.joiners import Joint as JoinerPlace
from turnout_templates.trackwork.ties.joiners import Notch, notch_under
from turnout_templates.trackwork.ties.notching import end_name
from turnout_templates.trackwork.ties.tie_parts import Tie
from turnout_templates.trackwork.ties.tie_places import TiePlace

_LETTERS: Mapping[JointKind, str] = {"joint": "J", "gap": "IG", "end": "E"}
"""What the ids of joints, isolating gaps and template ends begin with: a G is a guard rail."""
_FAR, _TOUCHING = 1e6, 1e-6
"""Beyond any bar, and lengths that are one place, mm."""
_NEAR_SPACES = 2.0
"""The ties beside a joint are looked for within so many spaces."""


def cut_to_length(work: Trackwork) -> tuple[RailCuts, tuple[Tie, ...]]:
    """Return the pieces and joints of all rails, and the ties with notches for the joiners."""
    zones = CutZones(work)
    plan = plan_gaps(work, zones)
    chains = chains_of(work, zones)
    joiner = Joiner(work, zones, longest_of(work.spec))
    joiner.join(chains, plan.cuts)
    cutter = _Cutter(work, zones, plan)
    pieces, joints = cutter.cut(chains)
    cuts = RailCuts(pieces, joints, tuple(plan.shared), tuple(plan.missing), tuple(joiner.too_long))
    return cuts, cutter.notched()


class _Cutter:
    """Cuts bars into pieces and names what comes of it."""

    def __init__(self, work: Trackwork, zones: CutZones, plan: GapPlan) -> None:
        self.work, self.zones, self.plan = work, zones, plan
        self.free = [
            (route.name, station, end_name(end, route.name))
            for route in work.layout
            for end, station in free_ends(work.layout, route)
        ]
        self.at_ends: dict[tuple[str, str, Hand], list[str]] = {}
        for tie in work.ties:
            for notch in tie.notches:
                key = notch.joint.what, notch.joint.gauge, notch.joint.hand
                self.at_ends.setdefault(key, []).append(tie.id)
        self.joints: list[Joint] = []
        self.counts = {"joint": 0, "gap": 0, "end": 0}
        self.notches: dict[str, list[Notch]] = {}

    def cut(self, chains: Sequence[Chain]) -> tuple[tuple[RailPiece, ...], tuple[Joint, ...]]:
        """Return all pieces and joints in the order of the bars."""
        by_bar = {name: list(self._pieces(run)) for name, run in self.zones.runs.items()}
        whole = {name: piece for chain in chains for name, piece in self._bent_bars(chain, by_bar)}
        pieces = tuple(whole[piece.id] for pieces in by_bar.values() for piece in pieces)
        return pieces, tuple(self.joints)

    def _bent_bars(self, chain: Chain, by_bar: Mapping[str, Sequence[RailPiece]]) -> Iterator[tuple[str, RailPiece]]:
        """Yield the pieces of a chain by their ids, each with what it is one bent bar with."""
        row = [(piece, part.way) for part in chain.parts for piece in by_bar[part.run.bar.id][:: part.way]]
        groups: list[list[tuple[RailPiece, int]]] = [[row[0]]]
        for (before, _), (piece, way) in pairwise(row):
            if before.bar == piece.bar:
                groups.append([])
            groups[-1].append((piece, way))
        for i, group in enumerate(groups):
            wings = [chain.wings[0] if i == 0 else None, chain.wings[1] if i == len(groups) - 1 else None]
            bent = [wing for wing in wings if wing is not None]
            length = sum(piece.length for piece, _ in group) + sum(wing[1] for wing in bent)
            names = [piece.id for piece, _ in group] + [wing[0] for wing in bent]
            least = self._least(group, [0.0 if wing is None else wing[1] for wing in wings], length)
            for piece, _ in group:
                others = tuple(name for name in names if name != piece.id)
                yield piece.id, replace(piece, bent_with=others, cut_length=length, least_length=least)

    def _least(self, group: Sequence[tuple[RailPiece, int]], wings: Sequence[float], length: float) -> float:
        """Return how much of a bent bar no joint may lie in, with a tie space at either end that isn't its own.

        A joint lies over a tie, which is found within a space. Never less than what pieces reach over.
        """
        holes, along = [(-_FAR, wings[0])] if wings[0] else [], wings[0]
        for piece, way in group:
            for low, high in self.zones.for_joints(piece.bar):
                low, high = max(low, piece.low) - piece.low, min(high, piece.high) - piece.low
                if low < high:
                    ends = (low, high) if way > 0 else (piece.length - high, piece.length - low)
                    holes.append((along + ends[0], along + ends[1]))
            along += piece.length
        holes += [(along, _FAR + length)] if wings[1] else []
        space = self.work.spec.ties.spacing
        least = LEAST_SPACES * space
        for low, high in merged(holes, _TOUCHING):
            begin = low - space if low > _TOUCHING else 0.0
            end = high + space if high < length - _TOUCHING else length
            least = max(least, min(end, length) - max(begin, 0.0))
        return min(least, length)

    def notched(self) -> tuple[Tie, ...]:
        """Return all ties, those under joiners with the notches for them."""
        return tuple(
            replace(tie, notches=(*tie.notches, *self.notches[tie.id])) if tie.id in self.notches else tie
            for tie in self.work.ties
        )

    def _pieces(self, run: BarRun) -> Iterator[RailPiece]:
        name = run.bar.id
        cuts = sorted(self.plan.cuts.get(name, ()), key=lambda cut: cut.distance)
        first = self._bar_end(run, 0)
        inner = [self._joint(run, cut) for cut in cuts]
        last = self._bar_end(run, 1)
        lows = [0.0, *(cut.distance + cut.width / 2 for cut in cuts)]
        highs = [*(cut.distance - cut.width / 2 for cut in cuts), run.length]
        begins = [first, *(self._cut_end(run, cut, joint, 1) for cut, joint in zip(cuts, inner, strict=True))]
        ends = [*(self._cut_end(run, cut, joint, -1) for cut, joint in zip(cuts, inner, strict=True)), last]
        kinks = list(run.kinks())
        for i, (low, high) in enumerate(zip(lows, highs, strict=True)):
            stretches = run.between(low, high)
            yield RailPiece(
                id=f"{name}/{i + 1}" if cuts else name,
                bar=name,
                low=low,
                high=high,
                stretches=stretches,
                ends=(begins[i], ends[i]),
                face_length=face_length(self.work.layout, stretches),
                bendings=run.bendings(low, high),
                kinks=tuple((at - low, turn) for at, turn in kinks if low < at < high),
            )

    def _bar_end(self, run: BarRun, index: int) -> PieceEnd:
        """Return the first (0) or the last (1) end of a bar."""
        name, end = run.bar.id, self.zones.ends[run.bar.id][index]
        stretch = run.bar.stretches[-index]
        owner, station = stretch.owner, stretch.low if (stretch.way > 0) == (index == 0) else stretch.high
        kind = self._kind(end, owner, station)
        bend = end.fit.angle if end.fit is not None and end.prepared in ("knuckle", "elbow") else None
        at = end.at
        if kind == "template end":
            distance = 0.0 if index == 0 else run.length
            frogs = self.plan.isolating_ends.get((name, index), ())
            at = self._add(run, "end", distance, owner, station, None, frogs).id
        return PieceEnd(kind, at, owner, station, bend)

    def _kind(self, end: BarEnd, owner: RouteFace, station: float) -> EndKind:
        if end.prepared == "square" and self._free_end(owner, station) is not None:
            return "template end"
        if end.prepared == "cut off" and (owner, round(station, 3)) in self._hinges():
            return "hinge"
        return end.prepared

    def _free_end(self, owner: RouteFace, station: float) -> str | None:
        """Return what the free end of a route at a station is called, None where none is."""
        there = (end for name, at, end in self.free if name == owner.route and abs(at - station) < SAME_PLACE)
        return next(there, None)

    def _hinges(self) -> set[tuple[RouteFace, float]]:
        points = (point for rail in self.work.rails for point in rail.points)
        return {(point.owner, round(point.hinge, 3)) for point in points if point.hinge is not None}

    def _cut_end(self, run: BarRun, cut: Cut, joint: Joint, side: int) -> PieceEnd:
        owner, station = run.place(cut.distance + side * cut.width / 2)
        return PieceEnd(cut.kind, joint.id, owner, station)

    def _joint(self, run: BarRun, cut: Cut) -> Joint:
        owner, station = run.place(cut.distance)
        return self._add(run, cut.kind, cut.distance, owner, station, cut, cut.frogs)

    def _add(
        self,
        run: BarRun,
        kind: JointKind,
        distance: float,
        owner: RouteFace,
        station: float,
        cut: Cut | None,
        frogs: tuple[str, ...],
    ) -> Joint:
        self.counts[kind] += 1
        pose = run.pose(distance)
        ties = self._ties(run, distance)
        name = f"{_LETTERS[kind]}{self.counts[kind]}"
        end = self._free_end(owner, station) if kind == "end" else None
        notched = self._notched(run, distance, owner) if kind == "joint" else ()
        if end is not None:
            notched = self.at_ends.get((end, owner.face.gauge, owner.face.hand), ())
        on = tuple(t.tie.id for t in ties)
        joint = Joint(name, kind, run.bar.id, owner, station, pose.point, on, cut, frogs, tuple(notched))
        self.joints.append(joint)
        return joint

    def _near(self, run: BarRun, distance: float) -> list[TiePlace]:
        reach = _NEAR_SPACES * max(self.work.spec.ties.spacing, self.work.spec.ties.switch_spacing)
        return self.zones.ties_about(run, distance - reach, distance + reach)

    def _ties(self, run: BarRun, distance: float) -> tuple[TiePlace, ...]:
        """Return the tie on which a place lies, else those before and after it."""
        near = self._near(run, distance)
        on = [tie for tie in near if tie.low <= distance <= tie.high]
        before = [tie for tie in near if tie.high < distance]
        after = [tie for tie in near if tie.low > distance]
        return tuple(on[:1] or [*before[-1:], *after[:1]])

    def _notched(self, run: BarRun, distance: float, owner: RouteFace) -> list[str]:
        """Notch the ties that the joiner at a place lies on, and return them."""
        notched = []
        pose = run.pose(distance)
        out = owner.face.outward * self.work.spec.rail.head / 2
        way = run.bar.stretches[run.stretch_at(distance)].way
        middle = pose.shifted(out * way)
        place = JoinerPlace("rail joint", owner.face.gauge, owner.face.hand, middle)
        for near in self._near(run, distance):
            tie = near.tie
            notch = notch_under(place, Pose(*tie.centre, tie.angle), tie.width, self.work.spec.rail.base)
            if notch is not None:
                notched.append(tie.id)
                self.notches.setdefault(tie.id, []).append(notch)
        return notched


def short_pieces(work: Trackwork, cuts: RailCuts) -> Iterator[RailPiece]:
    """Yield the pieces that gaps and joints leave shorter, with what they are bent into, than can be held.

    One that ends in a frog is held there, being soldered to the others of that frog.
    """
    frogs = {frog.id for frog in work.frogs}
    least = WORKABLE_SPACES * work.spec.ties.switch_spacing
    for piece in cuts.pieces:
        if piece.id != piece.bar and piece.cut_length < least and not frogs & {end.at for end in piece.ends}:
            yield piece
