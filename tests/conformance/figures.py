"""Turn a scene into the figures that the oracle expects of `measure`, and compare the two."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import Any

from oracle.crossing import meetings
from oracle.curves import Face, Num, ctx, mpf
from oracle.turnout import Track, reference_offset

from turnout_templates.pipeline import measure_text

from .scenes import Leg, Scene, is_open, mm, solve

MM = 1e-6
RAD = 1e-9
DEG = math.degrees(RAD)
"""The bar of the design: a computed crossing within 1e-6 mm and 1e-9 rad of fifty-digit arithmetic."""

HAND = {1: "left", -1: "right"}
Figures = dict[str, Any]
FaceName = tuple[str, str, str]


@cache
def measured(text: str) -> Figures:
    """Return the program's figures for a spec (the same object every time: read only)."""
    figures: Figures = measure_text(text)
    return figures


@dataclass(frozen=True)
class ExpectedFrog:
    """A frog as the oracle sees it; lengths in mm, `angle` in radians."""

    kind: str
    faces: frozenset[FaceName]
    x: float
    y: float
    angle: float
    stations: dict[str, float]
    lead: float | None

    @property
    def key(self) -> tuple[str, list[FaceName], float]:
        """What puts frogs into one order on both sides."""
        return (self.kind, sorted(self.faces), min(self.stations.values()))


def expected_frogs(scene: Scene) -> list[ExpectedFrog]:
    """Return every place where faces of two routes cross after the tip."""
    solved = solve(scene)
    found: list[ExpectedFrog] = []
    for first, second in combinations(solved.values(), 2):
        if second.leg.at is not None and second.leg.leaves == first.leg.name:
            found += _frogs_of_pair(first.track, second.track, second.leg)
        else:
            found += _frogs_of_pair(first.track, second.track, None)
    return found


def _frogs_of_pair(a: Track, b: Track, branch: Leg | None) -> list[ExpectedFrog]:
    if branch is not None and branch.at == "end":
        return []
    at = mm(branch.at) if branch is not None and branch.at is not None else None
    found = []
    for (gauge_a, hand_a), offset_a in a.faces().items():
        for (gauge_b, hand_b), offset_b in b.faces().items():
            one_rail = (
                _part_from_one_rail(Face(a.path, offset_a), Face(b.path, offset_b))
                if at is None
                else abs(reference_offset(a, b.gauges) + offset_b - offset_a) < mpf("1e-30")
            )
            begin = _beyond_the_tip(b, branch) if one_rail else ctx.zero
            met = meetings(
                Face(b.path, offset_b),
                Face(a.path, offset_a),
                a_span=(begin, b.path.length),
                b_span=((ctx.zero if at is None else at) + begin, a.path.length),
            )
            for meeting in met:
                turn = abs(math.remainder(float(meeting.angle), math.tau))
                opposed = turn > math.pi / 2
                found.append(
                    ExpectedFrog(
                        kind="V" if (hand_a != hand_b) != opposed else "K",
                        faces=frozenset({(a.name, gauge_a, HAND[hand_a]), (b.name, gauge_b, HAND[hand_b])}),
                        x=float(meeting.z.real),
                        y=float(meeting.z.imag),
                        angle=math.pi - turn if opposed else turn,
                        stations={a.name: float(meeting.u), b.name: float(meeting.s)},
                        lead=None if at is None else float(meeting.u - at),
                    )
                )
    return found


def _beyond_the_tip(branch: Track, leg: Leg | None) -> Num:
    """Return the station from which two faces that were one rail may be seen to cross again.

    Before the tip they coincide. The inner face of points with an angle S bends a little away from the vertex, so that
    it cuts the parent's within w tan(S/2) of it: that is the bend of the stock rail and no frog.
    """
    planed = mm(leg.points["length"]) if leg is not None and "length" in leg.points else ctx.zero
    return planed + branch.half


def _part_from_one_rail(a: Face, b: Face) -> bool:
    here, there = a.at(ctx.zero)[0], b.at(ctx.zero)[0]
    return bool(abs(here.z - there.z) < mpf("1e-30"))


def frog_key(frog: Figures) -> tuple[str, list[FaceName], float]:
    """Return the order of a measured frog."""
    return (frog["kind"], sorted(face_names(frog)), min(frog["stations_mm"].values()))


def face_names(frog: Figures) -> frozenset[FaceName]:
    """Return the two faces of a measured frog."""
    return frozenset((face["route"], face["gauge"], face["hand"]) for face in frog["faces"])


def check_frogs(scene: Scene) -> list[ExpectedFrog]:
    """Compare every frog of a scene with the oracle's; return the latter."""
    wanted = sorted(expected_frogs(scene), key=lambda frog: frog.key)
    got = sorted(measured(scene.text)["frogs"], key=frog_key)
    assert [frog_key(frog)[:2] for frog in got] == [frog.key[:2] for frog in wanted]
    for have, want in zip(got, wanted, strict=True):
        check_frog(have, want)
    return wanted


def check_frog(have: Figures, want: ExpectedFrog) -> None:
    """Compare one frog."""
    assert math.hypot(have["x_mm"] - want.x, have["y_mm"] - want.y) < MM
    assert abs(have["angle_deg"] - math.degrees(want.angle)) < DEG
    number = 0.5 / math.tan(want.angle / 2)
    # dN/dF = -(N^2 + 1/4): a number may be off by as much as the angle makes it.
    assert abs(have["number"] - number) < RAD * (number**2 + 0.25)
    assert have["stations_mm"].keys() == want.stations.keys()
    for route, station in want.stations.items():
        assert abs(have["stations_mm"][route] - station) < MM
    if want.lead is None:
        assert have["lead_mm"] is None
    else:
        assert abs(have["lead_mm"] - want.lead) < MM


def check_routes(scene: Scene) -> None:
    """Compare every route's pieces with the oracle's; how long a heel of the program's own is does not count."""
    for name, solved in solve(scene).items():
        path = solved.track.path
        route = measured(scene.text)["routes"][name]
        runs_into_heel = solved.leg.at is not None and is_open(solved.leg.path[-1])
        assert len(route["pieces"]) == len(path.pieces)
        for i, (have, want) in enumerate(zip(route["pieces"], path.pieces, strict=True)):
            check_pose(have["start"], path.starts[i][1])
            check_piece(have, want.k0, want.k1, float(want.length))
            if not (runs_into_heel and i == len(path.pieces) - 1):
                assert abs(have["length_mm"] - float(want.length)) < MM
        if not runs_into_heel:
            assert abs(route["length_mm"] - float(path.length)) < MM
            check_pose(route["end"], path.end)


def check_piece(have: Figures, k0: Num, k1: Num, length: float) -> None:
    """Compare the shape of a piece: curvatures within what moves its end by the bar, 2 MM / length^2."""
    slack = 2 * MM / max(length, 1.0) ** 2
    if k0 != k1:
        assert have["kind"] == "easement"
        ends = [0.0 if radius is None else 1 / radius for radius in have["radii_mm"]]
        assert abs(ends[0] - float(k0)) < slack and abs(ends[1] - float(k1)) < slack
    elif k0 == 0:
        assert (have["kind"], have["radius_mm"]) == ("straight", None)
    else:
        assert have["kind"] == "arc"
        assert abs(1 / have["radius_mm"] - float(k0)) < slack


def check_pose(have: Figures, want: Any) -> None:
    """Compare a pose."""
    assert math.hypot(have["x_mm"] - float(want.z.real), have["y_mm"] - float(want.z.imag)) < MM
    assert abs(math.remainder(math.radians(have["heading_deg"]) - float(want.heading), math.tau)) < RAD


def check_switches(scene: Scene) -> None:
    """Compare the switches' places with the oracle's: a tip is given on its parent's reference line."""
    solved = solve(scene)
    switches = {name: switch for switch in measured(scene.text)["switches"] for name in switch["branches"]}
    for leg in scene.legs:
        if leg.at is None or leg.at == "end":
            continue
        switch, parent = switches[leg.name], solved[leg.leaves].track
        assert switch["main"] == leg.leaves
        assert abs(switch["station_mm"] - float(mm(leg.at))) < MM
        check_pose(switch["tip"], parent.path.at(mm(leg.at))[0])
        if leg.hand is not None and switch["branch"] == leg.name:
            assert switch["hand"] == leg.hand
