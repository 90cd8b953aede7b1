"""Checks of rails as they lie: lost ones, lines that end in a crossing or cross themselves, rails bare of ties."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from itertools import combinations

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.parallel import Chunk, Parallel, boxes_meet
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Interval, RouteFace
from turnout_templates.trackwork.rails.regions import without
from turnout_templates.trackwork.ties.bearing import BARE_SPACES, Bare, bare_stretches, most_bare

_SEEN = 0.5
"""A gauge face missing over less than this (in widths of the head) is no loss."""
_ENDS_NEAR = 4.0
"""A face ends in a frog's groove where its end lies within so many heads, laid along it, of the crossing."""
_OWN_LENGTH = 4.0
"""Stretches of one route this many gauges apart along it are different places."""


def check_lost_rails(work: Trackwork) -> Iterator[Finding]:
    """Report rails that lie in another route's flangeway beyond what frogs take: cut away, with no wheel led on."""
    gaps: dict[RouteFace, list[Interval]] = {}
    for owner, gap in _gaps_of_frogs(work):
        gaps.setdefault(owner, []).append(gap)
    seen = _SEEN * work.spec.rail.head
    for head in work.heads:
        owner = head.stretch.owner
        route = work.layout.route(owner.route)
        for missing in without((head.stretch.low, head.stretch.high), head.faces):
            lost = [part for part in without(missing, gaps.get(owner, ())) if part[1] - part[0] > seen]
            for low, high in lost:
                yield Finding(
                    "rail-lost",
                    "error",
                    f"{head.rail}, {owner.label}",
                    route.path.point_at((low + high) / 2, owner.face.offset),
                    phrase("its gauge face is missing from ", Size(low), " to ", Size(high)),
                    phrase("it lies in the flangeway of another route, and not for the length of a frog only"),
                    "geometry of this trackwork",
                    phrase("Move the tracks further apart, or let them share the rail."),
                )


def _gaps_of_frogs(work: Trackwork) -> Iterator[tuple[RouteFace, Interval]]:
    """Yield what frogs take of each face: from its nose to the crossing, at a V on to where the face begins again.

    Where the route ends before that, to its end: from the practical point on the side of the other bar is the face. A
    face that ends in the groove has no nose, and is gone as far as that end.
    """
    begins = {(fit.frog, fit.owner): fit.end for fit in work.fits if fit.what in ("point", "spliced")}
    for frog in work.frogs:
        for i, (owner, station) in enumerate(((frog.first, frog.s), (frog.second, frog.t))):
            nose, route = frog.noses[i], work.layout.route(owner.route)
            if nose is None:
                low, high = route.begin_of(owner.face), route.end_of(owner.face)
                nose = low if abs(station - low) < abs(station - high) else high
                if abs(nose - station) > _ENDS_NEAR * work.spec.rail.head / math.sin(frog.angle):
                    nose = station
            last = station
            if frog.practical_stations is not None:
                last = route.end_of(owner.face) if frog.heel_directions[i] > 0 else route.begin_of(owner.face)
            ends = (nose, station, begins.get((frog.id, owner), last))
            yield owner, (min(ends), max(ends))


def check_crossings_complete(work: Trackwork) -> Iterator[Finding]:
    """Report two lines that cross by some of their rails only, because one of them ends there."""
    counts = Counter((f.first.route, f.second.route) for f in work.frogs if f.switch is None)
    for (first, second), count in counts.items():
        one, two = work.layout.route(first), work.layout.route(second)
        if one.departure is not None or two.departure is not None:
            continue
        whole = len(one.faces) * len(two.faces)
        if count % whole and not _comes_back(work, first, second):
            place = next(f.point for f in work.frogs if (f.first.route, f.second.route) == (first, second))
            yield Finding(
                "crossing-incomplete",
                "warning",
                f'"{first}" and "{second}"',
                place,
                phrase(f"their rails cross in {count} places"),
                phrase(f"a whole crossing of them has {whole} frogs"),
                "geometry of this crossing",
                phrase("Lengthen the one that ends inside the other."),
            )


def _comes_back(work: Trackwork, first: str, second: str) -> bool:
    """Tell whether each face crosses each other one an even number of times: the tracks only draw together."""
    frogs = [frog for frog in work.frogs if (frog.first.route, frog.second.route) == (first, second)]
    pairs = Counter((frog.first.face.offset, frog.second.face.offset) for frog in frogs)
    return all(count % 2 == 0 for count in pairs.values())


def check_own_crossings(work: Trackwork) -> Iterator[Finding]:
    """Report routes that cross themselves: frogs are found between routes only."""
    for route in work.layout:
        apart = _OWN_LENGTH * max(gauge.width for gauge in work.spec.gauges.values())
        chunks = list(Parallel(route.path, 0.0, 0.0, route.path.length).chunks())
        point = next((p for a, b in combinations(chunks, 2) if (p := _meets(a, b, apart)) is not None), None)
        if point is not None:
            yield Finding(
                "crosses-itself",
                "error",
                f'"{route.name}"',
                point,
                phrase("its track runs over itself"),
                phrase("frogs are laid where different routes cross"),
                "the way this program reads routes",
                phrase("Write the part that crosses as a route of its own, with a start."),
            )


def check_bare_rails(work: Trackwork) -> Iterator[Finding]:
    """Report each rail that lies bare of ties for too long, where that is longest."""
    limit = most_bare(work.spec.ties)
    worst: dict[str, Bare] = {}
    for bare in bare_stretches(work.layout, work.rails, work.ties, longer_than=limit):
        if bare.rail.id not in worst or bare.length > worst[bare.rail.id].length:
            worst[bare.rail.id] = bare
    for bare in worst.values():
        yield Finding(
            "rail-bare",
            "warning",
            bare.rail.id,
            bare.at,
            phrase("no tie lies under ", Size(bare.length), " of it"),
            phrase(Size(limit), f", {BARE_SPACES} tie spaces, at the most"),
            "common practice, no source",
            phrase("Put a tie of your own there, as long as it finds room."),
        )


def _meets(a: Chunk, b: Chunk, apart: float) -> Point | None:
    """Return where two stretches of one route cross, None where they do not or follow each other closely."""
    if (b.begin + b.low) - (a.begin + a.high) < apart or not boxes_meet(a.box(), b.box()):
        return None
    found = find_crossings(_alone(a), _alone(b))
    return found[0].point if found else None


def _alone(chunk: Chunk) -> Parallel:
    """Return a chunk as a curve of its own, a little longer, so that a crossing at its end is inside."""
    low, high = chunk.low - 1.0, chunk.high + 1.0
    path = Path((chunk.piece.part(low, high),))
    return Parallel(path, 0.0, 0.0, path.length)
