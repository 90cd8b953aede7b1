"""Turn the definitions of a turnout into its exact path and frogs.

The definitions, in the order in which they are used:

* A route's reference line is the centre line of its own widest gauge. Its gauge faces are parallels: the common rail
  half the widest gauge to its side, every other rail one gauge further across.
* A branch's *outer face* is the one on the side opposite to the hand it leaves to. It begins on the parent's face that
  it coincides with: along it (tangent points), turned by an angle at the tip (entry points), or turned by
  S = asin((h - t)/a) at a vertex t/tan S before the tip and running t/sin S + a with the curvature of the parent's
  face to the heel (straight points). The branch's reference line is the parallel of that face.
* A frog piece is an arc and then a straight of length k; it ends where the branch's outer face meets the far face of
  the parent's widest gauge, at the angle F between the two.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .crossing import Meeting, meetings, polish
from .curves import COARSE, Face, Num, Path, Piece, Place, arc, ctx, mpf, straight

LEFT, RIGHT = 1, -1  # a hand as the sign of the side: left is +y of a route that heads along +x
SCAN = 240  # places along the parent at which a frog is tried first; roots in these specs lie far wider apart


@dataclass(frozen=True)
class Track:
    """A route: its path, its gauges in mm by name (any order) and the side of the rail that they share."""

    name: str
    path: Path
    gauges: dict[str, Num]
    common: int = LEFT

    @property
    def half(self) -> Num:
        """Half the widest gauge, in mm."""
        return max(self.gauges.values()) / 2

    def faces(self) -> dict[tuple[str, int], Num]:
        """Return the offset of each gauge face, by gauge name ("common" where shared) and hand."""
        shared = "common" if len(self.gauges) > 1 else next(iter(self.gauges))
        found = {(shared, self.common): self.common * self.half}
        for name, width in self.gauges.items():
            found[(name, -self.common)] = self.common * (self.half - width)
        return found


@dataclass(frozen=True)
class Start:
    """How a branch begins: where its reference line starts and the pieces that its points need."""

    place: Place
    pieces: tuple[Piece, ...]


def reference_offset(parent: Track, gauges: dict[str, Num]) -> Num:
    """Return the offset from the parent's reference line at which a branch with `gauges` runs, left positive."""
    return parent.common * (parent.half - max(gauges.values()) / 2)


def branch_face_offset(gauges: dict[str, Num], hand: int) -> Num:
    """Return the offset of the outer face from the branch's own reference line."""
    return -hand * max(gauges.values()) / 2


def tangent_start(parent: Track, at: Num, gauges: dict[str, Num]) -> Start:
    """Return the start along the parent at station `at`."""
    return Start(parent.path.at(at)[0].shifted(reference_offset(parent, gauges)), ())


def entry_start(parent: Track, at: Num, gauges: dict[str, Num], hand: int, angle: Num) -> Start:
    """Return the start of points whose outer face leaves the parent's at the tip, turned by `angle`."""
    own = branch_face_offset(gauges, hand)
    on_face = parent.path.at(at)[0].shifted(reference_offset(parent, gauges) + own)
    return Start(on_face.turned(hand * angle).shifted(-own), ())


def straight_start(
    parent: Track, at: Num, gauges: dict[str, Num], hand: int, *, length: Num, spread: Num, tip: Num
) -> Start:
    """Return the start of straight points with heel `spread` and thickness `tip` over `length` mm.

    Where the parent's pieces change between vertex and heel, the points have a piece for each. Each is as long on the
    face as the parent's face is there and has the curvature of that at its ends; between them the curvature of the
    reference line changes evenly, since a parallel of an easement is none.
    """
    own = branch_face_offset(gauges, hand)
    face = Face(parent.path, reference_offset(parent, gauges) + own)
    turn = ctx.asin((spread - tip) / length)
    vertex = station_along(face, at, -tip / ctx.tan(turn))
    heel = station_along(face, vertex, tip / ctx.sin(turn) + length)
    joints = [s for s, _ in parent.path.starts[1:-1] if vertex < s < heel]
    marks = [vertex, *joints, heel]
    pieces = tuple(_planed(face, own, marks[i], marks[i + 1]) for i in range(len(marks) - 1))
    return Start(face.at(vertex)[0].turned(hand * turn).shifted(-own), pieces)


def station_along(face: Face, s: Num, distance: Num) -> Num:
    """Return the station that lies `distance` mm along a face from station `s`: its length is s less offset x turn."""

    def missing(u: Num) -> Num:
        turned = face.path.at(u)[0].heading - face.path.at(s)[0].heading
        return (u - s) - face.offset * turned - distance

    return ctx.findroot(missing, (s + distance, s + distance * mpf("1.01")), tol=mpf("1e-80"))


def _planed(face: Face, own: Num, low: Num, high: Num) -> Piece:
    """Return the piece of a branch whose face, `own` beside it, bends as `face` does between two of its stations."""
    station, k0, k1 = _piece_at(face.path, (low + high) / 2)
    ends = []
    for s in (low, high):
        curvature = k0 + (k1 - k0) * (s - station[0]) / (station[1] - station[0])
        on_face = curvature / (1 - face.offset * curvature)
        ends.append(on_face / (1 + own * on_face))
    turned = face.path.at(high)[0].heading - face.path.at(low)[0].heading
    run = (high - low) - face.offset * turned
    # The branch's face is `run` long: its reference line L less own x L (k0 + k1)/2.
    return Piece(run / (1 - own * (ends[0] + ends[1]) / 2), ends[0], ends[1])


def _piece_at(path: Path, s: Num) -> tuple[tuple[Num, Num], Num, Num]:
    """Return the stations between which the piece at `s` lies and the curvatures at its ends."""
    at = [station for station, _ in path.starts]
    i = next(i for i in range(len(path.pieces)) if s <= at[i + 1] or i == len(path.pieces) - 1)
    return (at[i], at[i + 1]), path.pieces[i].k0, path.pieces[i].k1


def default_toe(head: Num, angle: Num) -> Num:
    """Return k, the straight before the theoretical point (common practice)."""
    return mpf("2.5") * head / (2 * ctx.sin(angle / 2))


@dataclass(frozen=True)
class Frog:
    """A solved frog piece: the pieces, the place on the parent and what it came to."""

    pieces: tuple[Piece, ...]
    meeting: Meeting  # first path: the branch, second: the parent
    angle: Num

    @property
    def curvature(self) -> Num:
        """The curvature of the arc."""
        return self.pieces[0].k0


def frogs_for_angle(
    parent: Track, begin: Place, gauges: dict[str, Num], hand: int, *, at: Num, angle: Num, toe: Num
) -> list[Frog]:
    """Return every way to reach the parent's far face at `angle` from `begin`, least change of curvature first.

    Where the frog lies on the parent settles everything: the toe lies `toe` mm before it at the angle of the frog, and
    an arc joins two places exactly when the chord has the mean of their headings. That is one equation in one unknown.
    """
    own = branch_face_offset(gauges, hand)
    far = Face(parent.path, hand * parent.half)
    face_start = begin.shifted(own)

    def toe_at(u: Num) -> Place:
        there = far.at(u)[0].turned(hand * angle)
        return Place(there.z - toe * ctx.expj(there.heading), there.heading)

    def miss(u: Num) -> Num:
        end = toe_at(u)
        mean = (face_start.heading + end.heading) / 2
        return ((end.z - face_start.z) * ctx.expj(-mean)).imag

    stations = [mpf(u) for u in np.linspace(float(at), float(parent.path.length), SCAN)]
    with ctx.workdps(COARSE):
        misses = [miss(u) for u in stations]
    found = []
    for i in range(SCAN - 1):
        if misses[i] * misses[i + 1] < 0:
            u = ctx.findroot(miss, (stations[i], stations[i + 1]), solver="anderson", tol=mpf("1e-90"))
            frog = _frog_at(face_start, toe_at(u), far, u, own=own, angle=angle, toe=toe)
            if frog is not None and _is_first(begin, frog, far, own, at):
                found.append(frog)
    before = parent.path.at(at)[1]
    return sorted(found, key=lambda f: abs(f.curvature - before))


def _frog_at(face_start: Place, end: Place, far: Face, u: Num, *, own: Num, angle: Num, toe: Num) -> Frog | None:
    turn = end.heading - face_start.heading
    chord = (end.z - face_start.z) * ctx.expj(-(face_start.heading + end.heading) / 2)
    if chord.real <= 0:
        return None
    face_curvature = 2 * ctx.sin(turn / 2) / chord.real
    face_length = chord.real if turn == 0 else turn / face_curvature
    shrink = 1 + own * face_curvature
    if shrink <= 0:
        return None
    pieces: tuple[Piece, ...] = (arc(face_length * shrink, face_curvature / shrink),)
    if toe:
        pieces += (straight(toe),)
    s = ctx.fsum(p.length for p in pieces)
    return Frog(pieces, Meeting(far.at(u)[0].z, s, u, far.at(u)[0].heading - end.heading), angle)


def _is_first(begin: Place, frog: Frog, far: Face, own: Num, at: Num) -> bool:
    """Say whether the branch's outer face meets the parent's far face nowhere before the frog."""
    face = Face(Path(begin, frog.pieces), own)
    end = frog.meeting.s
    before = meetings(face, far, a_span=(ctx.zero, end * mpf("0.9999")), b_span=(at, far.path.length))
    return not before


def frog_for_curvature(
    parent: Track,
    begin: Place,
    gauges: dict[str, Num],
    hand: int,
    *,
    at: Num,
    curvature: Num,
    toe: Num | None,
    head: Num,
) -> Frog:
    """Return the frog that an arc of `curvature` reaches, with `toe` mm straight before it (None: the default)."""
    own = branch_face_offset(gauges, hand)
    far = Face(parent.path, hand * parent.half)
    longest = min(parent.path.length - at, ctx.pi / abs(curvature)) if curvature else parent.path.length - at
    bare = Face(Path(begin, (arc(longest, curvature),)), own)
    first = meetings(bare, far, a_span=(ctx.zero, longest), b_span=(at, parent.path.length))[0]

    def pieces(length: Num, k: Num) -> tuple[Piece, ...]:
        return (arc(length, curvature), straight(k))

    def reach(length: Num, guess: Meeting) -> tuple[Num, Meeting]:
        end = Path(begin, (arc(length, curvature),)).end
        ray = Face(Path(end, (straight(1),)), own)
        meeting = polish(ray, far, guess.s, guess.u)
        return meeting.s, meeting

    def angle_of(meeting: Meeting) -> Num:
        return abs(meeting.angle)

    def wanted(meeting: Meeting) -> Num:
        return default_toe(head, angle_of(meeting)) if toe is None else toe

    def miss(length: Num) -> Num:
        k, meeting = reach(length, Meeting(first.z, first.s - length, first.u, first.angle))
        return k - wanted(meeting)

    length = (
        first.s if toe == 0 else ctx.findroot(miss, (first.s - wanted(first), first.s - wanted(first) * mpf("0.9")))
    )
    k, meeting = reach(length, Meeting(first.z, first.s - length, first.u, first.angle))
    run = pieces(length, k)[: 1 if toe == 0 else 2]
    s = ctx.fsum(p.length for p in run)
    return Frog(run, Meeting(meeting.z, s, meeting.u, meeting.angle), angle_of(meeting))
