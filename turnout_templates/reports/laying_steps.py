"""Tell the steps in which rails, frogs, points and guards are laid, in the order of `trackwork.working_order`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.reports.bench_gauges import guard_checks, track_gauges
from turnout_templates.reports.build_steps import Step
from turnout_templates.reports.cautions import SOLDERING
from turnout_templates.reports.id_lists import names, numbers
from turnout_templates.reports.lengths import fine_of, length_of
from turnout_templates.reports.point_rows import bar_positions
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.carried import PiecesByFace
from turnout_templates.trackwork.frog_parts import Guard, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces import RailPiece
from turnout_templates.trackwork.switch_model import Switch
from turnout_templates.trackwork.switch_parts import PointWork, ThrowBar
from turnout_templates.trackwork.working_order import LayStep, StageKind, working_order
from turnout_templates.units import format_degrees

_TITLES: Mapping[StageKind, str] = {
    "first rails": "Lay the first rail",
    "frog": "Frog {}",
    "wings": "Wings of {}",
    "stock rails": "Outer rails by gauge",
    "closure rails": "Closure rails",
    "points": "Points of {}",
    "guards": "Guards",
    "throw bar": "Throw bar of {}",
}
_ON_LINE = "Over its line on the paper; straights with a straight-edge, curves by the chords of the gauging record."


def laying_steps(work: Trackwork) -> Iterator[Step]:
    """Yield the steps; the first of them says how to take care when soldering."""
    steps = working_order(work)
    teller = _Teller(work)
    for i, step in enumerate(steps):
        title = teller.title(step)
        cautions = () if i else (SOLDERING,)
        yield Step(title, tuple(teller.do(step)), tuple(teller.check(step)), cautions)


@dataclass(slots=True)
class _Teller:
    """Says of each step what to do and what to check."""

    work: Trackwork
    pieces: dict[str, RailPiece] = field(init=False)
    guides: dict[str, Wing | Guard] = field(init=False)
    switches: dict[str, tuple[Switch, tuple[PointWork, ...], ThrowBar | None]] = field(init=False)
    loose: dict[str, list[str]] = field(init=False)
    bars: BarsByFace = field(init=False)
    carried: PiecesByFace = field(init=False)
    ends: dict[str, dict[str, RailPiece]] = field(default_factory=dict)
    begun: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        """Look up parts by their ids."""
        work = self.work
        self.pieces = {piece.id: piece for piece in work.pieces}
        guides: tuple[Wing | Guard, ...] = (*work.wings, *work.guards)
        self.guides = {guide.id: guide for guide in guides}
        self.switches = {switch.id: (switch, made.points, made.bar) for switch, made in work.works()}
        self.loose = _loose(work)
        self.bars = BarsByFace(work)
        self.carried = PiecesByFace(work.pieces)
        for piece in work.pieces:
            for end in piece.ends:
                self.ends.setdefault(end.at or "", {})[end.kind] = piece

    def title(self, step: LayStep) -> str:
        """Return what a step is called."""
        if step.kind == "first rails" and len({self.pieces[name].bar for name in step.parts}) > 1:
            return "Lay the first rails, each by its own line"
        return f"Swinging rails of {step.at}" if self._swings(step) else _TITLES[step.kind].format(step.at)

    def _swings(self, step: LayStep) -> bool:
        """Tell whether a step lays the swinging rails of a stub."""
        return step.kind == "points" and step.at is not None and self.switches[step.at][0].switching == "stub"

    def do(self, step: LayStep) -> Iterator[str]:
        """Yield what to do in a step: what is special there, then the parts and where they are fast."""
        at, kind = step.at, step.kind
        if kind == "throw bar" and at is not None:
            yield from self._throw_bar(at)
            return
        if kind == "frog" and at is not None:
            yield from self._frog(at, step)
        rails = self._told(step.parts)
        if kind == "guards":
            yield from (f"{self._guard(name)}." for name in step.parts)
            yield "Strip or rail, with the flangeway gauge between guard and rail while you solder."
        elif rails:
            yield f"Lay {'; '.join(rails)}{_HOW.get(kind, '')}."
            yield from self._fast(step)

    def check(self, step: LayStep) -> Iterator[str]:
        """Yield what to check after a step, with which gauge."""
        work, at, kind = self.work, step.at, step.kind
        if kind == "first rails":
            yield _ON_LINE
        if kind in ("stock rails", "closure rails", "points", "frog", "wings"):
            gauges = self._gauges(step)
            if gauges:
                wide = ", wider on curves as the gauging record tells" if self._is_widened(step) else ""
                yield f"Track gauge, wherever the other rail lies: {track_gauges(work, gauges)}{wide}."
        if kind == "frog" and at is not None and work.frog(at).kind == "V":
            yield "Both faces on their lines, the point on its mark."
        if kind in ("frog", "wings"):
            yield from self._flangeways(step)
        if self._swings(step):
            yield "They slide freely from the fixed end to the toe, and meet the rails beyond it in line and level."
        elif kind == "points":
            yield "Each point closes on its rail without a gap, and springs back free of every loose tie."
        if kind == "guards":
            yield from (f"{told}." for told in guard_checks(work, step.parts))
            yield "Span gauge, over guard and wing, wherever both stand: it must drop in freely."
        if kind == "throw bar" and at is not None:
            yield from self._openings(at)

    def _told(self, parts: Sequence[str]) -> list[str]:
        """Return the pieces and wings of a step, those of one bent bar together."""
        told: list[str] = []
        done: set[str] = set()
        for name in parts:
            piece = self.pieces.get(name)
            if piece is not None and name not in done:
                together = [name, *(other for other in parts if other in self._joined(piece, parts))]
                done.update(together)
                told.append(" with ".join(together))
            elif name in self.guides and name not in done:
                told.append(name)
        return told

    def _joined(self, piece: RailPiece, parts: Sequence[str]) -> set[str]:
        """Return the parts of a step that are one bent bar with a piece."""
        found, waiting = set[str](), [piece]
        while waiting:
            for other in waiting.pop().bent_with:
                if other not in found and other != piece.id and other in parts:
                    found.add(other)
                    waiting += [self.pieces[other]] if other in self.pieces else []
        return found

    def _frog(self, name: str, step: LayStep) -> Iterator[str]:
        """Yield how a frog is made."""
        frog = self.work.frog(name)
        if name in self.begun:
            yield f"What waited for another frog, of {name}:"
            return
        self.begun.add(name)
        what = f"{name}, No. {frog.number:.2f}, {format_degrees(frog.angle)}"
        ends = self.ends.get(name, {})
        if frog.kind == "K":
            yield f"{what}, a K: first the bent bar at the elbow, then each nose, a flangeway from the rail before it."
        elif "point" in ends and "spliced" in ends:
            point, spliced = ends["point"].id, ends["spliced"].id
            how = (
                "Solder the two in a jig to that angle, or over the enlarged detail, then lay them as one."
                if point in step.parts and spliced in step.parts
                else "They are soldered together in place, by the step that lays the later one."
            )
            yield f"{what}: {point} carries the point, {spliced} is spliced to it. {how}"
        else:
            yield f"{what}: made by the rails that end here."
        if len(step.parts) == 1:
            yield "All its rails are laid in other steps: set its marks now."

    def _fast(self, step: LayStep) -> Iterator[str]:
        """Yield what joins the rails of a step, where they move, and which tie is the first that holds them."""
        pieces = [self.pieces[name] for name in step.parts if name in self.pieces]
        joints = dict.fromkeys(end.at for piece in pieces for end in piece.ends if end.kind == "joint" and end.at)
        if joints:
            yield f"Joiners on at {names(joints)}, with a hair's breadth between the ends."
        moving = [piece for piece in pieces if any(end.kind in ("point of switch", "butt") for end in piece.ends)]
        told = [
            f"{piece.id} moves on ties {numbers(self.loose[piece.bar])}" for piece in moving if piece.bar in self.loose
        ]
        if step.at is not None and self._swings(step):
            yield from self._swinging(self.switches[step.at][0])
        elif told:
            yield f"Solder or spike to every tie but those on which they move: {'; '.join(told)}."
        elif step.kind == "first rails":
            yield (
                "Solder to every copper-clad tie under it, and spike or glue it to the wood ones: a tack at each end, "
                "then the middle, then the rest."
            )

    def _swinging(self, switch: Switch) -> Iterator[str]:
        """Yield between which places and on which ties the rails of a stub swing."""
        low, high = sorted((switch.station, switch.filed_station))
        ties = [tie.id for tie in self.work.ties if tie.route == switch.parent and low < tie.station < high]
        over = f", over ties {numbers(ties)}" if ties else ""
        yield (
            f"They are fast up to {length_of(self.work, switch.station)} of {switch.parent} and swing from there to "
            f"the toe at {length_of(self.work, switch.filed_station)}{over}: solder to none of these. Cut them square "
            "at the toe."
        )

    def _is_widened(self, step: LayStep) -> bool:
        """Tell whether the gauge is wider somewhere along the rails of a step."""
        stretches = (s for name in step.parts if name in self.pieces for s in self.pieces[name].stretches)
        return any(
            widened.begin < s.high and widened.end > s.low
            for s in stretches
            for widened in self.work.layout.route(s.owner.route).widened
        )

    def _guard(self, name: str) -> str:
        guard = self.guides[name]
        if not isinstance(guard, Guard):
            raise TypeError("only guards are laid as guards")
        along = dict.fromkeys(piece for piece, _ in self.carried.within(guard.beside, guard.ends))
        guarded = names([*guard.frogs, *guard.switches])
        return f"Guard {name} along {names(along) or guard.beside.label}, for {guarded}"

    def _gauges(self, step: LayStep) -> list[Gauge]:
        """Return the gauges that run on the rails of a step, in the order of the spec."""
        faces = (s.owner.face for name in step.parts if name in self.pieces for s in self.pieces[name].stretches)
        carried = {gauge.name for face in faces for gauge in face.gauges}
        return [gauge for name, gauge in self.work.spec.gauges.items() if name in carried]

    def _flangeways(self, step: LayStep) -> Iterator[str]:
        """Yield the flangeways of the wings or noses of a step."""
        told = [
            f"{name} {fine_of(self.work, self.guides[name].flangeway)}" for name in step.parts if name in self.guides
        ]
        frog = self.work.frog(step.at) if step.at is not None else None
        if frog is not None and frog.kind == "K" and step.kind == "frog":
            wide = (frog.second.face.flangeway, frog.first.face.flangeway)
            told += [
                f"nose of {self.carried.at(owner, nose) or owner.label} {fine_of(self.work, groove)}"
                for owner, nose, groove in zip((frog.first, frog.second), frog.noses, wide, strict=True)
                if nose is not None
            ]
        if told:
            yield f"Flangeway gauge: {'; '.join(told)}."

    def _throw_bar(self, name: str) -> Iterator[str]:
        switch, _, bar = self.switches[name]
        if bar is None:
            return
        points = [self.bars.begun(point) for point in switch.moving_points]
        held = names(filter(None, points)) or "the swinging rails"
        yield (
            f"Slip the bar, {fine_of(self.work, bar.length)} long, under the rails between its headblocks; with its "
            f"travel at the middle solder {held} to it at the places of the table of throw bars. Nothing else."
        )

    def _openings(self, name: str) -> Iterator[str]:
        _, points, bar = self.switches[name]
        if bar is not None:
            yield f"Travel {fine_of(self.work, bar.travel)}; at each end the rails lie on their lines."
            if bar.stops_between:
                stops = ", ".join(bar_positions(self.work, bar))
                yield f"So they do wherever it stops, from the end of its travel away from the machine: {stops}."
        for point in points:
            wanted = f", {fine_of(self.work, point.wanted, bracket='=')} wanted" if point.missing > 0 else ""
            yield (
                f"Opening beside {self.bars.begun(point.point)}: {fine_of(self.work, point.opening.least)} at the least"
                f"{wanted}."
            )


_HOW: Mapping[StageKind, str] = {
    "wings": ", the flangeway gauge between wing and frog",
    "stock rails": ", the track gauge on the rails that lie",
    "closure rails": ", the track gauge on the rails that lie",
}


def _loose(work: Trackwork) -> dict[str, list[str]]:
    """Return by bar the ties on which it moves."""
    loose: dict[str, list[str]] = {}
    for tie in work.ties:
        for bar in tie.loose:
            loose.setdefault(bar, []).append(tie.id)
    return loose
