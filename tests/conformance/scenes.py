"""Turn one description of some track into the spec text that the program reads and the tracks that the oracle reads.

Every figure is written once, as decimal text, so that both sides start from the same number. The pieces are the spec's
own mappings; what they mean is read here a second time, independently of the program.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Any

from oracle.curves import Num, Path, Piece, Place, arc, ctx, mpf, straight
from oracle.curves import place as free_place
from oracle.turnout import (
    LEFT,
    RIGHT,
    Frog,
    Start,
    Track,
    default_toe,
    entry_start,
    frog_for_curvature,
    frogs_for_angle,
    straight_start,
    tangent_start,
)

Text = str
PieceSpec = dict[str, Any]
SIGN = {"left": LEFT, "right": RIGHT}
UNIT = {"mm": mpf(1), "in": mpf("25.4"), "ft": mpf("304.8"), "m": mpf(1000)}
CLEARANCES = {"flangeway": "0.07", "check_gauge": "0.93", "span": "0.87", "point_spread": "0.9"}
"""Clearances as parts of the gauge: any will do, since no figure compared here depends on them."""
LEAST_HEEL = "1"  # mm
"""A heel follows a frog that ends its path; how long the program makes it is its own affair."""


class NoSuchFrog(Exception):
    """The oracle finds no way to build the frog that was asked for."""


def mm(text: str) -> Num:
    """Return a length such as `4 ft 8.5 in` in mm."""
    words = text.split()
    return ctx.fsum(mpf(words[i]) * UNIT[words[i + 1]] for i in range(0, len(words), 2))


def rad(text: str) -> Num:
    """Return an angle such as `12 deg` in radians."""
    number, unit = text.split()
    assert unit == "deg"
    return mpf(number) * ctx.pi / 180


def flow(value: Any) -> str:
    """Return a value as one line of YAML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {flow(item)}" for key, item in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(flow(item) for item in value) + "]"
    return str(value)


@dataclass(frozen=True)
class Leg:
    """A branch, or a free route when `at` is None."""

    name: str
    path: tuple[PieceSpec, ...]
    gauges: tuple[str, ...] = ("standard",)
    leaves: str = "main"
    at: str | None = None
    hand: str | None = None
    points: Any = "tangent"
    start: tuple[str, str, str] | None = None
    common: str | None = None

    def __hash__(self) -> int:
        """Hash by the text that it becomes."""
        return hash((self.name, flow(self.path)))


@dataclass(frozen=True)
class Scene:
    """Some track: gauges by name in written lengths, the main's pieces and whatever leaves or crosses it."""

    main: tuple[PieceSpec, ...]
    legs: tuple[Leg, ...] = ()
    gauges: tuple[tuple[str, str], ...] = (("standard", "16.5 mm"),)
    main_gauges: tuple[str, ...] | None = None
    common: str = "left"
    start: tuple[str, str, str] = ("0 mm", "0 mm", "0 deg")
    head: str = "0.889 mm"
    scale: str = "1:87.1"
    more: tuple[str, ...] = field(default=())

    def __hash__(self) -> int:
        """Hash by the spec's text."""
        return hash(self.text)

    @property
    def text(self) -> str:
        """The spec."""
        widths = dict(self.gauges)
        clearances = {
            name: {key: f"{ctx.nstr(mm(width) * mpf(part), 12)} mm" for key, part in CLEARANCES.items()}
            for name, width in widths.items()
        }
        head, tall = (f"{ctx.nstr(mm(self.head) * times, 15)} mm" for times in (1, 2))
        lines = [
            "spec: 1",
            "name: conformance",
            "units: mm",
            f"scale: {self.scale}",
            f"gauges: {flow(widths)}",
            f"track_standard: {flow(clearances)}",
            f"rail: {flow({'height': tall, 'head': head, 'base': tall})}",
            *self.more,
            "routes:",
        ]
        main = Leg("main", self.main, self.main_gauges or tuple(widths), start=self.start, common=self.common)
        for leg in (main, *self.legs):
            lines += self._route_lines(leg)
        return "\n".join(lines) + "\n"

    def _route_lines(self, leg: Leg) -> list[str]:
        lines = [f"  {leg.name}:", f"    gauges: {flow(leg.gauges)}"]
        if leg.at is None:
            x, y, heading = leg.start or ("0 mm", "0 mm", "0 deg")
            lines.append(f"    start: {flow({'x': x, 'y': y, 'heading': heading})}")
            lines.append(f"    common_rail: {leg.common or self.common}")
        else:
            lines += [f"    leaves: {leg.leaves}", f"    at: {leg.at}", f"    points: {flow(leg.points)}"]
        if leg.hand is not None:
            lines.append(f"    hand: {leg.hand}")
        return [*lines, "    path:", *(f"      - {flow(piece)}" for piece in leg.path)]

    def tracks(self) -> dict[str, Track]:
        """Return the oracle's tracks by name. Raises NoSuchFrog."""
        return {name: solved.track for name, solved in solve(self).items()}


@dataclass(frozen=True)
class Solved:
    """A track, the leg that it came from and where its frog piece ended."""

    track: Track
    leg: Leg
    frog: Frog | None


@cache
def solve(scene: Scene) -> dict[str, Solved]:
    """Return the oracle's answer to a scene. Raises NoSuchFrog."""
    widths = {name: mm(width) for name, width in scene.gauges}
    main = Leg("main", scene.main, scene.main_gauges or tuple(widths), start=scene.start, common=scene.common)
    found: dict[str, Solved] = {}
    for leg in (main, *scene.legs):
        found[leg.name] = _solve_leg(scene, leg, {name: widths[name] for name in leg.gauges}, found)
    return found


def _solve_leg(scene: Scene, leg: Leg, gauges: dict[str, Num], found: dict[str, Solved]) -> Solved:
    if leg.at is None:
        x, y, heading = leg.start or ("0 mm", "0 mm", "0 deg")
        path = Path(free_place(mm(x), mm(y), rad(heading)), tuple(plain_piece(piece) for piece in leg.path))
        return Solved(Track(leg.name, path, gauges, SIGN[leg.common or scene.common]), leg, None)
    parent = found[leg.leaves].track
    at = parent.path.length if leg.at == "end" else mm(leg.at)
    start = _start(parent, at, gauges, leg)
    path, frog = Path(start.place, start.pieces), None
    for piece in leg.path:
        if not is_open(piece):
            path = Path(path.start, (*path.pieces, plain_piece(piece)))
            continue
        begin = path.end if path.pieces else path.start
        frog = solve_frog(parent, begin, gauges, leg, at, piece["curve"], mm(scene.head))
        path = Path(path.start, (*path.pieces, *frog.pieces))
    if is_open(leg.path[-1]):
        path = Path(path.start, (*path.pieces, straight(LEAST_HEEL)))
    return Solved(Track(leg.name, path, gauges, parent.common), leg, frog)


def _start(parent: Track, at: Num, gauges: dict[str, Num], leg: Leg) -> Start:
    if leg.points == "tangent" or "hinge" in leg.points:
        return tangent_start(parent, at, gauges)
    hand = SIGN[leg.hand or ""]
    if "entry" in leg.points:
        return entry_start(parent, at, gauges, hand, rad(leg.points["entry"]))
    length, spread, tip = (mm(leg.points[key]) for key in ("length", "spread", "tip"))
    return straight_start(parent, at, gauges, hand, length=length, spread=spread, tip=tip)


def is_open(piece: PieceSpec) -> bool:
    """Say whether a piece runs to the frog."""
    curve = piece.get("curve", {})
    return curve.get("to") == "frog" or any(key in curve for key in ("frog", "frog_angle", "frog_ratio"))


def frog_angle(curve: PieceSpec) -> Num:
    """Return the angle that an open piece asks for, in radians."""
    if "frog" in curve:
        return 2 * ctx.atan(1 / (2 * mpf(curve["frog"])))
    if "frog_angle" in curve:
        return rad(curve["frog_angle"])
    return ctx.atan(1 / mpf(curve["frog_ratio"].split(":")[1]))


def solve_frog(
    parent: Track, begin: Place, gauges: dict[str, Num], leg: Leg, at: Num, curve: PieceSpec, head: Num
) -> Frog:
    """Return the frog of an open piece. Raises NoSuchFrog."""
    through = curve.get("through")
    toe = ctx.zero if through == "curved" else mm(through["straight"]) if through else None
    hand = SIGN[leg.hand or curve["turn"]]
    if curve.get("to") == "frog":
        curvature = SIGN[curve["turn"]] / mm(curve["radius"])
        return frog_for_curvature(parent, begin, gauges, hand, at=at, curvature=curvature, toe=toe, head=head)
    angle = frog_angle(curve)
    toe = default_toe(head, angle) if toe is None else toe
    frogs = frogs_for_angle(parent, begin, gauges, hand, at=at, angle=angle, toe=toe)
    if not frogs:
        raise NoSuchFrog(leg.name)
    return frogs[0]


def plain_piece(piece: PieceSpec) -> Piece:
    """Return a piece whose figures are all given."""
    if "straight" in piece:
        return straight(mm(piece["straight"]))
    if "curve" in piece:
        curve = piece["curve"]
        curvature = SIGN[curve["turn"]] / mm(curve["radius"])
        length = mm(curve["length"]) if "length" in curve else rad(curve["angle"]) / abs(curvature)
        return arc(length, curvature)
    ease = piece["easement"]
    return Piece(mm(ease["length"]), _end_curvature(ease["from"]), _end_curvature(ease["to"]))


def _end_curvature(end: Any) -> Num:
    return ctx.zero if end == "straight" else SIGN[end["turn"]] / mm(end["radius"])
