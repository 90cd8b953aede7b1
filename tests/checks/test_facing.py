"""Guides that face each other: what wheels to the standard pass between, and what nobody promises that they do."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from trackwork.building import TWO_GAUGES, job, spec
from trackwork.sites import crossing

from turnout_templates.checks.spans import check_facing_guides
from turnout_templates.trackwork.frogs.frog_parts import Guard
from turnout_templates.trackwork.model import Trackwork

THREE_OVER_TWO = """
  main: {gauges: [standard, narrow], common_rail: left, path: [{straight: 12 in}]}
  feeder: {gauges: [narrow], start: {x: 1 in, y: -1.75 in, heading: 20 deg}, path: [{straight: 11 in}]}
"""


def facing(work: Trackwork) -> tuple[Guard, Guard]:
    """Return two guards beside the two rails of a route, over the same stations."""
    return next(
        (one, other)
        for i, one in enumerate(work.guards)
        for other in work.guards[i + 1 :]
        if one.beside.route == other.beside.route
        and one.beside.face.hand != other.beside.face.hand
        and max(one.straight[0], other.straight[0]) < min(one.straight[1], other.straight[1])
    )


def test_guards_at_the_check_gauge_may_face_each_other() -> None:
    """In HO they are 2 C - G apart, 14.35 mm, more than S, 14.2 mm: as at every diamond, and nothing is told of it."""
    work = job(spec(crossing(9.5, y=-37.135))).trackwork
    one, other = facing(work)
    (gauge,) = one.beside.face.gauges
    apart = gauge.width - one.flangeway - other.flangeway
    assert apart == pytest.approx(2 * gauge.check_gauge - gauge.width)
    assert apart > gauge.span
    assert list(check_facing_guides(work)) == []


def test_a_tighter_guard_that_faces_another_is_told() -> None:
    work = job(spec(crossing(9.5, y=-37.135))).trackwork
    one, other = facing(work)
    (gauge,) = one.beside.face.gauges
    tighter = replace(other, flangeway=other.flangeway - 0.2)
    guards = tuple(tighter if guard is other else guard for guard in work.guards)
    (told,) = check_facing_guides(replace(work, guards=guards))
    names, _, of_gauge = told.where.partition(", ")
    assert told.level == "warning" and of_gauge == f"{gauge.name} gauge"
    assert {one.id, other.id} <= set(names.split(" and "))
    between = 2 * gauge.check_gauge - gauge.width
    assert told.measured.sizes == pytest.approx((between + 0.2,), abs=0.005)
    assert told.limit.sizes == pytest.approx((between,))


def test_a_guard_that_faces_the_wing_of_another_frog_keeps_to_the_span() -> None:
    """Check gauge less flangeway is just the span, so that a guard 0.2 mm too tight is 0.2 mm too much."""
    work = job(spec(crossing(9.5, y=-37.135))).trackwork
    frogs = [frog.id for frog in work.frogs if frog.kind == "V"]
    guard = next(guard for guard in work.guards if frogs[0] in guard.frogs)
    tight = replace(guard, frogs=(), flangeway=guard.flangeway - 0.2)
    found = list(check_facing_guides(replace(work, guards=(tight,))))
    (gauge,) = guard.beside.face.gauges
    assert [told.level for told in found] == ["warning"] and found[0].where.startswith(f"{guard.id} and W")
    (wing,) = [wing for wing in work.wings if f" {wing.id}," in found[0].where]
    assert found[0].measured.sizes == pytest.approx((gauge.width - tight.flangeway - wing.flangeway,))
    assert found[0].limit.sizes == pytest.approx((gauge.span,))
    assert list(check_facing_guides(replace(work, guards=(replace(tight, flangeway=guard.flangeway),)))) == []


def test_guards_of_two_gauges_made_one_may_face_a_third_too_closely() -> None:
    """Three rails over two: beside the common rail one guard serves both gauges, at the narrow gauge's flangeway."""
    work = job(spec(THREE_OVER_TWO, gauges=TWO_GAUGES)).trackwork
    wide, narrow = (work.spec.gauges[name] for name in ("standard", "narrow"))
    (told,) = check_facing_guides(work)
    grooves = [gauge.width - gauge.check_gauge for gauge in (wide, narrow)]
    assert told.measured.sizes == pytest.approx((wide.width - sum(grooves),))
    assert told.limit.sizes == pytest.approx((wide.width - 2 * grooves[0],))
