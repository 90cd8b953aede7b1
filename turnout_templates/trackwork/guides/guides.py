"""Lay the guiding rails of frogs: wing rails from the knuckle, guard rails beside the opposite running rail.

Both are bars of rail whose guiding side runs parallel to a gauge face at a flangeway and is flared at its free ends.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from turnout_templates.alignment.faces import Face
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.rails.rail_parts import Interval, Ring

FLARE_LENGTH = 10.0
"""Length of a flare in flangeways (common practice, no source)."""
LEAST_FLARE = 2.0
"""The shortest flare that still catches a wheel, in flangeways (common practice, no source)."""
STEEP = math.radians(45)
"""Where tracks cross at more than this, all four corners are alike: grooves cut in plain rails. They are mitred, since
nobody bends rail by so much, and have no wings: a tread spans the gap (common practice, no source)."""
FLARE_OPENING = 0.8
"""How much wider a flare ends, in flangeways (common practice, no source)."""


def guide_ring(path: Path, face: Face, flangeway: float, head: float, straight: Interval, ends: Interval) -> Ring:
    """Return the outline of a bar that guides at `flangeway` mm from `face` over `straight` and flares to `ends`.

    Stations are on `path`; a flare of less than its full length opens in proportion.
    """
    inner = list(_side(path, face, flangeway, straight, ends))
    outer = list(_side(path, face, flangeway + head, straight, ends))
    return tuple([*inner, *reversed(outer)])


def _side(path: Path, face: Face, distance: float, straight: Interval, ends: Interval) -> Sequence[Point]:
    """Return one long side: straight beside the face, then straight lines out to the ends of the flares."""
    inward = -face.outward
    points = flatten(Parallel(path, face.offset + inward * distance, *straight))
    if straight[0] - ends[0] > 0:
        more = flare_more(straight[0] - ends[0])
        points.insert(0, path.point_at(ends[0], face.offset + inward * (distance + more)))
    if ends[1] - straight[1] > 0:
        more = flare_more(ends[1] - straight[1])
        points.append(path.point_at(ends[1], face.offset + inward * (distance + more)))
    return points


def flare_more(length: float) -> float:
    """Return how much further (mm) from its rail a flare of that length (mm of station) ends than it begins."""
    return FLARE_OPENING / FLARE_LENGTH * length
