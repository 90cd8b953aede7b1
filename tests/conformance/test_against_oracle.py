"""Every crossing, path and switch of many kinds of turnout, against the fifty-digit oracle."""

from __future__ import annotations

import random
from typing import Any

import pytest

from turnout_templates.errors import TemplateError

from .figures import check_frogs, check_routes, check_switches, measured
from .scenes import Leg, NoSuchFrog, PieceSpec, Scene, solve

TWO = (("standard", "16.5 mm"), ("narrow", "10.5 mm"))
MAINS: dict[str, tuple[str, tuple[PieceSpec, ...]]] = {
    "straight": ("100 mm", ({"straight": "600 mm"},)),
    "curve to the left": ("100 mm", ({"curve": {"radius": "762 mm", "turn": "left", "length": "600 mm"}},)),
    "curve to the right": ("100 mm", ({"curve": {"radius": "905.5 mm", "turn": "right", "angle": "40 deg"}},)),
    "straight, then a curve": (
        "95 mm",
        ({"straight": "120 mm"}, {"curve": {"radius": "762 mm", "turn": "left", "length": "480 mm"}}),
    ),
    "easing into a curve": (
        "60 mm",
        (
            {"easement": {"length": "300 mm", "from": "straight", "to": {"radius": "800 mm", "turn": "left"}}},
            {"curve": {"radius": "800 mm", "turn": "left", "length": "250 mm"}},
        ),
    ),
    "easing from right to left": (
        "80 mm",
        (
            {
                "easement": {
                    "length": "420 mm",
                    "from": {"radius": "1250 mm", "turn": "right"},
                    "to": {"radius": "1100 mm", "turn": "left"},
                }
            },
            {"straight": "100 mm"},
        ),
    ),
}
STRAIGHT_POINTS = {"length": "45 mm", "spread": "1.65 mm", "tip": "0.15 mm"}

CARRIED = {"both": ("standard", "narrow"), "wide": ("standard",), "narrow": ("narrow",)}
ON = {"straight": "60 mm"}  # beyond the frog, so that no default says where the branch ends


def turnout(main: str, hand: str, points: str, *, carried: tuple[str, ...] = ("standard",), **scene: Any) -> Scene:
    at, pieces = MAINS[main]
    to_frog: PieceSpec = {"curve": {"frog": "6"}}
    path: tuple[PieceSpec, ...] = (to_frog, ON)
    spoken: Any = "tangent"
    if points == "straight":
        spoken = STRAIGHT_POINTS
    if points == "entry":
        spoken = {"entry": "1.2 deg"}
        path = ({"curve": {"radius": "1400 mm", "turn": hand, "length": "30 mm"}}, to_frog, ON)
    return Scene(pieces, (Leg("branch", path, carried, at=at, hand=hand, points=spoken),), **scene)


ONE_GAUGE = [
    (main, hand, points) for main in MAINS for hand in ("left", "right") for points in ("tangent", "straight", "entry")
]
TWO_GAUGES = [
    (main, hand, points, carried, common)
    for main in ("straight", "curve to the left", "easing into a curve")
    for hand in ("left", "right")
    for points in ("tangent", "straight", "entry")
    for carried in CARRIED
    for common in ("left", "right")
    if not (points == "entry" and main != "curve to the left")
]


def check(scene: Scene) -> None:
    """Compare everything, or see the program refuse what cannot be built."""
    try:
        solve(scene)
    except NoSuchFrog:
        with pytest.raises(TemplateError, match="frog"):
            measured(scene.text)
        return
    assert check_frogs(scene)
    check_routes(scene)
    check_switches(scene)


@pytest.mark.parametrize(("main", "hand", "points"), ONE_GAUGE)
def test_one_gauge(main: str, hand: str, points: str) -> None:
    check(turnout(main, hand, points))


@pytest.mark.parametrize(("main", "hand", "points", "carried", "common"), TWO_GAUGES)
def test_two_gauges(main: str, hand: str, points: str, carried: str, common: str) -> None:
    check(turnout(main, hand, points, carried=CARRIED[carried], common=common, gauges=TWO))


OPEN_PIECES: list[PieceSpec] = [
    {"frog": "4"},
    {"frog": "8.5", "through": "curved"},
    {"frog": "7", "through": {"straight": "25 mm"}},
    {"frog_angle": "8.25 deg"},
    {"frog_ratio": "1:7"},
    {"frog_ratio": "1:9", "through": "curved"},
    {"radius": "390 mm", "turn": "HAND", "to": "frog"},
    {"radius": "430 mm", "turn": "HAND", "to": "frog", "through": "curved"},
    {"radius": "350 mm", "turn": "HAND", "to": "frog", "through": {"straight": "20 mm"}},
]


@pytest.mark.parametrize("main", ["straight", "curve to the left", "easing into a curve"])
@pytest.mark.parametrize("hand", ["left", "right"])
@pytest.mark.parametrize("curve", OPEN_PIECES, ids=lambda curve: "-".join(str(v) for v in curve.values()))
def test_the_ways_to_say_a_frog(main: str, hand: str, curve: PieceSpec) -> None:
    at, pieces = MAINS[main]
    spoken = {key: hand if value == "HAND" else value for key, value in curve.items()}
    check(Scene(pieces, (Leg("branch", ({"curve": spoken}, ON), at=at, hand=hand),)))


def test_a_frog_at_the_end_of_the_path_is_followed_by_a_straight_heel() -> None:
    at, pieces = MAINS["curve to the left"]
    scene = Scene(pieces, (Leg("branch", ({"curve": {"frog": "6"}},), at=at, hand="right"),))
    check(scene)
    last = measured(scene.text)["routes"]["branch"]["pieces"][-1]
    assert last["kind"] == "straight"
    # Toe k = 2.5 x 0.889/(2 sin(F/2)) = 13.38 mm for F = 9.527 deg; the heel lies beyond it on the same line.
    assert last["length_mm"] > 13.38


def test_a_branch_of_given_pieces_needs_no_frog() -> None:
    path: tuple[PieceSpec, ...] = (
        {"curve": {"radius": "700 mm", "turn": "right", "length": "130 mm"}},
        {"easement": {"length": "80 mm", "from": {"radius": "700 mm", "turn": "right"}, "to": "straight"}},
        {"straight": "90 mm"},
    )
    check(
        Scene(
            MAINS["curve to the left"][1], (Leg("branch", path, ("narrow",), at="100 mm"),), gauges=TWO, common="right"
        )
    )


def test_pieces_before_the_frog_piece_count() -> None:
    path: tuple[PieceSpec, ...] = (
        {"easement": {"length": "60 mm", "from": "straight", "to": {"radius": "800 mm", "turn": "left"}}},
        {"curve": {"frog": "6"}},
        ON,
    )
    check(Scene(MAINS["straight"][1], (Leg("branch", path, at="100 mm", hand="left"),)))


@pytest.mark.parametrize("common", ["left", "right"])
@pytest.mark.parametrize("carried", list(CARRIED))
def test_two_branches_of_one_main(common: str, carried: str) -> None:
    # The two leave at one tip to either side; their inner faces cross each other as well.
    legs = tuple(
        Leg(
            f"to the {hand}".replace(" ", "_"),
            ({"curve": {"frog": number}}, ON),
            CARRIED[carried],
            at="100 mm",
            hand=hand,
        )
        for hand, number in (("left", "6"), ("right", "5.5"))
    )
    check(Scene(MAINS["curve to the left"][1], legs, gauges=TWO, common=common))


@pytest.mark.parametrize("common", ["left", "right"])
@pytest.mark.parametrize(
    ("first", "second"), [("standard", "narrow"), ("narrow", "standard"), ("standard", "standard")]
)
def test_routes_that_part_where_their_main_ends(common: str, first: str, second: str) -> None:
    legs = (
        Leg("upper", ({"curve": {"radius": "800 mm", "turn": "left", "length": "260 mm"}},), (first,), at="end"),
        Leg("lower", ({"curve": {"radius": "1100 mm", "turn": "right", "length": "260 mm"}},), (second,), at="end"),
    )
    check(Scene(({"straight": "90 mm"},), legs, gauges=TWO, common=common))


@pytest.mark.parametrize(
    ("heading", "y"), [("22 deg", "-60 mm"), ("-31.5 deg", "90 mm"), ("155 deg", "-20 mm"), ("75 deg", "-160 mm")]
)
@pytest.mark.parametrize("gauges", [("standard",), ("standard", "narrow"), ("narrow",)], ids=" ".join)
def test_routes_that_cross(heading: str, y: str, gauges: tuple[str, ...]) -> None:
    x = {"155 deg": "560 mm", "22 deg": "30 mm"}.get(heading, "100 mm")
    over = Leg("over", ({"straight": "600 mm"},), gauges, start=(x, y, heading), common="right")
    main: tuple[PieceSpec, ...] = ({"curve": {"radius": "1500 mm", "turn": "left", "length": "600 mm"}},)
    check(Scene(main, (over,), gauges=TWO))


@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_branch_of_a_branch(hand: str) -> None:
    legs = (
        Leg(
            "first", ({"curve": {"frog": "6"}}, {"straight": "350 mm"}), ("standard", "narrow"), at="60 mm", hand="left"
        ),
        Leg("second", ({"curve": {"frog": "5"}}, ON), ("narrow",), leaves="first", at="210 mm", hand=hand),
    )
    check(Scene(({"straight": "700 mm"},), legs, gauges=TWO))


def some_scene(seed: int) -> Scene:
    """Return a turnout drawn by chance, the same for a seed on every machine."""
    pick = random.Random(seed)

    def length(low: float, high: float) -> str:
        return f"{pick.uniform(low, high):.3f} mm"

    def bend() -> dict[str, str]:
        return {"radius": length(650, 3000), "turn": pick.choice(["left", "right"])}

    middle: PieceSpec = pick.choice(
        [
            {"straight": length(500, 700)},
            {"curve": {**bend(), "length": length(500, 700)}},
            {"easement": {"length": length(500, 700), "from": bend(), "to": "straight"}},
            {"easement": {"length": length(500, 700), "from": "straight", "to": bend()}},
        ]
    )
    hand = pick.choice(["left", "right"])
    points: Any = "tangent"
    if pick.random() < 0.5:
        points = {"length": length(30, 60), "spread": length(1.3, 1.9), "tip": length(0.05, 0.2)}
    elif pick.random() < 0.4:
        points = {"entry": f"{pick.uniform(0.3, 2):.4f} deg"}
    through: PieceSpec = pick.choice([{}, {}, {"through": "curved"}, {"through": {"straight": length(5, 20)}}])
    say = pick.choice(["frog", "frog_angle", "frog_ratio"])
    number = pick.uniform(3.8, 8.5)
    spoken = {"frog": f"{number:.3f}", "frog_angle": f"{57.3 / number:.4f} deg", "frog_ratio": f"1:{number:.3f}"}[say]
    leg = Leg(
        "branch",
        ({"curve": {say: spoken, **through}}, ON),
        pick.choice(list(CARRIED.values())),
        at=length(20, 90),
        hand=hand,
        points=points,
    )
    return Scene(
        (middle,),
        (leg,),
        gauges=pick.choice(
            [TWO, (("standard", "9 mm"), ("narrow", "6.5 mm")), (("standard", "31.75 mm"), ("narrow", "16.5 mm"))]
        ),
        common=pick.choice(["left", "right"]),
        start=(length(-200, 200), length(-200, 200), f"{pick.uniform(-180, 180):.4f} deg"),
        head=length(0.6, 1.1),
    )


@pytest.mark.parametrize("seed", range(48))
def test_turnouts_drawn_by_chance(seed: int) -> None:
    check(some_scene(seed))
