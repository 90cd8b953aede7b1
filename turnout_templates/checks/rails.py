"""Checks of rails as they lie: lost ones, lines that end in a crossing or cross themselves, rails bare of ties."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations

from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import Size, phrase
from turnout_templates.geometry.crossing import find_crossings
from turnout_templates.geometry.parallel import Chunk, Parallel, boxes_meet
from turnout_templates.geometry.path import Path
from turnout_templates.geometry.pose import Point
from turnout_templates.trackwork.bearing import BARE_SPACES, Bare, bare_stretches, most_bare
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rail_parts import FiledHead
from turnout_templates.trackwork.regions import without

_SEEN = 0.5
"""A gauge face missing over less than this (in widths of the head) is no loss."""
_AT_FROG = 1.0
"""A gap belongs to a frog whose point lies within it or this near (in widths of the head) to it."""
_OWN_LENGTH = 4.0
"""Stretches of one route this many gauges apart along it are different places."""


def check_lost_rails(work: Trackwork) -> Iterator[Finding]:
    """Report rails that lie in another route's flangeway without crossing it: cut away, with no wheel led on."""
    for head in work.heads:
        for low, high in without((head.stretch.low, head.stretch.high), head.faces):
            if high - low > _SEEN * work.spec.rail.head and not _belongs_to_frog(work, head, low, high):
                route = work.layout.route(head.stretch.owner.route)
                yield Finding(
                    "rail-lost",
                    "error",
                    f"{head.rail}, {head.stretch.owner.label}",
                    route.path.point_at((low + high) / 2, head.stretch.owner.face.offset),
                    phrase("its gauge face is missing from ", Size(low), " to ", Size(high)),
                    phrase("it lies in the flangeway of a route that it does not cross"),
                    "geometry of this trackwork",
                    phrase("Move the tracks further apart, or let them share the rail."),
                )


def _belongs_to_frog(work: Trackwork, head: FiledHead, low: float, high: float) -> bool:
    near = _AT_FROG * work.spec.rail.head
    return any(
        owner == head.stretch.owner and low - near <= station <= high + near
        for frog in work.frogs
        for owner, station in ((frog.first, frog.s), (frog.second, frog.t))
    )


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
