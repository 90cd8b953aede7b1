"""Turn checked forms into the frozen `Spec`, every default filled in and every source named."""

from __future__ import annotations

from typing import Literal

from msgspec.structs import replace

from turnout_templates import units
from turnout_templates.errors import KeyPath
from turnout_templates.spec import forms, model
from turnout_templates.spec.complaints import Complaints
from turnout_templates.spec.ground import Ground, GroundGauge
from turnout_templates.spec.mean_routes import mean_routes
from turnout_templates.standards.practice import filed_tip, frog_point, tie_practice
from turnout_templates.standards.rail import default_rail, rail_named
from turnout_templates.standards.scales import unit_of_scale
from turnout_templates.standards.track import Clearances, Limits, clearances_for, family_of

OFFSET_STEPS = {"mm": 10.0, "in": 12.7}
"""Steps of the tables of offsets in mm by the unit printed first, 10 mm and 1/2 in: common practice, no source."""
_RAIL_SPACES = 20
"""Rail is sold in pieces that reach over so many tie spaces at least (no source: a bound for slips of the pen)."""
_ROUNDING = 1e-9
"""Lengths that differ by less than this (mm) are one."""


def mean_spec(form: forms.SpecForm, ground: Ground, text: str, complaints: Complaints) -> model.Spec:
    """Return what `form` means on its `ground`, without a fingerprint; what it cannot mean goes to `complaints`."""
    gauges = {name: _gauge(name, gauge, form, ground, complaints) for name, gauge in ground.gauges.items()}
    rail = _rail(form, ground)
    ties = _ties(form, ground)
    _check_rail(rail, gauges, form, complaints)
    _check_ties(ties, form.ties, complaints)
    _check_strip(ties, gauges, form.ties, complaints)
    _check_small_sizes(form, rail, gauges, complaints)
    _check_longest_rail(form, ties, complaints)
    return model.Spec(
        name=form.name,
        revision=form.revision,
        notes=form.notes,
        units=units_of(form, ground),
        scale=ground.scale,
        track_standard=_standard_name(form, ground),
        gauges=gauges,
        rail=rail,
        routes=mean_routes(form, gauges, rail.head, ground.ratio, complaints),
        ties=ties,
        tip=form.tip if form.tip is not None else float(filed_tip()),
        frog_point=form.frog_point if form.frog_point is not None else float(frog_point(ground.ratio)),
        throw=form.throw,
        text=text,
        fingerprint="",
        offset_step=_offset_step(form, ground, gauges),
        longest_rail=form.longest_rail if form.longest_rail is not None else model.YARD,
    )


def units_of(form: forms.SpecForm, ground: Ground) -> Literal["mm", "in"]:
    """Return the unit to print first: the one said, else the one that more of the spec's lengths are written in.

    A spec without any length takes the unit that goes with its scale, and mm where it names a MOROP track standard.
    """
    counts = ground.setting.counts
    if form.units is not None:
        return form.units
    if any(counts.values()):
        return "in" if counts["in"] > counts["mm"] else "mm"
    if form.track_standard is not None and family_of(ground.standard) == "MOROP":
        return "mm"
    return unit_of_scale(ground.scale.name)


def _standard_name(form: forms.SpecForm, ground: Ground) -> str:
    given = form.track_standard
    if given is None or given.word:
        return ground.standard
    return f"{given.from_}, with figures of this spec" if given.from_ else "figures of this spec"


def _gauge(
    name: str, ground_gauge: GroundGauge, form: forms.SpecForm, ground: Ground, complaints: Complaints
) -> model.Gauge:
    table = clearances_for(ground.standard, ground_gauge.table_name, ground_gauge.width, ground.ratio)
    own = None if form.track_standard is None else (form.track_standard.__pydantic_extra__ or {}).get(name)
    keys = ("flangeway", "check_gauge", "span", "point_spread")
    said = {} if own is None else {key: value for key in keys if (value := getattr(own, key)) is not None}
    figures = {key: said.get(key, float(getattr(table, key))) for key in keys}
    depth, depth_source = _depth(form, own, table)
    gauge = model.Gauge(
        name=name,
        width=float(ground_gauge.width),
        source=_clearance_source(table, said, keys),
        width_source=ground_gauge.source,
        max_width=None if table.gauge_max is None else float(table.gauge_max),
        max_width_source=table.source,
        flangeway_depth=None if own is None else own.flangeway_depth,
        standard_depth=depth,
        depth_source=depth_source,
        limits=Limits() if len(said) == len(keys) else replace(table.limits, **dict.fromkeys(said, (None, None))),
        **figures,
    )
    if said:
        _check_clearances(gauge, ("track_standard", name), complaints)
    return gauge


def _depth(form: forms.SpecForm, own: forms.ClearanceForm | None, table: Clearances) -> tuple[float | None, str]:
    """Return what the standard in force says of the depth of a flangeway, and the source of the depth that holds.

    Clearances that name no standard to take the rest from have no depth but their own.
    """
    alone = own is not None and form.track_standard is not None and not form.track_standard.from_
    depth = None if alone or table.depth is None else float(table.depth)
    if own is not None and own.flangeway_depth is not None:
        return depth, "given in the spec"
    return depth, "" if depth is None else table.source


def _clearance_source(table: Clearances, said: dict[str, float], keys: tuple[str, ...]) -> str:
    if not said:
        return table.source
    if len(said) == len(keys):
        return "given in the spec"
    return f"{', '.join(said)} given in the spec, the rest {table.source}"


def _check_clearances(gauge: model.Gauge, path: KeyPath, complaints: Complaints) -> None:
    wide = units.format_mm(gauge.width)
    for key in ("flangeway", "check_gauge", "span", "point_spread"):
        if getattr(gauge, key) >= gauge.width:
            complaints.add((*path, key), f"This is not less than the gauge itself, {wide}.", "Check the figure.")
            return
    if gauge.span >= gauge.check_gauge:
        sentence = "The span is not less than the check gauge, so that no flange fits between guard and wing."
        complaints.add((*path, "span"), sentence, "Span is check gauge less the flangeway, or a little more than that.")


def _rail(form: forms.SpecForm, ground: Ground) -> model.RailSection:
    given = form.rail
    if given is not None and not given.word:
        return model.RailSection("own", given.height, given.head, given.base, "given in the spec")
    named = default_rail(ground.ratio) if given is None else rail_named(given.word, ground.ratio)
    if named is None:
        raise AssertionError(given)
    return model.RailSection(named.name, float(named.height), float(named.head), float(named.base), named.source)


def _check_rail(
    rail: model.RailSection, gauges: dict[str, model.Gauge], form: forms.SpecForm, complaints: Complaints
) -> None:
    narrowest = min(gauges.values(), key=lambda gauge: gauge.width)
    path: KeyPath = ("rail",) if form.rail is not None else ("scale",)
    if 4 * rail.head > narrowest.width:
        sentence = f"A rail head of {units.format_mm(rail.head)} is too wide for a gauge of "
        sentence += f"{units.format_mm(narrowest.width)}."
        complaints.add(path, sentence, "Take a smaller rail, or check the scale and the gauge.")
    elif rail.head > rail.base:
        complaints.add((*path, "head"), "This head is wider than the base.", "Check the two figures.")


def _ties(form: forms.SpecForm, ground: Ground) -> model.TieRules:
    widest = max(gauge.width for gauge in ground.gauges.values())
    usual = tie_practice(ground.ratio, widest)
    given = form.ties
    names = ("width", "thickness", "switch_width", "spacing", "switch_spacing", "overhang", "headblock_overhang")
    sizes: dict[str, float] = {}
    said: list[str] = []
    for name in (*names, "length_step"):
        own = None if given is None else getattr(given, name)
        sizes[name] = float(getattr(usual, name)) if own is None else own
        said += [name] if own is not None else []
    copper = given.copper if given is not None and given.copper is not None else "none" if ground.ratio == 1 else "all"
    orientation = given.orientation if given is not None and given.orientation is not None else "square"
    gap = given.gap if given is not None and given.gap is not None else 0.0
    source = usual.source if not said else f"{', '.join(said)} given in the spec, the rest {usual.source}"
    strip = given.strip if given is not None and given.strip is not None else model.YARD
    return model.TieRules(**sizes, copper=copper, source=source, gap=gap, orientation=orientation, strip=strip)


def _check_ties(ties: model.TieRules, given: forms.TiesForm | None, complaints: Complaints) -> None:
    for width, spacing in (("width", "spacing"), ("switch_width", "switch_spacing")):
        if getattr(ties, width) >= getattr(ties, spacing):
            sentence = f"Ties {units.format_mm(getattr(ties, width))} wide overlap at a spacing of "
            sentence += f"{units.format_mm(getattr(ties, spacing))}."
            at = spacing if given is not None and given.given(spacing) else width
            complaints.add(("ties", at), sentence, f"Give ties a {spacing} larger than their {width}.")
            return
    left = min(ties.spacing - ties.width, ties.switch_spacing - ties.switch_width)
    if ties.gap > left + _ROUNDING:
        sentence = f"Ties at their spacing leave {units.format_mm(left)} between them, less than a gap of "
        complaints.add(
            ("ties", "gap"),
            f"{sentence}{units.format_mm(ties.gap)}.",
            "Give a smaller gap, or ties a larger spacing.",
        )


def _check_strip(
    ties: model.TieRules, gauges: dict[str, model.Gauge], given: forms.TiesForm | None, complaints: Complaints
) -> None:
    """Refuse strip of which not even one plain tie could be cut; a yard that nobody asked for may be too short."""
    plain = min(gauge.width for gauge in gauges.values()) + 2 * ties.overhang
    if given is not None and given.strip is not None and given.strip < plain:
        sentence = f"Strip {units.format_mm(given.strip)} long is shorter than a plain tie, {units.format_mm(plain)}."
        complaints.add(("ties", "strip"), sentence, "Give the length in which strip for ties is sold.")


def _check_small_sizes(
    form: forms.SpecForm, rail: model.RailSection, gauges: dict[str, model.Gauge], complaints: Complaints
) -> None:
    for key in ("tip", "frog_point"):
        size = getattr(form, key)
        if size is not None and size >= rail.head:
            sentence = f"This is not less than the rail's head, {units.format_mm(rail.head)}."
            complaints.add((key,), sentence, "Check the figure and its unit.")
    for gauge in gauges.values():
        if gauge.flangeway_depth is not None and gauge.flangeway_depth >= rail.height:
            sentence = f"This is not less than the rail is high, {units.format_mm(rail.height)}."
            complaints.add(
                ("track_standard", gauge.name, "flangeway_depth"), sentence, "Check the figure and its unit."
            )
    narrowest = min(gauge.width for gauge in gauges.values())
    if form.throw is not None and form.throw >= narrowest:
        sentence = f"A throw of {units.format_mm(form.throw)} is not less than the gauge, {units.format_mm(narrowest)}."
        complaints.add(("throw",), sentence, "Check the figure and its unit.")


def _check_longest_rail(form: forms.SpecForm, ties: model.TieRules, complaints: Complaints) -> None:
    least = _RAIL_SPACES * ties.spacing
    if form.longest_rail is not None and form.longest_rail < least:
        sentence = f"Pieces of rail no longer than {units.format_mm(form.longest_rail)} reach over less than "
        sentence += f"{_RAIL_SPACES} tie spaces, {units.format_mm(least)}."
        complaints.add(("longest_rail",), sentence, "Give the length in which the rail is sold.")


def _offset_step(form: forms.SpecForm, ground: Ground, gauges: dict[str, model.Gauge]) -> float:
    """Return the step of the tables of offsets (mm); unsaid ten times as long while a gauge has more than ten of it."""
    if form.offset_step is not None:
        return form.offset_step
    step = OFFSET_STEPS[units_of(form, ground)]
    while max(gauge.width for gauge in gauges.values()) > 10 * step:
        step *= 10
    return step
