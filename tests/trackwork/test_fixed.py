"""Fixed gauge separation: where the fixed rail begins, what guides wheels to it, and when nothing can."""

from __future__ import annotations

import math
import re

import pytest

from turnout_templates.errors import InputProblems
from turnout_templates.pipeline import Job

from .building import TWO_GAUGES, job, spec

RADIUS = 700.0
SITES = [
    (leaves, common, hand)
    for leaves in ("narrow", "standard")
    for common in ("left", "right")
    for hand in ("left", "right")
]


def parting(leaves: str, common: str, hand: str, *, gauges: str = TWO_GAUGES, **keys: str) -> Job:
    """Return a mixed track that ends where one gauge runs straight on and the other `leaves` by a curve."""
    stays = "standard" if leaves == "narrow" else "narrow"
    path = f"path: [{{curve: {{radius: {RADIUS}, turn: {hand}, length: 300}}}}]"
    routes = f"""
        main: {{common_rail: {common}, path: [straight: 80]}}
        on: {{leaves: main, at: end, gauges: [{stays}], path: [straight: 400]}}
        off: {{leaves: main, at: end, gauges: [{leaves}], hand: {hand}, points: fixed, {path}}}
    """
    return job(spec(routes, gauges=gauges, **keys))


def equal(points: str) -> Job:
    return job(
        spec(f"""
        main: {{path: [straight: 330]}}
        off: {{leaves: main, at: 60, hand: left, points: {points}, path: [{{frog: 6}}, {{straight: 60}}]}}
    """)
    )


@pytest.mark.parametrize(("leaves", "common", "hand"), SITES)
def test_the_fixed_rail_begins_where_a_flangeway_has_opened(leaves: str, common: str, hand: str) -> None:
    work = parting(leaves, common, hand).trackwork
    (switch,) = work.switches
    (rail,) = switch.points
    assert switch.switching == "fixed" and not switch.moving_points
    assert rail.tip == rail.full_head == rail.heel == rail.clear and rail.moving == 0.0
    # Those are two common rails, for both gauges share one; the curved one has the radius r at its gauge face.
    width = work.spec.gauges[leaves].width
    apart = work.spec.rail.head + max(gauge.flangeway for gauge in work.spec.gauges.values())
    if common == hand:
        # It curves outward: the straight rail is the fixed one. From x along it, the centre is r away square to it.
        r = RADIUS - width / 2
        assert rail.owner.route == "on"
        assert rail.tip == pytest.approx(math.sqrt((r + apart) ** 2 - r**2), abs=1e-6)
        assert rail.parts == pytest.approx(math.sqrt((r + work.spec.tip) ** 2 - r**2), abs=1e-6)
    else:
        # It curves inward and is the fixed one: r (1 - cos) off the straight rail after turning by that angle.
        r = RADIUS + width / 2
        assert rail.owner.route == "off"
        assert rail.tip == pytest.approx(RADIUS * math.acos(1 - apart / r), abs=1e-6)
        assert rail.parts == pytest.approx(RADIUS * math.acos(1 - work.spec.tip / r), abs=1e-6)


@pytest.mark.parametrize(("leaves", "common", "hand"), SITES)
def test_a_guard_draws_its_wheels_over(leaves: str, common: str, hand: str) -> None:
    done = parting(leaves, common, hand)
    work = done.trackwork
    (switch,) = work.switches
    (rail,) = switch.points
    (guard,) = (guard for guard in work.guards if "S1" in guard.switches)
    (gauge,) = rail.owner.face.gauges
    assert (guard.gauge, guard.beside.route) == (gauge.name, rail.owner.route)
    assert guard.beside.face.hand != rail.owner.face.hand and gauge in guard.beside.face.gauges
    assert guard.flangeway == pytest.approx(gauge.width - gauge.check_gauge)
    assert guard.straight[0] < rail.parts < rail.tip < guard.straight[1]
    assert not [f for f in done.findings if f.level == "error"]


@pytest.mark.parametrize(("leaves", "common", "hand"), SITES)
def test_nothing_is_thrown(leaves: str, common: str, hand: str) -> None:
    work = parting(leaves, common, hand).trackwork
    (switch,) = work.switches
    assert switch.bar_station is switch.throw is switch.least_opening is None
    assert not [tie for tie in work.ties if tie.role == "headblock"]
    # The rail itself lies nowhere before the flangeway has opened, and is whole where it begins.
    (point,) = switch.points
    (head,) = (h for h in work.heads if h.stretch.owner == point.owner and abs(h.stretch.low - point.tip) < 1e-9)
    assert not [zone for zone in head.filed if zone[0] < point.tip + 1.0]
    stretches = [s for r in work.rails for s in r.stretches if s.owner == point.owner]
    assert min(s.low for s in stretches) == point.tip
    assert next(b.role for b in work.bars if b.stretches[0].owner == point.owner) == "closure rail"


def test_moving_points_at_the_same_place_have_their_tips_before() -> None:
    fixed, moving = (equal(points).trackwork.switches[0] for points in ("fixed", "tangent"))
    for one, other in zip(fixed.points, moving.points, strict=True):
        assert (one.owner, one.tip, one.parts) == (other.owner, other.clear, other.tip)


def test_one_gauge_cannot_be_told_apart() -> None:
    done = equal("fixed")
    found = [f for f in done.findings if f.rule == "gauge-not-parted"]
    assert {re.sub(r"R\d+[a-z]? ", "", f.where) for f in found} == {
        "S1, fixed rail (off standard right)",
        "S1, fixed rail (main standard left)",
    }
    assert all(f.level == "error" and "standard gauge goes on along both" in str(f.measured) for f in found)
    assert not any(guard.switches for guard in done.trackwork.guards)
    assert not [f for f in done.findings if f.rule == "separation-unguarded"]  # a guard is not what is missing
    assert not [f for f in equal("tangent").findings if f.rule == "gauge-not-parted"]


def test_a_guard_without_room_is_an_error() -> None:
    # Another track that crosses where the guard should lie takes its place.
    done = job(SITE_CROSSED)
    (finding,) = (f for f in done.findings if f.rule == "separation-unguarded")
    assert finding.level == "error" and finding.where == "S1 (fixed rail)"
    assert re.search(r"narrow gauge on R\d+[a-z]? \(off narrow", str(finding.measured))
    # What guards could cover of the gap is not all of it, and the text says that none fits.
    (told,) = (told for told in done.trackwork.unguarded if told.need.guarded == "S1")
    (rail,) = done.trackwork.switches[0].points
    assert any(low < rail.tip and high > rail.parts for low, high in told.missing)


CURVE = f"{{radius: {RADIUS}, turn: right, length: 300}}"
SITE_CROSSED = spec(
    f"""
    main: {{common_rail: left, path: [straight: 80]}}
    on: {{leaves: main, at: end, gauges: [standard], path: [straight: 400]}}
    off: {{leaves: main, at: end, gauges: [narrow], points: fixed, path: [{{curve: {CURVE}}}]}}
    across: {{start: {{x: 100, y: -100, heading: 90 deg}}, gauges: [standard], path: [straight: 200]}}
    """,
    gauges=TWO_GAUGES,
)


def test_another_word_is_refused() -> None:
    with pytest.raises(InputProblems) as caught:
        equal("unmoved")
    assert "tangent or fixed" in str(caught.value)
