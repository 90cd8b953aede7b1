"""Straight points hold what they are asked for: heel spread and tip thickness, measured in fifty digits on any main.

The places are the program's own (`measure`); how far the point's face stands from the stock rail's there is found here,
by the foot of the perpendicular on the main as the spec states it.
"""

from __future__ import annotations

import pytest
from oracle.curves import Face, Num, Path, Piece, ctx, mpf, place

from .figures import Figures, measured
from .scenes import Scene, mm, solve
from .test_against_oracle import MAINS, STRAIGHT_POINTS, turnout

A, H, T = (mm(STRAIGHT_POINTS[key]) for key in ("length", "spread", "tip"))
S = ctx.asin((H - T) / A)
ON_EASEMENTS = [main for main, (_, pieces) in MAINS.items() if any("easement" in piece for piece in pieces)]


def branch_face(scene: Scene, side: int) -> Face:
    """Return the face that is planed as `measure` tells it; `side` is that to which the branch leaves."""
    pieces = [_piece(have) for have in measured(scene.text)["routes"]["branch"]["pieces"]]
    start = measured(scene.text)["routes"]["branch"]["pieces"][0]["start"]
    heading = mpf(start["heading_deg"]) * ctx.pi / 180
    path = Path(place(start["x_mm"], start["y_mm"], heading), tuple(pieces))
    return Face(path, -side * mm("16.5 mm") / 2)


def _piece(have: Figures) -> Piece:
    radii = have.get("radii_mm") or [have["radius_mm"]] * 2
    return Piece(mpf(have["length_mm"]), *(ctx.zero if radius is None else 1 / mpf(radius) for radius in radii))


def spread_at(face: Face, s: Num, stock: Face, near: Num) -> Num:
    """Return how far `face` stands at its station `s` from the face `stock`, left positive."""
    z = face.at(s)[0].z

    def ahead(u: Num) -> Num:
        here = stock.at(u)[0]
        return ((z - here.z) * ctx.expj(-here.heading)).real

    here = stock.at(ctx.findroot(ahead, (near, near + 1), tol=mpf("1e-60")))[0]
    return ((z - here.z) * ctx.expj(-here.heading)).imag


def station_at(face: Face, distance: Num) -> Num:
    """Return the station at which `face` is `distance` mm long from its start."""
    turned = face.path.start.heading
    return ctx.findroot(
        lambda s: s - face.offset * (face.path.at(s)[0].heading - turned) - distance, (distance, distance + 1)
    )


def bound(parent: Path, offset: Num, run: Num, low: Num) -> Num:
    """Return how far the spread may be off after `run` mm, and no further, if the point's face bends as the stock's.

    With d the angle between the faces and y the distance, y' = sin d and d' = k - k cos d/(1 - k y), k being the
    curvature of both: |d'| <= k^2 y + |k| d^2/2, and half of run^2 times that goes into y. Besides, the feet come to
    lie |k| y + d^2/2 apart for each mm run, and by as much too late or too early the point takes a change of k: times
    that change and the run. A quarter more is for terms of higher order.
    """
    curvatures = [parent.at(low + run * i / 20)[1] for i in range(21)]
    on_face = [k / (1 - offset * k) for k in curvatures]
    k = max(abs(value) for value in on_face)
    change = ctx.fsum(abs(on_face[i + 1] - on_face[i]) for i in range(20))
    feet = run * (k * H + S**2 / 2)
    return mpf("1.25") * (run**2 / 2 * (k**2 * H + k * S**2 / 2) + run * feet * change)


@pytest.mark.parametrize("main", MAINS)
@pytest.mark.parametrize("hand", ["left", "right"])
def test_heel_spread_and_tip_are_what_was_asked_for(main: str, hand: str) -> None:
    scene = turnout(main, hand, "straight")
    side = 1 if hand == "left" else -1
    face = branch_face(scene, side)
    parent = solve(scene)["main"].track.path
    stock, at = Face(parent, face.offset), mm(MAINS[main][0])
    before = T / ctx.sin(S)
    for run, wanted in ((before, T), (before + A, H)):
        s = station_at(face, run)
        have = side * spread_at(face, s, stock, at - before + run)
        allowed = bound(parent, face.offset, run, at - T / ctx.tan(S))
        assert abs(have - wanted) <= allowed + mpf("1e-6")
        # That is less than anybody can file: the check is worth something.
        assert allowed < mpf("0.02")


@pytest.mark.parametrize("main", [*ON_EASEMENTS, "straight, then a curve"])
@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_point_that_kept_the_curvature_of_its_vertex_would_miss(main: str, hand: str) -> None:
    """The check above can tell: bent all along as the stock rail is at the vertex, a point misses by far more."""
    scene = turnout(main, hand, "straight")
    side = 1 if hand == "left" else -1
    face = branch_face(scene, side)
    parent = solve(scene)["main"].track.path
    run = T / ctx.sin(S) + A
    k = face.path.pieces[0].k0
    kept = Face(Path(face.path.start, (Piece(mpf(100), k, k),)), face.offset)
    at = mm(MAINS[main][0])
    have = side * spread_at(kept, station_at(kept, run), Face(parent, face.offset), at + A)
    assert abs(have - H) > 3 * bound(parent, face.offset, run, at - T / ctx.tan(S))
