"""Pieces of rail: what is cut, where it may not be, and that everything adds up, judged from the figures alone."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import samples
from conformance.laws import compare, enlarged_figures, enlarged_text, mirrored_figures, mirrored_text, moved_figures
from paper.samples import along_route
from samples import NUMBERED
from scipy.integrate import quad
from trackwork.building import TWO_GAUGES, job, plain, spec, two_gauge
from trackwork.chance import Chance

from turnout_templates.errors import InputProblems
from turnout_templates.pipeline import Job
from turnout_templates.reports.figures import figures
from turnout_templates.trackwork.pieces.cut_to_length import cut_to_length

Figures = dict[str, Any]
LONG = """
    main: {path: [straight: 700, curve: {radius: 900, turn: left, length: 1500}, straight: 900]}
    branch: {leaves: main, at: 160, hand: right, path: [{frog: 6}, {straight: 900}]}
"""
SAID = {"longest_rail": "600 mm", "offset_step": "10 mm", "tip": "0.1 mm", "frog_point": "0.15 mm"}
TIES = (
    "{width: 2.6 mm, thickness: 2 mm, switch_width: 2.6 mm, spacing: 5.9 mm, switch_spacing: 5.8 mm, "
    "overhang: 6.6 mm, headblock_overhang: 22 mm, length_step: 1.75 mm}"
)


@cache
def told(text: str) -> Figures:
    done = job(text)
    return figures(done.trackwork, done.findings)


@cache
def sample(name: str) -> tuple[Job, Figures]:
    done = samples.job(name)
    return done, figures(done.trackwork, done.findings)


@cache
def by_chance(seed: int) -> tuple[Job, Figures] | None:
    try:
        done = job(Chance(seed).text())
    except InputProblems:
        return None
    return done, figures(done.trackwork, done.findings)


CASES = [pytest.param(lambda name=name: sample(name), id=name) for name in NUMBERED]
CASES += [pytest.param(lambda seed=seed: by_chance(seed), id=f"chance {seed}") for seed in range(40)]
CASES += [pytest.param(lambda: (job(spec(LONG)), told(spec(LONG))), id="long")]


def case(made: Any) -> tuple[Job, Figures]:
    found = made()
    if found is None:
        pytest.skip("this spec cannot be laid")
    return found  # type: ignore[no-any-return]


def arc_length(done: Job, stretch: Figures, out: float) -> float:
    """Return the length of what lies `out` mm outward of a face, by numerical integration of its points' speed."""
    route = done.trackwork.layout.route(stretch["route"])
    face = next(f for f in route.faces if (f.gauge, f.hand) == (stretch["gauge"], stretch["hand"]))
    low, high = stretch["from_mm"], stretch["to_mm"]
    knots = [k for w in route.widened for k, _ in w.knots]
    marks = [low, *sorted(s for s in (*route.path.starts, *knots) if low < s < high), high]

    def offset(s: float) -> float:
        return route.offset_at(face, s) + face.outward * out

    def speed(s: float, a: float, b: float) -> float:
        slope = (offset(b) - offset(a)) / (b - a)
        return math.hypot(1.0 - offset(s) * route.path.curvature_at(s), slope)

    return sum(quad(speed, a, b, args=(a, b), epsabs=1e-10)[0] for a, b in pairwise(marks) if b - a > 1e-9)


@pytest.mark.parametrize("made", CASES)
def test_pieces_gaps_and_frogs_make_up_each_rail(made: Any) -> None:
    _, found = case(made)
    for rail in found["rail_sums"]:
        parts = rail["pieces_mm"] + rail["gaps_mm"] + rail["frogs_mm"]
        assert parts == pytest.approx(rail["length_mm"], abs=1e-6 + 1e-9 * rail["length_mm"]), rail["id"]


@pytest.mark.parametrize("made", CASES[: len(NUMBERED)])
def test_lengths_are_those_of_the_curves(made: Any) -> None:
    done, found = case(made)
    head = done.trackwork.spec.rail.head
    for piece in found["pieces"]:
        face = sum(arc_length(done, stretch, 0.0) for stretch in piece["stretches"])
        centre = sum(arc_length(done, stretch, head / 2) for stretch in piece["stretches"])
        assert piece["face_length_mm"] == pytest.approx(face, abs=1e-6), piece["id"]
        assert piece["length_mm"] == pytest.approx(centre, abs=1e-6), piece["id"]
        ends = [bend["from_mm"] for bend in piece["bends"]], [bend["to_mm"] for bend in piece["bends"]]
        assert ends[0][1:] == pytest.approx(ends[1][:-1], abs=2e-6)
        assert (ends[0][0], ends[1][-1]) == pytest.approx((0.0, piece["length_mm"]), abs=1e-5)
        assert all(-1e-6 <= m["from_mm"] <= m["to_mm"] <= piece["length_mm"] + 1e-6 for m in piece["work"])


def drawn_length(found: Figures, piece: Figures, out: float) -> float:
    """Return the length of a piece, `out` mm outward of its face, by chords, from what `measure` prints alone."""
    total = 0.0
    for stretch in piece["stretches"]:
        key = tuple(stretch[k] for k in ("route", "gauge", "hand"))
        faces = (p for rail in found["rails"] for p in rail["pieces"])
        offset = next(p["offset_mm"] for p in faces if tuple(p[k] for k in ("route", "gauge", "hand")) == key)
        route = found["routes"][stretch["route"]]
        begins = np.cumsum([0.0, *(own["length_mm"] for own in route["pieces"])])
        low, high = stretch["from_mm"], stretch["to_mm"]
        for one, two in pairwise([low, *(float(s) for s in begins if low < s < high), high]):
            count = max(8, math.ceil((two - one) / 0.5))
            middle = np.linspace(one, two, count + 1)
            # Held a hair within the piece of route, so that where two meet the points of one are taken.
            middle = np.clip(middle, one + 1e-7, two - 1e-7)
            points = along_route(route, middle, offset + (out if stretch["hand"] == "left" else -out))
            total += float(np.hypot(*np.diff(points, axis=0).T).sum())
    return total


@pytest.mark.parametrize("made", CASES[: len(NUMBERED)])
def test_lengths_are_those_of_the_printed_curves(made: Any) -> None:
    """To 0.01 mm: chords of half a mm on a radius of 300 mm miss 1e-7 of the length."""
    _, found = case(made)
    if any(route["widening"] for route in found["routes"].values()):
        pytest.skip("on tapers the face is no parallel; the test by quadrature has them")
    for piece in found["pieces"]:
        assert piece["face_length_mm"] == pytest.approx(drawn_length(found, piece, 0.0), abs=0.01), piece["id"]
        centre = drawn_length(found, piece, found["rail"]["head_mm"] / 2)
        assert piece["length_mm"] == pytest.approx(centre, abs=0.01), piece["id"]


@pytest.mark.parametrize("made", CASES)
def test_no_piece_is_longer_than_rail_can_be_had(made: Any) -> None:
    done, found = case(made)
    longest = done.trackwork.spec.longest_rail
    assert longest == (18 * 25.4 if done.trackwork.spec.name == "Brindle Halt curve" else 914.4)
    if found["scale_ratio"] < 8:
        pytest.skip("rail of such scales is as long as the prototype's")
    told_long = {f["where"] for f in found["findings"] if f["rule"] == "rail-too-long"}
    for piece in found["pieces"]:
        assert piece["cut_length_mm"] <= longest + 1e-6 or told_long, piece["id"]


def inside(found: Figures, joint: Figures) -> list[str]:
    """Return the zones in which a joint lies and may not, by stations of its own face."""
    face = (joint["route"], joint["gauge"], joint["hand"])
    s = joint["station_mm"]

    def on(entry: Figures, low: float, high: float) -> bool:
        return (entry["route"], entry["gauge"], entry["hand"]) == face and min(low, high) < s < max(low, high)

    bad = []
    for switch in found["switches"]:
        for point in switch["point_rails"]:
            if point["fix_mm"] is None:
                continue
            way = 1 if point["heel_station_mm"] >= point["tip_station_mm"] else -1
            if on(point, point["tip_station_mm"], point["tip_station_mm"] + way * point["fix_mm"]):
                bad.append("point")
        if joint["kind"] == "joint":
            bad += ["relief" for r in switch["stock_relief"] if on(r, r["from_mm"], r["to_mm"])]
    for frog in found["frogs"]:
        for fit in frog["filing"]:
            if fit["bar"] != joint["bar"] or fit["what"] in ("knuckle", "elbow", "groove"):
                continue
            heel = (frog["heel"] or {"stations_mm": {}})["stations_mm"].get(face[0])
            for to in (fit["to_mm"], heel):
                if to is not None and on(fit["face"], fit["from_mm"], to):
                    bad.append(f"{fit['what']} of {frog['id']}")
    if joint["kind"] == "joint":
        bad += [
            "base"
            for cut in found["base_cuts"]
            if cut["part"] == joint["bar"] and on(cut["beside"], cut["from_mm"], cut["to_mm"])
        ]
    return bad


@pytest.mark.parametrize("made", CASES)
def test_no_joint_lies_where_none_may(made: Any) -> None:
    _, found = case(made)
    for joint in found["joints"]:
        if joint["kind"] != "end":
            assert inside(found, joint) == [], joint["id"]


@pytest.mark.parametrize("made", CASES)
def test_gaps_lie_between_two_ties_and_joints_on_one(made: Any) -> None:
    _, found = case(made)
    ties = {tie["id"]: tie for tie in found["ties"]}
    for joint in found["joints"]:
        if joint["kind"] == "end":
            continue
        near = [ties[name] for name in joint["ties"]]
        assert len(near) == (2 if joint["kind"] == "gap" else 1), joint["id"]
        for tie in near:
            angle = math.radians(tie["angle_deg"])
            dx, dy = joint["x_mm"] - tie["x_mm"], joint["y_mm"] - tie["y_mm"]
            away = abs(dx * math.sin(angle) - dy * math.cos(angle)) - tie["width_mm"] / 2
            assert away > 0.2 * joint["width_mm"] if joint["kind"] == "gap" else away < 0, joint["id"]


@pytest.mark.parametrize("made", CASES)
def test_a_sprung_point_is_soldered_before_the_gap_of_its_frog(made: Any) -> None:
    """From the tip on come the fix, the whole first tie and the gap, so that what bends is what is told to bend."""
    _, found = case(made)
    ties = {tie["id"]: tie for tie in found["ties"]}
    for point in (point for switch in found["switches"] for point in switch["point_rails"]):
        if point["held"] != "bent" or point["first_soldered_tie"] is None:
            continue
        way = 1 if point["heel_station_mm"] >= point["tip_station_mm"] else -1
        beyond = [
            joint
            for joint in found["joints"]
            if joint["kind"] == "gap"
            and all(joint[key] == point[key] for key in ("route", "gauge", "hand"))
            and way * (joint["station_mm"] - point["tip_station_mm"]) > 0
        ]
        for joint in beyond:
            assert way * (joint["station_mm"] - point["fix_station_mm"]) > 0, joint["id"]
            tie = min((ties[name] for name in joint["ties"]), key=lambda tie: way * tie["station_mm"])
            first = ties[point["first_soldered_tie"]]
            if tie["route"] == first["route"] == joint["route"]:
                assert way * (tie["station_mm"] - first["station_mm"]) >= -1e-6, joint["id"]


@pytest.mark.parametrize("made", CASES)
def test_joints_in_two_rails_of_a_track_are_staggered(made: Any) -> None:
    done, found = case(made)
    least = 6 * done.trackwork.spec.ties.spacing
    joints = [joint for joint in found["joints"] if joint["kind"] == "joint"]
    for one in joints:
        for other in joints:
            if one["route"] == other["route"] and (one["gauge"], one["hand"]) != (other["gauge"], other["hand"]):
                assert abs(one["station_mm"] - other["station_mm"]) >= least - 1e-6


def test_a_joint_notches_the_tie_it_lies_on() -> None:
    found = told(spec(LONG))
    joints = [joint for joint in found["joints"] if joint["kind"] == "joint"]
    assert len(joints) >= 4
    for joint in joints:
        (tie,) = (tie for tie in found["ties"] if tie["id"] in joint["ties"])
        near = [math.hypot(n["x_mm"] - joint["x_mm"], n["y_mm"] - joint["y_mm"]) for n in tie["notches"]]
        assert min(near) < 1.0


@pytest.mark.parametrize("made", CASES[: len(NUMBERED)])
def test_every_way_into_a_frog_of_two_polarities_is_cut_or_told(made: Any) -> None:
    """A bar that runs into such a frog has a gap, an insulated end, or is told; no other bar has one."""
    done, found = case(made)
    joins = {frog["id"]: frog["joins"] for frog in found["frogs"]}
    cut = {joint["bar"] for joint in found["joints"] if joint["isolates"]}
    excused = {gap.bar for gap in (*done.trackwork.rail_cuts.missing, *done.trackwork.rail_cuts.shared)}
    needing = set()
    for frog in found["frogs"]:
        if joins[frog["id"]] == "left and right":
            needing |= {fit["bar"] for fit in frog["filing"] if fit["bar"] is not None}
    ends = {rail["id"]: {end["as"] for end in rail["ends"]} for rail in found["rails"]}
    assert not {bar for bar in needing - cut - excused if "cut off" not in ends[bar]}
    doubled = {joint["bar"] for joint in found["joints"] if joint["double"]}
    assert cut - doubled <= needing


def test_both_rails_are_cut_where_left_comes_to_meet_right_and_where_that_section_ends() -> None:
    done, found = sample(next(name for name in NUMBERED if name.startswith("21-")))
    circuit = done.trackwork.circuit
    (((route, way), station),) = circuit.reach.items()
    joints = {joint["id"]: joint for joint in found["joints"] if joint["double"]}
    (section,) = found["wiring"]["reversing"]
    assert sorted(name for pair in section["gap_ids"] for name in pair) == sorted(joints)
    for pair, place in zip(section["gap_ids"], (station, circuit.far[route, way]), strict=True):
        assert {(joints[name]["route"], joints[name]["hand"]) for name in pair} == {(route, "left"), (route, "right")}
        assert all(abs(joints[name]["station_mm"] - place) < 60 for name in pair)
        apart = abs(joints[pair[0]]["station_mm"] - joints[pair[1]]["station_mm"])
        assert apart < done.spec.ties.spacing / 2  # opposite each other, in one space between ties
    assert section["length_mm"] > 0.8 * abs(circuit.far[route, way] - station)
    fed = {feeder["section"] for feeder in found["feeders"]}
    held = {part: one["id"] for one in found["sections"] for part in one["part_ids"]}
    between = [
        piece
        for piece in found["pieces"]
        if all(s["route"] == route and s["from_mm"] > station and s["to_mm"] < 590 for s in piece["stretches"])
        and sum(end["kind"] == "gap" and end["at"] in joints for end in piece["ends"]) == 2
    ]
    assert {held[piece["id"]] for piece in between} == set(section["section_ids"]) <= fed


def test_gaps_of_a_double_crossover_lie_past_guards() -> None:
    """Beside a gap a guard would stand beside two sections, and could be soldered on no tie of one of them."""
    work = sample(next(name for name in NUMBERED if name.startswith("18-")))[0].trackwork
    assert [tie.tie for tie in work.wiring.copper if tie.crowded] == []
    cuts = [(joint.owner, joint.station) for joint in work.joints if joint.kind == "gap"]
    for guard in work.guards:
        assert not [at for face, at in cuts if face == guard.beside and guard.ends[0] < at < guard.ends[1]]


def test_offsets_of_a_plain_turnout_are_those_of_its_circle() -> None:
    found = told(spec(plain(), offset_step="10 mm"))
    table = next(t for t in found["offsets"] if t["route"] == "branch" and t["hand"] == "right")
    piece = found["routes"]["branch"]["pieces"][0]
    tip = found["switches"][0]["filed_tip"]["x_mm"] - found["switches"][0]["tip"]["x_mm"]
    radius = piece["radius_mm"] + found["gauges"]["standard"]["width_mm"] / 2
    end = radius * math.sin(piece["length_mm"] / piece["radius_mm"])
    inner = [row for row in table["rows"] if row["along_mm"] + tip < end]
    assert len(inner) > 10 and [row["along_mm"] for row in inner] == [10 * i for i in range(len(inner))]
    for row in inner:
        x = row["along_mm"] + tip
        assert row["across_mm"] == pytest.approx(radius - math.sqrt(radius**2 - x**2), abs=1e-6)


def only(found: Figures) -> Figures:
    """Return the figures that tell of pieces."""
    return {key: found[key] for key in ("pieces", "joints", "rail_sums", "offsets", "routes", "ties")}


LAWS = {
    "plain": plain(),
    "curved": "main: {start: {x: 0 mm, y: 0 mm, heading: 0 deg}, path: [curve: {radius: 900 mm, turn: left, length: "
    "1700 mm}]}\nbranch: {leaves: main, at: 60 mm, hand: right, path: [{frog: 6}, {straight: 60 mm}]}",
    "two gauges": two_gauge("both", "left", "right"),
}


def law_text(name: str) -> str:
    text = spec(LAWS[name], gauges=TWO_GAUGES if name == "two gauges" else "standard: HO", ties=TIES, **SAID)
    for word in ("straight: ", "at: "):
        text = __import__("re").sub(rf"({word}[0-9]+)(?= *[,}}\]])", r"\1 mm", text)
    return text


@pytest.mark.parametrize("name", LAWS)
def test_a_mirrored_spec_mirrors_its_pieces(name: str) -> None:
    text = law_text(name)
    mirrored = mirrored_figures(told(text))
    compare(_pieces(mirrored), _pieces(told(mirrored_text(text))))


@pytest.mark.parametrize("name", LAWS)
def test_pieces_scale(name: str) -> None:
    from decimal import Decimal

    text = law_text(name)
    clear = "{standard: {flangeway: 1.27 mm, check_gauge: 15.2 mm, span: 13.9 mm, point_spread: 14.5 mm}"
    clear += ", narrow: {flangeway: 1.1 mm, check_gauge: 9.5 mm, span: 8.3 mm, point_spread: 9 mm}}"
    if name != "two gauges":
        clear = clear.partition(", narrow")[0] + "}"
    text = text.replace("track_standard: NMRA S-3.2 (2010)", f"track_standard: {clear}")
    text = text.replace("standard: HO", "standard: 16.5 mm").replace("narrow: HOn3", "narrow: 10.5 mm")
    text = text.replace("rail: code 70", "rail: {height: 1.78 mm, head: 0.8 mm, base: 1.7 mm}")
    enlarged = told(enlarged_text(text, Decimal(2)))
    compare(_pieces(enlarged_figures(told(text), 2.0)), _pieces(enlarged), place=2e-6)


def test_pieces_turn_with_their_start() -> None:
    text = law_text("curved")
    moved = told(
        text.replace("{x: 0 mm, y: 0 mm, heading: 0 deg}", "{x: -310.5 mm, y: 127.25 mm, heading: 123.75 deg}")
    )
    compare(_pieces(moved_figures(told(text), x=-310.5, y=127.25, turn=math.radians(123.75))), _pieces(moved))


def _pieces(found: Figures) -> Figures:
    return {key: found[key] for key in ("pieces", "joints", "rail_sums", "offsets")}


def test_a_said_yard_changes_no_fingerprint_and_other_lengths_do() -> None:
    unsaid = told(spec(plain()))["fingerprint"]
    assert told(spec(plain(), longest_rail="914.4 mm"))["fingerprint"] == unsaid
    assert told(spec(plain(), offset_step="5 mm"))["fingerprint"] == unsaid
    assert told(spec(plain(), longest_rail="400 mm"))["fingerprint"] != unsaid


def test_rail_shorter_than_twenty_tie_spaces_is_refused() -> None:
    with pytest.raises(InputProblems, match="longest_rail"):
        job(spec(plain(), longest_rail="100 mm"))


def test_cutting_again_changes_nothing_but_the_notches_made() -> None:
    work = job(spec(LONG)).trackwork
    assert cut_to_length(work)[0] == work.rail_cuts
