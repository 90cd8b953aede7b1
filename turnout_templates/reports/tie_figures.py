"""Turn ties into the figures that `measure` prints."""

from __future__ import annotations

import math

from turnout_templates.reports.places import Figures, point_figures
from turnout_templates.trackwork.ties.joiners import Notch
from turnout_templates.trackwork.ties.tie_parts import Tie


def tie_figures(tie: Tie) -> Figures:
    """Return a tie: what it is, where it lies, what it holds, what moves on it and where it is notched."""
    return {
        "id": tie.id,
        "material": tie.material,
        "role": tie.role,
        "length_mm": tie.length,
        "width_mm": tie.width,
        **point_figures(tie.centre),
        "angle_deg": math.degrees(tie.angle),
        "route": tie.route,
        "station_mm": tie.station,
        "holds": list(tie.holds),
        "loose": list(tie.loose),
        "notches": [_notch(tie, notch) for notch in tie.notches],
    }


def _notch(tie: Tie, notch: Notch) -> Figures:
    joint = notch.joint
    return {
        "joint": joint.what,
        "gauge": joint.gauge,
        "hand": joint.hand,
        **point_figures(notch.middle(tie.centre, tie.angle)),
        "length_mm": notch.high - notch.low,
        "width_mm": notch.ahead - notch.back,
    }
