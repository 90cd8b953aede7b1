"""Bases of rails: nothing that is left of them overlaps, no head stands on one, and no more is filed than must be."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest
import shapely
from shapely.geometry.base import BaseGeometry
from trackwork.base_metal import BaseMetal, base_metal
from trackwork.building import THIN, built, is_thin, two_gauge
from trackwork.sites import SITES

from turnout_templates.pipeline import work_out
from turnout_templates.spec.load import load_spec
from turnout_templates.trackwork.bases import CLEARANCE
from turnout_templates.trackwork.model import Trackwork

SAMPLES = sorted((Path(__file__).parents[2] / "sample_specs").glob("[0-9]*.yaml"))
PAIRS = {
    "HO and HOn3": ("HO", "standard: HO, narrow: HOn3", "NMRA S-3.2 (2010)", 1.0),
    "N and Nn3": ("N", "standard: N, narrow: Nn3", "NMRA S-3.2 (2010)", 0.6),
    "O and On30": ("O", "standard: O, narrow: On30", "NMRA S-3.2 (2010)", 2.0),
    "H0 and H0e": ("H0", "standard: H0, narrow: H0e", "MOROP NEM 110 (2009)", 1.0),
}
CODES = ("40", "55", "70", "83", "100")
TWENTY = list(
    product(("both", "wide", "narrow", "parting narrow", "parting wide"), ("left", "right"), ("left", "right"))
)


def crowded(pair: str, code: str, case: str, common: str, hand: str) -> Trackwork:
    """Return one of the twenty two-gauge turnouts in a pair of gauges and a rail code."""
    scale, gauges, clearances, size = PAIRS[pair]
    routes = two_gauge(case, common, hand, length=round(420 * size))
    routes = routes.replace("straight: 80", f"straight: {round(80 * size)}").replace(
        "at: 80", f"at: {round(80 * size)}"
    )
    return built(routes, scale=scale, gauges=gauges, clearances=clearances, rail=f"code {code}")


def fouls(work: Trackwork, metal: list[BaseMetal]) -> list[tuple[str, str, BaseGeometry]]:
    """Return where a flange lies on another part's flange or head: the two parts and what they have in common."""
    tree = shapely.STRtree([part.flanges for part in metal])
    wholes = [part.core.union(part.flanges) for part in metal]
    joined = declared(work)
    found = []
    for i, j in tree.query(wholes, predicate="intersects").T.tolist():
        a, b = metal[j], metal[i]
        if a.part != b.part and frozenset((a.part, b.part)) not in joined:
            common = a.flanges.intersection(wholes[i])
            # Corners shorter than the clearance are not filed for.
            if not is_thin(common, 2 * THIN) and common.area > (CLEARANCE * work.spec.rail.head) ** 2:
                found.append((a.part, b.part, common))
    return found


def declared(work: Trackwork) -> set[frozenset[str]]:
    """Return the parts that are one bent bar: a wing and the closure rail it goes on from; the elbow of a K."""
    pairs = set()
    frogs = {frog.id: frog for frog in work.frogs}
    ends = [(s.owner, end, bar.id) for bar in work.bars for s in bar.stretches for end in (s.low, s.high)]
    for wing in work.wings:
        frog = frogs[wing.frog]
        nose = frog.noses[(frog.first, frog.second).index(wing.continues)]
        pairs |= {frozenset((wing.id, b)) for owner, end, b in ends if owner == wing.continues and near(end, nose)}
    for frog in work.frogs:
        if frog.kind == "K":
            first = [b for owner, end, b in ends if owner == frog.first and near(end, frog.s)]
            second = [b for owner, end, b in ends if owner == frog.second and near(end, frog.t)]
            pairs |= {frozenset(pair) for pair in product(first, second)}
    return pairs


def near(a: float, b: float | None) -> bool:
    return b is not None and abs(a - b) < 1e-3


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_no_base_lies_on_another_part_in_any_sample(file: Path) -> None:
    work = work_out(load_spec(file)).trackwork
    assert fouls(work, base_metal(work)) == []
    # Without the cuts there would be many, wherever points lie against their stock rails.
    if any(switch.moving_points for switch in work.switches):
        assert fouls(work, base_metal(work, cut=False))


@pytest.mark.parametrize("site", SITES)
def test_no_base_lies_on_another_part_anywhere(site: str) -> None:
    routes, keys = SITES[site]
    work = built(routes, **keys)
    assert fouls(work, base_metal(work)) == []


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("pair", PAIRS)
def test_no_base_lies_on_another_part_in_two_gauges(pair: str, code: str) -> None:
    for case, common, hand in TWENTY:
        work = crowded(pair, code, case, common, hand)
        assert fouls(work, base_metal(work)) == [], (case, common, hand)
