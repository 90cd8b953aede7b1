"""Check that a lead which was given is one from points to frog."""

from __future__ import annotations

from collections.abc import Iterator

from turnout_templates.alignment.leaving import shift_of
from turnout_templates.alignment.model import LaidRoute
from turnout_templates.checks.finding import Finding
from turnout_templates.checks.phrase import clearance, phrase
from turnout_templates.spec.model import TangentPoints, ToFrog
from turnout_templates.trackwork.model import Trackwork

_APART = 1e-6
"""A branch nearer (mm) to the line it left lies on it."""
_NOTICED = 0.1
"""A tangent point that moves by less than this (mm) is where it should be: nobody finds one as finely on the bench."""


def check_lead_begins(work: Trackwork) -> Iterator[Finding]:
    """Report leads so long that the branch lies on the route it leaves at first: tangent points begin only behind."""
    for switch in work.switches:
        for name in switch.onward if switch.parting else switch.onward[1:]:
            route = next(route for route in work.spec.routes if route.name == name)
            lead = next((piece.lead for piece in route.path if isinstance(piece, ToFrog)), None)
            branch = work.layout.route(name)
            here = branch.departure is not None and branch.departure.parent == switch.parent
            if lead is None or not here or not isinstance(route.points, TangentPoints):
                continue
            together = switch.onward if switch.parting else (name,)
            run = min(_run_along(work.layout.route(other), work.layout.route(switch.parent)) for other in together)
            if run > _NOTICED:
                yield Finding(
                    "lead-before-points",
                    "warning",
                    f'"{name}" at {switch.id}',
                    branch.path.point_at(run),
                    phrase(clearance(run), f' of its lead lie on "{switch.parent}" before its tangent point'),
                    phrase("tangent points begin where the curve does, and no longer lead changes that curve"),
                    "geometry of this turnout",
                    phrase("Let it leave that much later, with a lead of ", clearance(lead - run), "."),
                )


def _run_along(branch: LaidRoute, parent: LaidRoute) -> float:
    """Return how far the first piece of `branch` lies on the line of `parent`, carried on where that ends (mm)."""
    departure = branch.departure
    if departure is None:
        return 0.0
    first = branch.path.pieces[0]
    shift = shift_of(parent.faces, branch.faces)
    for part in (0.5, 1.0):
        s = part * first.length
        left = parent.path.foot_near(first.pose_at(s).point, departure.station + s)[1]
        if abs(left - shift) > _APART:
            return 0.0
    return first.length
