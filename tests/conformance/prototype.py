"""Turn full-size figures of the literature into specs at 1:1 and read the program's answer back in feet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from .figures import Figures, measured
from .scenes import Leg, PieceSpec, Scene

FOOT = 304.8
INCH = 25.4
STANDARD = "56.5 in"
"""4 ft 8 1/2 in (S24, S26: read)."""


def full_size(
    branch: Sequence[PieceSpec],
    *,
    gauge: str = STANDARD,
    main: PieceSpec | None = None,
    at: str = "30 ft",
    hand: str = "left",
    points: Any = "tangent",
    head: str = "2.75 in",
) -> Scene:
    """Return a turnout at 1:1; the rail's head matters only where `through` is left out."""
    pieces = (main or {"straight": "300 ft"},)
    leg = Leg("branch", tuple(branch), at=at, hand=hand, points=points)
    return Scene(pieces, (leg,), gauges=(("standard", gauge),), head=head, scale="1:1")


def the_frog(scene: Scene) -> Figures:
    """Return the one frog of a single-gauge turnout."""
    (frog,) = measured(scene.text)["frogs"]
    assert frog["kind"] == "V"
    return dict(frog)


def arc_radius(scene: Scene) -> float:
    """Return the radius in mm of the branch's reference line on the last arc before the frog."""
    arcs = [p for p in measured(scene.text)["routes"]["branch"]["pieces"] if p["kind"] == "arc"]
    return abs(float(arcs[-1]["radius_mm"]))


def rounding(model: Callable[..., float], inputs: dict[str, float], halves: dict[str, float]) -> float:
    """Return how far `model` moves when each input in `halves` moves by half of its last printed digit.

    A table's own figures are rounded; what follows from them cannot be sharper than that.
    """
    centre = model(**inputs)
    return sum(
        max(abs(model(**{**inputs, name: inputs[name] + sign * half}) - centre) for sign in (1, -1))
        for name, half in halves.items()
    )
