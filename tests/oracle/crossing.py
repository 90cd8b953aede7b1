"""Turn two faces into the places where they cross: a coarse net of chords, then Newton's method to fifty digits."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from .curves import COARSE, Cpx, Face, Num, ctx, mpf

SAMPLES = 160  # chords per piece; a crossing of faces in these specs is far longer than a chord
CLOSE = mpf("1e-44")  # mm; Newton's method stops when a step is shorter, at fifty digits and metres of track
Samples = tuple[npt.NDArray[np.float64], npt.NDArray[np.complex128]]


@dataclass(frozen=True)
class Meeting:
    """Two faces cross at `z`, beside stations `s` of the first path and `u` of the second.

    `angle` is the second's heading less the first's, in radians.
    """

    z: Cpx
    s: Num
    u: Num
    angle: Num


def sampled(face: Face, begin: Num, end: Num) -> Samples:
    """Return stations between `begin` and `end` and the face's places there, in double precision."""
    _ = face.path.starts  # computed once, at full precision
    edges = [begin, *(s for s, _ in face.path.starts if begin < s < end), end]
    stations = np.unique(np.concatenate([np.linspace(float(a), float(b), SAMPLES) for a, b in pairwise(edges)]))
    with ctx.workdps(COARSE):
        return stations, np.array([complex(face.at(mpf(s))[0].z) for s in stations])


def meetings(a: Face, b: Face, *, a_span: tuple[Num, Num], b_span: tuple[Num, Num]) -> list[Meeting]:
    """Return every crossing of two faces within the given stations, in order along the first."""
    sa, za = sampled(a, *a_span)
    sb, zb = sampled(b, *b_span)
    found: list[Meeting] = []
    for i, j in _crossing_chords(za, zb):
        meeting = polish(a, b, mpf((sa[i] + sa[i + 1]) / 2), mpf((sb[j] + sb[j + 1]) / 2))
        inside = a_span[0] <= meeting.s <= a_span[1] and b_span[0] <= meeting.u <= b_span[1]
        if inside and all(abs(meeting.s - other.s) > mpf("1e-20") for other in found):
            found.append(meeting)
    return sorted(found, key=lambda m: m.s)


def polish(a: Face, b: Face, s: Num, u: Num) -> Meeting:
    """Return the crossing near stations `s` and `u`."""
    for _ in range(60):
        (pa, fa), (pb, fb) = a.at(s), b.at(u)
        ta, tb, gap = fa * ctx.expj(pa.heading), fb * ctx.expj(pb.heading), pb.z - pa.z
        determinant = ta.real * tb.imag - ta.imag * tb.real
        ds = (gap.real * tb.imag - gap.imag * tb.real) / determinant
        du = (gap.real * ta.imag - gap.imag * ta.real) / determinant
        s, u = s + ds, u + du
        if abs(ds) + abs(du) < CLOSE:
            return Meeting(pa.z, s, u, pb.heading - pa.heading)
    raise ArithmeticError("Newton's method did not settle")


def _crossing_chords(za: npt.NDArray[np.complex128], zb: npt.NDArray[np.complex128]) -> list[tuple[int, int]]:
    """Return the pairs of chords that cross as indices of their first ends."""
    p, r = za[:-1, None], (za[1:] - za[:-1])[:, None]
    q, t = zb[None, :-1], (zb[1:] - zb[:-1])[None, :]
    cross = (np.conj(r) * t).imag
    with np.errstate(divide="ignore", invalid="ignore"):
        x = (np.conj(q - p) * t).imag / cross
        y = (np.conj(q - p) * r).imag / cross
        slack = 1e-9  # of a chord: chains of chords that cross do so within some pair of chords, ends included
        hit = (x > -slack) & (x < 1 + slack) & (y > -slack) & (y < 1 + slack)
    return [(int(i), int(j)) for i, j in np.argwhere(hit)]
