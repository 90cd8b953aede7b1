"""Which curves are widened, by how much and from where to where."""

from __future__ import annotations

import pytest
from trackwork.building import spec

from turnout_templates.alignment.lay_out import lay_out_routes
from turnout_templates.alignment.model import LaidRoute
from turnout_templates.alignment.widened import Knot
from turnout_templates.errors import InputProblems
from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import read_spec


def laid(path: str, widening: str = "{by: 0.3, below: 600, taper: 100}") -> LaidRoute:
    routes = f"main: {{widening: {widening}, path: [{path}]}}"
    return work_out(read_spec(spec(routes), file="a.yaml", folder=None)).layout.route("main")


def profiles(path: str, widening: str = "{by: 0.3, below: 600, taper: 100}") -> list[tuple[str, tuple[Knot, ...]]]:
    return [(stretch.inner, stretch.knots) for stretch in laid(path, widening).widened]


def arc(radius: float, length: float, turn: str = "left") -> str:
    return f"curve: {{radius: {radius}, turn: {turn}, length: {length}}}"


def ease(length: float, first: str, last: str, turn: str = "left") -> str:
    ends = [end if end == "straight" else f"{{radius: {end}, turn: {turn}}}" for end in (first, last)]
    return f"easement: {{length: {length}, from: {ends[0]}, to: {ends[1]}}}"


@pytest.mark.parametrize("turn", ["left", "right"])
def test_an_arc_is_full_all_along_and_tapers_in_what_lies_before_and_behind(turn: str) -> None:
    (found,) = profiles(f"straight: 50, {ease(80, 'straight', '500', turn)}, {arc(500, 200, turn)}, straight: 300")
    assert found == (turn, ((30.0, 0.0), (130.0, 0.3), (330.0, 0.3), (430.0, 0.0)))


def test_a_curve_of_just_the_radius_is_not_below_it() -> None:
    assert profiles(f"straight: 200, {arc(600, 200)}, straight: 200") == []
    assert len(profiles(f"straight: 200, {arc(599.99, 200)}, straight: 200")) == 1


def test_an_easement_is_widened_where_all_of_it_is_tight_enough() -> None:
    """From 550 to 400 mm it is, so that both arcs and what lies between are one curve; from 700 on it is not."""
    tight = profiles(f"straight: 200, {arc(550, 100)}, {ease(300, '550', '400')}, {arc(400, 100)}, straight: 200")
    assert tight == [("left", ((100.0, 0.0), (200.0, 0.3), (700.0, 0.3), (800.0, 0.0)))]
    flat = profiles(f"{arc(700, 200)}, {ease(300, '700', '400')}, {arc(400, 100)}, straight: 200")
    assert flat == [("left", ((400.0, 0.0), (500.0, 0.3), (600.0, 0.3), (700.0, 0.0)))]


def test_tapers_of_two_curves_to_one_side_run_into_each_other() -> None:
    """80 mm apart, both tapers of 100 mm stand at 0.3 x 60/100 = 0.18 mm where they meet, in the middle."""
    ((inner, knots),) = profiles(f"straight: 200, {arc(500, 100)}, straight: 80, {arc(500, 100)}, straight: 200")
    assert inner == "left"
    stations, wider = zip(*knots, strict=True)
    assert stations == pytest.approx((100, 200, 300, 340, 380, 480, 580), abs=1e-9)
    assert wider == pytest.approx((0, 0.3, 0.3, 0.18, 0.3, 0.3, 0), abs=1e-12)


def test_two_curves_far_enough_apart_are_two_stretches() -> None:
    found = profiles(f"straight: 200, {arc(500, 100)}, straight: 200, {arc(500, 100)}, straight: 200")
    assert [knots[0][0] for _, knots in found] == [100.0, 400.0]


def test_of_two_widenings_the_greater_holds() -> None:
    """By the rule in HO: 1/4 in of full size below 1435.7 mm and 1/2 in below 1118.5 mm, 0.0729 and 0.1458 mm."""
    ((_, knots),) = profiles(
        f"straight: 200, {arc(1300, 300)}, {arc(500, 300)}, straight: 200", "{from: prototype, taper: 50}"
    )
    by, most = 0.25 * 25.4 / 87.1, 0.5 * 25.4 / 87.1
    stations, wider = zip(*knots, strict=True)
    # The taper of the sharper curve, 50 mm long, comes out of the other's widening half way up.
    assert stations == pytest.approx((150, 200, 475, 500, 800, 850), abs=1e-9)
    assert wider == pytest.approx((0, by, by, most, most, 0), abs=1e-12)


def test_without_a_taper_the_gauge_changes_by_one_in_five_hundred() -> None:
    """Common practice, no source."""
    ((_, knots),) = profiles(f"straight: 200, {arc(500, 100)}, straight: 200", "{by: 0.2, below: 600}")
    assert knots[0][0] == pytest.approx(200 - 100) and knots[-1][0] == pytest.approx(300 + 100)


def test_curves_to_both_sides_have_a_stretch_each() -> None:
    found = profiles(f"straight: 100, {arc(500, 100)}, straight: 200, {arc(500, 100, 'right')}, straight: 100")
    assert [(inner, knots[0][0], knots[-1][0]) for inner, knots in found] == [("left", 0, 300), ("right", 300, 600)]


def test_curves_to_both_sides_that_are_too_near_are_refused() -> None:
    with pytest.raises(InputProblems) as caught:
        laid(f"straight: 100, {arc(500, 100)}, straight: 150, {arc(500, 100, 'right')}, straight: 100")
    (problem,) = caught.value.problems
    assert "on both sides from 250 mm to 300 mm" in problem.sentence
    assert "at least 50 mm more" in problem.remedy and "by 25 mm" in problem.remedy
    assert problem.key_path == ("routes", "main", "widening")


def test_a_route_of_any_gauges_widens_each_by_as_much() -> None:
    for common in ("left", "right"):
        for turn in ("left", "right"):
            routes = f"""
                main: {{common_rail: {common}, widening: {{by: 0.3, below: 600, taper: 100}},
                  path: [straight: 200, {arc(500, 200, turn)}, straight: 200]}}
            """
            text = spec(routes, gauges="standard: HO, narrow: HOn3")
            route = lay_out_routes(read_spec(text, file="a.yaml", folder=None).spec).route("main")
            for gauge in {g for face in route.faces for g in face.gauges}:
                one, two = (face for face in route.faces if gauge in face.gauges)
                for s, more in ((50, 0.0), (150, 0.15), (300, 0.3), (425, 0.225)):
                    assert route.offset_at(one, s) - route.offset_at(two, s) == pytest.approx(gauge.width + more)
            outer = [face for face in route.faces if face.hand != turn]
            assert all(route.offset_at(face, 300) == face.offset for face in outer)


def test_the_curve_to_a_frog_is_left_out_and_those_behind_it_are_not() -> None:
    """A No. 6 in HO has a radius of some 1100 mm; the branch curves sharply only 200 mm behind the frog."""
    routes = """
        main: {path: [straight: 400]}
        branch: {leaves: main, at: 60, hand: left, widening: {by: 0.3, below: 1500, taper: 50},
          path: [{frog: 6}, {straight: 200}, {curve: {radius: 400, turn: right, length: 200}}, {straight: 80}]}
    """
    route = work_out(read_spec(spec(routes), file="a.yaml", folder=None)).layout.route("branch")
    (stretch,) = route.widened
    arcs = [begin for begin, piece in zip(route.path.starts, route.path.pieces, strict=True) if piece.kind == "arc"]
    assert len(arcs) == 2 and stretch.full == (arcs[1], arcs[1] + 200)
