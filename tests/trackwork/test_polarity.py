"""Polarity: what is known of formations by heart, what metal says, and what must not matter."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from trackwork.building import built
from trackwork.formations import FORMATIONS, Formation, from_the_other_end, mirrored
from trackwork.sites import SITES

from turnout_templates.geometry.nearest import nearest_station
from turnout_templates.pipeline import Job, measure
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.polarity.feeds import bar_polarity, frog_joins, frogs_at_ends
from turnout_templates.trackwork.rails.rail_parts import PointRail, Rail, RouteFace

RULES = ("left-meets-right", "crossing-opposed")


@cache
def worked(name: str) -> Job:
    return FORMATIONS[name].job


@pytest.fixture(params=FORMATIONS)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def said(job: Job) -> list[tuple[Any, ...]]:
    """Return all that is found of polarity, places to the thousandth of a mm (adding 0.0 makes -0.0 zero)."""
    return sorted(
        (
            f.rule,
            f.where,
            str(f.measured),
            str(f.limit),
            str(f.remedy),
            round(f.at[0], 3) + 0.0,
            round(f.at[1], 3) + 0.0,
        )
        for f in job.findings
        if f.rule in RULES
    )


def test_rings_and_opposed_crossings_are_those_known(name: str) -> None:
    circuit = worked(name).trackwork.circuit
    assert tuple(ring.routes for ring in circuit.rings) == FORMATIONS[name].rings
    assert tuple((c.first, c.second) for c in circuit.opposed) == FORMATIONS[name].opposed
    rules = [f.rule for f in worked(name).findings if f.rule in RULES]
    assert rules == [RULES[0]] * len(circuit.rings) + [RULES[1]] * len(circuit.opposed)
    assert all(f.level == "warning" for f in worked(name).findings if f.rule in RULES)


def conductors(work: Trackwork) -> int:
    """Return how many separate pieces of metal there are when points touch their stock rails and frogs are bridged."""
    parent = {rail.id: rail.id for rail in work.rails}

    def root(rail: str) -> str:
        while parent[rail] != rail:
            rail = parent[rail]
        return rail

    for rail in work.rails:
        for point in rail.points:
            parent[root(rail.id)] = root(beside(work, point, point.outside[0]).id)
    return len({root(rail) for rail in parent})


def beside(work: Trackwork, point: PointRail, owner: RouteFace) -> Rail:
    """Return the rail on the face `owner` that lies at the tip of a point."""
    tip = work.layout.route(point.owner.route).path.point_at(point.tip, point.owner.face.offset)
    station = nearest_station(work.layout.route(owner.route).path, tip)[0]
    return next(
        rail
        for rail in work.rails
        for s in rail.stretches
        if s.owner == owner and s.low - 0.5 <= station <= s.high + 0.5
    )


def test_each_group_is_two_conductors_and_one_where_left_meets_right(name: str) -> None:
    """Followed over the metal of rails and points alone, without a word about left and right."""
    work = worked(name).trackwork
    circuit = work.circuit
    shorted = {group.fed_with for group in circuit.groups for ring in circuit.rings if ring.routes[0] in group.routes}
    assert conductors(work) == 2 * len(circuit.groups) - len(shorted)


@pytest.mark.parametrize("site", SITES)
def test_one_polarity_is_one_conductor_in_every_site(site: str) -> None:
    """In sites of several gauges each further rail joins one of the two; nothing there reverses."""
    routes, keys = SITES[site]
    work = built(routes, **keys)
    assert (work.circuit.rings == () and work.circuit.opposed == ()) or "twice" in site
    for rail in work.rails:
        for point in (point for point in rail.points if point.outside):
            outside = beside(work, point, point.outside[0])
            assert polarities(work, rail) == polarities(work, outside)
        assert len(polarities(work, rail)) == 1


def polarities(work: Trackwork, rail: Rail) -> set[str]:
    return {p for s in rail.stretches for p in work.circuit.polarities(s.owner.route, s.owner.face.hand, s.low, s.high)}


def test_frogs_join_what_their_kind_says_except_where_opposed(name: str) -> None:
    work = worked(name).trackwork
    opposed = {frog for crossing in work.circuit.opposed for frog in crossing.frogs}
    assert len(work.frogs) > 0 or "oval" in name or name == "dogbone"
    for frog in (frog for frog in work.frogs if frog.angle < math.radians(89.0)):
        is_usual = (frog_joins(work, frog) == "left and right") == (frog.kind == "V")
        assert is_usual == (frog.id not in opposed), frog.id


def test_bars_change_polarity_only_at_gaps(name: str) -> None:
    """Each bar has one polarity, but for those that run over a place where both rails need gaps."""
    work = worked(name).trackwork
    both = [bar for bar in work.bars if bar_polarity(work, bar) == "left meets right"]
    assert len(both) <= 2 * len(work.circuit.rings)
    assert bool(both) == bool(work.circuit.rings)


def test_the_point_rails_of_a_switch_at_a_gap_belong_to_the_track_before_it() -> None:
    work = worked("wye").trackwork
    ring = work.circuit.rings[0]
    assert (ring.broken.branch, ring.broken.parent) == ("east", "west")
    [frog] = [f for f in work.frogs if {f.first.route, f.second.route} == {"west", "east"}]
    assert frog_joins(work, frog) == "left and right"
    [crossed] = [owner.face.hand for owner in (frog.first, frog.second) if owner.route == "east"]
    before, after = (
        {
            bar_polarity(work, bar)
            for bar in work.bars
            if all((s.owner.route, s.owner.face.hand) == ("east", crossed) for s in bar.stretches)
            and all((s.low > frog.t) == at_switch for s in bar.stretches)
        }
        for at_switch in (True, False)
    )
    # East runs to the switch against the direction of west, so that the one hand is the other there, and its own side
    # is turned up to the frog: the rail that crosses lies beside west's of the other polarity all along.
    assert len(before) == len(after) == 1
    assert before != after


def variants(formation: Formation) -> Iterator[tuple[str, Formation]]:
    for key, route in formation.routes.items():
        if "start" in route:
            yield key, from_the_other_end(formation, key)


def test_from_which_end_a_free_route_is_written_does_not_matter(name: str) -> None:
    for key, turned in variants(FORMATIONS[name]):
        assert said(turned.job) == said(worked(name)), key


def test_the_mirror_image_says_the_same_in_its_place(name: str) -> None:
    want = sorted((*words, x, -y + 0.0) for *words, x, y in said(worked(name)))
    assert said(mirrored(FORMATIONS[name]).job) == want


def test_a_wye_is_broken_where_its_last_route_closes_it() -> None:
    finding = next(f for f in worked("wye").findings if f.rule == RULES[0])
    assert finding.where == 'ring of "main", "west" and "east"'
    # East leaves the main 1300 mm beyond the west switch and joins west where it runs square to the main: with main and
    # west it makes a square corner of radius 1600 - 300 - 600 = 700 mm, tangent 700 mm below the main.
    assert finding.at == pytest.approx((900.0, -700.0), abs=1e-6)
    ring = worked("wye").trackwork.circuit.rings[0]
    assert (ring.section, ring.length) == ("east", pytest.approx(700 * math.pi / 2, abs=1e-6))
    assert "double gaps" in str(finding.remedy)


def test_a_reversing_loop_gets_the_loop_as_its_section() -> None:
    ring = worked("reversing loop").trackwork.circuit.rings[0]
    # Main: 900 + 500 pi/4 + 450 * 265/180 pi mm; the switch stands at 300.
    assert ring.section == "main"
    assert ring.length == pytest.approx(600 + 500 * math.pi / 4 + 450 * math.pi * 265 / 180, abs=1e-6)


def test_diamonds_are_fed_so_that_their_crossing_agrees() -> None:
    same, turned = (
        measure(worked(f"diamond{more}"))["polarity"]["groups"] for more in ("", ", one track the other way")
    )
    expected: list[dict[str, Any]] = [
        {"routes": ["a"], "fed_with": "a", "turned": False},
        {"routes": ["b"], "fed_with": "a", "turned": False},
    ]
    assert same == expected
    assert turned == [expected[0], {**expected[1], "turned": True}]


def test_scissors_need_a_section_for_each_v_and_feeds_between_frogs() -> None:
    """Left does not meet right there. Its diamond has two V and two K, and rails that lie between two frogs."""
    work = worked("scissors").trackwork
    sections = [frog.id for frog in work.frogs if frog_joins(work, frog) == "left and right"]
    assert len(sections) == 4 + 2
    ends = frogs_at_ends(work)
    kinds = {frog.id: frog.kind for frog in work.frogs}
    between = {bar.id: {kinds[one], kinds[two]} for bar in work.bars for one, two in [ends[bar.id]] if one and two}
    # From each of the four turnout frogs a rail runs to a K, from each K two run to the V of the diamond; and the
    # straight rails between the frogs of either track.
    assert sorted(map(sorted, between.values())) == [["K", "V"]] * 8 + [["V"]] * 2


def test_a_wrong_facing_is_caught() -> None:
    """The same tracks and crossover, seeded with one more connection that comes back head on."""
    assert not worked("dogbone").trackwork.circuit.rings
    assert [f.where for f in worked("dogbone with a crossover").findings if f.rule == RULES[0]] == [
        'ring of "a", "round", "b" and "up"'
    ]
