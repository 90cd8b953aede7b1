"""Turn pieces of track into points and headings, to fifty digits.

A place is a complex number in mm, a heading is in radians, a curvature is in 1/mm, left positive. Everything is written
from the definitions (a piece's curvature changes evenly along its length) and shares no line with the program.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import mpmath

Num = Any  # an mpmath number: the library carries no types
Cpx = Any

ctx = mpmath.MPContext()
ctx.dps = 50
COARSE = 17
"""Digits that are enough to see where a root lies, before it is polished at all of them."""


def mpf(value: object) -> Num:
    """Return a decimal text (or number) at full precision."""
    return ctx.mpf(value)


@dataclass(frozen=True)
class Place:
    """A point with a direction."""

    z: Cpx
    heading: Num

    def shifted(self, offset: Num) -> Place:
        """Return the parallel place `offset` mm to the left."""
        return Place(self.z + offset * ctx.mpc(0, 1) * ctx.expj(self.heading), self.heading)

    def turned(self, angle: Num) -> Place:
        """Return the place turned on the spot."""
        return Place(self.z, self.heading + angle)


def place(x: object = 0, y: object = 0, heading: object = 0) -> Place:
    """Return a place from plain figures."""
    return Place(ctx.mpc(mpf(x), mpf(y)), mpf(heading))


@dataclass(frozen=True)
class Piece:
    """A piece `length` mm long whose curvature runs evenly from `k0` to `k1`."""

    length: Num
    k0: Num
    k1: Num

    def after(self, start: Place, s: Num) -> Place:
        """Return the place `s` mm along the piece when it begins at `start`."""
        if self.k0 == self.k1:
            return _along_arc(start, self.k0, s)
        return _along_clothoid(start, self.k0, (self.k1 - self.k0) / self.length, s)

    def curvature(self, s: Num) -> Num:
        """Return the curvature `s` mm along the piece."""
        return self.k0 if self.k0 == self.k1 else self.k0 + (self.k1 - self.k0) * s / self.length


def straight(length: object) -> Piece:
    """Return a straight piece."""
    return Piece(mpf(length), ctx.zero, ctx.zero)


def arc(length: Num, curvature: Num) -> Piece:
    """Return an arc."""
    return Piece(mpf(length), curvature, curvature)


def _along_arc(start: Place, k: Num, s: Num) -> Place:
    end_heading = start.heading + k * s
    if k == 0:
        return Place(start.z + s * ctx.expj(start.heading), end_heading)
    chord = (ctx.expj(end_heading) - ctx.expj(start.heading)) / (ctx.mpc(0, 1) * k)
    return Place(start.z + chord, end_heading)


def _along_clothoid(start: Place, k0: Num, slope: Num, s: Num) -> Place:
    """Complete the square in the heading: what is left is a Fresnel integral over the curvature."""
    sign = ctx.sign(slope)
    unit = ctx.sqrt(ctx.pi * abs(slope))
    t0, t1 = k0 / unit, (k0 + slope * s) / unit
    real = ctx.fresnelc(t1) - ctx.fresnelc(t0)
    imaginary = sign * (ctx.fresnels(t1) - ctx.fresnels(t0))
    turn = start.heading - k0**2 / (2 * slope)
    z = start.z + ctx.expj(turn) * unit / slope * ctx.mpc(real, imaginary)
    return Place(z, start.heading + k0 * s + slope * s**2 / 2)


@dataclass(frozen=True)
class Path:
    """Pieces one after the other from `start`."""

    start: Place
    pieces: tuple[Piece, ...]

    @property
    def length(self) -> Num:
        """The length in mm."""
        return ctx.fsum(piece.length for piece in self.pieces)

    @cached_property
    def starts(self) -> list[tuple[Num, Place]]:
        """Station and place of each piece's beginning, and of the end."""
        found = [(ctx.zero, self.start)]
        for piece in self.pieces:
            station, here = found[-1]
            found.append((station + piece.length, piece.after(here, piece.length)))
        return found

    def at(self, s: Num) -> tuple[Place, Num]:
        """Return the place `s` mm along the path and the curvature there; the first and last piece run on."""
        for i, piece in enumerate(self.pieces):
            if s <= self.starts[i + 1][0] or i == len(self.pieces) - 1:
                station, here = self.starts[i]
                return piece.after(here, s - station), piece.curvature(s - station)
        raise ValueError("a path without pieces has no places")

    @property
    def end(self) -> Place:
        """The last place."""
        return self.starts[-1][1]


@dataclass(frozen=True)
class Face:
    """The parallel `offset` mm to the left of a path: where a rail's gauge face runs."""

    path: Path
    offset: Num

    def at(self, s: Num) -> tuple[Place, Num]:
        """Return the face's place beside station `s` of the path, and mm of face per mm of path there."""
        here, k = self.path.at(s)
        return here.shifted(self.offset), 1 - self.offset * k
