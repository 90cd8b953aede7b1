"""Turn trackwork into blocks that tell a table to fill in at the bench: route by route, then the curves of all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from turnout_templates.checks.finding import Finding
from turnout_templates.reports.block import Block, Row
from turnout_templates.reports.lengths import fine_of, length_of, reach_of
from turnout_templates.spec.model import Gauge
from turnout_templates.trackwork.bench.gauging import Reading, readings
from turnout_templates.trackwork.bench.ordinates import LEAST_RISE, CurveTest, curve_tests
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.units import format_clearance

ROW_HEIGHT, LEAST_ROW = 6.4, 6.0
"""The height of a row that is written in by hand, mm: narrow ruled paper has 1/4 in (from memory). Where smaller type
saves a page it is lower by as much, down to what still takes figures (ours)."""
_FILL_IN: Row = ("1st", "2nd", "initials")
_UNSTATED = "-"
_HOW = (
    "Read each place when its rails are fast, and again when all is clean and has stood for a day, the gauge square to "
    "the track. What lies outside of least and greatest is put right before the next rail is laid."
)
_CURVES_HOW = (
    "Curves: lay the straight-edge along the hollow side of the head, touching at both ends of the chord; the rise is "
    "the white in its middle. No document that was read states how far it may be out. Where it would be less than {}, "
    "it cannot be read on a rule (common practice, no source): lay such rails by their lines."
)
_SIDES = {"gauge": "gauge face", "outer": "outer edge of head"}


def gauging_record_blocks(work: Trackwork, findings: Sequence[Finding]) -> tuple[Block, ...]:
    """Return the blocks, in their order: how and by which limits, the readings of each route, the tests of curves."""
    several = len(work.spec.gauges) > 1
    by_route = groupby(readings(work), key=lambda reading: reading.route)
    tables = [_route_block(work, name, list(found), several=several) for name, found in by_route]
    curves = list(curve_tests(work))
    how = Block("How to fill it in", (_HOW, *_curves_how(work, curves)))
    limits = Block("Where least and greatest come from", tuple(_limits(work)))
    return (how, limits, *tables, *_curve_blocks(work, curves))


def _limits(work: Trackwork) -> Iterator[Row]:
    """Yield where the limits of each gauge come from."""
    for gauge in work.spec.gauges.values():
        yield f"For {gauge.name}: {gauge.source}. “{_UNSTATED}”: {_not_stated(gauge)}."
    yield (
        "The flangeway at a guard has no limits of its own: check gauge and span tell. Where a groove at a frog serves "
        "two gauges it is as wide as the wider needs, and the least span of the other does not apply. The least "
        "opening beside an open point is gauge less point spread; a finding tells of one drawn less than that."
    )


def _not_stated(gauge: Gauge) -> str:
    limits = gauge.limits
    every = (limits.gauge, limits.check_gauge, limits.span, limits.flangeway)
    if all(limit == (None, None) for limit in every):
        return "no limits are published there, so that what is drawn is all there is to go by"
    return "not stated there"


def _route_block(work: Trackwork, name: str, found: Sequence[Reading], *, several: bool) -> Block:
    """Return the table of one route; `several` says that the spec has more gauges than one."""
    head: Row = ("at", "place", *(["for"] if several else []), "measure", "drawn", "least", "greatest", *_FILL_IN)
    rows = [
        (
            length_of(work, reading.station),
            reading.place,
            *([reading.gauge.name] if several else []),
            reading.quantity,
            *(_bare(work, size) for size in (reading.drawn, *reading.allowed)),
            *[""] * len(_FILL_IN),
        )
        for reading in found
    ]
    title = f"{name}: gauge and clearances, {_IN[work.spec.units]}"
    return Block(title, (head, *rows), has_head=True, row_height=ROW_HEIGHT, fill_in=len(_FILL_IN), least_row=LEAST_ROW)


_IN = {"mm": "in mm", "in": "in inches"}


def _bare(work: Trackwork, mm: float | None) -> str:
    """Return a small length without its unit."""
    units = work.spec.units
    return _UNSTATED if mm is None else format_clearance(mm, units).removesuffix(f" {units}")


def _curves_how(work: Trackwork, tests: Sequence[CurveTest]) -> Iterator[Row]:
    """Yield how curves are tested, and which rails are not; nothing where there is no curve."""
    if tests:
        yield _CURVES_HOW.format(fine_of(work, LEAST_RISE))
        short = [
            f"{test.piece} on {test.owner.route}, {reach_of(work, *test.curve)}" for test in tests if test.chord is None
        ]
        if short:
            yield f"Too short for a rise that can be read: {'; '.join(short)}."


def _curve_blocks(work: Trackwork, tests: Sequence[CurveTest]) -> Iterator[Block]:
    """Yield the table of the curves of all rails that can be tested."""
    head: Row = ("route, curve", "piece", "straight-edge on", "radius", "chord", "about", "rise", *_FILL_IN)
    rows = [
        (
            f"{test.owner.route}, {reach_of(work, *test.curve)}",
            test.piece,
            _SIDES[test.side],
            length_of(work, test.radius),
            length_of(work, test.chord),
            length_of(work, test.station),
            _bare(work, test.rise),
            *[""] * len(_FILL_IN),
        )
        for test in tests
        if test.chord is not None
    ]
    if rows:
        title = f"Curves, rail by rail: rise over the middle of a chord, {_IN[work.spec.units]}"
        yield Block(
            title, (head, *rows), has_head=True, row_height=ROW_HEIGHT, fill_in=len(_FILL_IN), least_row=LEAST_ROW
        )
