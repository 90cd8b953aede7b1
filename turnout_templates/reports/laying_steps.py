"""Tell the steps in which rails, frogs, points and guards are laid, in the order of `trackwork.working_order`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.reports.bench_gauges import guard_checks, track_gauges
from turnout_templates.reports.build_steps import Step
from turnout_templates.reports.cautions import SOLDERING
from turnout_templates.reports.fastening import Fastening
from turnout_templates.reports.frog_steps import FrogTeller
from turnout_templates.reports.id_lists import names
from turnout_templates.reports.lengths import fine_of
from turnout_templates.reports.point_rows import bar_positions
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.bench.working_order import LayStep, StageKind, working_order
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.pieces import RailPiece
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.switch_parts import PointWork, ThrowBar
from turnout_templates.trackwork.rails.carried import PiecesByFace
from turnout_templates.trackwork.rails.rail_parts import PointRail
from turnout_templates.units import format_clearance

_TITLES: Mapping[StageKind, str] = {
    "first rails": "First rail",
    "frog": "Frog {}",
    "wings": "Wings of {}",
    "stock rails": "Outer rails by gauge",
    "closure rails": "All other rails",
    "points": "Points of {}",
    "guards": "Guards",
    "throw bar": "Throw bar of {}",
}
_ON_LINE = "Over its line on the paper; straights with a straight-edge, curves by the chords of the gauging record."
_FASTEN = (
    "Solder to every copper-clad tie under it, and spike or glue it to the wood ones: a tack at each end, then the "
    "middle, then the rest. So with all rails after it, but where a step says otherwise."
)


def laying_steps(work: Trackwork) -> Iterator[Step]:
    """Yield the steps; the first of them says how to take care when soldering."""
    steps = working_order(work)
    frogs = FrogTeller(work, steps)
    teller = _Teller(work, frogs, Fastening(work, frogs.step_of))
    for i, step in enumerate(steps):
        first_do, first_check = ((), ()) if i else ((_FASTEN,), (_ON_LINE,))
        cautions = () if i else (SOLDERING,)
        yield Step(teller.title(step), (*teller.do(step, i), *first_do), (*first_check, *teller.check(step)), cautions)


@dataclass(slots=True)
class _Teller:
    """Says of each step what to do and what to check."""

    work: Trackwork
    frogs: FrogTeller
    fastening: Fastening
    pieces: dict[str, RailPiece] = field(init=False)
    guides: dict[str, Wing | Guard] = field(init=False)
    switches: dict[str, tuple[Switch, tuple[PointWork, ...], ThrowBar | None]] = field(init=False)
    bars: BarsByFace = field(init=False)
    carried: PiecesByFace = field(init=False)
    swinging: set[str] = field(init=False)

    def __post_init__(self) -> None:
        """Look up parts by their ids."""
        work = self.work
        self.pieces = {piece.id: piece for piece in work.pieces}
        guides: tuple[Wing | Guard, ...] = (*work.wings, *work.guards)
        self.guides = {guide.id: guide for guide in guides}
        self.switches = {switch.id: (switch, made.points, made.bar) for switch, made in work.works()}
        self.bars = BarsByFace(work)
        self.carried = PiecesByFace(work.pieces)
        self.swinging = {bar.id for bar in work.bars if bar.role == "swinging rail"}

    def title(self, step: LayStep) -> str:
        """Return what a step is called."""
        if step.kind == "first rails" and len({self.pieces[name].bar for name in step.parts}) > 1:
            return "First rails, each by its line"
        if self.frogs.is_rest(step):
            return f"The rest of frog {step.at}"
        return f"Swinging rails of {step.at}" if self._swings(step) else _TITLES[step.kind].format(step.at)

    def _swings(self, step: LayStep) -> bool:
        """Tell whether a step lays the swinging rails of a stub."""
        return step.kind == "points" and step.at is not None and self.switches[step.at][0].switching == "stub"

    def do(self, step: LayStep, index: int) -> Iterator[str]:
        """Yield what to do in a step: what is special there, then the parts and where they are fast."""
        at, kind = step.at, step.kind
        if kind == "throw bar" and at is not None:
            yield from self._throw_bar(at)
            return
        if kind == "frog" and at is not None:
            yield from self.frogs.how(at, index)
        rails = self._told(step.parts)
        if kind == "guards":
            yield from (f"{self._guard(name)}." for name in step.parts)
            yield "Strip or rail, with the flangeway gauge between guard and rail while you solder."
        elif rails:
            yield from self.fastening.before(step)
            yield f"Lay {'; '.join(rails)}{_HOW.get(kind, '')}."
            stub = self.switches[at][0] if at is not None and self._swings(step) else None
            yield from self.fastening.after(step, index, stub)
        yield from self.fastening.unsoldered(step)

    def check(self, step: LayStep) -> Iterator[str]:
        """Yield what to check after a step, with which gauge."""
        work, at, kind = self.work, step.at, step.kind
        if kind in ("stock rails", "closure rails", "points", "frog", "wings"):
            gauges = self._gauges(step)
            if gauges:
                wide = ", wider on curves as the gauging record tells" if self._is_widened(step) else ""
                yield f"Track gauge, wherever the other rail lies: {track_gauges(work, gauges)}{wide}."
        if kind == "frog" and at is not None and work.frog(at).kind == "V":
            yield "Both faces on their lines, the point on its mark."
        yield from self._flangeways(step)
        if self._swings(step):
            yield "They slide freely from the fixed end to the toe, and meet the rails beyond it in line and level."
        elif kind == "points":
            yield "Each point closes on its rail without a gap, and springs back free of every loose tie."
        if kind == "guards":
            yield from (f"{told}." for told in guard_checks(work, step.parts))
            yield from self._spans(step)
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

    def _spans(self, step: LayStep) -> Iterator[str]:
        """Yield what the span gauge of each gauge shows that the guards of a step guide; nothing without wings."""
        guided = {guard.gauge for guard in self.work.guards if guard.id in step.parts}
        spans = (
            f"{name} {format_clearance(gauge.span, self.work.spec.units)}"
            for name, gauge in self.work.spec.gauges.items()
            if name in guided
        )
        if self.work.wings:
            yield f"Span gauge ({'; '.join(spans)}), over guard and wing, wherever both stand: it must drop in freely."

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
        along = list(dict.fromkeys(piece for piece, _ in self.carried.within(guard.beside, guard.ends)))
        beside = names(along) or self.carried.nearest(guard.beside, sum(guard.ends) / 2) or guard.beside.label
        guarded = names([*guard.frogs, *guard.switches])
        return f"Guard {name} along {beside}, for {guarded}"

    def _gauges(self, step: LayStep) -> list[Gauge]:
        """Return the gauges that run on the rails of a step, in the order of the spec."""
        faces = (s.owner.face for name in step.parts if name in self.pieces for s in self.pieces[name].stretches)
        carried = {gauge.name for face in faces for gauge in face.gauges}
        return [gauge for name, gauge in self.work.spec.gauges.items() if name in carried]

    def _flangeways(self, step: LayStep) -> Iterator[str]:
        """Yield the flangeways of the wings and noses of a step."""
        wings = [name for name in step.parts if step.kind != "guards" and name in self.guides]
        told = [f"{name} {fine_of(self.work, self.guides[name].flangeway)}" for name in wings]
        told += self.frogs.noses(step, self.pieces)
        if told:
            yield f"Flangeway gauge: {'; '.join(told)}."

    def _throw_bar(self, name: str) -> Iterator[str]:
        switch, _, bar = self.switches[name]
        if bar is None:
            return
        points = [self._begun(point, name) for point in switch.moving_points]
        held = names(filter(None, points)) or names(self._butts(name))
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
                f"Opening beside {self._begun(point.point, name)}: {fine_of(self.work, point.opening.least)} at the "
                f"least{wanted}."
            )

    def _begun(self, point: PointRail, switch: str) -> str:
        """Return the piece that begins as a point, or the bar where a joint or gap leaves none that does."""
        bar = self.bars.begun(point)
        found = (name for kind, name in self.frogs.ends.get(switch, ()) if kind == "point of switch")
        return next((name for name in found if self.pieces[name].bar == bar), bar)

    def _butts(self, switch: str) -> list[str]:
        """Return the rails that swing at a stub."""
        return [
            name
            for kind, name in self.frogs.ends.get(switch, ())
            if kind == "butt" and self.pieces[name].bar in self.swinging
        ]


_HOW: Mapping[StageKind, str] = {
    "wings": ", the flangeway gauge between wing and frog",
    "stock rails": ", the track gauge on the rails that lie",
    "closure rails": ", the track gauge on the rails that lie",
}
