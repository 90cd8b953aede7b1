"""The validated spec: frozen values in millimetres and radians, nothing left to guess.

Everything here is what the reader of the YAML meant, with every default filled in. Curvatures are signed, left
positive, in 1/mm; a straight has curvature zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct

from turnout_templates.geometry.pose import Pose
from turnout_templates.standards.track import Limits

Hand = Literal["left", "right"]
YARD = 914.4
"""One yard in mm, the length in which rail, and strip for ties, are commonly sold: common practice, no source."""
KeyPath = tuple[str | int, ...]


def other(hand: Hand) -> Hand:
    """Return the opposite hand."""
    return "right" if hand == "left" else "left"


class Scale(Struct, frozen=True):
    """A modelling scale: its `name` as written and its `ratio` (87.1 for HO)."""

    name: str
    ratio: float


class RailSection(Struct, frozen=True):
    """A rail by its `name` and its `height`, `head` width and `base` width in mm, with the `source` of the figures."""

    name: str
    height: float
    head: float
    base: float
    source: str


class Gauge(Struct, frozen=True):
    """A gauge of this spec and the clearances that its wheels need, all in mm.

    `width` is measured between gauge faces; `flangeway` is the frog's; `check_gauge` runs from the face of the
    running rail beside the frog's point to the guarding face of the guard rail, so that the guard's own flangeway is
    `width - check_gauge`; `span` is the most that guard face and wing face may be apart; `point_spread` is the most
    that the backs of open point and stock face may be apart. `source` names the document of the clearances.
    `max_width` is the widest that the document named by `max_width_source` lets the gauge be, None where none was read.
    `flangeway_depth` is the least depth of a flangeway where the spec states it, `standard_depth` what the document
    named by `depth_source` says of it, None where it says nothing. `limits` are what the document of the clearances
    allows to be measured, without those of figures that the spec gives itself.
    """

    name: str
    width: float
    flangeway: float
    check_gauge: float
    span: float
    point_spread: float
    source: str
    width_source: str
    max_width: float | None = None
    max_width_source: str = ""
    flangeway_depth: float | None = None
    standard_depth: float | None = None
    depth_source: str = ""
    limits: Limits = Limits()

    @property
    def depth(self) -> float | None:
        """How deep a flangeway is at least (mm): as the spec says, else the standard's; None where neither does."""
        return self.standard_depth if self.flangeway_depth is None else self.flangeway_depth

    @property
    def guard_flangeway(self) -> float:
        """The groove between guard rail and the running rail beside it."""
        return self.width - self.check_gauge


class Straight(Struct, frozen=True):
    """A straight piece of `length` mm."""

    length: float


class Curve(Struct, frozen=True):
    """A circular piece: `length` mm along the reference line at signed `curvature`."""

    length: float
    curvature: float


class Easement(Struct, frozen=True):
    """A piece whose curvature changes evenly over `length` mm from `from_curvature` to `to_curvature`."""

    length: float
    from_curvature: float
    to_curvature: float


class ToFrog(Struct, frozen=True):
    """A curve that runs to the frog, the piece that a branch leaves open.

    At most one of `angle` (radians: the frog is given, the curvature is found) and `curvature` (the curve is given,
    the frog is found) is set; neither where both are open, to be found where the route joins another. `number` is the
    frog number as the reader stated it, where there is one. `toe` is the length in mm that is straight before the
    theoretical point: None takes the default of practice, zero curves through the frog. `lead`
    places the theoretical point: mm from the tip along the parent's reference line; None leaves it to the curve.
    """

    angle: float | None
    curvature: float | None
    number: float | None
    toe: float | None
    lead: float | None = None


class OpenPiece(Struct, frozen=True):
    """A piece that leaves something open, to be found where the route joins another: what is None is open.

    `length` in mm, `from_curvature` and `to_curvature` signed, `angle` in radians, signed, where that is given in place
    of a length; `turn` is +1 or -1 where the side of an open curvature is said, 0 where it is not.
    """

    length: float | None
    from_curvature: float | None
    to_curvature: float | None
    angle: float | None = None
    turn: int = 0


PathPiece = Straight | Curve | Easement | OpenPiece | ToFrog


class TangentPoints(Struct, frozen=True):
    """Point and closure rail are one bar that leaves the stock rail tangent, cut and hinged at `hinge` if that is said.

    `hinge` is mm behind the filed tip, along each point rail; None where the bar is whole.
    """

    hinge: float | None = None


class StraightPoints(Struct, frozen=True):
    """Points planed straight: `length`, heel `spread` and `tip` thickness in mm; `hinge` as of tangent points."""

    length: float
    spread: float
    tip: float
    hinge: float | None = None


class EntryPoints(Struct, frozen=True):
    """Points that leave the stock rail at `angle` radians, the path giving their pieces; `hinge` as of tangent ones."""

    angle: float
    hinge: float | None = None


class FixedPoints(Struct, frozen=True):
    """Nothing moves: the rail that would be a point begins where a flangeway has opened; a guard rail leads past."""


class StubPoints(Struct, frozen=True):
    """No points: the rails before the toe swing, and at the toe all rails onward begin anew, `throw` mm from theirs.

    With a `length` (mm) the swinging rails are thrown straight, turned at their fixed end by asin(throw/length);
    without, they bend along the branch's own curve.
    """

    throw: float
    length: float | None = None


Points = TangentPoints | StraightPoints | EntryPoints | FixedPoints | StubPoints


Facing = Literal["with", "against"]


class Joint(Struct, frozen=True):
    """Where the end of a path meets another route, tangent: which `route`, and at what station.

    `at` is the station in mm, "end" where that route ends, "anywhere" where the path comes to it. `facing` tells
    whether the path runs with the direction of that route there or against it; `points` are those of the switch there.
    """

    route: str
    at: float | Literal["end", "anywhere"]
    facing: Facing
    points: Points = TangentPoints()


class Widening(Struct, frozen=True):
    """How a route's gauge is widened on its curves.

    `steps` are (radius, by, taper) in mm: on curves tighter than the radius the gauge is widened by so much, of several
    by the most; `taper` is the length over which that comes and goes. `source` says where the figures come from.
    """

    steps: tuple[tuple[float, float, float], ...]
    source: str


class Route(Struct, frozen=True):
    """One way through the trackwork: where it starts, what it is made of and which gauges run on it.

    A route either starts free at `start`, or leaves the route `leaves` at station `at` (mm; None means where that
    route ends) `facing` with or against its direction, and may end where it `joins` another.
    `gauges` names the gauges, `common_rail` the side of the rail that they share (it matters only where
    there are two or more). `hand` is the side it leaves to as seen from the tip, None where the path tells.
    `bend_curvature` (1/mm, left positive) is that to which a free, straight route and all that leaves it are bent after
    they were laid out, None where they stay as laid. `widening` is None where the gauge is the same on curves.
    """

    name: str
    gauges: tuple[str, ...]
    common_rail: Hand
    path: tuple[PathPiece, ...]
    start: Pose | None = None
    leaves: str | None = None
    at: float | None = None
    hand: Hand | None = None
    points: Points = TangentPoints()
    facing: Facing = "with"
    joins: Joint | None = None
    bend_curvature: float | None = None
    widening: Widening | None = None


Copper = Literal["all", "every second", "every third", "every fourth", "where soldered", "none"]
Orientation = Literal["square", "mean", "fanned"]


class TieRules(Struct, frozen=True):
    """How ties are cut, spaced and turned, in mm; `copper` names where copper-clad ties go.

    `width` and `thickness` are the section of a plain tie, `switch_width` that of a switch tie; `spacing` is from
    centre to centre on plain track and `switch_spacing` under switches and frogs; `overhang` is from a running
    rail's gauge face to the tie end; `headblock_overhang` the extra on the throwing side of each headblock;
    `length_step` is what cut lengths are rounded up to; `gap` the least to be left between two ties, at their
    sides and ends. `orientation` tells how ties under two tracks are turned. `source` says where the figures come from.
    Ties are cut from strip that is sold in lengths of `strip`.
    """

    width: float
    thickness: float
    switch_width: float
    spacing: float
    switch_spacing: float
    overhang: float
    headblock_overhang: float
    length_step: float
    copper: Copper
    source: str
    gap: float = 0.0
    orientation: Orientation = "square"
    strip: float = YARD


class Spec(Struct, frozen=True):
    """A whole spec: what `load_spec` returns.

    `gauges` keeps the order of the file; `units` is the unit that figures are printed in first. `tip` is the distance
    in mm between the faces at a filed tip; `frog_point` the width in mm at which a frog's practical point is blunt;
    `throw` the travel of the points in mm at the throw bar, None to take it from the clearances of the widest gauge.
    No piece of rail is longer than `longest_rail` mm, and tables of offsets go by steps of `offset_step` mm.
    `text` is the file as written, `expanded` the equivalent plain mapping with shorthands and bases written out.
    """

    name: str
    revision: str
    notes: str
    units: Literal["mm", "in"]
    scale: Scale
    track_standard: str
    gauges: Mapping[str, Gauge]
    rail: RailSection
    routes: tuple[Route, ...]
    ties: TieRules
    tip: float
    frog_point: float
    throw: float | None
    text: str
    fingerprint: str
    offset_step: float
    longest_rail: float = YARD
