"""Turn the joints of rails and the ties near them into notches by tie."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from turnout_templates.geometry.pose import Pose
from turnout_templates.spec.model import RailSection
from turnout_templates.trackwork.ties.holding import Parts, free_ends
from turnout_templates.trackwork.ties.joiners import JOINER_LENGTH, Joint, Notch, notch_under
from turnout_templates.trackwork.ties.shifting import Holders
from turnout_templates.trackwork.ties.tie_parts import Tie


def joints_of(parts: Parts) -> Iterator[Joint]:
    """Yield the joints with track outside the template: the rails' free ends."""
    for route in parts.layout:
        for name, station in free_ends(parts.layout, route):
            what = end_name(name, route.name)
            pose = route.path.pose_at(station)
            for face in route.faces:
                middle = face.offset + face.outward * parts.rail.head / 2
                yield Joint(what, face.gauge, face.hand, Pose(*pose.beside(middle), pose.heading))


def end_name(end: str, route: str) -> str:
    """Return what the joints at a free end of a route are called."""
    return f"{end} of {route}"


def notches_under(joints: Iterable[Joint], holders: Holders, rail: RailSection) -> dict[Tie, tuple[Notch, ...]]:
    """Return the notches by the tie in which they are cut; a joiner that hangs between two ties has none."""
    notches: dict[Tie, tuple[Notch, ...]] = {}
    for joint in joints:
        for tie in holders.under(joint.pose.point, JOINER_LENGTH * rail.base / 2):
            notch = notch_under(joint, Pose(*tie.centre, tie.angle), tie.width, rail.base)
            if notch is not None:
                notches[tie] = (*notches.get(tie, ()), notch)
    return notches
