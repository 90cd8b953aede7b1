"""Tell of each guard and wing what to cut and where it lies, in a table, and of each side that is cut as a guard."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.drafting.bases import BarsByFace
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import fine_of, length_of
from turnout_templates.trackwork.bases.base_cuts import cuts_by_part
from turnout_templates.trackwork.bases.materials import Material, material_of
from turnout_templates.trackwork.frogs.frog_parts import Guard, GuidingSide, Wing
from turnout_templates.trackwork.guides.guide_edges import edge_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance

_HEAD: Row = ("id", "for", "beside", "flangeway", "straight from to", "length to cut", "flares", "made of", "")


def guides_block(work: Trackwork) -> Block:
    """Return the table of guards and wings, then the sides of rails that are guards."""
    guides: tuple[Guard | Wing, ...] = (*work.guards, *work.wings)
    rows: list[Row] = [_HEAD] if guides or work.sides else []
    bars, cuts = BarsByFace(work), cuts_by_part(work.base_cuts)
    rows += [_row(work, guide, bars, material_of(cuts.get(guide.id, ()))) for guide in guides]
    rows += [_side_row(work, side, bars) for side in work.sides]
    return Block("Guards and wings", tuple(rows), has_head=True)


def _row(work: Trackwork, guide: Guard | Wing, bars: BarsByFace, material: Material) -> Row:
    edge = edge_of(work, guide)
    low, high = guide.straight
    flares = " and ".join(length_of(work, flare) for flare in edge.flares if flare > 0.0) or "none"
    guarded = (*guide.frogs, *guide.switches) if isinstance(guide, Guard) else (guide.frog,)
    return (
        guide.id,
        ", ".join(guarded),
        bars.along(guide),
        fine_of(work, guide.flangeway),
        f"{length_of(work, low)} to {length_of(work, high)}",
        length_of(work, edge.length),
        flares,
        _made_of(work, material),
        "; ".join(_notes(guide)),
    )


def _made_of(work: Trackwork, material: Material) -> str:
    """Return what a guide is made of; a flat strip is as wide as a head and as high as the rail."""
    if material != "strip":
        return material
    rail, units = work.spec.rail, work.spec.units
    return f"strip, {format_clearance(rail.head, units)} wide, {format_clearance(rail.height, units)} high"


def _notes(guide: Guard | Wing) -> Iterator[str]:
    """Yield what makes a guide other than it would be with all the room."""
    if guide.shortened_by:
        yield f"shortened for {' and '.join(guide.shortened_by)}"
    if isinstance(guide, Guard) and guide.merged_from:
        yield f"one for {len(guide.merged_from)} gaps"
    if isinstance(guide, Guard):
        yield from (f"one bar with {name}, cranked where they meet" for name, _ in guide.bent_at)


def _side_row(work: Trackwork, side: GuidingSide, bars: BarsByFace) -> Row:
    low, high = side.guides
    return (
        "side",
        ", ".join(side.guarded),
        bars.named(side.beside, (low + high) / 2),
        fine_of(work, side.flangeway),
        f"{length_of(work, low)} to {length_of(work, high)}",
        "-",
        "-",
        "-",
        f"side of {side.owner.label}, cut as the guard",
    )
