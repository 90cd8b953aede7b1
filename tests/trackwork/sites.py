"""The layouts that every rule of trackwork is held against, by name: routes and the keys of their specs."""

from __future__ import annotations

from typing import Any

from trackwork.building import TWENTY, TWO_GAUGES, plain, two_gauge

N_CLEARANCES = (
    "{standard: {flangeway: 0.9, check_gauge: 8.25, span: 7.5, point_spread: 8}, "
    "narrow: {flangeway: 0.9, check_gauge: 5.75, span: 5.0, point_spread: 5.5}}"
)
N_KEYS = {"gauges": "standard: 9 mm, narrow: 6.5 mm", "scale": "N", "rail": "code 55", "clearances": N_CLEARANCES}
"""Wide enough a flangeway, 0.9 mm, to crowd the turnout, as the design has it."""

N_NEM = {**N_KEYS, "gauges": "standard: N, narrow: Nn3", "clearances": "MOROP NEM 110 (2009)"}
"""By the published figures."""


def ladder(count: int, frog: float = 6, gap: float = 260) -> str:
    """Return the routes of a yard: `count` tracks that leave one straight lead."""
    tracks = [
        f"t{i}: {{leaves: lead, at: {60 + gap * i}, hand: {'right' if i % 2 else 'left'}, "
        f"path: [{{frog: {frog}}}, {{straight: 120}}]}}"
        for i in range(count)
    ]
    return "\n".join([f"lead: {{path: [straight: {200 + gap * count}]}}", *tracks])


def fan(count: int) -> str:
    """Return the routes of a yard in which every track leaves the one before it."""
    lines = ["t0: {path: [straight: 330]}"]
    for i in range(1, count):
        hand = "left" if i % 2 else "right"
        at = 60 if i == 1 else 190
        lines.append(f"t{i}: {{leaves: t{i - 1}, at: {at}, hand: {hand}, path: [{{frog: 5}}, {{straight: 240}}]}}")
    return "\n".join(lines)


def crossing(
    degrees: float, *, main: str = "[standard]", over: str = "[standard]", y: float = -120, length: float = 450
) -> str:
    """Return two routes that cross, the second at `degrees` to the first."""
    return f"""
        main: {{gauges: {main}, path: [straight: {2 * length}]}}
        over: {{gauges: {over}, start: {{x: {length}, y: {y}, heading: {degrees} deg}}, path: [straight: {length}]}}
    """


SITES: dict[str, tuple[str, dict[str, Any]]] = {
    "plain left": (plain(6, "left"), {}),
    "plain right": (plain(4.5, "right"), {}),
    "straight points": (plain(6, "left", points="{length: 45, spread: 2.2, tip: 0.15}"), {}),
    "entry points": (plain(6, "right", points="{entry: 1.2 deg}"), {}),
    "curve into the branch": (
        """
        main: {path: [{curve: {radius: 762, turn: left, length: 400}}]}
        branch: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 60}]}
        """,
        {},
    ),
    "curve away from the branch": (
        """
        main: {path: [{curve: {radius: 762, turn: left, length: 330}}]}
        branch: {leaves: main, at: 60, hand: right, path: [{frog: 6}, {straight: 60}]}
        """,
        {},
    ),
    "curve with straight points": (
        """
        main: {path: [{curve: {radius: 900, turn: left, length: 380}}]}
        branch: {leaves: main, at: 60, hand: right, points: @, path: [{frog: 6}, {straight: 60}]}
        """.replace("@", "{length: 45, spread: 2.2, tip: 0.15}"),
        {},
    ),
    "easement": (
        """
        main: {path: [{easement: {length: 420, from: straight, to: {radius: 800, turn: left}}}]}
        branch: {leaves: main, at: 60, hand: right, path: [{frog: 6}, {straight: 60}]}
        """,
        {},
    ),
    "curved through the frog": (
        """
        main: {path: [straight: 330]}
        branch: {leaves: main, at: 60, hand: left, path: [{frog: 6, through: curved}, {curve: @}]}
        """.replace("@", "{radius: 500, turn: left, length: 60}"),
        {},
    ),
    "lead with a straight at the heel": (
        """
        main: {path: [straight: 360]}
        branch: {leaves: main, at: 60, hand: left, points: @, path: [{frog: 6, lead: 205}, {straight: 60}]}
        """.replace("@", "{length: 45, spread: 2.2, tip: 0.15}"),
        {},
    ),
    "lead with a straight at the toe": (
        """
        main: {path: [{curve: {radius: 900, turn: left, length: 360}}]}
        branch: {leaves: main, at: 60, hand: right, path: [{frog: 6, lead: 175}, {straight: 60}]}
        """,
        {},
    ),
    "bent with straight points": (
        """
        main: {bend: {radius: 800, turn: right}, path: [straight: 330]}
        branch: {leaves: main, at: 60, hand: left, points: @, path: [{frog: 6}, {straight: 60}]}
        """.replace("@", "{length: 45, spread: 2.2, tip: 0.15}"),
        {},
    ),
    "bent with a branch of a branch": (
        """
        main: {bend: {radius: 900, turn: left}, path: [straight: 420]}
        first: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 260}]}
        second: {leaves: first, at: 210, hand: right, path: [{frog: 5}, {straight: 60}]}
        """,
        {},
    ),
    "bent with two gauges": (
        two_gauge("both", "left", "left").replace("common_rail", "bend: {radius: 900, turn: left}, common_rail"),
        {"gauges": TWO_GAUGES},
    ),
    "wye": (
        """
        main: {path: [straight: 90]}
        left: {leaves: main, at: end, hand: left, path: [{frog: 5}, {straight: 60}]}
        right: {leaves: main, at: end, hand: right, path: [{frog: 5}, {straight: 60}]}
        """,
        {},
    ),
    **{
        f"wye with {name}": (
            """
            main: {path: [straight: 90]}
            left: {leaves: main, at: end, hand: left, points: @, path: [{frog: 6}, {straight: 60}]}
            right: {leaves: main, at: end, hand: right, points: @, path: [{frog: 6}, {straight: 60}]}
            """.replace("@", points),
            {},
        )
        for name, points in {
            "entry points": "{entry: 1.5 deg}",
            "a stub thrown straight": "{stub: 2.2, length: 60}",
        }.items()
    },
    "unequal wye": (
        """
        main: {path: [straight: 90]}
        left: {leaves: main, at: end, path: [{curve: {radius: 600, turn: left, length: 260}}]}
        right: {leaves: main, at: end, path: [{curve: {radius: 900, turn: right, length: 260}}]}
        """,
        {},
    ),
    "three ways": (
        """
        main: {path: [straight: 400]}
        left: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 60}]}
        right: {leaves: main, at: 60, hand: right, path: [{frog: 6}, {straight: 60}]}
        """,
        {},
    ),
    "three ways, one after the other": (
        """
        main: {path: [straight: 500]}
        left: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 120}]}
        right: {leaves: main, at: 145, hand: right, path: [{frog: 6}, {straight: 60}]}
        """,
        {},
    ),
    "three ways, closely": (
        """
        main: {path: [straight: 500]}
        left: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 120}]}
        right: {leaves: main, at: 85, hand: right, path: [{frog: 6}, {straight: 60}]}
        """,
        {},
    ),
    "stub": (plain(6, "left", points="{stub: 2.2}"), {}),
    "stub thrown straight on a curve": (
        """
        main: {path: [{curve: {radius: 900, turn: left, length: 380}}]}
        branch: {leaves: main, at: 60, hand: right, points: @, path: [{frog: 6}, {straight: 60}]}
        """.replace("@", "{stub: 2.4, length: 70}"),
        {},
    ),
    "three-way stub": (
        """
        main: {path: [straight: 400]}
        left: {leaves: main, at: 60, hand: left, points: @, path: [{frog: 6}, {straight: 60}]}
        right: {leaves: main, at: 60, hand: right, points: @, path: [{frog: 5}, {straight: 60}]}
        """.replace("@", "{stub: 2.4, length: 60}"),
        {},
    ),
    "wye stub": (
        """
        main: {path: [straight: 90]}
        left: {leaves: main, at: end, hand: left, points: {stub: 2.4}, path: [{frog: 5}, {straight: 60}]}
        right: {leaves: main, at: end, hand: right, points: {stub: 2.4}, path: [{frog: 5}, {straight: 60}]}
        """,
        {},
    ),
    **{
        f"fixed, common {common}, {hand}": (
            two_gauge("parting narrow", common, hand).replace("hand:", "points: fixed, hand:"),
            {"gauges": TWO_GAUGES},
        )
        for common, hand in (("left", "left"), ("left", "right"))
    },
    "stub of two gauges": (
        two_gauge("both", "left", "right").replace("hand:", "points: {stub: 2.4}, hand:"),
        {"gauges": TWO_GAUGES},
    ),
    "two to one side": (
        """
        main: {path: [straight: 560]}
        first: {leaves: main, at: 60, hand: left, path: [{frog: 5}, {straight: 160}]}
        second: {leaves: main, at: 240, hand: left, path: [{frog: 6}, {straight: 60}]}
        """,
        {},
    ),
    "branch of a branch": (
        """
        main: {path: [straight: 420]}
        first: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 260}]}
        second: {leaves: first, at: 210, hand: right, path: [{frog: 5}, {straight: 60}]}
        """,
        {},
    ),
    "ladder": (ladder(4), {}),
    "fan": (fan(4), {}),
    **{f"diamond of {d} degrees": (crossing(d, y=-180 if d > 60 else -120), {}) for d in (30, 45, 90, 135)},
    "diamond of two gauges": (
        crossing(45, main="[standard, narrow], common_rail: left", over="[standard, narrow], common_rail: right"),
        {"gauges": TWO_GAUGES},
    ),
    "wide over narrow": (
        crossing(30, main="[narrow]", over="[standard, narrow], common_rail: left"),
        {"gauges": TWO_GAUGES},
    ),
    "crossing twice": (
        """
        main: {path: [straight: 700]}
        over: {start: {x: 60, y: 60, heading: -35 deg}, path: [{curve: {radius: 500, turn: left, length: 620}}]}
        """,
        {},
    ),
    "three gauges": (
        """
        main: {common_rail: right, path: [straight: 420]}
        branch: {leaves: main, at: 60, hand: left, path: [{frog: 6}, {straight: 60}]}
        """,
        {"gauges": "standard: 16.5 mm, metre: 12 mm, narrow: 9 mm"},
    ),
    "N and Nn3": (two_gauge("both", "left", "left"), N_KEYS),
    "N and Nn3 away": (two_gauge("both", "left", "right"), N_KEYS),
    **{
        f"{case}, common {common}, {hand}": (two_gauge(case, common, hand), {"gauges": TWO_GAUGES})
        for case, common, hand in TWENTY
    },
}
