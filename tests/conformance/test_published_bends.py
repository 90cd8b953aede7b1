"""Turnouts bent to a curved main, against what is published of bending them.

The sources are numbered as in the project's list of published values: S29 a companion text to a 19th-century US field
book, read; S27 Webb, Railroad Construction, read; S35 an article on German turnouts, of which 1:9 and 16.615 m were
read, 10.523 and 20.797 m are from memory.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from .figures import RAD, measured
from .prototype import FOOT, full_size
from .scenes import PieceSpec

NUMBER_8 = 487.28
"""R in feet of the No. 8 of AREA plan 910, from memory: R2 of the rule's example."""
FOUR_DEGREES = 1432.69
"""R in feet of a curve of 4 degrees, 50/sin(2 deg)."""


def branch(pieces: list[PieceSpec], bend: dict[str, str] | None, **keys: Any) -> list[dict[str, Any]]:
    """Return the pieces of a branch that leaves a straight main, bent where `bend` says so."""
    main: PieceSpec = {"straight": keys.pop("main", "300 ft")}
    text = full_size(pieces, main=main, **keys).text
    if bend is not None:
        told = f"{{radius: {bend['radius']}, turn: {bend['turn']}}}"
        text = text.replace("  main:\n", f"  main:\n    bend: {told}\n", 1)
        assert told in text
    found: list[dict[str, Any]] = measured(text)["routes"]["branch"]["pieces"]
    return found


@pytest.mark.parametrize(
    ("turn", "sign", "rule"), [("left", 1, 363.61), ("right", -1, 738.43)], ids=["inside", "outside"]
)
def test_the_rule_of_added_curvatures(turn: str, sign: int, rule: float) -> None:
    # S29, read: inside r = R2 R/(R2 + R), outside r = R2 R/(R2 - R); its example is derived from it. Bending by legs
    # t = R2 tan(F/2) gives (Rm R2 -+ t^2)/(Rm +- R2): it parts from the rule by t^2/(R2 Rm) of the radius, no more.
    f = 2 * math.atan(1 / 16)
    pieces: list[PieceSpec] = [
        {"curve": {"radius": f"{NUMBER_8} ft", "turn": "left", "angle": f"{math.degrees(f)!r} deg"}},
        {"straight": "30 ft"},
    ]
    (arc, heel) = branch(pieces, {"radius": f"{FOUR_DEGREES} ft", "turn": turn})
    added = NUMBER_8 * FOUR_DEGREES / (FOUR_DEGREES + sign * NUMBER_8)
    assert added == pytest.approx(rule, abs=0.05)
    legs = NUMBER_8 * math.tan(f / 2)
    bound = legs**2 / (NUMBER_8 * FOUR_DEGREES)
    found = arc["radius_mm"] / FOOT
    assert (added - found) / added == pytest.approx(sign * bound, rel=1e-9)
    # The difference is measured, not only bounded: 0.133 in a hundred, half a foot inside and a foot outside.
    assert bound == pytest.approx(1.329e-3, rel=1e-3)
    assert abs(found - added) == pytest.approx({1: 0.483, -1: 0.981}[sign], abs=5e-4)
    assert heel["radius_mm"] / FOOT == pytest.approx(sign * FOUR_DEGREES, rel=1e-12)


@pytest.mark.parametrize("degrees", [1, 2, 4, 8])
def test_degrees_of_curve_are_added(degrees: int) -> None:
    # S27, read: the degree of the lead curve is that of the turnout from straight track and of the main, added or
    # subtracted. By legs 1/r = (1/R2 +- 1/Rm)/(1 -+ t^2/(R2 Rm)).
    f = 2 * math.atan(1 / 16)
    main = 50 / math.sin(math.radians(degrees / 2))
    pieces: list[PieceSpec] = [
        {"curve": {"radius": f"{NUMBER_8} ft", "turn": "left", "angle": f"{math.degrees(f)!r} deg"}},
        {"straight": "30 ft"},
    ]
    for turn, sign in (("left", 1), ("right", -1)):
        arc = branch(pieces, {"radius": f"{main!r} ft", "turn": turn})[0]
        added = 1 / NUMBER_8 + sign / main
        share = (NUMBER_8 * math.tan(f / 2)) ** 2 / (NUMBER_8 * main)
        assert FOOT / arc["radius_mm"] == pytest.approx(added / (1 - sign * share), rel=1e-9)
        assert share < 0.0028


@pytest.mark.parametrize("turn", ["left", "right"])
@pytest.mark.parametrize(
    ("radius", "n", "leg", "straight"),
    [(190, 9, 10.523, 16.615 - 10.523), (300, 9, 16.615, 0.0), (500, 12, 20.797, 0.0)],
    ids=["190-1:9", "300-1:9", "500-1:12"],
)
@pytest.mark.parametrize("main", [600, 1500])
def test_german_turnouts_keep_their_tangents(
    radius: int, n: int, leg: float, straight: float, turn: str, main: int
) -> None:
    # S35: legs to the vertex. 190-1:9 is as long behind the vertex as 300-1:9: the rest of that leg is straight. Bent,
    # the legs of the arc and that straight are what they were, and the branch leaves the main's tangent by atan(1/n).
    angle = math.atan(1 / n)
    pieces: list[PieceSpec] = [
        {"curve": {"radius": f"{radius} m", "turn": "left", "angle": f"{math.degrees(angle)!r} deg"}},
        {"straight": f"{straight or 5.0!r} m"},
    ]
    main_length = 5.0 + 2 * leg + (straight or 5.0)
    bend = {"radius": f"{main} m", "turn": turn}
    arc, heel = branch(pieces, bend, gauge="1435 mm", at="5 m", main=f"{main_length + 20!r} m")
    sign = 1 if turn == "left" else -1
    exact = radius * math.tan(angle / 2)
    for piece, length, turned in ((arc, exact, angle), (heel, (straight or 5.0) / 2, 0.0)):
        along = 2 * math.atan(length / main) * sign
        turning = piece["length_mm"] / piece["radius_mm"]
        assert turning == pytest.approx(turned + along, abs=RAD)
        assert piece["radius_mm"] / 1000 * math.tan(turning / 2) == pytest.approx(length, abs=1e-9)
    # Printed in mm and cut off, so that the whole last digit is open.
    assert abs(arc["radius_mm"] / 1000 * math.tan(arc["length_mm"] / arc["radius_mm"] / 2) - leg) < 0.001
    bent = (sign * main * radius - exact**2) / (sign * main + radius)
    assert arc["radius_mm"] / 1000 == pytest.approx(bent, rel=1e-12)


@pytest.mark.parametrize(("turn", "sign"), [("left", 1), ("right", -1)])
def test_a_german_turnout_ends_with_its_angle(turn: str, sign: int) -> None:
    # 500-1:12 with its main cut off level with the branch: 41.594 m (from memory) of either way, legs 20.797 m.
    radius, n, main = 500, 12, 1000
    angle, leg = math.atan(1 / n), 500 * math.tan(math.atan(1 / n) / 2)
    curve = {"radius": f"{radius} m", "turn": "left", "angle": f"{math.degrees(angle)!r} deg"}
    text = full_size([{"curve": curve}], gauge="1435 mm", at="5 m", main={"straight": f"{5 + 2 * leg!r} m"}).text
    bent = text.replace("  main:\n", f"  main:\n    bend: {{radius: {main} m, turn: {turn}}}\n", 1)
    ends = [measured(bent)["routes"][name]["end"]["heading_deg"] for name in ("branch", "main")]
    assert math.radians(ends[0] - ends[1]) == pytest.approx(angle, abs=RAD)
    turned = 5 / main + 2 * math.atan(leg / main)
    assert math.radians(ends[1]) == pytest.approx(sign * turned, abs=RAD)
    assert abs(2 * leg - 41.594) < 0.001
