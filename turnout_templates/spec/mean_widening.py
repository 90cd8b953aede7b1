"""Turn what a route says of gauge widening into steps of radius and widening: its own, or those of a published rule."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from turnout_templates import units
from turnout_templates.spec import model
from turnout_templates.spec.complaints import Complaints
from turnout_templates.standards.widening import is_gauge_of_rule, taper_slope, widening_rule

if TYPE_CHECKING:
    from turnout_templates.spec import forms


def mean_widening(
    name: str,
    form: forms.WideningForm | None,
    gauges: Sequence[model.Gauge],
    ratio: Fraction,
    complaints: Complaints,
) -> model.Widening | None:
    """Return how the gauge of the route `name`, which carries `gauges`, is widened; None where it is not."""
    if form is None:
        return None
    if form.rule:
        _check_gauges(name, form.rule, gauges, ratio, complaints)
        rule = widening_rule(form.rule, ratio)
        return _tapered(form, rule.steps, rule.source)
    narrow = min(gauges, key=lambda gauge: gauge.flangeway)
    if form.by >= narrow.flangeway:
        sentence = f"This is not less than the flangeway of {narrow.name}, {units.format_mm(narrow.flangeway)}."
        complaints.add(("routes", name, "widening", "by"), sentence, "Check the figure and its unit.")
    return _tapered(form, ((form.below, form.by),), "given in the spec")


def _tapered(form: forms.WideningForm, steps: tuple[tuple[float, float], ...], source: str) -> model.Widening:
    """Return steps of (radius, by) with the taper that is said, or that of practice."""
    if form.given("taper"):
        return model.Widening(tuple((radius, by, form.taper) for radius, by in steps), source)
    known = f"{source}; tapers by common practice, no source"
    return model.Widening(tuple((radius, by, taper_slope() * by) for radius, by in steps), known)


def _check_gauges(name: str, rule: str, gauges: Sequence[model.Gauge], ratio: Fraction, complaints: Complaints) -> None:
    """Complain of a gauge that the rule does not speak of."""
    other = next((gauge for gauge in gauges if not is_gauge_of_rule(rule, gauge.width, ratio)), None)
    if other is not None:
        sentence = f'The rule of {rule} is for a gauge of 4 ft 8 1/2 in; it says nothing of "{other.name}".'
        remedy = "Give figures of your own: {by: LENGTH, below: RADIUS}."
        complaints.add(("routes", name, "widening"), sentence, remedy)
