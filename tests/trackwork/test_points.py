"""Points at the bench: how far they open, where they are held and hinged, and what the throw bar is made to.

All on straight main, where a point leaves its stock rail along a circle: y = r (1 - cos a) at the angle a.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from trackwork.building import built, job, plain, refusal, spec, two_gauge

from turnout_templates.pipeline import measure, work_out
from turnout_templates.spec.load import read_spec

G, HEAD, FLANGEWAY = 0.649 * 25.4, 0.035 * 25.4, 0.048 * 25.4
"""HO in NMRA S-3.2 (2010), and the head of code 70, NMRA RP-15.1."""
WANTED = (0.649 - 0.588) * 25.4
F = 2 * math.atan(1 / 12)
TOE = 2.5 * HEAD / (2 * math.sin(F / 2))
OUTER = (G - TOE * math.sin(F)) / (1 - math.cos(F))
"""Radius of the outer face of a No. 6 on straight main."""
PAIRS = {
    "HO": {"gauges": "standard: HO, narrow: HOn3"},
    "N": {"scale": "N", "gauges": "standard: N, narrow: Nn3", "rail": "code 55", "clearances": "NEM 110 (2009)"},
    "O": {"scale": "O", "gauges": "standard: O, narrow: On30", "rail": "code 100"},
    "H0": {"scale": "H0", "gauges": "standard: H0, narrow: H0e", "clearances": "NEM 110 (2009)"},
}


def switch_of(routes: str, **keys: str) -> dict[str, Any]:
    """Return the figures of the only switch of some routes."""
    (switch,) = measure(job(spec(routes, **keys)))["switches"]
    return dict(switch)


def along(y: float) -> float:
    """Return how far along the outer face, from the tangent point, it lies `y` mm from the stock rail's."""
    return OUTER * math.acos(1 - y / OUTER)


def apart(s: float) -> float:
    """Return how far apart the outer faces are `s` mm of the point's face behind the filed tip."""
    return OUTER * (1 - math.cos((along(0.1) + s) / OUTER))


def share(model: str, s: float, bar: float, fix: float) -> float:
    """Return d/D: a rigid bar turns about `fix`; a cantilever clamped there bends as 1 - 1.5 x + 0.5 x^3.

    Between the load and its free end nothing bends it: it is straight there.
    """
    x = min(1.0, (s - bar) / (fix - bar))
    return 1 - x if model == "hinged" else 1 - 1.5 * x + (0.5 * x**3 if x > 0 else 0.0)


def bar_on(switch: dict[str, Any], point: dict[str, Any]) -> float:
    """Return how far along its face behind its filed tip a point on straight main is crossed by the throw bar.

    Its face is a circle that turns by the angles told over the planed length; the bar lies square to the main.
    """
    tip, full = (math.radians(point[f"angle_at_{at}_deg"]) for at in ("tip", "full_head"))
    radius = point["planed_mm"] / (full - tip)
    before = point["tip"]["x_mm"] - switch["filed_tip"]["x_mm"]
    ahead = switch["throw_bar_station_mm"] - switch["filed_tip"]["station_mm"] - before
    return radius * (math.asin(math.sin(tip) + ahead / radius) - tip)


def test_every_way_to_hold_a_point_is_told_with_its_opening() -> None:
    switch = switch_of(plain(), throw="1.8 mm")
    bar = switch["throw_bar_station_mm"] - switch["filed_tip"]["station_mm"]
    tip = along(0.1)
    heel, toe = along(HEAD + FLANGEWAY) - tip, F * OUTER - tip
    held = [(o["model"], o["fix_mm"]) for o in switch["openings"]]
    # Where the frog's own section begins: a flangeway square to the other face before the point. There the gap and a
    # tie must fit: within 1.1 tie spaces, 0.75 of a head and twice a quarter.
    ties = job(spec(plain())).spec.ties
    knuckle = toe + TOE - FLANGEWAY / math.sin(F)
    before = knuckle - 1.1 * max(ties.spacing, ties.switch_spacing) - ties.switch_width - 1.25 * HEAD
    assert before < toe
    assert [model for model, _ in held] == ["bent", "hinged", "bent", "bent"]
    assert [fix for _, fix in held] == pytest.approx([before, heel, heel, toe], abs=1e-6)
    places = [i * heel / 4000 for i in range(4001)]
    for opening in switch["openings"]:
        moved = [share(opening["model"], s, bar, opening["fix_mm"]) for s in places]
        open_by = [1.8 * d + max(0.0, apart(s) - HEAD) for s, d in zip(places, moved, strict=True)]
        # The least lies where the full head begins, at which the program looks; this test looks at 4000 places.
        assert opening["least_opening_mm"] == pytest.approx(min(open_by), abs=0.001)
        assert apart(opening["at_mm"]) == pytest.approx(HEAD, abs=0.02)
        missing = [WANTED - max(0.0, apart(s) - HEAD) for s in places]
        if opening["fix_mm"] > heel + 1:
            needed = max(m / d for m, d in zip(missing, moved, strict=True) if m > 0)
            assert opening["throw_to_hold_mm"] == pytest.approx(needed, abs=0.01)
        else:
            # At the heel a flangeway of 1.22 mm is open, less than 1.55 mm, and no throw moves the point there.
            assert opening["throw_to_hold_mm"] is None
    assert switch["least_opening_mm"] == switch["openings"][0]["least_opening_mm"]
    (own, other) = (point["opening"] for point in switch["point_rails"])
    assert own == switch["openings"][0]
    # The other point is straight beside a curved stock rail: its least differs by 0.001 mm.
    assert switch["throw_to_hold_mm"] == max(own["throw_to_hold_mm"], other["throw_to_hold_mm"])
    assert other["least_opening_mm"] == pytest.approx(own["least_opening_mm"], abs=0.003)


def test_a_point_held_where_it_is_told_to_holds() -> None:
    points = "{{length: 45, spread: 2.2, tip: 0.15, hinge: {}}}"
    asked = switch_of(plain(points=points.format(60)), throw="1.8 mm")
    fix = asked["fix_to_hold_mm"]
    assert asked["least_opening_mm"] < WANTED and fix > 60
    held = switch_of(plain(points=points.format(round(fix + 0.01, 3))), throw="1.8 mm")
    assert held["least_opening_mm"] == pytest.approx(WANTED, abs=2e-3) and held["least_opening_mm"] >= WANTED
    short = switch_of(plain(points=points.format(round(fix - 1, 3))), throw="1.8 mm")
    assert short["least_opening_mm"] < WANTED


def test_no_place_is_told_beyond_the_frog() -> None:
    """At 1.51 mm of throw the tip alone opens by 1.55 mm: nothing holds that behind it."""
    assert switch_of(plain())["fix_to_hold_mm"] is None


def test_a_hinge_cuts_each_point_bar_behind_its_tip() -> None:
    work = built(plain(points="{hinge: 60}"))
    whole, cut = built(plain()).bars, work.bars
    assert len(cut) == len(whole) + 2
    assert [bar.role for bar in cut].count("point rail") == 2
    for point in work.switches[0].points:
        ends = {end for bar in cut for s in bar.stretches if s.owner == point.owner for end in (s.low, s.high)}
        face = work.layout.route(point.owner.route).parallel(point.owner.face)
        assert point.heel == point.hinge and face.length_between(point.tip, point.heel) == pytest.approx(60, abs=1e-9)
        assert any(abs(end - point.heel) < 1e-9 for end in ends)
    assert sum(s.high - s.low for bar in cut for s in bar.stretches) == pytest.approx(
        sum(s.high - s.low for bar in whole for s in bar.stretches)
    )


def test_a_hinged_point_turns_as_a_rigid_bar() -> None:
    switch = switch_of(plain(points="{hinge: 60}"), throw="1.8 mm")
    bar = switch["throw_bar_station_mm"] - switch["filed_tip"]["station_mm"]
    assert (switch["openings"][0]["model"], switch["openings"][0]["fix_mm"]) == ("hinged", pytest.approx(60))
    least = min(1.8 * share("hinged", s, bar, 60) + max(0.0, apart(s) - HEAD) for s in (i * 0.01 for i in range(6000)))
    assert switch["least_opening_mm"] == pytest.approx(least, abs=0.005)
    assert all(point["held"] == "hinged" and point["fix_mm"] == pytest.approx(60) for point in switch["point_rails"])


@pytest.mark.parametrize(
    ("hinge", "said"),
    [("20", "where it is planed: its full head begins at 28.5 mm"), ("160", "beyond the place at which")],
)
def test_a_hinge_that_cannot_be_is_refused_where_it_is_said(hinge: str, said: str) -> None:
    told = refusal(plain(points=f"{{hinge: {hinge}}}"))
    assert said in told and "routes > branch > points > hinge" in told


def test_points_are_filed_over_their_taper_at_the_angle_of_their_tangents() -> None:
    (point,) = [p for p in switch_of(plain())["point_rails"] if p["route"] == "branch"]
    tip, full = along(0.1), along(HEAD)
    assert point["planed_mm"] == pytest.approx(full - tip, abs=1e-6)
    assert point["angle_at_tip_deg"] == pytest.approx(math.degrees(tip / OUTER), abs=1e-6)
    assert point["angle_at_full_head_deg"] == pytest.approx(math.degrees(full / OUTER), abs=1e-6)
    assert point["filed_side"] == "right"
    straight = switch_of(plain(points="{length: 45, spread: 2.2, tip: 0.15}"))
    slope = math.degrees(math.asin((2.2 - 0.15) / 45))
    for point in straight["point_rails"]:
        angles = point["angle_at_tip_deg"], point["angle_at_full_head_deg"]
        assert angles == pytest.approx((slope, slope), abs=1e-6)


def test_the_first_soldered_tie_lies_wholly_beyond_where_the_bar_bends() -> None:
    figures = measure(job(spec(plain())))
    (switch,) = figures["switches"]
    (point,) = [p for p in switch["point_rails"] if p["route"] == "main"]
    ties = {tie["id"]: tie["x_mm"] - tie["width_mm"] / 2 for tie in figures["ties"] if tie["route"] == "main"}
    fixed = point["fix_station_mm"]
    assert point["first_soldered_tie"] == min((i for i in ties if ties[i] >= fixed), key=lambda i: ties[i])
    widths = {tie["id"]: tie["width_mm"] for tie in figures["ties"]}
    loose = [i for i in ties if point["tip_station_mm"] - widths[i] < ties[i] < fixed]
    assert sorted(point["loose_ties"], key=int) == sorted(loose, key=int)
    hinged = switch_of(plain(points="{hinge: 60}"))
    (other,) = [p for p in hinged["point_rails"] if p["route"] == "main"]
    assert int(other["first_soldered_tie"]) < int(point["first_soldered_tie"])


def test_the_throw_bar_has_its_spots_where_the_points_stand_half_open() -> None:
    figures = measure(job(spec(plain())))
    (switch,) = figures["switches"]
    bar, base = switch["throw_bar"], figures["rail"]["base_mm"]
    edge, x = (base - HEAD) / 2, switch["throw_bar_station_mm"] - 60.0
    # The far end lies one base beyond the left stock rail's face; a spot at the edge of the base on the gauge side.
    y = OUTER - math.sqrt(OUTER**2 - x * x)
    travel = switch["throw_mm"]
    want = {"main": base + edge + travel / 2, "branch": base + G - y - edge - travel / 2}
    assert {spot["route"]: spot["from_far_end_mm"] for spot in bar["spots"]} == pytest.approx(want, abs=1e-6)
    assert all(spot["side"] == "gauge" for spot in bar["spots"])
    assert bar["travel_mm"] == travel
    # Closed, the edge of a base is y + (base - head)/2 from the stock's face; the stock's base reaches as far in.
    clear = {spot["route"]: spot["clear_mm"] for spot in bar["spots"]}
    assert clear["branch"] == pytest.approx(y, abs=1e-6)
    ends = [end["y_mm"] for end in bar["ends"]]
    assert ends[0] == pytest.approx(G / 2 + base) and ends[0] - ends[1] == pytest.approx(bar["length_mm"])


def test_rails_that_stay_are_notched_over_the_bar_and_the_wire_has_its_slot() -> None:
    figures = measure(job(spec(plain())))
    (switch,) = figures["switches"]
    bar = switch["throw_bar"]
    stock = {rail["id"] for rail in figures["rails"] if rail["role"] == "stock rail"}
    assert {notch["rail_id"] for notch in bar["notches"]} == stock
    at = switch["throw_bar_station_mm"] - switch["filed_tip"]["station_mm"]
    for notch in bar["notches"]:
        low, high = notch["from_filed_tip_mm"]
        assert (low + high) / 2 == pytest.approx(at)
        assert high - low == pytest.approx(1.5 * bar["width_mm"])
        if notch["route"] == "main":
            assert (notch["from_mm"] + notch["to_mm"]) / 2 == pytest.approx(switch["throw_bar_station_mm"])
    wire = bar["slot"]["wire_mm"]
    assert wire == pytest.approx(bar["width_mm"] / 3)
    assert bar["slot"]["length_mm"] == pytest.approx(bar["travel_mm"] + 2 * wire)
    assert bar["slot"]["width_mm"] == pytest.approx(2 * wire)
    heads = sorted(tie["x_mm"] for tie in figures["ties"] if tie["role"] == "headblock")
    gap = heads[1] - heads[0] - next(tie["width_mm"] for tie in figures["ties"] if tie["role"] == "headblock")
    assert bar["width_mm"] == pytest.approx(0.6 * gap)
    # The copper is cut beside the hole, which a metal wire may bridge.
    (cut,) = bar["gaps_mm"]
    assert abs(cut - bar["drill"]["from_far_end_mm"]) > bar["slot"]["wire_mm"]


def test_a_stub_is_thrown_by_all_its_swinging_rails() -> None:
    switch = switch_of(plain(points="{stub: 2.4}"))
    bar = switch["throw_bar"]
    assert len(bar["spots"]) == 2 and bar["notches"] == []
    # Half a tie space before the toe the rails swing a little less than at it.
    assert 0.8 * switch["throw_mm"] < bar["travel_mm"] < switch["throw_mm"]
    assert switch["point_rails"] == [] and switch["openings"] == []


def test_nothing_is_made_where_nothing_is_thrown() -> None:
    routes = """
        main: {common_rail: left, path: [straight: 90]}
        on: {leaves: main, at: end, gauges: [standard], path: [straight: 300]}
        off: {leaves: main, at: end, gauges: [narrow], points: fixed, path: [{frog: 6}, {straight: 60}], hand: left}
    """
    switch = switch_of(routes, gauges="standard: HO, narrow: HOn3")
    assert switch["throw_bar"] is None and switch["openings"] == [] and switch["fix_to_hold_mm"] is None


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("case", ["both", "wide", "narrow", "parting narrow", "parting wide"])
def test_two_gauges_have_all_points_on_one_bar_and_notches_in_the_rest(pair: str, case: str) -> None:
    routes = two_gauge(case, "left", "right", length=420 if pair != "O" else 900)
    figures = measure(job(spec(routes, **PAIRS[pair])))
    (switch,) = figures["switches"]
    bar = switch["throw_bar"]
    points = {(p["route"], p["gauge"], p["hand"]) for p in switch["point_rails"]}
    assert {(s["route"], s["gauge"], s["hand"]) for s in bar["spots"]} == points
    # Two gauges that share a rail have three rails before the switch, and each is stock for what goes on there.
    assert len({notch["rail_id"] for notch in bar["notches"]}) == 3
    roles = {rail["id"]: rail["role"] for rail in figures["rails"]}
    assert all("point" not in roles[notch["rail_id"]] for notch in bar["notches"])
    for point in switch["point_rails"]:
        assert 0 < point["planed_mm"] < point["fix_mm"]
        assert point["angle_at_tip_deg"] < point["angle_at_full_head_deg"] < 5
        assert point["beside"] is None or point["beside"]["clear_mm"] > 0
        assert point["first_soldered_tie"] is not None


def test_a_frog_on_a_point_tells_what_a_hinge_before_it_would_do() -> None:
    """N with Nn3, No. 6: the K lies on the point of the main's outer rail, as the design has it."""
    routes = two_gauge("both", "left", "right").replace("at: 80", "at: 50")
    done = job(spec(routes, **PAIRS["N"]))
    figures = measure(done)
    (switch,) = figures["switches"]
    (found,) = [f for f in figures["findings"] if f["rule"] == "frog-on-point"]
    ((point, hinge),) = [(p, h) for p in switch["point_rails"] for h in p["frogs_on_point"]]
    head = figures["rail"]["head_mm"]
    # The stock rail is the branch's inner face, a circle of R - 4.5 mm; the point is the main's, straight.
    radius = abs(figures["routes"]["branch"]["pieces"][0]["radius_mm"]) - 4.5
    tip = math.sqrt(2 * radius * 0.1 - 0.01)
    bar = switch["throw_bar_station_mm"] - switch["filed_tip"]["station_mm"]

    def open_by(s: float) -> float:
        y = radius - math.sqrt(radius**2 - (tip + s) ** 2)
        return float(switch["throw_mm"] * share("hinged", s, bar, hinge["fix_mm"]) + max(0.0, y - head))

    # Where the branch's third rail ends for the main's flangeway, by what the design measured: 40.9 from the tangent
    # point, 30.5 from the filed tip.
    assert tip + hinge["fix_mm"] == pytest.approx(40.9, abs=0.3)
    least = min(open_by(i * 0.005) for i in range(int(hinge["fix_mm"] / 0.005)))
    assert hinge["least_opening_mm"] == pytest.approx(least, abs=0.005)
    assert hinge["at_hinge_mm"] == pytest.approx(open_by(hinge["fix_mm"]), abs=0.005)
    assert hinge["workable"] and hinge["throw_to_hold_mm"] is None
    assert f"{hinge['least_opening_mm']:.2f} mm" in found["remedy"]
    assert point["heel_station_mm"] - point["tip_station_mm"] > hinge["fix_mm"]


def test_a_hinge_before_the_gap_takes_the_frog_off_the_point() -> None:
    routes = two_gauge("both", "left", "right").replace("hand: right", "hand: right, points: {hinge: 29}")
    figures = measure(job(spec(routes, **PAIRS["N"])))
    assert [f for f in figures["findings"] if f["rule"] == "frog-on-point"] == []


def test_throw_bars_on_each_other_are_told_once() -> None:
    """The points of so short a slip leave no room for the second bar between the next ties."""
    text = "spec: 1\nname: Slip\nscale: HO\nunits: mm\nslip: {frog: %s, hand: left}\n"
    done = work_out(read_spec(text % 3.5, file="slip.yaml", folder=None))
    assert not [f for f in work_out(read_spec(text % 7, file="s.yaml", folder=None)).findings if "throw-bar" in f.rule]
    met = [finding for finding in done.findings if finding.rule == "throw-bars-meet"]
    assert [finding.where for finding in met] == ["throw bars of S1 and S3", "throw bars of S2 and S4"]
    assert not [f for f in job(spec(plain())).findings if f.rule.startswith("throw-bar")]


def test_an_open_point_that_would_meet_a_third_rail_is_reported() -> None:
    """Thrown by more than there is room for beside the third rail, whose gauge is close to the wide one."""
    routes = two_gauge("wide", "left", "right")
    room = {
        "clearances": "{standard: {flangeway: 1, check_gauge: 15.4, span: 14.2, point_spread: 15}, "
        "narrow: {flangeway: 1, check_gauge: 12.4, span: 11.2, point_spread: 12}}"
    }
    keys = {"gauges": "standard: 16.5 mm, narrow: 13.5 mm", "rail": "{height: 1.4, head: 0.6, base: 1.2}", **room}
    assert not [f for f in job(spec(routes, throw="1.5 mm", **keys)).findings if f.rule == "point-touches"]
    (met,) = [f for f in job(spec(routes, throw="3.2 mm", **keys)).findings if f.rule == "point-touches"]
    assert met.level == "warning" and "R2" in str(met.measured)


def test_a_point_is_held_no_further_than_its_bar_reaches() -> None:
    """Both gauges leave: the wide rail that crosses the third rail at a K ends there, long before its V."""
    figures = measure(job(spec(two_gauge("both", "left", "right"), **PAIRS["HO"])))
    (switch,) = figures["switches"]
    k = next(frog for frog in figures["frogs"] if frog["kind"] == "K")
    for face in k["faces"]:
        for point in switch["point_rails"]:
            if {key: point[key] for key in face} == face:
                assert point["fix_station_mm"] <= k["stations_mm"][face["route"]] + 1e-9
                ends = {r["id"] for r in figures["rails"] for piece in r["pieces"] if _is_on(piece, point)}
                loose = [name for tie in figures["ties"] for name in tie["loose"]]
                assert len(ends & set(loose)) == 1
                break
        else:
            continue
        return
    raise AssertionError("no point ends at the K")


def _is_on(piece: dict[str, Any], point: dict[str, Any]) -> bool:
    return all(piece[key] == point[key] for key in ("route", "gauge", "hand"))


def test_the_point_that_falls_short_most_is_told() -> None:
    """The bar that ends at a K bends over less than the others and so opens less; the throw told serves them all."""
    figures = measure(job(spec(two_gauge("both", "left", "left"), **PAIRS["HO"])))
    (switch,) = figures["switches"]
    (found,) = [f for f in figures["findings"] if f["rule"] == "point-opening"]
    short = {p["wanted_opening_mm"] - p["opening"]["least_opening_mm"]: p for p in switch["point_rails"]}
    worst = short[max(short)]
    assert f"{worst['route']} {worst['gauge']} {worst['hand']}" in found["where"]
    throws = [p["opening"]["throw_to_hold_mm"] for p in switch["point_rails"]]
    assert switch["throw_to_hold_mm"] == (None if None in throws else max(throws))


@pytest.mark.parametrize("number", [4, 6])
def test_each_point_is_thrown_where_the_bar_crosses_it(number: int) -> None:
    """The tips of a turnout lie at different places along it: the bar is a different way behind each of them.

    Each point opens at its full head, where nothing but the throw parts it, by what its own lever leaves there.
    """
    figures = measure(job(spec(plain(number), rail="code 100")))
    (switch,) = figures["switches"]
    bars = []
    for point in (p for p in switch["point_rails"] if p["route"] == "branch"):
        bars.append(bar_on(switch, point))
        opening = point["opening"]
        moved = switch["throw_mm"] * share(opening["model"], point["planed_mm"], bars[-1], point["fix_mm"])
        assert opening["at_mm"] == pytest.approx(point["planed_mm"], abs=1e-6)
        assert opening["least_opening_mm"] == pytest.approx(moved, abs=1e-6)
    assert bars


@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize(("toward", "stock"), [(False, "common"), (True, "narrow")])
def test_an_open_point_leaves_room_for_the_wheels_that_pass_it(hand: str, toward: bool, stock: str) -> None:
    """The narrow gauge alone leaves. A point beside the common rail is passed by both gauges, one beside a rail of the
    narrow gauge by that alone, whichever gauges run on the point itself.

    NMRA S-3.2 (2010), gauge less point spread: HO 0.649 - 0.588 in, HOn3 by the row Sn2.
    """
    common = hand if toward else {"left": "right", "right": "left"}[hand]
    figures = measure(job(spec(two_gauge("narrow", common, hand), **PAIRS["HO"])))
    (switch,) = figures["switches"]
    gauge = figures["gauges"]["narrow"]
    narrow = gauge["width_mm"] - gauge["point_spread_mm"]
    assert narrow < WANTED
    branch_outer, main_outer = switch["point_rails"]
    assert [f["gauge"] for f in branch_outer["behind"]] == [stock]
    assert branch_outer["wanted_opening_mm"] == pytest.approx(WANTED if stock == "common" else narrow, abs=1e-9)
    assert [f["gauge"] for f in main_outer["behind"]] == ["narrow"]
    assert main_outer["wanted_opening_mm"] == pytest.approx(narrow, abs=1e-9)
    # The throw makes the opening at the filed tip, over the bar's lever (a bent bar thrown somewhat behind the tip).
    opening = switch["openings"][0]
    bar = bar_on(switch, branch_outer)
    at_tip = switch["throw_mm"] * share("bent", 0.0, bar, opening["fix_mm"])
    assert at_tip == pytest.approx(branch_outer["wanted_opening_mm"], abs=1e-6)


def test_a_k_over_its_tip_holds_no_point() -> None:
    """A three-way whose second tips lie where the first branch crosses: the K takes 2 mm of one point's tip.

    Held there it would open backwards, by -9 mm as a lever of half a millimetre; it bends from where it is fast next.
    """
    formation = "three_way: {frog: 6.62, stagger: 41.6 mm, hand: right, common_rail: right}"
    keys = "units: mm\nscale: N\ngauges: {wide: N, narrow: Nn3}\nrail: code 70"
    text = f"spec: 1\nname: K over a tip\n{keys}\n{formation}\n"
    figures = measure(work_out(read_spec(text, file="test.yaml", folder=None)))
    assert [f["where"][:2] for f in figures["findings"] if f["rule"] == "tip-missing"] == ["S2"]
    for switch in figures["switches"]:
        assert len(switch["throw_bar"]["spots"]) == switch["points"]
        for point in switch["point_rails"]:
            assert point["fix_mm"] > point["planed_mm"]
            assert 0.0 < point["opening"]["least_opening_mm"] < point["wanted_opening_mm"]
