"""Tell the figures of bases: what is filed off which part, on which side, from where to where."""

from __future__ import annotations

from turnout_templates.reports.places import Figures, owner_figures, point_figures
from turnout_templates.trackwork.bases.base_cuts import BaseCut
from turnout_templates.trackwork.bases.materials import measure_cut, parts_by_id
from turnout_templates.trackwork.frogs.frog_parts import Guard, Wing
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.rails.rail_parts import Bar


def base_cut_figures(work: Trackwork) -> list[Figures]:
    """Return all cuts of bases."""
    parts = parts_by_id(work)
    return [_cut(work, parts[cut.part], cut) for cut in work.base_cuts]


def _cut(work: Trackwork, part: Bar | Wing | Guard, cut: BaseCut) -> Figures:
    along = measure_cut(work.layout, part, cut)
    return {
        "part": cut.part,
        "side": cut.side,
        "beside": owner_figures(cut.beside),
        "from_mm": cut.low,
        "to_mm": cut.high,
        "from_end_mm": along.low,
        "to_end_mm": along.high,
        "end": point_figures(along.place),
        "against": list(cut.against),
        "reason": " and ".join(cut.why),
        **point_figures(work.layout.route(cut.beside.route).path.point_at(cut.low, cut.beside.face.offset)),
    }
