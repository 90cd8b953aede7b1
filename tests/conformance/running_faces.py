"""Turn the routes that `measure` prints into gauge faces: where they lie, and from where wheels follow them.

A branch's face counts from its bend, where it comes to lie inside the rails that it leaves, or behind a stub's toe.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from .tracing import Figures, Places, Reals, Trace

LOOK = 80.0
"""How far (mm) behind a switch's tip the faces of a branch are looked at for where they begin."""
LONGEST_STRIP = 200.0
"""Strips are cut up into such lengths (mm), none of which can lie on itself."""


@dataclass(frozen=True)
class Face:
    """A gauge face of a route and the wheels that follow it; it is run on between the stations `begin` and `end`."""

    route: str
    gauge: str
    hand: str
    offset: float
    flangeway: float
    gauges: tuple[str, ...]
    begin: float = 0.0
    end: float = 0.0

    @property
    def outward(self) -> int:
        """+1 where the head lies to the left of the face."""
        return 1 if self.hand == "left" else -1

    @property
    def key(self) -> tuple[str, str, str]:
        """What names the face in the figures."""
        return self.route, self.gauge, self.hand

    def __str__(self) -> str:
        """The face as a person would say it."""
        return " ".join(self.key)


def key_of(figures: Figures) -> tuple[str, str, str]:
    """Return what names a face, from figures that tell of it."""
    return figures["route"], figures["gauge"], figures["hand"]


class Tracks:
    """The routes of a spec with all their gauge faces, and where wheels follow them as faces of their own."""

    def __init__(self, figures: Figures) -> None:
        self.figures = figures
        self.traces = {name: Trace(route) for name, route in figures["routes"].items()}
        self.widened = {name: _widenings(route) for name, route in figures["routes"].items()}
        self._lines: dict[tuple[str, str, str], LineString] = {}
        self.whole = {face.key: face for name in self.traces for face in self._whole_faces(name)}
        self.faces = {face.key: begun for face in self.whole.values() if (begun := self._begun(face)) is not None}

    def _whole_faces(self, name: str) -> Iterator[Face]:
        """Yield the faces of a route: half the widest gauge on the common side, the others a gauge away from it."""
        route = self.figures["routes"][name]
        gauges = {g: self.figures["gauges"][g] for g in route["gauges"]}
        half = max(g["width_mm"] for g in gauges.values()) / 2
        end = self.traces[name].length
        common = route["common_rail"] or "left"
        other = "right" if common == "left" else "left"
        c = 1 if common == "left" else -1
        shared = "common" if len(gauges) > 1 else next(iter(gauges))
        widest = max(g["flangeway_mm"] for g in gauges.values())
        yield Face(name, shared, common, c * half, widest, tuple(gauges), 0.0, end)
        for g, of in gauges.items():
            yield Face(name, g, other, c * (half - of["width_mm"]), of["flangeway_mm"], (g,), 0.0, end)

    def offsets(self, face: Face, stations: Reals, out: float = 0.0) -> Reals:
        """Return how far left of the reference line a face lies, `out` mm outward of it, wider gauge included."""
        offsets = np.full(len(stations), face.offset + face.outward * out)
        for inner, at, by in self.widened[face.route]:
            if inner == face.hand:
                offsets = offsets + face.outward * np.interp(stations, at, by, left=0.0, right=0.0)
        return offsets

    def stations(self, face: Face, low: float, high: float) -> Reals:
        """Return stations along a face close enough to draw it with chords."""
        some = self.traces[face.route].stations(low, high)
        knees = [s for _, at, _ in self.widened[face.route] for s in at if low < s < high]
        return np.union1d(some, knees) if knees else some

    def places(self, face: Face, low: float, high: float, out: float = 0.0) -> Places:
        """Return the places of a face, `out` mm outward of it, from one station to another."""
        stations = self.stations(face, low, high)
        return self.traces[face.route].beside(stations, self.offsets(face, stations, out))

    def strip(self, face: Face, low: float, high: float, first: float, last: float) -> BaseGeometry:
        """Return the region between `first` and `last` mm outward of a face, in parts that cannot lie on themselves."""
        parts = []
        for a, b in _cut_up(low, high, LONGEST_STRIP):
            ring = np.concatenate([self.places(face, a, b, first), self.places(face, a, b, last)[::-1]])
            parts.append(Polygon(np.column_stack([ring.real, ring.imag])))
        return shapely.union_all(parts) if len(parts) > 1 else parts[0] if parts else Polygon()

    def line(self, face: Face, low: float, high: float) -> LineString:
        """Return a face as a line."""
        places = self.places(face, low, high)
        return LineString(np.column_stack([places.real, places.imag]))

    def _begun(self, face: Face) -> Face | None:
        """Return a face from where it is a running face of its own: behind its bend, behind the toe of a stub."""
        low, high = face.begin, face.end
        for switch in self.figures["switches"]:
            if face.route not in switch["branches"]:
                continue
            forward = self._leaves_at_start(face.route, switch)
            begin = self._toe(face, switch) if switch["switching"] == "stub" else self._bend(face, switch, forward)
            low, high = (max(low, begin), high) if forward else (low, min(high, begin))
        if low >= high:
            return None
        return replace(face, begin=low, end=high)

    def _leaves_at_start(self, route: str, switch: Figures) -> bool:
        tip = complex(switch["tip"]["x_mm"], switch["tip"]["y_mm"])
        trace = self.traces[route]
        start, end = trace.beside(np.array([0.0, trace.length]), 0.0)
        return bool(abs(start - tip) <= abs(end - tip))

    def _toe(self, face: Face, switch: Figures) -> float:
        for rail in switch["fixed_rails"]:
            if key_of(rail) == face.key:
                return float(rail["begin_station_mm"])
        raise AssertionError(f"no rail of {face} begins behind the toe of {switch['id']}")

    def _bend(self, face: Face, switch: Figures, forward: bool) -> float:
        """Return the station up to which a face lies outside the other routes' rails, on which its wheels still run."""
        trace = self.traces[face.route]
        reach = min(LOOK, trace.length)
        low, high = (0.0, reach) if forward else (trace.length - reach, trace.length)
        stations = np.linspace(low, high, 641)
        places = trace.beside(stations, self.offsets(face, stations))
        outward = face.outward * 1j * np.exp(1j * trace.headings(stations))
        outside = np.zeros(len(stations), dtype=bool)
        for other in self.whole.values():
            if other.route in {switch["main"], *switch["branches"]} - {face.route} and self._alike(face, other):
                line = self.face_line(other)
                near = shapely.get_coordinates(
                    shapely.line_interpolate_point(line, shapely.line_locate_point(line, _points(places)))
                )
                apart = places - (near[:, 0] + 1j * near[:, 1])
                out = (apart * outward.conj()).real
                outside |= (np.abs(apart) < 0.6) & (out > 0.002)
        if not outside.any():
            return 0.0 if forward else trace.length
        return float(stations[outside].max() if forward else stations[outside].min())

    def _alike(self, face: Face, other: Face) -> bool:
        return bool(set(face.gauges) & set(other.gauges))

    def face_line(self, face: Face) -> LineString:
        """Return the whole of a face as a line, from end to end of its route."""
        if face.key not in self._lines:
            self._lines[face.key] = self.line(face, 0.0, self.traces[face.route].length)
        return self._lines[face.key]


def _widenings(route: Figures) -> list[tuple[str, list[float], list[float]]]:
    return [
        (w["inner"], [k["station_mm"] for k in w["profile"]], [k["by_mm"] for k in w["profile"]])
        for w in route["widening"]
    ]


def _cut_up(low: float, high: float, most: float) -> Iterator[tuple[float, float]]:
    if high <= low:
        return
    edges = np.linspace(low, high, max(1, math.ceil((high - low) / most)) + 1)
    yield from itertools.pairwise(edges.tolist())


def _points(places: Places) -> np.ndarray:
    found: np.ndarray = shapely.points(places.real, places.imag)
    return found
