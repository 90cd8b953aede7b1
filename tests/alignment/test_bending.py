"""Turnouts laid out straight and bent to a main: legs and angles kept, by constructions that share no line with it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from oracle.curves import ctx, mpf
from shapely import LineString, Point
from trackwork.building import TWENTY, TWO_GAUGES, job, refusal, spec, two_gauge

from turnout_templates.alignment.bending import Legs, legs_of
from turnout_templates.alignment.model import Layout
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.piece import Piece
from turnout_templates.geometry.pose import Pose
from turnout_templates.pipeline import measure

MM, RAD = 1e-6, 1e-9
"""The bar of the design for a computed place and direction."""
FAR = 1e5
POINTS = "points: {length: 60, spread: 2.2, tip: 0.15}, "

TURNOUT = """main: {path: [straight: 420]@}
    branch: {leaves: main, at: 60, hand: left, path: [{frog: 7}, straight: 120]}"""
CURVED = "{straight: 60}, {curve: {radius: 900, turn: left, length: 300}}"
COUNTER = "{straight: 20}, {curve: {radius: 700, turn: right, angle: 6 deg}}"
OWN = "{straight: 15}, {curve: {radius: 600, turn: left, angle: 9 deg}}"
EASED = "{easement: {length: 90, from: straight, to: {radius: 700, turn: left}}}"
SITES = {
    "tangent points": TURNOUT,
    "right hand": TURNOUT.replace("hand: left", "hand: right"),
    "straight points": TURNOUT.replace("hand: left, ", "hand: left, " + POINTS),
    "entry": TURNOUT.replace("hand: left, ", "hand: left, points: {entry: 1 deg}, "),
    "lead given": TURNOUT.replace("frog: 7", "frog: 7, lead: 160"),
    "curve and counter-curve": TURNOUT.replace("straight: 120", COUNTER),
    "radius given": TURNOUT.replace("{frog: 7}", "{curve: {radius: 600, turn: left, to: frog}}"),
    "pieces of one's own": TURNOUT.replace("{frog: 7}", OWN),
}
BENDS = ("{radius: 762, turn: left}", "{radius: 900, turn: right}", "{radius: 5000, turn: left}")


def laid(routes: str, bend: str | None, **keys: str) -> Layout:
    """Return the layout of routes whose main is bent or, with None, left straight."""
    return job(spec(routes.replace("@", f", bend: {bend}" if bend else ""), **keys)).layout


def radius_of(bend: str) -> float:
    number = float(bend.split("radius: ")[1].split(",")[0])
    return number if "left" in bend else -number


def vertex(piece: Piece) -> tuple[float, float]:
    """Return the legs of a piece on the ground: from its ends to where shapely finds their tangents to cross."""
    start, end = piece.start, piece.end
    ahead = LineString([start.point, start.ahead(FAR).point])
    back = LineString([end.point, end.ahead(-FAR).point])
    meet = ahead.intersection(back)
    assert isinstance(meet, Point)
    return meet.distance(Point(start.point)), meet.distance(Point(end.point))


def turn(piece: Piece) -> float:
    return piece.length * piece.from_curvature


def kept_legs(piece: Piece) -> float:
    """Return the leg of a piece of the straight layout, from its chord: t = (c/2)/cos(a/2)."""
    chord = math.dist(piece.start.point, piece.end.point)
    return chord / 2 / math.cos(turn(piece) / 2)


# --- legs and angle are kept


@pytest.mark.parametrize("bend", BENDS)
@pytest.mark.parametrize("site", SITES)
def test_every_piece_keeps_its_legs_and_turns_by_what_the_main_does(site: str, bend: str) -> None:
    before, after = (laid(SITES[site], b).route("branch").path for b in (None, bend))
    main = radius_of(bend)
    assert len(before.pieces) == len(after.pieces)
    for was, now in zip(before.pieces, after.pieces, strict=True):
        leg = kept_legs(was)
        # What a main of that radius turns over two such tangents: the right triangle of radius, tangent and centre.
        along = 2 * math.asin(leg / math.hypot(leg, main)) * math.copysign(1, main)
        assert turn(now) == pytest.approx(turn(was) + along, abs=RAD)
        # A leg found on the ground of a flat curve is uncertain: doubles to 1e-12 over the turn.
        assert vertex(now) == pytest.approx((leg, leg), abs=MM)


@pytest.mark.parametrize("bend", BENDS)
@pytest.mark.parametrize("site", SITES)
def test_the_angle_between_the_ends_is_kept(site: str, bend: str) -> None:
    """Of the branch's end, and of the main where it has turned over the same legs."""
    before, after = laid(SITES[site], None), laid(SITES[site], bend)
    main = after.route("main").path
    branch = after.route("branch").path
    legs = [kept_legs(piece) for piece in before.route("branch").path.pieces]
    # Points with an angle turn about where their planed face begins: the main is looked at beside that place.
    outer = after.route("branch").faces[0 if "hand: right" in SITES[site] else 1].offset
    begin = main.foot_near(branch.start.beside(outer), 60.0)[0]
    beside = begin + sum(2 * abs(main_r) * math.atan(leg / abs(main_r)) for leg in legs for main_r in [radius_of(bend)])
    between = branch.end.heading - main.heading_at(beside)
    straight = before.route("branch").path.end.heading
    assert between == pytest.approx(straight, abs=RAD)


@pytest.mark.parametrize("bend", BENDS)
def test_main_and_branch_of_the_same_legs_end_with_the_angle_of_the_straight_turnout(bend: str) -> None:
    """A turnout whose two ways have the same legs: 60 mm of track, an arc of 8 deg with legs of 70 mm, 40 mm more."""
    radius = 70 / math.tan(math.radians(4))
    routes = f"""main: {{path: [straight: 240]@}}
        branch: {{leaves: main, at: 60, hand: left,
          path: [{{curve: {{radius: {radius!r}, turn: left, angle: 8 deg}}}}, straight: 40]}}""".replace(",\n", ",")
    layout = laid(routes, bend)
    main, branch = layout.route("main").path, layout.route("branch").path
    assert branch.end.heading - main.end.heading == pytest.approx(math.radians(8), abs=RAD)
    # The polygon of the main: 60 mm as track, then legs 70, 70, 20, 20 from vertex to vertex.
    rm = radius_of(bend)
    turned = 60 / rm + 2 * math.atan(70 / rm) + 2 * math.atan(20 / rm)
    assert main.end.heading == pytest.approx(turned, abs=RAD)
    assert main.length == pytest.approx(turned * rm, abs=MM)
    # The loss beside the arc is of the third order in its legs: 2 t^3/(3 Rm^2) and less.
    lost = 240 - main.length
    assert 0 < lost < 2 * (70**3 + 20**3) / (3 * rm**2)


@pytest.mark.parametrize("length", [225, 210, 300])
def test_a_main_that_ends_before_or_behind_its_branch(length: float) -> None:
    """Cut off amid the heel's 40 mm it has the same part of what that turns; what lies beyond keeps its length."""
    radius, rm = 70 / math.tan(math.radians(4)), 762.0
    routes = f"""main: {{path: [straight: {length}]@}}
        branch: {{leaves: main, at: 60, hand: left,
          path: [{{curve: {{radius: {radius!r}, turn: left, angle: 8 deg}}}}, straight: 40]}}""".replace(",\n", ",")
    arc, heel = 2 * math.atan(70 / rm), 2 * math.atan(20 / rm)
    turned = 60 / rm + arc + heel * min(1.0, (length - 200) / 40) + max(0, length - 240) / rm
    assert laid(routes, BENDS[0]).route("main").path.length == pytest.approx(turned * rm, abs=MM)


@pytest.mark.parametrize("sign", [1, -1])
def test_the_radius_is_the_formula_of_the_legs(sign: int) -> None:
    """R = (Rm R0 -+ t^2)/(R0 +- Rm) to fifty digits, from tan((a + b)/2) of the two half turns."""
    before, after = (
        laid(TURNOUT, b).route("branch") for b in (None, f"{{radius: 762, turn: {'left' if sign > 0 else 'right'}}}")
    )
    was, now = before.path.pieces[0], after.path.pieces[0]
    r0, rm = 1 / mpf(was.from_curvature), sign * mpf(762)
    t = r0 * ctx.tan(mpf(was.length) / r0 / 2)
    expected = (rm * r0 - t**2) / (rm + r0)
    assert 1 / now.from_curvature == pytest.approx(float(expected), rel=1e-12)
    # Against the addition of curvatures it differs by t^2/(R0 Rm), here two to three parts in a hundred.
    added = 1 / (1 / r0 + 1 / rm)
    assert float(expected / added) == pytest.approx(float(1 - t**2 / (r0 * rm)), rel=1e-15)


def test_a_straight_piece_takes_the_radius_of_the_main() -> None:
    pieces = laid(TURNOUT, "{radius: 762, turn: left}").route("branch").path.pieces
    assert [1 / piece.from_curvature for piece in pieces[1:]] == pytest.approx([762, 762], rel=1e-12)


def test_a_bend_to_the_radius_of_the_turnout_makes_it_straight() -> None:
    r0 = 1 / laid(TURNOUT, None).route("branch").path.pieces[0].from_curvature
    (first, *_) = laid(TURNOUT, f"{{radius: {r0!r}, turn: right}}").route("branch").path.pieces
    t = r0 * math.tan(turn(laid(TURNOUT, None).route("branch").path.pieces[0]) / 2)
    assert first.kind == "straight" or abs(first.from_curvature) < 1e-15
    assert first.length == pytest.approx(2 * t, abs=MM)


@pytest.mark.parametrize("bend", BENDS)
def test_the_frog_is_where_the_faces_cross_and_its_number_differs_a_little(bend: str) -> None:
    routes = TURNOUT.replace("@", f", bend: {bend}")
    (frog,) = measure(job(spec(routes)))["frogs"]
    layout = job(spec(routes)).layout
    (gauge,) = job(spec(routes)).spec.gauges.values()
    main, branch = layout.route("main").path, layout.route("branch").path
    point = (frog["x_mm"], frog["y_mm"])
    assert main.foot_near(point, 200)[1] == pytest.approx(gauge.width / 2, abs=MM)
    assert branch.foot_near(point, 150)[1] == pytest.approx(-gauge.width / 2, abs=MM)
    assert 1e-4 < abs(frog["number"] - 7) < 0.15


# --- where tips lie


@pytest.mark.parametrize("bend", BENDS)
@pytest.mark.parametrize("site", SITES)
def test_the_tip_stays_at_its_station(site: str, bend: str) -> None:
    """A filed tip's gap depends on legs only in the third order: here straight points still have theirs."""
    found = measure(job(spec(SITES[site].replace("@", f", bend: {bend}"))))
    (switch,) = found["switches"]
    assert switch["station_mm"] == pytest.approx(60, abs=1e-9)
    assert switch["laid"] == "bent from straight"
    tip, rm = switch["tip"], radius_of(bend)
    assert (tip["x_mm"], tip["y_mm"]) == pytest.approx((rm * math.sin(60 / rm), rm * (1 - math.cos(60 / rm))), abs=MM)
    if site == "straight points":
        assert switch["filed_tip"]["station_mm"] == pytest.approx(60, abs=0.01)


SEVERAL = """main: {start: {x: 3, y: -5, heading: 20 deg}, path: [{straight: 300}, {straight: 500}]@}
    first: {leaves: main, at: 60, hand: left, path: [{frog: 6}, straight: 260]}
    far: {leaves: first, at: 250, hand: left, path: [{frog: 5}, straight: 60]}
    second: {leaves: main, at: 520, hand: right, path: [{frog: 6}, straight: 50]}"""


def test_branches_of_branches_and_several_in_a_row() -> None:
    before, after = laid(SEVERAL, None), laid(SEVERAL, "{radius: 1200, turn: left}")
    stations = [after.route(name).departure.station for name in ("first", "second")]  # type: ignore[union-attr]
    assert stations == pytest.approx([60, 520], abs=1e-12)
    for name in ("first", "far", "second"):
        for was, now in zip(before.route(name).path.pieces, after.route(name).path.pieces, strict=True):
            assert vertex(now) == pytest.approx((kept_legs(was),) * 2, abs=MM)
    first, far = after.route("first").path, after.route("far")
    assert far.departure is not None
    # The branch of the branch leaves where it did, at the same part of the same piece, tangent.
    straight = before.route("first").path
    share = (250 - straight.starts[2]) / straight.pieces[2].length
    assert far.departure.station == pytest.approx(first.starts[2] + share * first.pieces[2].length, abs=MM)
    tip = first.pose_at(far.departure.station)
    assert (far.path.start.x, far.path.start.y, far.path.start.heading) == pytest.approx(
        (tip.x, tip.y, tip.heading), abs=MM
    )
    assert len(measure(job(spec(SEVERAL.replace("@", ", bend: {radius: 1200, turn: left}"))))["frogs"]) == 3


WYE = """stem: {path: [straight: 100]@}
    north: {leaves: stem, at: end, hand: left, path: [{frog: 6}, straight: 90]}
    south: {leaves: stem, at: end, hand: right, path: [{frog: 6}, straight: 90]}"""


def test_a_bent_wye() -> None:
    """The stem keeps its length; to one side the curve is sharper, to the other nearly straight."""
    layout = laid(WYE, "{radius: 900, turn: right}")
    assert layout.route("stem").path.length == pytest.approx(100, abs=1e-12)
    end = layout.route("stem").path.end
    before = laid(WYE, None)
    for name in ("north", "south"):
        path = layout.route(name).path
        assert (path.start.x, path.start.y, path.start.heading) == pytest.approx((end.x, end.y, end.heading), abs=MM)
        for was, now in zip(before.route(name).path.pieces, path.pieces, strict=True):
            assert vertex(now) == pytest.approx((kept_legs(was),) * 2, abs=MM)
    apart = layout.route("north").path.end.heading - layout.route("south").path.end.heading
    straight = before.route("north").path.end.heading - before.route("south").path.end.heading
    assert apart == pytest.approx(straight, abs=RAD)


@pytest.mark.parametrize(("case", "common", "hand"), TWENTY)
def test_mixed_gauges_keep_their_frogs(case: str, common: str, hand: str) -> None:
    """Kinds, points and switches are those of the straight turnout: rails that were one before the tip still are."""
    routes = two_gauge(case, common, hand)
    bent = routes.replace("common_rail:", "bend: {radius: 1100, turn: left}, common_rail:")
    assert bent.count("bend:") == 1
    plain, curved = (measure(job(spec(text, gauges=TWO_GAUGES))) for text in (routes, bent))
    assert [f["kind"] for f in curved["frogs"]] == [f["kind"] for f in plain["frogs"]]
    assert [s["points"] for s in curved["switches"]] == [s["points"] for s in plain["switches"]]
    assert [f["faces"] for f in curved["frogs"]] == [f["faces"] for f in plain["frogs"]]


@pytest.mark.parametrize("common", ["left", "right"])
def test_a_narrow_branch_that_runs_along_at_first_stays_one_rail_with_its_main(common: str) -> None:
    """Its reference line lies beside the main's: there it takes the main's own parallel."""
    routes = f"""main: {{common_rail: {common}, path: [straight: 420]@}}
        branch: {{leaves: main, at: 60, hand: left, gauges: [narrow], path: [straight: 40, frog: 6, straight: 60]}}"""
    layout = laid(routes, "{radius: 762, turn: left}", gauges=TWO_GAUGES)
    main, branch = layout.route("main").path, layout.route("branch").path
    shifts = [main.foot_near(branch.point_at(s), 60 + s)[1] for s in (0.0, 10.0, 25.0, 39.9)]
    assert abs(shifts[0]) > 2
    assert shifts == pytest.approx([shifts[0]] * 4, abs=1e-9)


def test_only_what_leaves_the_bent_route_is_bent() -> None:
    routes = TURNOUT + "\nother: {start: {x: 90, y: 300}, path: [straight: 200]}"
    layout = laid(routes, "{radius: 762, turn: left}")
    assert [route.bent for route in layout] == [True, True, False]
    assert layout.route("other").path == laid(routes, None).route("other").path
    (switch,) = measure(job(spec(TURNOUT.replace("@", ""))))["switches"]
    assert switch["laid"] == "solved on its main"


def test_solved_on_the_curve_and_bent_to_it_differ() -> None:
    """The toe is straight in the one and bent in the other, and so the curve before it is another."""
    bent = laid(TURNOUT, "{radius: 762, turn: left}").route("branch").path
    solved = laid(TURNOUT.replace("straight: 420", "{curve: {radius: 762, turn: left, length: 420}}"), None)
    radii = [1 / path.pieces[0].from_curvature for path in (bent, solved.route("branch").path)]
    assert abs(radii[0] - radii[1]) > 20


# --- laws


@given(st.floats(1, 400), st.floats(-2.5, 2.5), st.floats(-0.01, 0.01))
def test_bending_back_gives_the_piece_again(leg: float, angle: float, curvature: float) -> None:
    legs = Legs(leg, angle)
    back = legs.bent(curvature).bent(-curvature)
    assert (back.length, back.turn) == pytest.approx((leg, angle), abs=1e-12)


@given(st.floats(1, 400), st.floats(-3.0, 3.0), st.floats(-3, 3))
def test_a_shape_has_the_legs_it_was_made_from(leg: float, angle: float, heading: float) -> None:
    shape = Legs(leg, angle).shape()
    piece = Piece(Pose(5, -3, heading), shape.length, shape.from_curvature, shape.to_curvature)
    found = legs_of(piece)
    assert (found.length, found.turn) == pytest.approx((leg, angle), rel=1e-9, abs=1e-9)
    assert kept_legs(piece) == pytest.approx(leg, rel=1e-9)


@pytest.mark.parametrize("site", SITES)
def test_mirrored_it_is_the_mirror_image(site: str) -> None:
    other = SITES[site].replace("left", "LEFT").replace("right", "left").replace("LEFT", "right")
    one, two = laid(SITES[site], "{radius: 762, turn: left}"), laid(other, "{radius: 762, turn: right}")
    for a, b in zip(one, two, strict=True):
        assert _ends(a.path) == pytest.approx(_ends(b.path.mirrored()), abs=1e-9)


def _ends(path: Path) -> list[float]:
    return [x for piece in path.pieces for x in (*piece.end.point, piece.end.heading)]


# --- what cannot be bent

BENT = ", bend: {radius: 762, turn: left}"
TIGHT = """main: {path: [straight: 420]@}
    branch: {leaves: main, at: 60, hand: left, path: [{curve: {radius: 40, turn: left, angle: 90 deg}}]}"""


@pytest.mark.parametrize(
    ("routes", "where", "said"),
    [
        (
            TURNOUT.replace("@", BENT).replace("straight: 420", CURVED),
            "routes > main > bend",
            "its 2nd piece is not",
        ),
        (TURNOUT.replace("@", "").replace("at: 60", "at: 60" + BENT), "routes > branch > bend", "Only a route"),
        (TURNOUT.replace("@", BENT.replace("762", "12")), "routes > main > bend > radius", "less than the gauge"),
        (TURNOUT.replace("@", BENT.replace("762", "60")), "routes > main > bend > radius", "more than a whole circle"),
        (TIGHT.replace("@", BENT.replace("762", "90")), "routes > main > bend > radius", "tighter than its gauge"),
        (
            TURNOUT.replace("@", BENT).replace("straight: 120", EASED),
            "routes > branch > path > 2nd piece",
            "has an easement",
        ),
        (
            TURNOUT.replace("@", BENT).replace("straight: 120", "{curve: {radius: 150, turn: left, angle: 185 deg}}"),
            "routes > branch > path > 2nd piece",
            "half a circle or more",
        ),
    ],
)
def test_what_cannot_be_bent(routes: str, where: str, said: str) -> None:
    message = refusal(routes)
    assert said in message
    assert message.rstrip(")").endswith(where)


def test_the_curve_that_is_too_tight_is_so() -> None:
    """A quarter of 40 mm has legs of 40 mm: (40 Rm - 1600)/(Rm + 40) is the gauge, 16.4846 mm, at Rm = 96.078 mm."""
    edge = (1600 + 40 * 16.4846) / (40 - 16.4846)
    refusal(TIGHT.replace("@", BENT.replace("762", f"{edge - 1e-3:.6f}")))
    path = laid(TIGHT, f"{{radius: {edge + 1e-3:.6f}, turn: left}}").route("branch").path
    assert 1 / path.greatest_curvature == pytest.approx(16.4846, abs=1e-3)
