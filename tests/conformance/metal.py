"""Rebuild rail heads, guiding rails and the paths of flanges from the figures that `measure` prints, and nothing else.

Every region comes from the pieces of the routes (traced here anew) and the outlines in the figures. A head is the strip
from its gauge face outward where a bar is `whole`, and what its outlines leave where it is `filed`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from .running_faces import Face, Tracks, key_of
from .tracing import Figures

ROUNDING = 0.01
"""Overlaps thinner than this (mm) are rounding: both sides are chords, of 0.002 mm sagitta in the program."""
COINCIDE = 0.02
"""Faces that lie within this distance (mm) are one."""


def is_metal(region: BaseGeometry, rounding: float = ROUNDING) -> bool:
    """Tell whether an overlap is thicker than rounding."""
    return not region.is_empty and region.area > rounding**2 and not region.buffer(-rounding / 2).is_empty


def size_of(region: BaseGeometry) -> str:
    """Describe an overlap: area, place and thickness."""
    low, high = 0.0, 4.0
    while high - low > 0.002:
        middle = (low + high) / 2
        low, high = (low, middle) if region.buffer(-middle / 2).is_empty else (middle, high)
    x, y = region.representative_point().coords[0]
    return f"{region.area:.3f} mm2, {low:.3f} mm thick, at ({x:.1f}, {y:.1f})"


@dataclass
class Item:
    """A piece of metal: a bar, a wing or a guard rail, by its id."""

    id: str
    region: BaseGeometry
    figures: Figures = field(repr=False)


class Metal(Tracks):
    """All the metal of a spec, and the faces that its wheels follow."""

    def __init__(self, figures: Figures) -> None:
        super().__init__(figures)
        self.head = figures["rail"]["head_mm"]

    @cached_property
    def items(self) -> list[Item]:
        """All metal: bars, wings and guards."""
        bars = [Item(bar["id"], self._head(bar), bar) for bar in self.figures["rails"]]
        guides = [
            Item(guide["id"], shapely.make_valid(Polygon(guide["outline"])), guide)
            for guide in (*self.figures["wings"], *self.figures["guards"])
        ]
        return bars + guides

    def _head(self, bar: Figures) -> BaseGeometry:
        """Return the head of a bar: strips where it is whole, and what its outlines leave where it is filed."""
        parts = [
            self.strip(self._face_of(whole), whole["from_mm"], whole["to_mm"], 0.0, self.head)
            for whole in bar["whole"]
            if whole["to_mm"] > whole["from_mm"]
        ]
        parts += [shapely.make_valid(Polygon(filed["outline"], filed["holes"])) for filed in bar["filed"]]
        return shapely.union_all(parts)

    def _face_of(self, figures: Figures) -> Face:
        """Return the face that some figures name; a bar's face is whole, whether or not wheels follow all of it."""
        return self.whole[key_of(figures)]

    def guarded(self, face: Face) -> float:
        """Return the flangeway (mm) that wheels on a face need beside a guard: gauge less check gauge."""
        gauges = [self.figures["gauges"][g] for g in face.gauges]
        return max(float(g["width_mm"] - g["check_gauge_mm"]) for g in gauges)

    def groove(self, face: Face, low: float, high: float, width: float | None = None) -> BaseGeometry:
        """Return what flanges on a face sweep between two stations: inward from it by the flangeway."""
        return self.strip(face, low, high, 0.0, -(face.flangeway if width is None else width))


def without(whole: tuple[float, float], holes: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return what is left of an interval outside `holes`."""
    left, at = [], whole[0]
    for low, high in sorted(holes):
        if low > at:
            left.append((at, min(low, whole[1])))
        at = max(at, high)
    left.append((at, whole[1]))
    return [(low, high) for low, high in left if high - low > 1e-9]
