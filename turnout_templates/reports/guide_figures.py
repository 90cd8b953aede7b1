"""Tell the figures of what guides wheels: guards, wings, sides cut as guards, and what each gap has of them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from turnout_templates.reports.places import Figures, owner_figures
from turnout_templates.trackwork.bases.base_cuts import BaseCut
from turnout_templates.trackwork.bases.materials import material_of
from turnout_templates.trackwork.frogs.frog_parts import Guard, GuidingSide, Wing
from turnout_templates.trackwork.guides.guide_edges import GuideEdge, edge_of
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Bar, Ring
from turnout_templates.trackwork.rails.regions import overlap


def guard_figures(work: Trackwork, guard: Guard, cuts: Sequence[BaseCut]) -> Figures:
    """Return the figures of a guard rail, whose base is filed by `cuts`."""
    guarded = [*guard.frogs, *guard.switches]
    return {
        "id": guard.id,
        "gauge": guard.gauge,
        "guards": guarded[0],
        "guards_all": guarded,
        "beside": owner_figures(guard.beside),
        "flangeway_mm": guard.flangeway,
        "straight": list(guard.straight),
        "ends": list(guard.ends),
        "material": material_of(cuts),
        "full_straight": list(guard.full_straight),
        "full_ends": list(guard.full_ends),
        "shortened_by": list(guard.shortened_by),
        "merged_from": [list(straight) for straight in guard.merged_from],
        "one_bar_with": [name for name, _ in guard.bent_at],
        **_edge_figures(edge_of(work, guard)),
        "outline": outline_figures(guard.ring),
    }


def wing_figures(work: Trackwork, wing: Wing, cuts: Sequence[BaseCut]) -> Figures:
    """Return the figures of a wing rail, its base filed by `cuts`; stations are those of the route it lies beside."""
    return {
        "id": wing.id,
        "frog": wing.frog,
        "goes_on_from": owner_figures(wing.continues),
        "beside": owner_figures(wing.beside),
        "flangeway_mm": wing.flangeway,
        "straight": list(wing.straight),
        "end": wing.end,
        "material": material_of(cuts),
        "full_end": wing.full_end,
        "shortened_by": list(wing.shortened_by),
        **_edge_figures(edge_of(work, wing)),
        "outline": outline_figures(wing.ring),
    }


def _edge_figures(edge: GuideEdge) -> Figures:
    """Return what is needed to cut and bend a guiding rail by measure: along its edge from the lower end."""
    bends = [
        {"along_mm": b.along, "station_mm": b.station, "angle_deg": math.degrees(b.angle), "at": b.at}
        for b in edge.bends
    ]
    return {"length_mm": edge.length, "flares_mm": list(edge.flares), "bends": bends}


def side_figures(work: Trackwork, side: GuidingSide) -> Figures:
    """Return the figures of a side cut to be a guard; stations are those of the route it guides beside."""
    return {
        "rail": owner_figures(side.owner),
        "bars": list(dict.fromkeys(bar.id for bar in work.bars if any(_carries(work, bar, side)))),
        "guards_all": list(side.guarded),
        "gauge": side.gauge,
        "beside": owner_figures(side.beside),
        "flangeway_mm": side.flangeway,
        "cut": list(side.cut),
        "guides": list(side.guides),
    }


def _carries(work: Trackwork, bar: Bar, side: GuidingSide) -> Iterator[bool]:
    """Yield for each stretch of a bar whether the side is cut from it."""
    path, beside = work.layout.route(side.owner.route).path, work.layout.route(side.beside.route).path
    for stretch in bar.stretches:
        if stretch.owner == side.owner:
            offset = side.beside.face.offset - side.beside.face.outward * side.flangeway
            near = (stretch.low + stretch.high) / 2
            feet = [path.foot_near(beside.point_at(station, offset), near)[0] for station in side.guides]
            yield overlap((min(feet), max(feet)), (stretch.low, stretch.high)) is not None


def sides_cut(work: Trackwork, bar: Bar) -> list[Figures]:
    """Return what of a bar is cut to be a guard: for which frogs, beside which face, between which stations of that."""
    return [
        {
            "guards_all": list(side.guarded),
            "beside": owner_figures(side.beside),
            "flangeway_mm": side.flangeway,
            "cut": list(side.cut),
        }
        for side in work.sides
        if any(_carries(work, bar, side))
    ]


def guarded_by(work: Trackwork, guarded: str) -> list[Figures]:
    """Return for each need of a frog or a switch its gap, what of it is covered and by what, and what is not."""
    return [
        {
            "gauge": told.need.gauge.name,
            "face": owner_figures(told.need.face),
            "beside": owner_figures(told.need.beside),
            "gap": list(told.need.gap),
            "covered": [list(part) for part in told.covered],
            "by": [{"guide": name, "from_mm": part[0], "to_mm": part[1]} for name, part in told.by],
            "unguided": [list(part) for part in told.missing],
            "unguided_mm": sum(high - low for low, high in told.missing),
            "in_the_way": list(told.obstacles),
        }
        for told in work.guarding
        if told.need.guarded == guarded
    ]


def outline_figures(ring: Ring) -> list[list[float]]:
    """Return the corners of an outline as [x, y] in mm; curves are flattened."""
    return [[x, y] for x, y in ring]
