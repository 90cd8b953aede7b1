"""Refuse hinges that would cut the planed part of a point, or rail that is fast in a frog."""

from __future__ import annotations

import math

from turnout_templates.alignment.model import Layout
from turnout_templates.errors import LayoutError
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.points.fast_places import PointFace
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.units import format_length_with_mm


def refuse_hinge(spec: Spec, layout: Layout, switch: Switch, face: PointFace, fast: float | None) -> None:
    """Raise LayoutError where a hinge would cut the planed part of a point, or rail that is fast in a frog."""
    point = face.point
    if point.hinge is None:
        return
    full, hinge, limit = (
        face.length_to(point.full_head),
        face.length_to(point.hinge),
        math.inf if fast is None else fast,
    )
    if full < hinge < limit:
        return
    named = next((name for name in switch.onward if _hinge_said(layout, switch, name)), switch.branch)
    here = switch.end_of(layout.route(named))
    said, least = (format_length_with_mm(mm, spec.units) for mm in (hinge, full))
    place = f"{point.owner.label} of {switch.id}"
    if hinge <= full:
        sentence = (
            f"A hinge {said} behind the filed tip cuts {place} where it is planed: its full head begins at {least}."
        )
        remedy = "Hinge it further back."
    else:
        sentence = (
            f"A hinge {said} behind the filed tip lies beyond the place at which {place} is fast in a frog, "
            f"{format_length_with_mm(limit, spec.units)} from the tip."
        )
        remedy = f"Hinge it nearer the tip, but beyond its full head at {least}, or leave the hinge out."
    where = ("points",) if here is None or here[0] > 0 else ("joins", "points")
    raise LayoutError(sentence, remedy, ("routes", named, *where, "hinge"))


def _hinge_said(layout: Layout, switch: Switch, name: str) -> bool:
    """Tell whether the route `name` asks for a hinge at a switch."""
    here = switch.end_of(layout.route(name))
    return here is not None and getattr(here[1].points, "hinge", None) is not None
