"""No rail lies bare of ties for more than a tie space and a half, whatever crosses what at whatever angle.

Measured here with regions and lines, apart from the measure of the program, which is held against it.
"""

from __future__ import annotations

import math
import random

import pytest
import samples
import shapely
from msgspec.structs import replace
from samples import SAMPLES
from shapely.geometry import LineString, Polygon
from trackwork.building import TWO_GAUGES, built, job
from trackwork.chance import Chance
from trackwork.sites import SITES, crossing

from turnout_templates.checks.rails import check_bare_rails
from turnout_templates.errors import InputProblems
from turnout_templates.geometry.flatten import flatten
from turnout_templates.geometry.parallel import Parallel
from turnout_templates.trackwork.model import Trackwork
from turnout_templates.trackwork.ties.bearing import bare_stretches, most_bare

SPACES = 1.5
"""The most of a rail that may lie bare, in tie spaces (common practice, no source)."""
MIXED = "[standard, narrow], common_rail: left"


def longest_bare(work: Trackwork) -> dict[str, float]:
    """Return by rail the greatest length between ties, or from an end to the first tie (mm)."""
    regions = [Polygon(tie.corners()) for tie in work.ties]
    tree = shapely.STRtree(regions)
    longest = {}
    for rail in work.rails:
        points: list[tuple[float, float]] = []
        for s in rail.stretches:
            face = Parallel(work.layout.route(s.owner.route).path, s.owner.face.offset, s.low, s.high)
            more = list(flatten(face, sagitta=1e-3))
            against = points and math.dist(points[-1], more[-1]) < math.dist(points[-1], more[0])
            points += reversed(more) if against else more
        if len(points) > 1:
            line = LineString(points)
            left = line.difference(shapely.union_all([regions[i] for i in tree.query(line).tolist()]))
            # The line falls apart where a tie lies under it; the parts that are left are bare.
            longest[rail.id] = max(part.length for part in shapely.get_parts(shapely.line_merge(left)).tolist())
    return longest


def bound(work: Trackwork) -> float:
    return SPACES * max(work.spec.ties.spacing, work.spec.ties.switch_spacing)


def check_borne(work: Trackwork) -> None:
    lengths = longest_bare(work)
    worst = max(lengths, key=lambda rail: lengths[rail])
    assert lengths[worst] <= bound(work), (worst, lengths[worst] / bound(work) * SPACES)
    assert not list(check_bare_rails(work))


@pytest.mark.parametrize("name", SAMPLES)
def test_rails_of_samples(name: str) -> None:
    check_borne(samples.job(name).trackwork)


@pytest.mark.parametrize("name", SITES)
def test_rails_of_sites(name: str) -> None:
    routes, keys = SITES[name]
    work = built(routes, **keys)
    if name == "bent with a branch of a branch":
        # The headblocks of the second switch lie askew under the main, and no tie fits between them and the next.
        assert [finding.where for finding in check_bare_rails(work)] == ["R2"]
        return
    check_borne(work)


@pytest.mark.parametrize(("main", "over"), [("[standard]", "[standard]"), (MIXED, "[narrow]"), (MIXED, MIXED)])
@pytest.mark.parametrize("degrees", [10, 20, 30, 45, 60, 75, 90, 120, 150])
def test_rails_of_crossings(degrees: int, main: str, over: str) -> None:
    y = -225 * math.sin(math.radians(degrees))
    work = built(crossing(degrees, main=main, over=over, y=round(y, 3)), gauges=TWO_GAUGES)
    assert len(work.frogs) == len(work.layout.routes[0].faces) * len(work.layout.routes[1].faces)
    check_borne(work)


def by_chance(seed: int) -> str:
    """Return two routes, straight or curved, that cross at any angle."""
    pick = random.Random(seed)

    def piece(length: int) -> str:
        bend = f"radius: {pick.uniform(450, 1500):.2f}, turn: {pick.choice(['left', 'right'])}"
        return pick.choice([f"straight: {length}", f"curve: {{{bend}, length: {length}}}"])

    heading, x = pick.uniform(8, 172), pick.uniform(100, 300)
    turn = math.radians(heading)
    start = f"{{x: {x - 130 * math.cos(turn):.2f}, y: {-130 * math.sin(turn):.2f}, heading: {heading:.3f} deg}}"
    return f"""
        main: {{path: [{piece(460)}]}}
        over: {{start: {start}, path: [{piece(260)}]}}
    """


@pytest.mark.parametrize("start", range(0, 80, 10))
def test_rails_of_crossings_by_chance(start: int) -> None:
    for seed in range(start, start + 10):
        check_borne(built(by_chance(seed)))


def test_specs_by_chance_are_borne_or_said_not_to_be() -> None:
    """Where rails end beside another track, askew, no tie may find room; that is rare, and reported."""
    seen, reported = 0, 0
    for seed in (*range(16), 126):
        try:
            work = job(Chance(seed).text()).trackwork
        except InputProblems:
            continue
        seen += 1
        bare = {rail for rail, length in longest_bare(work).items() if length > bound(work)}
        assert bare == {finding.where for finding in check_bare_rails(work)}, seed
        reported += bool(bare)
    assert seen >= 6 and reported == 1


def test_the_measure_agrees_with_regions() -> None:
    for name in ("plain left", "diamond of 45 degrees", "easement", "N and Nn3", "fan"):
        routes, keys = SITES[name]
        work = built(routes, **keys)
        measured: dict[str, float] = {}
        for bare in bare_stretches(work.layout, work.rails, work.ties):
            measured[bare.rail.id] = max(bare.length, measured.get(bare.rail.id, 0.0))
        assert measured == pytest.approx(longest_bare(work), abs=0.02)


def test_a_missing_tie_is_reported_where_it_is_missing() -> None:
    """Two spaces less a tie's width are bare, the spaces of 200 mm less one being 33 of 5.88: 9.14 mm, of 8.75 mm."""
    work = built("main: {path: [straight: 200]}")
    assert most_bare(work.spec.ties) == pytest.approx(1.5 * 20 * 25.4 / 87.1)
    gone = work.ties[10]
    findings = list(check_bare_rails(replace(work, ties=tuple(tie for tie in work.ties if tie is not gone))))
    assert [(finding.rule, finding.level, finding.where) for finding in findings] == [
        ("rail-bare", "warning", "R1"),
        ("rail-bare", "warning", "R2"),
    ]
    for finding in findings:
        assert str(finding.measured) == "no tie lies under 9.1 mm of it"
        assert finding.at[0] == pytest.approx(gone.station, abs=0.01)
