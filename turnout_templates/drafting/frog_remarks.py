"""Say of a frog what its detail can't show by lengths: how deep it is cut, what guards it, which bases are filed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from turnout_templates.drafting.base_words import BaseWords
from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.drafting.subjects import Remark
from turnout_templates.trackwork.bases.materials import Material
from turnout_templates.trackwork.frogs.frog_parts import Frog, Guard
from turnout_templates.trackwork.frogs.knuckles import cut_depth
from turnout_templates.trackwork.guides.guide_edges import GuideEdge, edge_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import Unit, format_clearance, format_degrees, format_length

_AT_ELBOW = 2.0
"""A guard bent round an elbow has its bend within so many flangeways of the crossing, along its face."""


def guards_at(work: Trackwork, frog: Frog) -> list[Guard]:
    """Return the guards that are bent round the elbow of a frog: those of the frog across the track."""
    return [
        guard
        for owner, station in ((frog.first, frog.s), (frog.second, frog.t))
        for guard in work.guards
        if guard.beside == owner and any(abs(at - station) < _AT_ELBOW * guard.flangeway for _, at in guard.bent_at)
    ]


def frog_remarks(work: Trackwork, bases: BaseWords, frog: Frog) -> Iterator[Remark]:
    """Yield what is told of a frog in words; `work` is what lies near it."""
    unit = work.spec.units
    depth, _ = cut_depth(frog)
    if depth is not None:
        yield Remark(f"flangeways cut at least {format_clearance(depth, unit)} deep")
    yield from _guarded(work, bases, frog)
    yield from _guarding(work, frog)
    yield from _bases(work, bases, frog)
    yield from _curved(work, frog)


def _guarded(work: Trackwork, bases: BaseWords, frog: Frog) -> Iterator[Remark]:
    """Yield what guards a frog from across the track: each guard, or at which frog it is shown."""
    bars = BarsByFace(work)
    shown: dict[str, list[str]] = {}
    told = []
    for guard in work.guards:
        if frog.id not in guard.frogs:
            continue
        elbow = next((other.id for other in work.frogs if guard in guards_at(work, other)), None)
        if elbow is not None:
            shown.setdefault(elbow, []).append(guard.id)
        else:
            words = _guard_words(edge_of(work, guard), guard, bases.material(guard.id), work.spec.units)
            told.append(Remark(f"guarded by {words}", (guard.id, bars.beside(guard))))
    yield from sorted(told, key=lambda remark: remark.text)
    for elbow, guards in shown.items():
        yield Remark(f"guarded by {_and(guards)}, cranked round the elbow of {elbow}: see there")


def _guard_words(edge: GuideEdge, guard: Guard, material: Material, unit: Unit) -> str:
    """Return all that is needed to cut, bend and lay a guard, with room for its name and that of its rail."""
    kind = "strip" if material == "strip" else "rail"
    angles = iter([bend.angle for bend in edge.bends if bend.at == "flare"])
    flares = sorted(((flare, next(angles)) for flare in edge.flares if flare > 0.0), reverse=True)
    by: dict[str, list[str]] = {}
    for flare, angle in flares:
        by.setdefault(format_degrees(angle, 1), []).append(format_length(flare, unit))
    told = " and ".join(f"{_and(list(dict.fromkeys(over)))} at {angle}" for angle, over in by.items())
    flared = f"{('no flare', 'one end flared', 'ends flared')[len(flares)]} {told}".strip()
    length, flangeway = format_length(edge.length, unit), format_clearance(guard.flangeway, unit)
    return f"{kind} {{}} beside {{}}, {length} long, {flared}, flangeway {flangeway}"


def _guarding(work: Trackwork, frog: Frog) -> Iterator[Remark]:
    """Yield what the guards at the elbow of a frog are there for, and that they are one bar.

    Their ids are part of what is told, so that no frog at which others stand is alike.
    """
    here = guards_at(work, frog)
    if here:
        guarded = dict.fromkeys(name for guard in here for name in (*guard.frogs, *guard.switches))
        bends = [b for guard in here for b in edge_of(work, guard).bends if b.at not in ("flare", "knuckle")]
        bent = f"one bar cranked {format_degrees(bends[0].angle)}, " if bends else ""
        yield Remark(f"{_and([guard.id for guard in here])} here, {bent}guard {_and(list(guarded))}")


def _bases(work: Trackwork, bases: BaseWords, frog: Frog) -> Iterator[Remark]:
    """Yield what is filed off the bases of the bars and wings of a frog, measured from their ends there."""
    wings = (wing.id for wing in work.wings if wing.frog == frog.id and bases.material(wing.id) != "strip")
    bars = (fit.bar for fit in work.fits if fit.frog == frog.id and fit.bar is not None)
    yield from bases.remarks((*bars, *wings), frog.id)


def _curved(work: Trackwork, frog: Frog) -> Iterator[Remark]:
    """Yield the radius of the middle of each head that is curved at a frog, as in the table of pieces."""
    radii: dict[str, str] = {}
    for piece in work.pieces:
        for end, bendings in zip(piece.ends, (piece.bendings[:1], piece.bendings[-1:]), strict=True):
            if end.at == frog.id:
                told = [_radius(k, work.spec.units) for bending in bendings for k in bending.curvatures]
                if any(told):
                    radii[piece.bar] = " easing to ".join(dict.fromkeys(radius or "straight" for radius in told))
    if radii:
        named = sorted((radius, bar) for bar, radius in radii.items())
        counts = Counter(radius for radius, _ in named)
        few = ", of ".join(f"{' and '.join(['{}'] * count)} {radius}" for radius, count in counts.items())
        yield Remark(f"radius of {few}", tuple(bar for _, bar in named))


def _radius(curvature: float, unit: Unit) -> str:
    return format_length(1.0 / abs(curvature), unit) if abs(curvature) > _STRAIGHT else ""


_STRAIGHT = 1e-6
"""A curvature (1/mm) told as straight: radii of a kilometre and more."""


def _and(names: Sequence[str]) -> str:
    return " and ".join(names)
