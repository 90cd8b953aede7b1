"""Tell the figures of polarity: groups of routes, rings and crossings where left meets right."""

from __future__ import annotations

from turnout_templates.reports.places import Figures, point_figures
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.circuit import Crossing, Group, Ring


def polarity_figures(work: Trackwork) -> Figures:
    """Return the groups, rings and opposed crossings of `work`."""
    circuit = work.circuit
    return {
        "groups": [_group(group) for group in circuit.groups],
        "rings": [_ring(ring) for ring in circuit.rings],
        "opposed_crossings": [_crossing(crossing) for crossing in circuit.opposed],
    }


def _group(group: Group) -> Figures:
    turned = group.turns[group.routes[0]] < 0
    return {"routes": list(group.routes), "fed_with": group.fed_with, "turned": turned}


def _ring(ring: Ring) -> Figures:
    meeting = ring.broken
    return {
        "routes": list(ring.routes),
        "broken": {
            "branch": meeting.branch,
            "parent": meeting.parent,
            "parent_station_mm": meeting.departure.station,
            **point_figures(meeting.departure.tip.point),
        },
        "section": {"route": ring.section, "length_mm": ring.length},
    }


def _crossing(crossing: Crossing) -> Figures:
    return {
        "routes": [crossing.first, crossing.second],
        "frog_ids": list(crossing.frogs),
        **point_figures(crossing.point),
    }
