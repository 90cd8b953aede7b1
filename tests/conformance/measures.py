"""Hold the lengths and places that `measure` prints of bars and ties against what their routes' pieces say anew."""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import Polygon

from .metal import Metal, is_metal, size_of
from .running_faces import key_of
from .tracing import Figures

EXACT = 1e-6  # mm: what double precision leaves of a length, with room for how a station was found
SMOOTH = 1e-4  # mm: the program takes stretches of face as one bar where they meet as near as this
TURN = 1e-8  # rad


def lengths_that_differ(metal: Metal) -> Iterator[str]:
    """Yield each bar whose length or whose pieces are not what the route beside them makes them."""
    for bar in metal.figures["rails"]:
        total = 0.0
        for piece in bar["pieces"]:
            length = length_of(metal, piece)
            total += length
            if abs(length - piece["length_mm"]) > EXACT:
                yield f"{bar['id']}: a piece of {piece['length_mm']:.6f} mm is {length:.6f} mm long"
            yield from (f"{bar['id']}: {wrong}" for wrong in _poses(metal, piece))
        if abs(total - bar["length_mm"]) > EXACT:
            yield f"{bar['id']}: {bar['length_mm']:.6f} mm is {total:.6f} mm long"
        yield from (f"{bar['id']}: its pieces are {apart:.6f} mm apart" for apart in _steps(bar) if apart > SMOOTH)


def _steps(bar: Figures) -> Iterator[float]:
    """Yield how far apart pieces lie that follow each other, on one face and where a bar goes over to another.

    On one face they are in order of station; which way the bar runs along it is not told.
    """
    faces = [list(pieces) for _, pieces in itertools.groupby(bar["pieces"], key=key_of)]
    for pieces in faces:
        yield from (abs(_ends(one)[1] - _ends(other)[0]) for one, other in itertools.pairwise(pieces))
    for one, other in itertools.pairwise([(_ends(pieces[0])[0], _ends(pieces[-1])[1]) for pieces in faces]):
        yield min(abs(a - b) for a in one for b in other)


def length_of(metal: Metal, piece: Figures) -> float:
    """Return the length of a piece of face; beside widened gauge along its slope."""
    face = metal.whole[key_of(piece)]
    trace = metal.traces[face.route]
    low, high = piece["from_mm"], piece["to_mm"]
    if piece["kind"] != "taper":
        offset = float(metal.offsets(face, np.array([(low + high) / 2]))[0])
        return trace.length_beside(low, high, offset)
    # A taper's offset changes evenly; Simpson's rule over chords as fine as 0.5 mm.
    stations = np.linspace(low, high, 2 * math.ceil(high - low) + 1)
    slope = (piece["offset_to_mm"] - piece["offset_mm"]) / (high - low)
    bend = np.gradient(np.unwrap(trace.headings(stations)), stations)
    speed = np.hypot(1 - bend * metal.offsets(face, stations), slope)
    weights = np.ones(len(stations))
    weights[1:-1:2], weights[2:-1:2] = 4, 2
    return float((speed @ weights) * (high - low) / (len(stations) - 1) / 3)


def _ends(piece: Figures) -> tuple[complex, complex]:
    return complex(piece["start"]["x_mm"], piece["start"]["y_mm"]), complex(piece["end"]["x_mm"], piece["end"]["y_mm"])


def _poses(metal: Metal, piece: Figures) -> Iterator[str]:
    face = metal.whole[key_of(piece)]
    trace = metal.traces[face.route]
    # A hair inside the piece, where its own curve is the one asked for, and back along the tangent.
    for name, station in (("start", piece["from_mm"]), ("end", piece["to_mm"])):
        at = np.array([station])
        z = complex(trace.beside(at, metal.offsets(face, at))[0])
        want = complex(piece[name]["x_mm"], piece[name]["y_mm"])
        if abs(z - want) > EXACT:
            yield f"the {name} of a piece lies {abs(z - want):.6f} mm off {face}"
        turn = cmath.phase(cmath.rect(1, math.radians(piece[name]["heading_deg"]) - float(trace.headings(at)[0])))
        if piece["kind"] != "taper" and abs(turn) > TURN:
            yield f"the {name} of a piece is turned by {math.degrees(turn):.6f} degrees on {face}"


def bars_that_overlap_on_a_face(metal: Metal) -> Iterator[str]:
    """Yield each stretch of a face that two bars claim, so that bars and gaps would not add up to the face."""
    claims: dict[tuple[str, str, str], list[tuple[float, float, str]]] = {}
    for bar in metal.figures["rails"]:
        for piece in bar["pieces"]:
            claims.setdefault(key_of(piece), []).append((piece["from_mm"], piece["to_mm"], bar["id"]))
    for key, intervals in claims.items():
        for (_, high, one), (low, _, other) in itertools.pairwise(sorted(intervals)):
            if high - low > EXACT:
                yield f"{one} and {other} both claim {high - low:.4f} mm of {' '.join(key)}"


def tie_outline(tie: Figures) -> Polygon:
    """Return the outline of a tie."""
    along = cmath.rect(1, math.radians(tie["angle_deg"]))
    z, half, side = complex(tie["x_mm"], tie["y_mm"]), tie["length_mm"] / 2, tie["width_mm"] / 2
    corners = [z + along * (a * half + 1j * b * side) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return Polygon([(c.real, c.imag) for c in corners])


def ties_on_ties(figures: Figures) -> Iterator[str]:
    """Yield each pair of ties that lie on each other."""
    ties = figures["ties"]
    outlines = [tie_outline(tie) for tie in ties]
    if not outlines:
        return
    first, second = shapely.STRtree(outlines).query(outlines, predicate="intersects")
    for i, j in sorted((int(a), int(b)) for a, b in zip(first, second, strict=True) if a < b):
        common = outlines[i].intersection(outlines[j])
        if is_metal(common):
            yield f"tie {ties[i]['id']} lies on tie {ties[j]['id']}: {size_of(common)}"


def places_without_tie(metal: Metal) -> Iterator[str]:
    """Yield each frog, heel of a point and end of a bar that has no tie near enough to be fixed to."""
    outlines = [tie_outline(tie) for tie in metal.figures["ties"]]
    if not outlines:
        return
    tree = shapely.STRtree(outlines)
    for name, z in places_to_hold(metal):
        spot = shapely.Point(z.real, z.imag)
        apart = spot.distance(outlines[tree.nearest(spot)])
        if apart > reach_of_ties(metal.figures):
            yield f"{name} lies {apart:.1f} mm from the nearest tie"


def reach_of_ties(figures: Figures) -> float:
    """Return how far (mm) the nearest tie may be: a tie space and a half, as DEVELOPERS.md has it for bare rail.

    The space is taken from the figures: the middle one of the steps between ties of one route.
    """
    steps = []
    by_route: dict[str, list[float]] = {}
    for tie in figures["ties"]:
        by_route.setdefault(tie["route"], []).append(tie["station_mm"])
    for stations in by_route.values():
        steps += [b - a for a, b in itertools.pairwise(sorted(stations))]
    return 1.5 * sorted(steps)[len(steps) // 2] if steps else math.inf


def places_to_hold(metal: Metal) -> Iterator[tuple[str, complex]]:
    """Yield what must be held down: frogs, heels, ends of bars."""
    for frog in metal.figures["frogs"]:
        yield frog["id"], complex(frog["x_mm"], frog["y_mm"])
    for switch in metal.figures["switches"]:
        for point in switch["point_rails"]:
            face = metal.whole[key_of(point)]
            at = np.array([point["heel_station_mm"]])
            yield f"the heel of {face}", complex(metal.traces[face.route].beside(at, metal.offsets(face, at))[0])
    for bar in metal.figures["rails"]:
        for z in (_ends(bar["pieces"][0]) + _ends(bar["pieces"][-1])) if bar["pieces"] else ():
            yield f"an end of {bar['id']}", z
