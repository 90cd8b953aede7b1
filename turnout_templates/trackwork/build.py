"""Turn laid routes into trackwork, step by step: from tips, switches and rails to ties and polarity."""

from __future__ import annotations

from msgspec.structs import replace

from turnout_templates.alignment.model import Layout
from turnout_templates.spec.model import Spec
from turnout_templates.trackwork.bases.bases import cut_bases
from turnout_templates.trackwork.current.wire import wire
from turnout_templates.trackwork.frogs.bands import Filing
from turnout_templates.trackwork.frogs.contacts import BarsOnFaces, find_contacts, fit_bars
from turnout_templates.trackwork.frogs.cutting import file_heads
from turnout_templates.trackwork.frogs.frogs import find_frogs
from turnout_templates.trackwork.frogs.metal import metal_of_bars
from turnout_templates.trackwork.guides.field import Field
from turnout_templates.trackwork.guides.guarding import tell_guarding
from turnout_templates.trackwork.guides.guards import lay_guards
from turnout_templates.trackwork.guides.needs import find_needs
from turnout_templates.trackwork.guides.sides import find_sides
from turnout_templates.trackwork.guides.wings import lay_wings
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.pieces.cut_to_length import cut_to_length
from turnout_templates.trackwork.points.open_points import open_points
from turnout_templates.trackwork.points.point_work import work_switches
from turnout_templates.trackwork.points.stubs import begin_at_toes
from turnout_templates.trackwork.points.switches import build_switches
from turnout_templates.trackwork.points.throwing import throw_switches
from turnout_templates.trackwork.points.tips import find_tips
from turnout_templates.trackwork.polarity.polarity import tell_polarity
from turnout_templates.trackwork.rails.across import RailsByPlace
from turnout_templates.trackwork.rails.bars import cut_bars
from turnout_templates.trackwork.rails.courses import Section
from turnout_templates.trackwork.rails.plain import refuse_widened_turnouts
from turnout_templates.trackwork.rails.rail_parts import PointRail, RouteFace
from turnout_templates.trackwork.rails.runs import follow_rails
from turnout_templates.trackwork.ties.holding import Parts
from turnout_templates.trackwork.ties.ties import lay_ties


def build_trackwork(spec: Spec, layout: Layout) -> Trackwork:
    """Return everything that is to be built on `layout`.

    Raises LayoutError where the gauge would be widened in a turnout or a crossing.
    """
    tips = find_tips(layout)
    switches = build_switches(spec, layout, tips)
    layout = begin_at_toes(layout, switches)
    points: dict[RouteFace, list[PointRail]] = {}
    for switch in switches:
        for point in switch.points:
            points.setdefault(point.owner, []).append(point)
    rails = follow_rails(layout, tips, points)
    frogs = find_frogs(layout, switches, spec.frog_point)
    circuit = tell_polarity(layout, switches, frogs)
    switches = throw_switches(spec, layout, switches, frogs, circuit)
    filing = Filing(layout, [point for rail in rails for point in rail.points], frogs, spec.rail.head)
    needs = find_needs(layout, frogs, switches)
    sides = find_sides(filing, needs, rails)
    filing.cut_sides(sides)
    heads = file_heads(filing, rails)
    field = Field(layout, filing, heads)
    wings, barred = lay_wings(field, frogs)
    field.lay(wings)
    guards = lay_guards(field, needs, sides, switches)
    field.lay(guards)
    refuse_widened_turnouts(layout, filing, switches, frogs, wings, guards, spec.units)
    bars = cut_bars(layout, rails, heads, frogs, filing.joints)
    on_faces = BarsOnFaces(bars)
    fits = fit_bars(filing, frogs, on_faces, wings)
    contacts = find_contacts(filing, on_faces, fits, wings, switches, metal_of_bars(heads, bars))
    begun = [point for rail in rails for point in rail.points]
    section = Section(spec.rail.head, spec.rail.base)
    bases = cut_bases(layout, section, bars, heads, wings, guards, contacts, begun, filing.in_front)
    open_fouls = bases.open(list(open_points(layout, switches, bars)))
    ties, missing = lay_ties(spec, rails, bars, Parts(layout, spec.rail, switches, frogs, guards))
    works = work_switches(spec, layout, switches, RailsByPlace(layout, bars), heads, frogs, (*wings, *guards), ties)
    work = Trackwork(
        spec=spec,
        layout=layout,
        rails=rails,
        heads=heads,
        bars=bars,
        fits=fits,
        contacts=contacts,
        switches=switches,
        frogs=frogs,
        wings=wings,
        barred_wings=barred,
        guards=guards,
        sides=sides,
        guarding=tell_guarding(field, needs, guards, sides),
        base_cuts=tuple(bases.told()),
        open_fouls=open_fouls,
        reliefs=tuple(bases.reliefs()),
        ties=ties,
        missing_ties=missing,
        switch_works=works,
        circuit=circuit,
    )
    cuts, ties = cut_to_length(work)
    work = replace(work, rail_cuts=cuts, ties=ties)
    return replace(work, wiring=wire(work))
