"""Turn the pieces of a route, as `measure` prints them, into places beside it: double precision, vectors of stations.

A second reading of the figures that shares no line with the program. A place is a complex number in mm, offsets are mm
to the left. Each piece is taken from its own start pose, so that a wrong pose shows as a step in the line.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

Figures = dict[str, Any]
Reals = NDArray[np.float64]
Places = NDArray[np.complex128]

SAGITTA = 0.0005
"""How far (mm) a chord may stand off the curve that it stands for: a quarter of what the program allows itself."""
LONGEST_CHORD = 25.0  # mm: a long straight piece is cut up so that boxes around its parts stay small
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
"""Gauss-Legendre over half a radian of turning is exact to rounding with 16 nodes; no piece of a turnout turns more."""
_TURN = 0.5


def curvatures(piece: Figures) -> tuple[float, float]:
    """Return the curvature (1/mm, left positive) at both ends of a piece."""
    radii = piece["radii_mm"] if "radii_mm" in piece else [piece["radius_mm"]] * 2
    first, last = (0.0 if radius is None else 1.0 / radius for radius in radii)
    return first, last


class Trace:
    """The reference line of a route."""

    def __init__(self, route: Figures) -> None:
        self.pieces = route["pieces"]
        lengths = [piece["length_mm"] for piece in self.pieces]
        self.begins = np.concatenate([[0.0], np.cumsum(lengths)])
        self.length = float(self.begins[-1])
        self.bends = [curvatures(piece) for piece in self.pieces]

    def piece_at(self, stations: Reals) -> NDArray[np.intp]:
        """Return the index of the piece that each station lies on."""
        return np.clip(np.searchsorted(self.begins, stations, side="right") - 1, 0, len(self.pieces) - 1)

    def headings(self, stations: Reals) -> Reals:
        """Return the heading (rad) at each station."""
        return self._places(stations)[1]

    def beside(self, stations: Reals, offsets: Reals | float) -> Places:
        """Return the places `offsets` mm to the left of the line."""
        places, headings = self._places(stations)
        found: Places = places + offsets * 1j * np.exp(1j * headings)
        return found

    def _places(self, stations: Reals) -> tuple[Places, Reals]:
        places = np.empty(len(stations), dtype=np.complex128)
        headings = np.empty(len(stations))
        index = self.piece_at(stations)
        for i in np.unique(index):
            mine = index == i
            places[mine], headings[mine] = self._on_piece(int(i), stations[mine] - self.begins[i])
        return places, headings

    def _on_piece(self, i: int, along: Reals) -> tuple[Places, Reals]:
        start = self.pieces[i]["start"]
        z0, h0 = complex(start["x_mm"], start["y_mm"]), math.radians(start["heading_deg"])
        k0, k1 = self.bends[i]
        slope = (k1 - k0) / self.pieces[i]["length_mm"]
        turned = k0 * along + slope * along**2 / 2
        if k0 == k1:
            # The chord of an arc: its length times sin(turn/2) / (turn/2), in the direction of the half turn.
            return z0 + along * np.sinc(turned / math.tau) * np.exp(1j * (h0 + turned / 2)), h0 + turned
        parts = max(1, math.ceil(max(abs(k0), abs(k1)) * self.pieces[i]["length_mm"] / _TURN))
        edges = np.linspace(0.0, 1.0, parts + 1)
        places = np.full(len(along), z0)
        for low, high in itertools.pairwise(edges):
            at = np.outer(along, (low + high) / 2 + (high - low) / 2 * _NODES)
            heading = h0 + k0 * at + slope * at**2 / 2
            places = places + along * (high - low) / 2 * (np.exp(1j * heading) @ _WEIGHTS)
        return places, h0 + turned

    def stations(self, low: float, high: float) -> Reals:
        """Return stations from `low` to `high` whose chords stand no more than SAGITTA off any face beside the line."""
        marks = [low, *(float(b) for b in self.begins[1:-1] if low < b < high), high]
        found = [np.array([low])]
        for a, b in itertools.pairwise(marks):
            i = int(self.piece_at(np.array([(a + b) / 2]))[0])
            sharpest = max(abs(k) for k in self.bends[i])
            step = min(LONGEST_CHORD, math.sqrt(8 * SAGITTA / sharpest)) if sharpest > 0 else LONGEST_CHORD
            found.append(np.linspace(a, b, max(2, math.ceil((b - a) / step) + 1))[1:])
        return np.concatenate(found)

    def length_beside(self, low: float, high: float, offset: float) -> float:
        """Return the length of the parallel `offset` mm to the left: what the line runs less offset times turn."""
        turn = 0.0
        for i, (k0, k1) in enumerate(self.bends):
            a, b = (min(max(s, self.begins[i]), self.begins[i + 1]) - self.begins[i] for s in (low, high))
            slope = (k1 - k0) / self.pieces[i]["length_mm"]
            turn += k0 * (b - a) + slope * (b * b - a * a) / 2
        return float(high - low - offset * turn)

    def foot(self, place: complex, near: float | None = None) -> float:
        """Return the station whose normal goes through a place, nearest to it (or to the station `near`)."""
        if near is None:
            some = self.stations(0.0, self.length)
            near = float(some[np.argmin(np.abs(self.beside(some, 0.0) - place))])
        s = near
        for _ in range(30):
            at, heading = self._places(np.array([s]))
            along = ((place - at[0]) * np.exp(-1j * heading[0])).real
            s = min(max(s + float(along), 0.0), self.length)
            if abs(along) < 1e-10:
                break
        return s
