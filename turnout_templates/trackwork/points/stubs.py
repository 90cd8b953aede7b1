"""Find the toe of a stub switch: where the swinging rails end and all rails of the routes that part begin anew.

The toe lies square to the route that leads, for all rails alike, since they swing together. What would lie before it of
any other route is no rail: there the swinging rails are.
"""

from __future__ import annotations

from msgspec.structs import replace

from turnout_templates.alignment.faces import side
from turnout_templates.alignment.model import Departure, LaidRoute, Layout, View
from turnout_templates.errors import LayoutError
from turnout_templates.spec.model import Spec, StubPoints
from turnout_templates.trackwork.points.onward import Onward
from turnout_templates.trackwork.points.switch_model import Switch
from turnout_templates.trackwork.points.tips import Tip
from turnout_templates.trackwork.rails.rail_parts import PointRail

LEAST_BEYOND_TOE = 1.0
"""A rail that begins at a toe is at least this long (mm), to be a rail at all (common practice, no source)."""
_STEPS = 30
"""Each step comes nearer to a place beside the toe by the cosine of an angle of few degrees."""


def butts_of(tip: Tip, toe: float, spec: Spec) -> tuple[PointRail, ...]:
    """Return the rails that begin at a stub's `toe`, branches' first, from the first branch's side to the other."""
    found = [
        (rail, _butt(rail, group.onward[:i], tip, toe, spec))
        for group in tip.groups
        for i, rail in enumerate(group.onward)
    ]
    toward = side(tip.meeting[0].hand or "left")
    found.sort(key=lambda pair: (pair[0].owner.route == tip.parent.name, -toward * pair[0].face.offset))
    return tuple(butt for _, butt in found)


def toe_of(tip: Tip) -> float:
    """Return how far along the route that leads the toe lies (mm in its view): the furthest that a branch asks for.

    Raises LayoutError where a branch does not part by its throw, or only beyond the end of the route that leads.
    """
    branches = zip(tip.branches, tip.meeting, strict=True)
    stubs = ((_toe(tip, branch, d.points, d), branch) for branch, d in branches if isinstance(d.points, StubPoints))
    toe, branch = max(stubs, key=lambda found: found[0])
    beyond = toe - tip.lead.path.length
    if beyond > -LEAST_BEYOND_TOE:
        raise LayoutError(
            f'The toe of the stub where "{branch.name}" parts lies {abs(beyond):.2f} mm '
            f'{"beyond" if beyond > 0 else "before"} the end of "{tip.lead.name}", which has to go on from there.',
            f'Make "{tip.lead.name}" longer, or let the rails swing over a shorter length.',
            ("routes", branch.name, "points" if branch.way > 0 else "joins"),
        )
    return toe


def throws_of(tip: Tip, toe: float) -> tuple[float, ...]:
    """Return how far each route that leaves the one that leads lies from it at the `toe` (mm), in order."""
    throws = []
    for branch in tip.branches:
        if branch.name != tip.lead.name:
            inner, outer = _pair(tip, branch)
            throws.append(inner.apart_from(outer, _beside(inner, tip.lead, toe)))
    return tuple(throws)


def _toe(tip: Tip, branch: View, points: StubPoints, departure: Departure) -> float:
    """Return where a branch has its toe: at the end of a rail thrown straight, else where it has parted enough."""
    other = branch if branch.name != tip.lead.name else next(b for b in tip.branches if b.name != branch.name)
    inner, outer = _pair(tip, other)
    if points.length is not None:
        rail = inner if inner.view.name == branch.name else outer
        end = branch.path.starts[1] if len(branch.path.pieces) > 1 else branch.path.length
    else:
        rail, parted = inner, inner.distance_apart(outer, points.throw)
        if parted is None:
            raise _never_parts(branch, points, departure)
        end = parted
    return tip.lead.path.foot_near(rail.view.path.point_at(end, rail.face.offset), end)[0]


def _never_parts(branch: View, points: StubPoints, departure: Departure) -> LayoutError:
    return LayoutError(
        f'"{branch.name}" ends before it has parted from "{departure.along}" by its throw of {points.throw:.2f} mm.',
        "Lengthen both, or curve it more.",
        ("routes", branch.name, "points" if branch.way > 0 else "joins"),
    )


def _pair(tip: Tip, branch: View) -> tuple[Onward, Onward]:
    """Return two rails that part, of a branch and of the route that leads: the inner one and the one outside it.

    Where the branch parts at two rails, the pair whose inner rail is its own, as points would be measured.
    """
    pairs = []
    for group in tip.groups:
        mine, theirs = group.on(branch.name), group.on(tip.lead.name)
        if mine is not None and theirs is not None:
            pairs.append((mine < theirs, group.onward[max(mine, theirs)], group.onward[min(mine, theirs)]))
    _, inner, outer = min(pairs, key=lambda pair: pair[0])
    return inner, outer


def _beside(rail: Onward, lead: View, toe: float) -> float:
    """Return the distance in a rail's view at which it lies beside the toe, square to the route that leads."""
    u = rail.origin
    for _ in range(_STEPS):
        missing = toe - lead.path.foot_near(rail.view.path.point_at(u, rail.face.offset), toe)[0]
        u += missing
        if abs(missing) < 1e-12:
            break
    return u


def _butt(rail: Onward, outside: tuple[Onward, ...], tip: Tip, toe: float, spec: Spec) -> PointRail:
    """Return a rail as it begins at the toe; it is clear there unless the rail outside it is too near."""
    u = _beside(rail, tip.lead, toe)
    clear = u
    if outside:
        flangeway = max(rail.owner.face.flangeway, outside[-1].owner.face.flangeway)
        opened = rail.distance_apart(outside[-1], spec.rail.head + flangeway)
        clear = max(u, rail.view.path.length if opened is None else opened)
    fixed = tip.u if rail.owner.route == tip.parent.name else max(rail.origin, 0.0)
    begin, parts = rail.view.station(u), rail.view.station(fixed)
    owners = tuple(other.owner for other in reversed(outside))
    return PointRail(
        rail.owner, owners, rail.view.way, begin, begin, begin, rail.view.station(clear), parts, begins="butt"
    )


def stub_at(route: LaidRoute, switch: Switch) -> StubPoints | None:
    """Return how a route parts at a stub switch, None where it says nothing of a stub there."""
    here = switch.end_of(route)
    return here[1].points if here is not None and isinstance(here[1].points, StubPoints) else None


def begin_at_toes(layout: Layout, switches: tuple[Switch, ...]) -> Layout:
    """Return the layout with the faces of every route at a stub begun at the toe, but of the one that leads."""
    routes = {route.name: route for route in layout}
    for switch in switches:
        for butt in switch.points:
            name = butt.owner.route
            if butt.begins == "butt" and name != switch.onward[0]:
                routes[name] = _begun(routes[name], butt)
    return Layout(tuple(routes.values()))


def _begun(route: LaidRoute, butt: PointRail) -> LaidRoute:
    """Return a route with the face of a butt begun at its toe, or ended there where it runs against the stations."""
    if butt.way > 0:
        begins = (butt.tip if face == butt.owner.face else route.begin_of(face) for face in route.faces)
        return replace(route, begins=tuple(begins))
    ends = (butt.tip if face == butt.owner.face else route.end_of(face) for face in route.faces)
    return replace(route, ends=tuple(ends))
