"""Formations whose polarity is known beforehand, as routes that can also be written mirrored or from the other end."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from typing import Any

from turnout_templates.pipeline import Job, work_out
from turnout_templates.spec.load import read_spec

Route = dict[str, Any]
OTHER = {"left": "right", "right": "left", "with": "against", "against": "with"}


def straight(length: Any) -> Route:
    """Return a straight piece."""
    return {"straight": length}


def curve(radius: Any, turn: str, degrees: float | None = None) -> Route:
    """Return a curve that turns by so many degrees, or by what is found."""
    size = {"length": "open"} if degrees is None else {"angle": f"{degrees} deg"}
    return {"curve": {"radius": radius, "turn": turn, **size}}


def free(*path: Route, x: float = 0.0, y: float = 0.0, heading: float = 0.0) -> Route:
    """Return a route that starts by itself."""
    return {"start": {"x": x, "y": y, "heading": f"{heading} deg"}, "path": list(path)}


def meets(route: str, at: Any, facing: str = "with") -> Route:
    """Return one end of a branch on another route."""
    return {"route": route, "at": at, "facing": facing}


def branch(leaves: Route, *path: Route, hand: str | None = None, joins: Route | None = None) -> Route:
    """Return a route that leaves another and may join one."""
    more = {"hand": hand, "joins": joins}
    return {"leaves": leaves, **{key: value for key, value in more.items() if value is not None}, "path": list(path)}


@dataclass(frozen=True)
class Formation:
    """Routes by name, the rings by the routes in them, and the pairs of routes whose crossing is opposed."""

    routes: dict[str, Route]
    rings: tuple[tuple[str, ...], ...] = ()
    opposed: tuple[tuple[str, str], ...] = ()

    @property
    def job(self) -> Job:
        """The formation worked out in HO."""
        head = "spec: 1\nname: Brindle Fen, a formation\nscale: HO\nunits: mm\n"
        return work_out(read_spec(f"{head}routes: {json.dumps(self.routes)}\n", file="test.yaml", folder=None))


STEM = free(straight(2000))
WEST = branch(meets("main", 300), curve(600, "right", 90), straight(400), hand="right")
EAST = branch(meets("main", 1600, "against"), curve("open", "left"), hand="left", joins=meets("west", "anywhere"))
LEVEL = free(straight(900))
BESIDE = free(straight(900), y=52.0)
FROG = {"frog": 6}
UP = branch(meets("a", 200), FROG, straight("open"), FROG, hand="left", joins=meets("b", "anywhere"))
DOWN = branch(meets("b", 200), FROG, straight("open"), FROG, hand="right", joins=meets("a", "anywhere"))
HALF = curve(450, "left", 180)
ACROSS = (curve(600, "left", 45), straight("open"), curve(600, "right"))
FAR = {"a": free(straight(2500)), "b": free(straight(2500), y=900.0)}
ROUND = branch(meets("a", "end"), HALF, joins=meets("b", "end", "against"))
LAP = free(straight(500), HALF, straight(500))

FORMATIONS = {
    "plain turnout": Formation({"main": LEVEL, "out": branch(meets("main", 200), FROG, straight(60), hand="left")}),
    "ladder": Formation(
        {
            "main": free(straight(900)),
            "lead": branch(meets("main", 60), FROG, straight(600), hand="left"),
            "one": branch(meets("lead", 320), FROG, straight(60), hand="right"),
            "two": branch(meets("lead", 520), FROG, straight(60), hand="right"),
        }
    ),
    "siding": Formation(
        {
            "a": free(straight(1700)),
            "s": branch(
                meets("a", 200),
                curve(700, "left", 12),
                straight("open"),
                curve(700, "right"),
                straight("open"),
                curve(700, "left", 12),
                hand="left",
                joins=meets("a", 1200),
            ),
        }
    ),
    "crossover": Formation({"a": LEVEL, "b": BESIDE, "up": UP}),
    "crossover of tracks that run against each other": Formation(
        {
            "a": LEVEL,
            "b": free(straight(900), x=900.0, y=52.0, heading=180.0),
            "up": {**UP, "joins": meets("b", "anywhere", "against")},
        }
    ),
    "scissors": Formation({"a": LEVEL, "b": BESIDE, "up": UP, "down": DOWN}),
    "diamond": Formation({"a": LEVEL, "b": free(straight(700), x=20.0, y=-120.0, heading=20.0)}),
    "diamond, one track the other way": Formation(
        {"a": LEVEL, "b": free(straight(700), x=677.785, y=119.414, heading=200.0)}
    ),
    "slip": Formation(
        {
            "a": LEVEL,
            "b": free(straight(760), x=100.0, y=-62.0, heading=9.5),
            "s": branch(meets("a", 380), curve("open", "left"), hand="left", joins=meets("b", "anywhere")),
        }
    ),
    "oval": Formation({"a": LAP, "b": branch(meets("a", "end"), HALF, joins=meets("a", 0.0))}),
    "dogbone": Formation({**FAR, "round": ROUND}),
    "dogbone with a crossover": Formation(
        {**FAR, "round": ROUND, "up": branch(meets("a", 100), *ACROSS, hand="left", joins=meets("b", "anywhere"))},
        rings=(("a", "round", "b", "up"),),
    ),
    "dogbone with two crossovers": Formation(
        {
            **FAR,
            "round": ROUND,
            "up": branch(meets("a", 100), *ACROSS, hand="left", joins=meets("b", "anywhere")),
            "on": branch(meets("a", 500), *ACROSS, hand="left", joins=meets("b", "anywhere")),
        },
        rings=(("a", "round", "b", "up"), ("a", "round", "b", "on")),
    ),
    "wye": Formation({"main": STEM, "west": WEST, "east": EAST}, rings=(("main", "west", "east"),)),
    "reversing loop": Formation(
        {
            "main": free(straight(900), curve(500, "left", 45), curve(450, "right", 265)),
            "closing": branch(
                meets("main", 300),
                curve("open", "right"),
                straight("open"),
                hand="right",
                joins=meets("main", "end", "against"),
            ),
        },
        rings=(("main", "closing"),),
    ),
    "figure of eight": Formation(
        {
            "a": free(straight(900), curve(450, "right", 210), straight(1800)),
            "b": branch(
                meets("a", "end"), straight("open"), curve(450, "left", 210), straight("open"), joins=meets("a", 0.0)
            ),
        },
        opposed=(("a", "b"),),
    ),
    "figure of eight that crosses square": Formation(
        {
            "a": free(straight(300), curve(450, "right", 270), straight(800)),
            "b": branch(
                meets("a", "end"), straight("open"), curve(450, "left", 270), straight("open"), joins=meets("a", 0.0)
            ),
        }
    ),
    "a line that crosses another there and back": Formation(
        {
            "a": free(straight(3000)),
            "b": free(straight(1700), curve(300, "right", 150), straight(500), x=100.0, y=-100.0, heading=20.0),
        },
        # The first crossing is the sharper one, and the tracks are fed for it; the second runs against it.
        opposed=(("a", "b"),),
    ),
    "three lines that cross each other": Formation(
        {
            "a": free(straight(900)),
            "b": free(straight(900), x=100.0, y=-100.0, heading=50.0),
            "c": free(straight(900), x=400.0, y=650.0, heading=280.0),
        },
        # Lines at 0, 50 and 100 degrees: whichever way they run, two of them meet at an obtuse angle.
        opposed=(("a", "c"),),
    ),
}


def mirrored(formation: Formation) -> Formation:
    """Return the mirror image in the x axis."""

    def change(key: str, value: Any) -> Any:
        if isinstance(value, dict):
            return {k: change(k, v) for k, v in value.items()}
        if isinstance(value, list):
            return [change(key, item) for item in value]
        if key == "y":
            return -value
        if key == "heading":
            return f"{-float(value.split()[0])} deg"
        return OTHER.get(value, value) if key in ("hand", "turn") else value

    return replace(formation, routes=change("", formation.routes))


def from_the_other_end(formation: Formation, name: str) -> Formation:
    """Return the same track with the free route `name` written from its other end."""
    path = formation.job.layout.route(name).path
    end = path.end.turned(math.pi)
    whole = formation.routes[name]
    heading = math.degrees(math.remainder(end.heading, math.tau))
    turned = {
        "start": {"x": f"{end.x:.12f} mm", "y": f"{end.y:.12f} mm", "heading": f"{heading:.12f} deg"},
        "path": [_turned_piece(piece) for piece in reversed(whole["path"])],
    }
    routes = {key: _meeting_turned(route, name, path.length) for key, route in formation.routes.items()}
    return replace(formation, routes={**routes, name: turned})


def _turned_piece(piece: Route) -> Route:
    if "curve" not in piece:
        return piece
    return {"curve": {**piece["curve"], "turn": OTHER[piece["curve"]["turn"]]}}


def _meeting_turned(route: Route, name: str, length: float) -> Route:
    ends = {key: route[key] for key in ("leaves", "joins") if key in route and route[key]["route"] == name}
    return {**route, **{key: _end_turned(end, length) for key, end in ends.items()}}


def _end_turned(end: Route, length: float) -> Route:
    at = end["at"]
    if at != "anywhere":
        at = 0.0 if at == "end" else length - at
    return {**end, "at": at, "facing": OTHER[end["facing"]]}
